"""One fitter at a machine, the way to it, the people who run the line, and what a stop is spent on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest

from kb.book.load import Book
from kb.changeover.difference import OnLine
from kb.changeover.durations import fitters, made_of
from kb.changeover.jobs import critical_path
from kb.changeover.model import Plan
from kb.changeover.plan import PlannedChangeover, Planner
from kb.changeover.safe import breaches
from tests.changeover.conftest import LABEL, METAL, NAMES


@pytest.fixture(scope="session")
def planner(demo: Book) -> Planner:
    """The planner of the day crew, by the rule alone."""
    return Planner(demo, "heron-days", effort=0)


def of_the_library(demo: Book, **settings: float) -> Plan:
    """The plan of the height change with other settings of the plant."""
    found = Planner(demo, "heron-days", effort=0)
    found.library = replace(found.library, **settings)
    return found.plan(OnLine(demo, "heron").difference("b211-355", "b211-350"))


def test_a_plan_keeps_one_fitter_where_that_costs_little(demo: Book) -> None:
    """At any price, those who isolate a machine do all work in it of their skill; at none, others may."""
    kept = of_the_library(demo, one_fitter=1e9)
    assert kept.one_fitter
    assert breaches(kept) == []
    slots = {slot.id: set(slot.who) for slot in kept.stop.slots}
    inside = [task for task in kept.tasks.values() if task.inside]
    same = [
        (task.id, one)
        for task in inside
        for one in task.isolated_by
        if kept.tasks[one].step.skill == task.step.skill
    ]
    assert len(same) > 20
    assert all(slots[a] <= slots[b] or slots[b] <= slots[a] for a, b in same)
    free = of_the_library(demo, one_fitter=-1e9)
    assert not free.one_fitter
    assert free.stop.length <= kept.stop.length
    assert free.other is not None
    assert free.other.length == kept.stop.length


def test_both_stops_are_printed(demo: Book) -> None:
    """The sentence gives the other rule with its minutes, whichever of the two is the plan."""
    kept, free = (of_the_library(demo, one_fitter=price) for price in (1e9, -1e9))
    assert kept.other is not None
    assert fitters(kept).startswith("One fitter or pair works in each machine")
    if kept.other.length < kept.stop.length:
        assert f"With hand-overs: {kept.other.length // 60} min" in fitters(kept)
    assert f": {kept.stop.length // 60} min" in fitters(free)


@pytest.mark.parametrize("name", NAMES)
def test_the_parts_of_a_stop_add_up(changed: Mapping[str, PlannedChangeover], name: str) -> None:
    """The critical path has no gap, and the sentence divides all of it."""
    plan = changed[name].plan
    path = critical_path(plan)
    assert sum(slot.end - slot.start for slot in path) == plan.stop.length
    words = made_of(plan)
    assert words.startswith(f"Of the {changed[name].durations.planned} min: ")
    assert words == changed[name].durations.made_of


def test_a_label_change_says_what_makes_it_long(changed: Mapping[str, PlannedChangeover]) -> None:
    """A label change loses more than 25 min, and says at which machines, and what one at a time loses."""
    durations = changed[LABEL].durations
    assert durations.planned > 25
    assert durations.made_of.endswith("of them are at Printers, two.")
    assert "Lost output" in durations.one_at_a_time


def test_the_way_to_a_machine_takes_time(demo: Book) -> None:
    """With a minute to each machine the stop is longer, and the checker sees a plan without it."""
    near, far = (of_the_library(demo, arrival=seconds) for seconds in (0.0, 60.0))
    assert near.stop.length < far.stop.length
    assert breaches(far) == []
    hurried = replace(near, tasks={ident: replace(one, arrival=60) for ident, one in near.tasks.items()})
    assert any("no time to come to" in one for one in breaches(hurried))


def test_who_runs_the_line_prepares_nothing(demo: Book, planner: Planner) -> None:
    """With two of six at the line at most four prepare, and the checker sees a plan with more.

    A briefing at the line takes everyone; those who run the line stay beside it.
    """
    pair = OnLine(demo, "heron").difference(*METAL.split()[:2])
    plan = planner.plan(pair)
    assert plan.running == 2
    assert breaches(plan) == []
    alone = [slot for slot in plan.before.slots if not plan.tasks[slot.id].step.everyone]
    moments = {slot.start for slot in alone}
    busy = [sum(len(s.who) for s in alone if s.start <= at < s.end) for at in moments]
    assert max(busy) <= 4
    assert any("run the line" in one for one in breaches(replace(plan, running=6 - max(busy) + 1)))
