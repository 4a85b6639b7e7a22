"""A measured value against its limits: margins, worst corners, and what cannot be computed."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.book.records import Limit
from kb.checks.catalog import GEOMETRY, MECHANICS
from kb.checks.judge import Verdict, judge_case, judge_route, measure
from kb.checks.rule import Measured, Rule, rule
from kb.route.assemble import Assembled
from kb.route.case import Case
from kb.route.stations import Route
from kb.route.study import Spread


@rule("test.value", "mm")
def some_rule(route: Route) -> Iterator[Measured]:
    """A check for tests.

    Why:
        To be judged.
    """
    yield Measured("format.blank.web", "web", route.case.format.blank.web)


def verdict(
    low: float,
    high: float | None = None,
    *,
    nominal: float | None = None,
    least: float | None = None,
    most: float | None = None,
) -> Verdict:
    """A verdict on a value between two corners."""
    high = low if high is None else high
    middle = (low + high) / 2 if nominal is None else nominal
    return Verdict(
        rule=some_rule,
        at="format.blank.web",
        what="web",
        spread=Spread(middle, low, high),
        least=least,
        most=most,
        against="",
        limit=None,
        levers=(),
    )


@pytest.mark.parametrize(
    ("one", "margin", "passed"),
    [
        (verdict(0.9, 1.1, least=0.8), 0.125, True),
        (verdict(0.9, 1.1, least=1.0), -0.1, False),
        (verdict(0.9, 1.1, most=1.0), -0.1, False),
        (verdict(0.9, 1.1, most=2.2), 0.5, True),
        # a window's margin is a share of half its width
        (verdict(0.9, 1.1, least=0.5, most=1.5), 0.8, True),
        (verdict(0.4, 0.9, least=0.5, most=1.5), -0.2, False),
        (verdict(0.9, 1.7, least=0.5, most=1.5), -0.4, False),
        # a limit below zero: its size counts, not its sign
        (verdict(-0.02, 0.01, least=-0.04), 0.5, True),
        (verdict(-0.05, 0.01, least=-0.04), -0.25, False),
        # a value that must be one number
        (verdict(12.0, least=12.0, most=12.0), 0.0, True),
        (verdict(10.0, least=12.0, most=12.0), -1 / 6, False),
        # a limit of zero: the nominal value counts
        (verdict(0.5, 1.5, nominal=1.0, least=0.0), 0.5, True),
        (verdict(-0.5, 1.5, nominal=0.5, least=0.0), -1.0, False),
        (verdict(0.0, least=0.0), 0.0, True),
        # on the limit is inside
        (verdict(1.0, 1.1, least=1.0), 0.0, True),
        # nothing binds what has no limit on that side
        (verdict(-1e9, 1.0, most=2.0), 0.5, True),
    ],
)
def test_margins(one: Verdict, margin: float, passed: bool) -> None:
    """A margin is how far inside its limit the worse corner is, below zero when outside."""
    assert one.margin == pytest.approx(margin)
    assert one.passed is passed


@pytest.mark.parametrize(
    ("one", "value", "limit"),
    [
        (verdict(0.9, 1.1, least=0.8), 0.9, 0.8),
        (verdict(0.9, 1.1, most=1.3), 1.1, 1.3),
        (verdict(0.6, 1.1, least=0.5, most=1.5), 0.6, 0.5),
        (verdict(0.9, 1.4, least=0.5, most=1.5), 1.4, 1.5),
        (verdict(0.4, 1.8, least=0.5, most=1.5), 1.8, 1.5),
    ],
)
def test_the_tightest_side_is_reported(one: Verdict, value: float, limit: float) -> None:
    """Of two corners and two limits, the pair with least room is reported."""
    _, value_shown, limit_shown = one.tightest
    assert (value_shown, limit_shown) == (value, limit)


@pytest.mark.parametrize(
    "one",
    [
        verdict(math.nan, math.nan, nominal=1.0, least=0.5),
        verdict(math.nan, 1.0, nominal=1.0, least=0.5, most=1.5),
        verdict(1.0, math.nan, nominal=1.0, least=0.5, most=1.5),
        verdict(math.nan, math.nan, nominal=math.nan, most=0.5),
    ],
)
def test_what_cannot_be_computed_fails(one: Verdict) -> None:
    """A corner that is no number fails for every other corner, and its margin is no number."""
    assert math.isnan(one.margin)
    assert not one.passed


def test_an_infinite_value_fails_on_its_side() -> None:
    """A value that runs away is outside a most, and inside a least."""
    assert not verdict(1.0, math.inf, nominal=1.0, most=5.0).passed
    assert verdict(1.0, math.inf, nominal=1.0, least=0.5).passed
    assert not verdict(-math.inf, 1.0, nominal=1.0, least=0.5).passed


@given(
    low=st.floats(-10, 10),
    width=st.floats(0, 5),
    least=st.floats(-10, 10) | st.none(),
    room=st.floats(0.01, 10) | st.none(),
)
def test_passing_is_being_inside(low: float, width: float, least: float | None, room: float | None) -> None:
    """A verdict passes exactly when both corners are inside what binds, up to rounding."""
    most = None if room is None else (least or 0.0) + room
    if least is None and most is None:
        least = 0.0
    one = verdict(low, low + width, least=least, most=most)
    slack = 1e-7
    if one.passed:
        assert least is None or low >= least - slack
        assert most is None or low + width <= most + slack
    else:
        assert (least is not None and low < least) or (most is not None and low + width > most)
        assert one.margin < 0


def test_nominal_is_distinguished_from_the_corner() -> None:
    """A value that is inside at nominal and outside at its corner says so."""
    one = verdict(0.9, 1.1, least=0.95)
    assert not one.passed
    assert one.nominal_passed
    assert not verdict(0.9, 1.1, least=1.05).nominal_passed
    assert verdict(1.0, least=1.0).nominal_passed


# --- how verdicts are made --------------------------------------------------------------------


def test_shape_is_judged_at_nominal_and_route_at_its_corners(
    formats: Mapping[str, Assembled], limits: Mapping[str, Limit]
) -> None:
    """A shape check has one value, a route check its nominal and its corners, one verdict a value."""
    assembled = formats["b211-330"]
    for one in judge_case(assembled.case, GEOMETRY, limits):
        assert one.spread.low == one.spread.high == one.spread.nominal
    verdicts = judge_route(assembled.study, MECHANICS, limits)
    assert len(verdicts) == len(list(measure(assembled.study.nominal, MECHANICS)))
    (allowance,) = [one for one in verdicts if one.rule.name == "trim.allowance"]
    assert allowance.spread.low < allowance.spread.nominal < allowance.spread.high
    assert allowance.margin == pytest.approx((allowance.spread.low - 1.5) / 1.5)


def test_verdicts_of_a_line_name_it(formats: Mapping[str, Assembled], limits: Mapping[str, Limit]) -> None:
    """What is judged on a line says which line and machine, and points to the line in the format."""
    verdicts = judge_route(formats["b211-500-206"].study, MECHANICS, limits)
    on_line = [one for one in verdicts if one.rule.reads == "run"]
    assert len(on_line) > 20
    for one in on_line:
        assert "heron/" in one.what
        assert one.at == "format.lines[0]"


def test_a_share_is_scaled_to_its_value(
    formats: Mapping[str, Assembled], limits: Mapping[str, Limit]
) -> None:
    """A limit of 1.02 of the contents is a limit in cubic millimetres of room."""
    verdicts = judge_route(formats["b211-330"].study, MECHANICS, limits)
    (capacity,) = [one for one in verdicts if one.rule.name == "can.capacity"]
    assert capacity.least == pytest.approx(1.02 * 330_000)


def test_no_limit_undercuts_a_floor(formats: Mapping[str, Assembled], limits: Mapping[str, Limit]) -> None:
    """A plant that allows a leg below zero still gets zero; one that requires more gets more."""
    case: Case = formats["b211-330"].case
    name = "dome.profile-closes"
    (check,) = [one for one in GEOMETRY if one.name == name]

    def least(asked: float | None) -> float | None:
        limit = Limit("none", "none", "2027-01-01", least=asked, most=None if asked is not None else 99.0)
        return judge_case(case, (check,), {**limits, name: limit})[0].least

    assert least(-5.0) == 0.0
    assert least(None) == 0.0
    assert least(1.5) == 1.5


def test_limits_are_single_numbers_beside_samples(
    formats: Mapping[str, Assembled], limits: Mapping[str, Limit]
) -> None:
    """A limit taken from a spec whose parts are samples on the way is one number in the verdict."""
    for ident in ("b211-330", "b202-200"):
        for one in judge_route(formats[ident].study, MECHANICS, limits):
            for limit in (one.least, one.most):
                assert limit is None or isinstance(limit, float)
            assert all(isinstance(number, float) for number in one.spread)
            assert one.least is not None or one.most is not None


def test_every_check_measures_something(
    formats: Mapping[str, Assembled], limits: Mapping[str, Limit]
) -> None:
    """On the demo book every check gives a verdict on every format, but those on declared stages."""
    declared_only = {"neck.stages-declared", "neck.ends-at-plug"}
    for assembled in formats.values():
        verdicts = judge_case(assembled.case, GEOMETRY, limits)
        verdicts += judge_route(assembled.study, MECHANICS, limits)
        judged = {one.rule.name for one in verdicts}
        assert judged == {one.name for one in (*GEOMETRY, *MECHANICS)} - declared_only


def test_a_worst_corner_is_a_real_can(formats: Mapping[str, Assembled], limits: Mapping[str, Limit]) -> None:
    """Corners are cans of sizes within their limits, all of them computable, with the nominal between."""
    for one in judge_route(formats["b204-355"].study, MECHANICS, limits):
        assert one.spread.low <= one.spread.nominal + 1e-9
        assert one.spread.high >= one.spread.nominal - 1e-9
        assert np.all(np.isfinite(one.spread))


def test_a_rule_reads_its_own_description() -> None:
    """Title and parts of a check come from its docstring."""
    assert some_rule.title == "A check for tests."
    assert some_rule.sections == {"Why": "To be judged."}
    assert some_rule.station == "test"
    assert isinstance(some_rule, Rule)


def test_a_value_at_its_limit_by_definition_has_no_margin(
    formats: Mapping[str, Assembled], limits: Mapping[str, Limit]
) -> None:
    """Earing agreed, cans in a layer and blanks across have no margin while they pass; every size has one."""
    for assembled in formats.values():
        for one in judge_route(assembled.study, MECHANICS, limits):
            by_definition = one.rule.unit == "count" or one.rule.name == "stock.earing-agreed"
            assert one.has_margin is not (by_definition and one.passed), one.rule.name
    names = {"stock.earing-agreed", "pallet.layer", "line.across"}
    assert not any(one.has_margin for one in MECHANICS if one.name in names)
