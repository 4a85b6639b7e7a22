from __future__ import annotations

import sys
from dataclasses import replace
from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.scheduling.sequence import Batch, Period, Stops, best_order
from kb.scheduling.solver import NoSolver


def counted(batches: tuple[Batch, ...], stops: Stops, running: str, then: str) -> tuple[int, int]:
    """Minutes late and seconds lost in this order, counted apart."""
    clock = lost = late = 0
    for batch in batches:
        stop = 0 if batch.product == running else stops[running, batch.product]
        wait = max(0, batch.ready - clock - stop)
        clock += stop + wait + batch.seconds
        lost += stop + wait
        running = batch.product
        if batch.due is not None and clock > batch.due:
            late += (clock - batch.due + 59) // 60
    return late, lost + (stops[running, then] if then and then != running else 0)


@st.composite
def weeks(draw: st.DrawFn) -> tuple[tuple[Batch, ...], Stops, str]:
    """A few batches of four products, some due, with any setups."""
    times = {(a, b): draw(st.integers(0, 300)) * 60 for a in "abcd" for b in "abcd" if a != b}
    batches = tuple(
        Batch(
            number,
            draw(st.sampled_from("abcd")),
            draw(st.integers(1, 500)) * 30,
            draw(st.one_of(st.none(), st.integers(0, 900).map(lambda minutes: minutes * 60))),
        )
        for number in range(1, draw(st.integers(1, 5)) + 1)
    )
    return batches, times, draw(st.sampled_from(["", "a", "d"]))


@settings(max_examples=60)
@given(weeks())
def test_nothing_is_better(case: tuple[tuple[Batch, ...], Stops, str]) -> None:
    """The order is as good as the best of all orders, and is proven."""
    batches, stops, then = case
    found = best_order(batches, stops, running="a", then=then)
    least = min(counted(one, stops, "a", then) for one in permutations(batches))
    assert (found.best.lateness, found.best.lost) == least
    assert found.proven
    assert (found.given.lateness, found.given.lost) == counted(batches, stops, "a", then)


@settings(max_examples=40)
@given(weeks())
def test_without_a_search(case: tuple[tuple[Batch, ...], Stops, str]) -> None:
    """Without a search the order is no worse than as given, nor better than the best, and says what it is."""
    batches, stops, then = case
    found = best_order(batches, stops, running="a", then=then, effort=0)
    least = min(counted(one, stops, "a", then) for one in permutations(batches))
    worth = (found.best.lateness, found.best.lost)
    assert least <= worth <= (found.given.lateness, found.given.lost)
    assert found.method == "rule"
    assert not found.proven or worth == least


@settings(max_examples=60)
@given(
    weeks(),
    st.integers(0, 3),
    st.integers(0, 600),
    st.lists(st.integers(0, 600).map(lambda minutes: minutes * 60), min_size=5, max_size=5),
)
def test_batches_that_wait_or_stay_or_may_be_late(
    case: tuple[tuple[Batch, ...], Stops, str], frozen: int, allowed: int, ready: list[int]
) -> None:
    """With batches that are not ready, first ones that stay and minutes allowed, nothing is better either."""
    batches, stops, then = case
    batches = tuple(replace(one, ready=begin) for one, begin in zip(batches, ready, strict=False))
    found = best_order(batches, stops, running="a", then=then, frozen=frozen, allowed=allowed)
    orders = [(*batches[:frozen], *rest) for rest in permutations(batches[frozen:])]
    worths = [counted(one, stops, "a", then) for one in orders]
    assert tuple(one.batch for one in found.best.placed)[:frozen] == batches[:frozen]
    worth = (max(0, found.best.lateness - allowed), found.best.lost)
    assert worth == min((max(0, late - allowed), lost) for late, lost in worths)
    assert all(one.start >= one.batch.ready for one in found.best.placed)
    assert found.proven


def counted_by_hand(
    batches: tuple[Batch, ...], stops: Stops, night: Stops, beside: dict[tuple[str, str], tuple[int, int]]
) -> tuple[int, int]:
    """Minutes late and seconds lost where every second half of 200 minutes is night, counted apart."""
    clock = late = lost = 0
    free, running = -(10**9), "a"
    for batch in batches:
        if batch.product != running:
            before, after = beside[running, batch.product]
            begin = max(clock, free + before)
            stop = (night if begin % 12000 >= 6000 else stops)[running, batch.product]
            start = max(begin + stop, batch.ready)
            free = start + after
        else:
            start = max(clock, batch.ready)
        lost += start - clock
        clock = start + batch.seconds
        running = batch.product
        if batch.due is not None and clock > batch.due:
            late += (clock - batch.due + 59) // 60
    return late, lost


@settings(max_examples=60)
@given(weeks(), weeks(), st.integers(0, 200), st.integers(0, 200))
def test_shifts_and_work_beside_the_setups(
    case: tuple[tuple[Batch, ...], Stops, str],
    other: tuple[tuple[Batch, ...], Stops, str],
    before: int,
    after: int,
) -> None:
    """With setups that depend on the shift, and work beside them, no order is better than a proven one."""
    (batches, stops, _), (_, night, _) = case, other
    beside = dict.fromkeys(stops, (60 * before, 60 * after))
    shifts = [Period(begin, begin + 6000, night) for begin in range(6000, 10**6, 12000)]
    found = best_order(batches, stops, running="a", shifts=shifts, beside=beside)
    worths = [counted_by_hand(one, stops, night, beside) for one in permutations(batches)]
    worth = found.best.lateness, found.best.lost
    assert (found.given.lateness, found.given.lost) == counted_by_hand(batches, stops, night, beside)
    assert worth >= min(worths)
    assert worth == min(worths) or not found.proven
    chained = len({one.product for one in (*batches, Batch(0, "a", 0, None))}) <= len(batches)
    assert found.proven or chained  # a row of batches of one product may stay open


def test_a_setup_takes_the_time_of_its_shift() -> None:
    """A setup that begins in the night takes the night's time; the one before it takes the day's."""
    batches = (Batch(1, "b", 5400, None), Batch(2, "c", 600, None))
    day = {("a", "b"): 600, ("b", "c"): 600}
    night = {("a", "b"): 1200, ("b", "c"): 1200}
    found = best_order(batches, day, running="a", frozen=2, shifts=[Period(6000, 12000, night)])
    assert [one.changeover for one in found.given.placed] == [600, 1200]


def test_the_line_waits_for_the_work_beside_the_setups() -> None:
    """A run of 10 min after which 20 min of preparation follow 5 min of after-work holds the line 15 min."""
    batches = (Batch(1, "b", 600, None), Batch(2, "c", 600, None))
    stops = {("a", "b"): 600, ("b", "c"): 600}
    beside = {("a", "b"): (0, 300), ("b", "c"): (1200, 0)}
    found = best_order(batches, stops, running="a", frozen=2, beside=beside)
    assert [one.held for one in found.given.placed] == [0, 900]
    assert found.given.lost == 600 + 900 + 600


def test_no_batches() -> None:
    """Without batches nothing is lost."""
    found = best_order((), {}, running="a")
    assert (found.best.placed, found.best.lost, found.proven) == ((), 0, True)


def test_without_the_solver_a_search_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the solver package the search for an order is refused in one line that names it."""
    monkeypatch.setitem(sys.modules, "ortools", None)
    monkeypatch.setitem(sys.modules, "ortools.sat.python", None)
    batches = (Batch(1, "a", 60, None), Batch(2, "b", 60, None))
    with pytest.raises(NoSolver, match=r"^the solver package ortools is not installed; plans need it$"):
        best_order(batches, {("a", "b"): 60, ("b", "a"): 60}, running="a")
