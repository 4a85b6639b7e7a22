from __future__ import annotations

import pytest

from kb.book.records_floor import Run, Week
from kb.changeover.week import order_of_week
from kb.scheduling.activities import NoPlan
from kb.scheduling.sequence import OrderComparison

HOUR = 3600
STOPS = {
    ("a", "b"): 1 * HOUR, ("b", "a"): 2 * HOUR,
    ("a", "c"): 5 * HOUR, ("c", "a"): 5 * HOUR,
    ("b", "c"): 1 * HOUR, ("c", "b"): 4 * HOUR,
}  # fmt: skip


def week(*runs: tuple[str, int, str]) -> Week:
    """A week of runs at 1000 cans a minute, format a running."""
    return Week("w", "Week", "owner", "line", "crew", "2026-11-30 06:00", "a", 1000.0,
                tuple(Run(*one) for one in runs))  # fmt: skip


def numbers(found: OrderComparison) -> list[int]:
    """The best order by the places in the order given."""
    return [one.batch.number for one in found.best.placed]


LATE = "2027-01-01 00:00"


def test_least_time_is_lost() -> None:
    """With time enough a, b, c cost two hours; as given, c first, they cost nine more than that."""
    found = order_of_week(week(("c", 60000, LATE), ("b", 60000, LATE), ("a", 60000, LATE)), STOPS)
    assert numbers(found) == [3, 2, 1]
    assert (found.best.lost, found.given.lost, found.saved) == (2 * HOUR, 11 * HOUR, 9 * HOUR)
    assert found.proven


def test_on_time_before_time_lost() -> None:
    """A run of c due at noon goes before a, though a, b, c would lose five hours less."""
    found = order_of_week(
        week(("c", 60000, "2026-11-30 12:00"), ("b", 180000, LATE), ("a", 180000, LATE)), STOPS
    )
    assert numbers(found) == [2, 1, 3]
    assert (found.best.lateness, found.best.lost) == (0, 7 * HOUR)
    assert found.saved == 4 * HOUR


def test_when_runs_begin_and_end() -> None:
    """A run of 60 000 cans at 1000 a minute takes an hour after its stop, and is late by whole minutes."""
    found = order_of_week(week(("b", 60000, "2026-11-30 07:58"), ("c", 60001, LATE)), STOPS, effort=0)
    first, second = found.given.placed
    assert (first.changeover, first.start, first.end, first.late) == (HOUR, HOUR, 2 * HOUR, 2)
    assert (second.start, second.end) == (3 * HOUR, 4 * HOUR + 1)
    assert [one.batch.number for one in found.given.late] == [1]


def test_runs_of_one_format_follow_without_a_stop() -> None:
    """What is running goes on without a stop, and so do two runs of one format."""
    found = order_of_week(week(("a", 60000, LATE), ("b", 60000, LATE), ("a", 60000, LATE)), STOPS)
    assert found.best.lost == HOUR
    assert numbers(found) in ([1, 3, 2], [3, 1, 2])


def test_what_comes_after_the_week_counts() -> None:
    """Where c runs after the week, ending on b is better than ending on a."""
    runs = week(("b", 60000, LATE), ("a", 60000, LATE))
    assert order_of_week(runs, STOPS, then="c").best.lost == 2 * HOUR
    assert numbers(order_of_week(runs, STOPS, then="c")) == [2, 1]


def test_same_week_same_order() -> None:
    """Asked twice, the order is the same."""
    runs = [(ident, 60000 * (1 + i % 3), LATE) for i, ident in enumerate("abcabcabcb")]
    assert order_of_week(week(*runs), STOPS) == order_of_week(week(*runs), STOPS)


def test_a_changeover_that_is_not_possible() -> None:
    """A way that the line cannot go is not gone; where the order given goes it, that is said."""
    ways = {pair: stop for pair, stop in STOPS.items() if pair != ("a", "c")}
    found = order_of_week(week(("b", 60000, LATE), ("c", 60000, LATE)), ways)
    assert numbers(found) == [1, 2]
    with pytest.raises(NoPlan, match="no changeover is known from a to c"):
        order_of_week(week(("c", 60000, LATE), ("b", 60000, LATE)), ways)
