"""The facts of the trade on a format's page, against its route."""

from __future__ import annotations

import datetime
import math
import re

import pytest

from kb.book.load import load
from kb.folders import shipped
from kb.publish.edition import Edition, gather
from kb.publish.facts import CanFact, facts
from kb.route.run import run

IDS = ("b211-330", "b202-250", "b211-500-206")


@pytest.fixture(scope="module")
def edition() -> Edition:
    """One format of each end, in the demo book."""
    specs = shipped("specs")
    formats = [specs / "formats" / f"{ident}.yaml" for ident in IDS]
    return gather(load(specs, shown="specs", formats=formats), datetime.date(2026, 11, 25))


def facts_of(edition: Edition, ident: str) -> dict[str, CanFact]:
    """The facts of a format by the first word that distinguishes them."""
    one = edition.formats[ident]
    assert one.routed is not None
    names = ("acceleration", "stroke", "closed can", "layer", "saved", "tab")
    found = facts(edition, one, one.routed.route)
    return {name: fact for fact in found for name in names if name in fact.words}


def first_number(text: str) -> float:
    """The first number of a text."""
    return float(re.findall(r"\d+(?:\.\d+)?", text)[0])


@pytest.mark.parametrize("ident", IDS)
def test_each_fact_is_the_route_s_value(edition: Edition, ident: str) -> None:
    """Acceleration, time, load and pressure are those of the route, in everyday units."""
    one, found = edition.formats[ident], facts_of(edition, ident)
    assert one.routed is not None
    route = one.routed.route
    rams = [ram for line in one.record.lines for ram in run(route, edition.book.of("line")[line].record).rams]
    peak = max(float(ram.peak_acceleration) for ram in rams)
    assert first_number(found["acceleration"].value) == pytest.approx(peak / 9806.65, rel=0.01)
    time = max(float(ram.time_per_stroke) for ram in rams if float(ram.peak_acceleration) == peak)
    assert first_number(found["stroke"].value) == pytest.approx(100 * time, rel=0.06)
    assert first_number(found["closed can"].value) == pytest.approx(
        float(route.strength.axial_full) / 1000, rel=0.06
    )
    assert first_number(found["tab"].value) == pytest.approx(
        1000 * float(route.filled.room_pressure), rel=0.06
    )


@pytest.mark.parametrize("ident", IDS)
def test_what_the_sentences_claim_is_so(edition: Edition, ident: str) -> None:
    """Pressure supports the wall, and round cans cover less than the densest pattern."""
    one, found = edition.formats[ident], facts_of(edition, ident)
    assert one.routed is not None
    strength = one.routed.route.strength
    assert float(strength.axial_full) > float(strength.axial_empty)
    covered = first_number(found["layer"].value)
    assert 50 < covered < 100 * math.pi / math.sqrt(12)


@pytest.mark.parametrize(("ident", "pair"), [("b211-330", ("202", "206")), ("b202-250", ("200", "202"))])
def test_a_smaller_end_saves_weight(edition: Edition, ident: str, pair: tuple[str, str]) -> None:
    """The weight saved is the difference of the masses of the two ends in the book."""
    masses = {spec.record.code: float(spec.record.mass) for spec in edition.book.of("end").values()}
    saved = facts_of(edition, ident)["saved"]
    assert f"{pair[0]} end instead of a {pair[1]} end" in saved.words
    assert first_number(saved.value) == pytest.approx(masses[pair[1]] - masses[pair[0]], rel=0.06)
    assert masses[pair[1]] > masses[pair[0]]
