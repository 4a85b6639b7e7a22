from __future__ import annotations

from dataclasses import replace
from itertools import permutations

import pytest

from kb.book.records_floor import Closed, RampStep, Run, Shift, Week
from kb.changeover.week import (
    WeekTimes,
    batches_of,
    chance_words,
    due_prices,
    on_time,
    open_time,
    order_of_week,
    ramp_lost,
    saved_minutes,
    short_runs,
    trade_offs,
)
from kb.scheduling.activities import NoPlan
from kb.scheduling.sequence import Order, OrderComparison

HOUR = 3600
STOPS = {
    ("a", "b"): 1 * HOUR, ("b", "a"): 2 * HOUR,
    ("a", "c"): 5 * HOUR, ("c", "a"): 5 * HOUR,
    ("b", "c"): 1 * HOUR, ("c", "b"): 4 * HOUR,
}  # fmt: skip

TIMES = WeekTimes(STOPS)


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
    found = order_of_week(week(("c", 60000, LATE), ("b", 60000, LATE), ("a", 60000, LATE)), TIMES)
    assert numbers(found) == [3, 2, 1]
    assert (found.best.lost, found.given.lost, found.saved) == (2 * HOUR, 11 * HOUR, 9 * HOUR)
    assert found.proven


def test_minutes_saved_are_those_of_the_losses_shown() -> None:
    """329 min less 238 min is 91 min, although the seconds alone round to 92."""
    given, best = Order((), 329 * 60 + 20), Order((), 237 * 60 + 40)
    assert saved_minutes(OrderComparison(given, best, proven=True, method="rule")) == 329 - 238


def test_on_time_before_time_lost() -> None:
    """A run of c due at noon goes before a, though a, b, c would lose five hours less."""
    found = order_of_week(
        week(("c", 60000, "2026-11-30 12:00"), ("b", 180000, LATE), ("a", 180000, LATE)), TIMES
    )
    assert numbers(found) == [2, 1, 3]
    assert (found.best.lateness, found.best.lost) == (0, 7 * HOUR)
    assert found.saved == 4 * HOUR


def test_when_runs_begin_and_end() -> None:
    """A run of 60 000 cans at 1000 a minute takes an hour after its stop, and is late by whole minutes."""
    found = order_of_week(week(("b", 60000, "2026-11-30 07:58"), ("c", 60001, LATE)), TIMES, effort=0)
    first, second = found.given.placed
    assert (first.changeover, first.start, first.end, first.late) == (HOUR, HOUR, 2 * HOUR, 2)
    assert (second.start, second.end) == (3 * HOUR, 4 * HOUR + 1)
    assert [one.batch.number for one in found.given.late] == [1]


def test_runs_of_one_format_follow_without_a_stop() -> None:
    """What is running goes on without a stop, and so do two runs of one format."""
    found = order_of_week(week(("a", 60000, LATE), ("b", 60000, LATE), ("a", 60000, LATE)), TIMES)
    assert found.best.lost == HOUR
    assert numbers(found) in ([1, 3, 2], [3, 1, 2])


def test_what_comes_after_the_week_counts() -> None:
    """Where c runs after the week, ending on b is better than ending on a."""
    runs = week(("b", 60000, LATE), ("a", 60000, LATE))
    assert order_of_week(runs, TIMES, then="c").best.lost == 2 * HOUR
    assert numbers(order_of_week(runs, TIMES, then="c")) == [2, 1]


def test_same_week_same_order() -> None:
    """Asked twice, the order is the same."""
    runs = [(ident, 60000 * (1 + i % 3), LATE) for i, ident in enumerate("abcabcabcb")]
    assert order_of_week(week(*runs), TIMES) == order_of_week(week(*runs), TIMES)


def test_a_changeover_that_is_not_possible() -> None:
    """A way that the line cannot go is not gone; where the order given goes it, that is said."""
    ways = {pair: stop for pair, stop in STOPS.items() if pair != ("a", "c")}
    found = order_of_week(week(("b", 60000, LATE), ("c", 60000, LATE)), WeekTimes(ways))
    assert numbers(found) == [1, 2]
    with pytest.raises(NoPlan, match="no changeover is known from a to c"):
        order_of_week(week(("c", 60000, LATE), ("b", 60000, LATE)), WeekTimes(ways))


# --- ready, closed, frozen ------------------------------------------------------------------------

CLOSED = (Closed("2026-11-30 10:00", "2026-11-30 14:00", "shift"),
          Closed("2026-11-30 20:00", "2026-12-01 06:00", "night"))  # fmt: skip


def clock(week: Week, found: OrderComparison) -> list[tuple[str, str]]:
    """When each run of the best order begins and ends by the clock, as day and hour."""
    line = open_time(week)
    return [
        (f"{line.moment(one.start, begins=True):%d %H:%M}", f"{line.moment(one.end):%d %H:%M}")
        for one in found.best.placed
    ]


def test_nothing_is_made_in_a_closed_time() -> None:
    """Six hours of work from six in the morning, closed from ten to two, end at four in the afternoon."""
    asked = replace(week(("a", 360000, LATE), ("b", 120000, LATE)), closed=CLOSED, frozen=2)
    found = order_of_week(asked, TIMES)
    assert clock(asked, found) == [("30 06:00", "30 16:00"), ("30 17:00", "30 19:00")]


def test_a_run_ends_before_a_closed_time_and_the_next_begins_after_it() -> None:
    """A run that ends when the line closes has ended then; what follows begins when it opens."""
    asked = replace(week(("a", 240000, "2026-11-30 10:00"), ("a", 60000, LATE)), closed=CLOSED)
    found = order_of_week(asked, TIMES)
    assert clock(asked, found) == [("30 06:00", "30 10:00"), ("30 14:00", "30 15:00")]
    assert found.best.lateness == 0


def test_lateness_is_open_time() -> None:
    """Due at ten when the line closes and made at three in the afternoon, a run is an hour late."""
    asked = replace(week(("a", 300000, "2026-11-30 10:00")), closed=CLOSED)
    assert order_of_week(asked, TIMES).best.lateness == 60
    asked = replace(asked, runs=(replace(asked.runs[0], due="2026-11-30 13:00"),))
    assert order_of_week(asked, TIMES).best.lateness == 60


def test_a_run_waits_until_it_is_ready() -> None:
    """A run of b that is ready at nine waits two hours after its stop, and the waiting is lost."""
    asked = week(("b", 60000, LATE))
    asked = replace(asked, runs=(replace(asked.runs[0], ready="2026-11-30 09:00"),))
    found = order_of_week(asked, TIMES)
    (one,) = found.best.placed
    assert (one.changeover, one.wait, one.start) == (HOUR, 2 * HOUR, 3 * HOUR)
    assert found.best.lost == 3 * HOUR


def test_a_run_has_its_own_rate() -> None:
    """60 000 cans at 500 a minute take two hours."""
    asked = week(("a", 60000, LATE), ("a", 60000, LATE))
    asked = replace(asked, runs=(replace(asked.runs[0], rate=500.0), asked.runs[1]))
    assert [one.seconds for one in batches_of(asked)] == [2 * HOUR, HOUR]


def test_frozen_runs_keep_their_places() -> None:
    """With c frozen first, the order loses what it must."""
    asked = replace(week(("c", 60000, LATE), ("b", 60000, LATE), ("a", 60000, LATE)), frozen=1)
    found = order_of_week(asked, TIMES)
    assert numbers(found)[0] == 1
    assert found.best.lost == (5 + 4 + 2) * HOUR


# --- what due times cost --------------------------------------------------------------------------


def test_the_price_of_a_due_time() -> None:
    """Due at noon, c costs the five hours that the order without its due time saves."""
    asked = week(("c", 60000, "2026-11-30 12:00"), ("b", 180000, LATE), ("a", 180000, LATE))
    found = order_of_week(asked, TIMES)
    assert [(one.run, one.lost, one.late) for one in due_prices(asked, TIMES, found)] == [(1, 5 * HOUR, 0)]


def test_less_time_is_lost_if_runs_may_be_late() -> None:
    """The trade-off begins with the order found and ends with the least time that any order loses."""
    asked = week(("c", 60000, "2026-11-30 12:00"), ("b", 180000, LATE), ("a", 180000, LATE))
    found = order_of_week(asked, TIMES)
    points = list(trade_offs(asked, TIMES, found))
    assert (points[0].late, points[0].lost) == (found.best.lateness, found.best.lost)
    assert points[-1].lost == 2 * HOUR
    assert [one.late for one in points] == sorted({one.late for one in points})
    assert [one.lost for one in points] == sorted({one.lost for one in points}, reverse=True)
    for point in points:
        by_hand = [
            order_of_week(replace(asked, runs=tuple(asked.runs[i] for i in order), frozen=3), TIMES).best
            for order in permutations(range(3))
        ]
        assert point.lost == min(one.lost for one in by_hand if one.lateness <= point.late)


def test_chances_come_from_recorded_ratios() -> None:
    """A run that is due after one and a half stops is on time half the time if stops halve or double."""
    asked = week(("b", 60000, "2026-11-30 08:30"), ("c", 60000, LATE))
    found = order_of_week(asked, TIMES)
    chances = on_time(found.best, [0.5, 2.0])
    assert chances[1] == pytest.approx(0.5, abs=0.03)
    assert chances[2] == 1.0
    assert chance_words(chances[2]) == "above 99 %"
    assert chance_words(0.0) == "below 1 %"
    assert chance_words(None) == "-"


# --- crews by the clock, stock, ramp-up --------------------------------------------------------------

NIGHTS = {pair: 2 * stop for pair, stop in STOPS.items()}
SHIFTS = (Shift("nights", "18:00", "06:00"),)


def test_a_changeover_takes_the_time_of_the_crew_on_shift() -> None:
    """After 13 hours of a from six in the morning the night crew changes to b, then the day crew to c."""
    asked = week(("a", 780000, LATE), ("b", 600000, LATE), ("c", 60000, LATE))
    asked = replace(asked, shifts=SHIFTS, frozen=3)
    found = order_of_week(asked, WeekTimes(STOPS, {"nights": NIGHTS}))
    assert [one.changeover for one in found.given.placed] == [0, 2 * HOUR, HOUR]


def test_shifts_are_hours_of_the_clock_where_the_line_is_closed() -> None:
    """Closed from ten to two, eight open hours after six in the morning end with the night crew on shift."""
    closed = (Closed("2026-11-30 10:00", "2026-11-30 14:00", "shift"),)
    for hours, stop in ((7, HOUR), (8, 2 * HOUR)):
        asked = week(("a", hours * 60000, LATE), ("b", 60000, LATE))
        asked = replace(asked, shifts=SHIFTS, closed=closed, frozen=2)
        found = order_of_week(asked, WeekTimes(STOPS, {"nights": NIGHTS}))
        assert found.given.placed[1].changeover == stop


def test_shifts_change_the_order() -> None:
    """The dear changeover goes to the day crew, though its run was given last."""
    stops = {("a", "b"): HOUR, ("a", "c"): HOUR, ("b", "c"): HOUR, ("c", "b"): 8 * HOUR}
    nights = {**stops, ("b", "c"): 20 * HOUR, ("c", "b"): 8 * HOUR}
    asked = replace(week(("b", 660000, LATE), ("c", 60000, LATE)), shifts=SHIFTS)
    assert numbers(order_of_week(asked, WeekTimes(stops))) == [1, 2]
    assert numbers(order_of_week(asked, WeekTimes(stops, {"nights": nights}))) == [2, 1]


def test_a_run_is_due_when_its_stock_is_used_up() -> None:
    """60 000 cans in stock at 10 000 an hour last six hours."""
    run = Run("b", 60000, stock=60000, demand=10000 / 60)
    assert run.due_at("2026-11-30 06:00") == "2026-11-30 12:00"
    asked = replace(week(("a", 1, LATE)), runs=(run,))
    assert batches_of(asked)[0].due == 6 * HOUR
    assert Run("b", 1, "2026-12-01 06:00").due_at("2026-11-30 06:00") == "2026-12-01 06:00"


def test_the_ramp_up_loses_output() -> None:
    """Ten minutes at half speed and twenty at 90 % lose seven minutes."""
    assert ramp_lost((RampStep(0.5, 600.0, "cans"), RampStep(0.9, 1200.0, "cans"))) == 7 * 60


def test_short_runs_of_one_format_count_as_one() -> None:
    """Two runs of a in a row make two hours; the run of b is shorter than that."""
    asked = replace(week(("a", 60000, LATE), ("a", 60000, LATE), ("b", 60000, LATE)), frozen=3)
    found = order_of_week(asked, TIMES)
    assert [(one.batch.number, lasts) for one, lasts in short_runs(found.given, 2.0 * HOUR)] == [(3, HOUR)]
    assert list(short_runs(found.given, 1.0 * HOUR)) == []
