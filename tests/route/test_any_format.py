"""Any format that the schemas let pass is judged without a fault of the program, for any numbers.

Numbers are drawn from the schemas' own plausible bands and from about the demo formats. A number that no
check catches must be finite; one that is not must belong to a verdict that fails.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kb.book import keys
from kb.book.records import Limit
from kb.checks.catalog import GEOMETRY, MECHANICS
from kb.checks.fix import fixes
from kb.checks.judge import Verdict, judge_case, judge_route
from kb.checks.words import finding
from kb.folders import shipped
from kb.route import take
from kb.route.assemble import Assembled
from kb.route.case import Case
from kb.route.settings import SETTINGS
from kb.route.station import iter_results
from kb.route.study import Study

KINDS = {
    "format": "size-format",
    "stock": "material",
    "end": "end",
    "end_stock": "material",
    "plant": "plant",
}
FUZZ = settings(
    deadline=None,
    derandomize=True,
    suppress_health_check=[
        HealthCheck.too_slow,
        HealthCheck.data_too_large,
        HealthCheck.function_scoped_fixture,
    ],
)


def schema_bands() -> dict[str, tuple[float, float]]:
    """The plausible band of every field, by its key in a case, list positions left out."""
    found: dict[str, tuple[float, float]] = {}

    def walk(schema: dict[str, object], key: str) -> None:
        quantity, inner, items = schema.get("quantity"), schema.get("properties"), schema.get("items")
        if isinstance(quantity, dict) and "band" in quantity:
            low, high = quantity["band"]
            found[key] = (float(low), float(high))
        for name, one in (inner if isinstance(inner, dict) else {}).items():
            walk(one, f"{key}.{name}")
        if isinstance(items, dict):
            walk(items, f"{key}[]")

    for part, kind in KINDS.items():
        walk(json.loads((shipped("schema") / f"{kind}.json").read_text(encoding="utf-8")), part)
    return found


BANDS = schema_bands()


def band_of(key: str) -> tuple[float, float] | None:
    """The plausible band of one number of a case."""
    if key.startswith("setting."):
        return SETTINGS[key.removeprefix("setting.")][2:]
    return BANDS.get(re.sub(r"\[\d+\]", "[]", key))


def banded(case: Case) -> dict[str, tuple[float, float]]:
    """The numbers of a case that have a plausible band."""
    found = [one for part in KINDS for one in keys.values(getattr(case, part), part)]
    named = [key for key, value in found if isinstance(value, float)]
    named += [f"setting.{name}" for name in case.setting]
    return {key: band for key in named if (band := band_of(key)) is not None}


def moved(assembled: Assembled, values: Mapping[str, float]) -> Study:
    """A study with other nominal values, their tolerances moved along."""
    inputs = []
    for one in assembled.study.inputs:
        by = values.get(one.key, one.nominal) - one.nominal
        inputs.append(replace(one, nominal=one.nominal + by, low=one.low + by, high=one.high + by))
    return Study(assembled.case.put(values), inputs)


def judged(study: Study, limits: Mapping[str, Limit]) -> list[Verdict]:
    """All verdicts of a study; where its shape closes, its every number is looked at too."""
    verdicts = judge_case(study.case, GEOMETRY, limits)
    if not all(one.passed for one in verdicts):
        return verdicts
    route = take(study.case)
    verdicts += judge_route(study, MECHANICS, limits)
    for one in verdicts:
        if one.passed:
            assert all(map(math.isfinite, one.spread)), one.rule.name
    if all(one.passed for one in verdicts):
        for one in iter_results(route):
            assert np.isfinite(one.value), one.key
    return verdicts


IDENTS = st.sampled_from(["b211-330", "b211-355", "b211-440-light", "b204-355", "b202-200", "b211-568-206"])


@given(ident=IDENTS, data=st.data())
@settings(FUZZ, max_examples=150)
def test_formats_about_the_demo_formats(
    ident: str, data: st.DataObject, formats: Mapping[str, Assembled], limits: Mapping[str, Limit]
) -> None:
    """A demo format with up to six numbers moved by up to 30 % is judged to the end."""
    assembled = formats[ident]
    bands = banded(assembled.case)
    shares = data.draw(
        st.dictionaries(st.sampled_from(sorted(bands)), st.floats(0.7, 1.3), min_size=1, max_size=6)
    )
    values = {
        key: float(np.clip(float(assembled.case.at(key)) * share, *bands[key]))
        for key, share in shares.items()
    }
    judged(moved(assembled, values), limits)


@given(ident=IDENTS, seed=st.integers(0, 2**32 - 1))
@settings(FUZZ, max_examples=100)
def test_formats_from_all_over_the_plausible_bands(
    ident: str, seed: int, formats: Mapping[str, Assembled], limits: Mapping[str, Limit]
) -> None:
    """A format all of whose numbers wander over their bands, ends included, is judged to the end.

    Each number in turn is drawn again and kept when the shape still closes, so that routes far from any
    real can are reached, not only shapes that do not close.
    """
    assembled, random = formats[ident], np.random.default_rng(seed)
    bands = banded(assembled.case)
    values: dict[str, float] = {}
    for key in random.permutation(sorted(bands)):
        low, high = bands[key]
        drawn = float(random.choice([low, high]) if random.random() < 0.3 else random.uniform(low, high))
        trial = {**values, str(key): drawn}
        if all(one.passed for one in judge_case(assembled.case.put(trial), GEOMETRY, limits)):
            values = trial
    assert len(values) > 40
    judged(moved(assembled, values), limits)


@given(ident=IDENTS, seed=st.integers(0, 2**32 - 1))
@settings(FUZZ, max_examples=60)
def test_a_plant_that_allows_everything(
    ident: str, seed: int, formats: Mapping[str, Assembled], limits: Mapping[str, Limit]
) -> None:
    """Limits set out of the way leave the shape's own floors, so that no impossible shape is routed."""
    loose = {
        name: replace(one, least=one.least and -1e9, most=one.most and 1e9) for name, one in limits.items()
    }
    assembled, random = formats[ident], np.random.default_rng(seed)
    bands = {key: band for key, band in banded(assembled.case).items() if key.startswith("format.")}
    keys = random.choice(sorted(bands), size=12, replace=False)
    values = {str(key): float(random.uniform(*bands[key])) for key in keys}
    judged(moved(assembled, values), loose)


@given(ident=IDENTS, seed=st.integers(0, 2**32 - 1))
@settings(FUZZ, max_examples=20)
def test_every_failure_is_worded_and_fixes_are_sought(
    ident: str, seed: int, formats: Mapping[str, Assembled], limits: Mapping[str, Limit]
) -> None:
    """For any failing number a finding is worded in one line and at most two fixes are found for it."""
    assembled, random = formats[ident], np.random.default_rng(seed)
    bands = {key: band for key, band in banded(assembled.case).items() if key.startswith("format.")}
    values = {
        str(key): float(np.clip(float(assembled.case.at(str(key))) * random.uniform(0.8, 1.2), *bands[key]))
        for key in random.choice(sorted(bands), size=3, replace=False)
    }
    study = moved(assembled, values)
    changed = Assembled(assembled.spec, assembled.specs, study)
    verdicts = judged(study, limits)
    for verdict in [one for one in verdicts if not one.passed][:4]:
        found = fixes(changed, verdict, verdicts, limits)
        assert len(found) <= 2
        worded = finding(changed, verdict, tuple(one.edit.text for one in found))
        assert worded.message.isprintable()
        assert "\n" not in worded.message


@pytest.mark.parametrize("part", sorted(KINDS))
def test_the_bands_are_found(part: str, formats: Mapping[str, Assembled]) -> None:
    """The bands read from the schemas cover the numbers they are meant to, and the demo is in them."""
    case = formats["b211-330"].case
    found = {key: band for key, band in banded(case).items() if key.startswith(f"{part}.")}
    assert len(found) >= {"format": 50, "stock": 12, "end": 10, "end_stock": 12, "plant": 8}[part]
    for key, (low, high) in found.items():
        assert low <= float(case.at(key)) <= high, key
