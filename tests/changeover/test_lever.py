from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import get_args

import pytest

from kb.book.records_floor import Motion, Phase, Step
from kb.changeover.lever import Lever, levers, may_be_external, ways_of
from kb.changeover.model import Difference, Plan
from kb.changeover.plan import PlannedChangeover
from kb.changeover.work import activities_of, tasks_of
from kb.scheduling.activities import Operator, Schedule
from kb.scheduling.plan import schedule
from tests.changeover import small
from tests.changeover.conftest import DIAMETER, METAL
from tests.changeover.small import difference, station, step

BOTH = ("external", "half")
NONE = Schedule((), 0, 0, "rule")


def plan(steps: Sequence[Step], one: Difference, hands: tuple[Operator, ...] = small.CREW) -> Plan:
    """A plan of the stop alone."""
    tasks = tasks_of(steps, one)
    stop = schedule(activities_of(tasks, part="stop"), hands, small.EQUIPMENT)
    return Plan(one, "crew", hands, small.EQUIPMENT, tasks, NONE, stop, NONE)


NECKER = difference(station(1, "necker", 1, "dies"))
STEPS = (
    step("run-out", "clear", 10),
    step("isolate", "isolate", 4, "necker", "run-out"),
    step("shims", "set", 13, "necker", "isolate"),
    step("dies", "in", 40, "necker", "shims", hands_in=True),
    step("guides", "in", 20, "necker", "run-out"),
    step("release", "release", 4, "necker"),
    step("check", "first-off", 13, "necker", "release"),
)


@pytest.fixture(scope="module")
def found() -> tuple[Lever, ...]:
    """What would shorten a stop of 84 min."""
    return levers(plan(STEPS, NECKER))


def test_the_stop_with_each_lever(found: tuple[Lever, ...]) -> None:
    """Made external the 13 min of shims are saved, halved 6.5; the best lever comes first."""
    saved = {(one.step.id, one.way): one.saved / 60 for one in found}
    assert saved["shims", "external"] == 13
    assert saved["shims", "half"] == 6.5
    assert saved["dies", "half"] == 20
    assert found[0].step.id == "dies"
    assert [one.saved for one in found] == sorted((one.saved for one in found), reverse=True)


def test_words(found: tuple[Lever, ...]) -> None:
    """A lever is reported in one line, with the stop before and after."""
    words = {(one.step.id, one.way): one.words for one in found}
    assert words["shims", "external"] == "make shims external: stop 84 -> 71 min"
    assert words["dies", "half"] == "halve dies: stop 84 -> 64 min"


def test_only_critical_steps_are_levers(found: tuple[Lever, ...]) -> None:
    """The guides have time to spare beside the dies: they save nothing."""
    assert "guides" not in {one.step.id for one in found}


def test_what_the_step_waits_for_is_reported(found: tuple[Lever, ...]) -> None:
    """Shims set before the stop would have to do without the isolation that they wait for now."""
    (shims,) = (one for one in found if (one.step.id, one.way) == ("shims", "external"))
    assert shims.waits_for == ("isolate",)
    assert shims.proven


@pytest.mark.parametrize(
    ("one", "may"),
    [
        (step("shims", "set", 1, "necker"), True),
        (step("guides", "in", 1, "necker"), True),
        (step("dies", "in", 1, "necker", hands_in=True), False),
        (step("isolate", "isolate", 1, "necker"), False),
        (step("check", "first-off", 1, "necker"), False),
        (step("kit", "before", 1), False),
    ],
    ids=lambda one: one.id if isinstance(one, Step) else "",
)
def test_what_may_be_external(one: Step, may: bool) -> None:
    """No hands-on work and nothing of what the stop is for; what is external already is no lever."""
    assert may_be_external(one) is may


@pytest.mark.parametrize("phase", get_args(Phase))
def test_what_keeps_hands_safe_or_proves_cans_is_not_hurried(phase: Phase) -> None:
    """No lever is made of isolation, release, verification, first-offs or restart."""
    ways = {"clear": ("half",), "out": BOTH, "in": BOTH, "set": BOTH, "before": ("half",), "after": ("half",)}
    assert ways_of(step("one", phase, 1, "necker")) == ways.get(phase, ())


def test_what_moves_a_machine_is_not_done_beside_the_run() -> None:
    """A strip that is threaded with a jog needs the stop, though no hand goes in."""
    thread = step("thread", "set", 12, "cupper", moves=Motion(("cupper",), "power"))
    assert ways_of(thread) == ("half",)


def test_levers_of_the_demo_plant_shorten_no_proof(changed: Mapping[str, PlannedChangeover]) -> None:
    """There are levers, and none is a check, a first-off, a release or the restart."""
    for name in (METAL, DIAMETER):
        found = levers(changed[name].plan, effort=0)
        assert len(found) >= 5
        assert {one.step.phase for one in found} <= {"clear", "out", "in", "set"}


def test_no_lever_makes_a_whole_stop_longer() -> None:
    """Each lever of a stop of more than a hundred works saves time, and none more than its step takes."""
    one = plan(small.STEPS, small.HEIGHT)
    found = levers(one, effort=0)
    assert found
    for lever in found:
        tasks = [task for task in one.tasks.values() if task.step.id == lever.step.id]
        takes = sum(float(task.step.time.typical) * max(1, task.step.people) for task in tasks)
        assert 0 < lever.saved <= takes
        assert lever.then >= 0
