from __future__ import annotations

import math

import pytest

from kb.book.records_floor import PastChangeover
from kb.changeover.durations import adjustment, past
from kb.changeover.work import activities_of, tasks_of
from kb.scheduling.activities import Activity, Operator
from kb.scheduling.critical_path import simulate
from kb.scheduling.plan import schedule
from tests.changeover import small

A, B = Operator("a", frozenset()), Operator("b", frozenset())


def worst_of(works: tuple[Activity, ...], factor: float) -> dict[str, int]:
    """Worst times that are so many times the typical ones."""
    return {work.id: round(work.seconds * factor) for work in works}


def test_times_that_do_not_spread() -> None:
    """Where worst is typical, everything is as planned."""
    works = activities_of(tasks_of(small.STEPS, small.HEIGHT), part="stop")
    planned = schedule(works, small.CREW, small.EQUIPMENT, effort=0)
    one = simulate(planned, works, small.CREW, small.EQUIPMENT, worst_of(works, 1))
    assert {one.typical, one.median, one.nine_in_ten, one.worst} == {planned.length}


def test_one_work_spreads_as_its_triangle() -> None:
    """From 100 to 200 min half take 100 min and nine in ten less than 155.3."""
    works = (Activity("one", 6000),)
    one = simulate(schedule(works, (A,), {}), works, (A,), {}, {"one": 12000})
    assert one.typical == 6000
    assert one.median == pytest.approx(6000, rel=0.01)
    assert one.nine_in_ten == pytest.approx(12000 - 6000 * math.sqrt(0.2), rel=0.01)
    assert one.worst == 12000


def test_one_after_the_other_adds() -> None:
    """Two works of one member take the sum at worst, two beside each other the longer of the two."""
    works = (Activity("one", 60), Activity("two", 60))
    worst = {"one": 100, "two": 80}
    assert simulate(schedule(works, (A,), {}), works, (A,), {}, worst).worst == 180
    assert simulate(schedule(works, (A, B), {}), works, (A, B), {}, worst).worst == 100


def test_a_whole_stop_spreads_in_order_and_always_alike() -> None:
    """Typical, median, nine in ten and worst rise, and are the same each time."""
    works = activities_of(tasks_of(small.STEPS, small.EVERYTHING), part="stop")
    planned = schedule(works, small.CREW, small.EQUIPMENT, effort=0)
    one = simulate(planned, works, small.CREW, small.EQUIPMENT, worst_of(works, 1.5))
    assert planned.length == one.typical < one.median < one.nine_in_ten < one.worst
    assert one.worst == pytest.approx(1.5 * planned.length)
    assert one == simulate(planned, works, small.CREW, small.EQUIPMENT, worst_of(works, 1.5))


def test_no_work_takes_no_time() -> None:
    """A stop without work is nothing, also at worst."""
    assert simulate(schedule((), (), {}), (), (), {}, {}).worst == 0


def test_share_of_adjustment() -> None:
    """Of a feed of six minutes and everything else, the settings alone are counted, each member's time."""
    tasks = tasks_of(small.STEPS, small.HEIGHT)
    setting, share = adjustment(tasks)
    assert setting == (8 * 4 + 8 * 5 + 7 * 4 + 12 + 5) * 60
    spent = sum(work.seconds * work.people for work in activities_of(tasks, part="stop"))
    assert share == setting / spent
    assert adjustment({}) == (0, 0.0)


def record(day: str, minutes: float, old: str = "a", new: str = "b", line: str = "line") -> PastChangeover:
    """A past changeover."""
    return PastChangeover(line, old, new, day, "crew", 60 * minutes, 60 * minutes + 600, 60 * minutes + 1800)


RECORDED = (
    *[
        record(f"2026-0{month}-01", minutes)
        for month, minutes in enumerate((999, 100, 140, 110, 130, 120), 1)
    ],
    record("2026-07-01", 70, "a", "c"),
    record("2026-08-01", 90, "c", "d"),
    record("2026-09-01", 500, "a", "b", "other"),
)


def kind_of(old: str, new: str) -> str | None:
    """Class of a past changeover; one of the formats is no longer known."""
    return None if "d" in (old, new) else "height"


def test_the_last_five_of_the_same_pair() -> None:
    """Of six past ones the oldest is left out; median and worst are of the others, on this line alone."""
    found = past(RECORDED, line="line", old="a", new="b", kind="height", kind_of=kind_of)
    assert found is not None
    assert found.same_pair
    assert found.days[0] == "2026-06-01"
    assert len(found.days) == 5
    assert (found.stopped.median, found.stopped.worst) == (120 * 60, 140 * 60)
    assert (found.first_good.median, found.at_rate.worst) == (130 * 60, 170 * 60)


def test_else_those_of_the_class() -> None:
    """Without one of the pair those of its class are reported, as such; lost formats have no class."""
    found = past(RECORDED, line="line", old="b", new="a", kind="height", kind_of=kind_of)
    assert found is not None
    assert not found.same_pair
    assert found.days[0] == "2026-07-01"
    assert past(RECORDED, line="line", old="b", new="a", kind="label", kind_of=kind_of) is None
