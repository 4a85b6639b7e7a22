"""Values of two versions are compared as numbers, as finely as a reader sees them, and never as texts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest

from kb.book.conversion import moved, number, same_value
from kb.book.finding import Measure
from kb.book.load import Book
from kb.checks.by_station import route_report
from kb.checks.judge import Verdict
from kb.checks.report import Report
from kb.checks.words import margin_moved, margin_words
from kb.review.effects import Thresholds, margins
from kb.review.findings import Sorter
from kb.route.assemble import Assembled
from kb.route.study import Spread

IDENT = "b211-330"
ANY_MOVE = Thresholds(result=0.0, band=0.0, near=1.0, margin=0.0, missing=())


@pytest.fixture
def allowance(demo_report: Report) -> Verdict:
    """The verdict on the trim allowance, with one limit."""
    return next(one for one in demo_report.verdicts[IDENT] if one.rule.name == "trim.allowance")._replace(
        least=1.0, most=None
    )


def at(verdict: Verdict, value: float) -> Verdict:
    """The verdict with one value at nominal and at both corners."""
    return verdict._replace(spread=Spread(value, value, value))


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        (1.23449, 1.23451, False),  # 1.234 and 1.235, a fiftieth of the last place apart
        (1.234, 1.235, True),
        (1.23451, 1.23549, False),
        (0.1 + 0.2, 0.3, False),
        (-1.0, 1.0, True),
        (0.0, 0.0, False),
    ],
)
def test_a_number_moves_from_the_last_place_on(old: float, new: float, expected: bool) -> None:
    """A move counts if it is at least one of the last place shown, for any two texts."""
    assert moved(old, new) is moved(new, old) is expected


def test_a_move_always_changes_the_print() -> None:
    """Two numbers that count as moved never print alike, so no reader sees `3.45 → 3.45`."""
    steps = [1.0 + i / 7000 for i in range(200)]
    pairs = [(one, other) for one in steps for other in steps if moved(one, other)]
    assert pairs
    assert all(number(one) != number(other) for one, other in pairs)


def test_the_same_value_is_the_same_in_any_unit() -> None:
    """Limits that differ only by the rounding of a conversion are the same value."""
    assert same_value((0.1 + 0.2, 1.0, 2.0), (0.3, 1.0, 2.0))
    assert not same_value((0.3, 1.0, 2.0), (0.301, 1.0, 2.0))
    assert not same_value((0.3, 1.0, 2.0), None)


def test_a_margin_on_the_edge_of_two_prints_has_not_moved(
    formats: Mapping[str, Assembled], allowance: Verdict
) -> None:
    """A margin whose print changes by a hair of its value is not listed."""
    old, new = at(allowance, 1.01249999), at(allowance, 1.01250001)
    assert margin_words(old.margin) != margin_words(new.margin)
    assert not margin_moved(old.margin, new.margin)
    assert margins(formats[IDENT], [old], [new], ANY_MOVE) == ([], 1)


def test_a_limit_that_changes_sides_is_listed_however_small_the_move(
    formats: Mapping[str, Assembled], allowance: Verdict
) -> None:
    """A value that passes before and fails now is listed, though it moved by a billionth."""
    old, new = at(allowance, 1.0), at(allowance, 1.0 - 2e-9)
    (found,), _ = margins(formats[IDENT], [old], [new], ANY_MOVE)
    assert found.margin.state == "now fails"


def test_a_finding_on_the_edge_of_two_prints_is_unchanged(demo_report: Report) -> None:
    """A finding whose margin prints otherwise by a hair of its value is neither worse nor better."""
    one = next(one for one in demo_report.findings if one.measure is not None and not one.waiver)
    assert one.measure is not None

    def with_margin(margin: float) -> Measure:
        assert one.measure is not None
        return replace(one.measure, margin=margin)

    sides = [replace(one, measure=with_margin(margin)) for margin in (-0.01234999, -0.01235001)]
    found, unchanged = Sorter(str, {}, frozenset(), frozenset()).moved([sides[0]], [sides[1]])
    assert (found, unchanged) == ([], [sides[1]])
    far = replace(one, measure=with_margin(-0.02))
    (worse,), _ = Sorter(str, {}, frozenset(), frozenset()).moved([sides[0]], [far])
    assert worse.state == "worsened"


def test_rows_of_two_routes_are_compared_by_value(formats: Mapping[str, Assembled], demo: Book) -> None:
    """The same format before and now has no effect, and no row of it counts as moved."""
    assert demo.limits is not None
    report = route_report(formats[IDENT], [], demo.limits.settings)
    values = [row.spread.nominal for section in report.sections for row in section.rows]
    assert values
    assert not any(moved(one, one * (1 + 1e-12)) for one in values)
