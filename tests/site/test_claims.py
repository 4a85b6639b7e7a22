"""What the texts say goes up or down does so on the route."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pytest

from kb.book.records import Limit
from kb.checks.catalog import RULES
from kb.checks.judge import Verdict, judge_case, judge_route
from kb.route import take
from kb.route.assemble import Assembled
from kb.route.case import Case
from kb.route.study import Study, pick
from tests.conftest import yaml_values
from tests.site.claims import CLAIMS, DOUBTFUL, Claim
from tests.site.statements import comparing, plain, texts

STEP = 5e-4
"""How far a number is moved to either side, as a share of it; a count is moved by one."""

SHOWN = ("b211-330", "b211-355", "b204-250", "b202-200", "b211-500-206")
"""Formats of every body diameter, gauge and end on which each claim is tried."""

NOT_CLAIMS: Mapping[str, list[str]] = yaml_values(Path(__file__).parent / "not_claims.yaml")


def resolved(key: str, case: Case) -> str:
    """A key with `[-1]` as the last ring, or the last neck stage, of a format."""
    name = key.partition("[")[0].rpartition(".")[2]
    count = case.format.neck.stages if name == "necked" else len(case.format.ironing.rings)
    return key.replace("[-1]", f"[{count - 1}]").replace("[-2]", f"[{count - 2}]")


def judged(case: Case, name: str, words: str, limits: Mapping[str, Limit]) -> list[Verdict]:
    """What a check says of a case at nominal sizes, of the values that some words pick."""
    rule = RULES[name]
    found = (
        judge_case(case, [rule], limits)
        if rule.reads == "case"
        else judge_route(Study(case, ()), [rule], limits)
    )
    return [one for one in found if words in one.what]


def result_of(case: Case, result: str, limits: Mapping[str, Limit]) -> float:
    """A result as the table of claims names it."""
    kind, _, rest = result.partition(" ")
    if kind in {"margin", "value"}:
        name, _, words = rest.partition("@")
        verdicts = judged(case, name, words, limits)
        assert verdicts, result
        return min(float(one.margin if kind == "margin" else one.spread.nominal) for one in verdicts)
    route = take(case)
    first, *others = (float(pick(resolved(one.strip(), case))(route)) for one in result.split(" - "))
    return first - sum(others)


def moved(case: Case, claim: Claim, limits: Mapping[str, Limit]) -> int:
    """The sign of a result's change when the number of a claim grows."""
    key = resolved(claim.moved, case)
    now = case.at(key)
    low, high = (now, now + 1) if isinstance(now, int) else (now * (1 - STEP), now * (1 + STEP))
    before, after = (result_of(case.put({key: one}), claim.result, limits) for one in (low, high))
    return int(np.sign(after - before)) if abs(after - before) > 1e-12 else 0


def where(claim: Claim) -> str:
    """A claim in one line."""
    return f"{claim.file}: {claim.quote} ({claim.moved} on {claim.result})"


@pytest.mark.parametrize("claim", CLAIMS, ids=lambda one: f"{one.quote[:40]}|{one.moved}|{one.result}")
def test_the_route_moves_as_the_text_says(
    claim: Claim, formats: Mapping[str, Assembled], limits: Mapping[str, Limit]
) -> None:
    """A small step of the number moves the result the claimed way, on a format of every kind."""
    signs = {ident: moved(formats[ident].case, claim, limits) for ident in SHOWN}
    assert set(signs.values()) == {claim.sign}, where(claim)


def test_a_larger_punch_leaves_a_longer_can(formats: Mapping[str, Assembled]) -> None:
    """Punches of 65.835, 65.840 and 65.845 mm leave 3.10, 4.35 and 5.61 mm to trim."""
    case = formats["b211-330"].case
    sizes = (65.835, 65.840, 65.845)
    left = [float(take(case.put({"format.punch.wall_diameter": one})).trimmed.allowance) for one in sizes]
    assert left == pytest.approx([3.10, 4.35, 5.61], abs=0.005)


def test_gauge_counts_more_than_strength(formats: Mapping[str, Assembled]) -> None:
    """One percent of gauge moves the reversal further than one percent of yield, and by over a percent."""
    for ident in SHOWN:
        case = formats[ident].case
        base, *moves = (
            float(take(case.put({key: float(case.at(key)) * factor})).strength.reversal)
            for key, factor in (
                ("format.stock.gauge", 1.0),
                ("format.stock.gauge", 0.99),
                ("stock.yield_after_bake", 0.99),
            )
        )
        gauge, strength = (1 - one / base for one in moves)
        assert gauge > max(strength, 0.01)


@pytest.mark.parametrize("claim", DOUBTFUL, ids=lambda one: one.quote[:40])
def test_a_doubtful_claim_still_contradicts_the_route(
    claim: Claim, formats: Mapping[str, Assembled], limits: Mapping[str, Limit]
) -> None:
    """The route goes the other way; once it no longer does, the claim belongs in the table of claims."""
    assert {moved(formats[ident].case, claim, limits) for ident in SHOWN} == {-claim.sign}, where(claim)


def test_every_quote_is_in_its_text() -> None:
    """A changed sentence breaks its claim: each quote is in a text of its file."""
    read: dict[str, list[str]] = {}
    for file, text in texts():
        read.setdefault(file, []).append(text)
    lost = [
        where(one)
        for one in (*CLAIMS, *DOUBTFUL)
        if not any(plain(one.quote) in text for text in read[one.file])
    ]
    assert lost == []


def test_every_comparison_is_a_claim_or_says_why_not() -> None:
    """A sentence that compares is in the table of claims, or in a list with the reason why it is none."""
    excused = {plain(one) for many in NOT_CLAIMS.values() for one in many}
    quotes = [(one.file, plain(one.quote)) for one in (*CLAIMS, *DOUBTFUL)]
    said = list(dict.fromkeys(comparing()))
    loose = [
        f"{one.file}: {one.text}"
        for one in said
        if one.text not in excused
        and not any(file == one.file and (one.text in quote or quote in one.text) for file, quote in quotes)
    ]
    assert loose == []


def test_every_excuse_is_needed() -> None:
    """A sentence that is gone from the texts is gone from the list."""
    said = {one.text for one in comparing()}
    listed = [one for many in NOT_CLAIMS.values() for one in many]
    assert [one for one in listed if plain(one) not in said] == []
    assert len(listed) == len(set(listed))
