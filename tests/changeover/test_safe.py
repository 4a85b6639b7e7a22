"""Plans hurt nobody: those of the demo plant, those of libraries made at random; and the checker sees it."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from dataclasses import replace

import pytest

from kb.book.load import Book
from kb.book.records_floor import Changeover, Duration, Motion, Step
from kb.changeover.difference import OnLine
from kb.changeover.model import Difference, Plan
from kb.changeover.plan import Planner
from kb.changeover.safe import breaches
from kb.changeover.work import Part, activities_of, rooms_of, tasks_of
from kb.scheduling.activities import NoPlan, Schedule, Slot
from kb.scheduling.plan import EFFORT, schedule
from tests.changeover import small
from tests.changeover.small import MINUTE, difference, station, step
from tests.scheduling.feasible import serial_schedule

LOCK = Duration(MINUTE, 2 * MINUTE, "estimated")
SHORT = "plover-days"
"""The crew whose plans are looked at in every run of the tests."""

CREWS = ("heron-days", "heron-nights", "plover-days", "plover-nights")


# --- the demo plant ---------------------------------------------------------------------------


def plans(demo: Book, crew: str, effort: float) -> Iterator[tuple[str, Plan]]:
    """Each plan of a crew that is no other pair's too."""
    planner = Planner(demo, crew, effort=effort)
    on_line = OnLine(demo, planner.crew.line)
    formats = list(on_line.formats())
    seen = set()
    for old in formats:
        for new in formats:
            if old == new:
                continue
            plan = planner.plan(on_line.difference(old, new))
            key = (id(plan.before), id(plan.stop), id(plan.after))
            if key not in seen:
                seen.add(key)
                yield f"{crew}: {old} to {new}", plan


def unsafe(found: Iterator[tuple[str, Plan]]) -> list[str]:
    """What is wrong with some plans; there must be some."""
    checked = [(name, breaches(plan)) for name, plan in found]
    assert len(checked) > 5
    return [f"{name}: {one}" for name, wrong in checked for one in wrong]


@pytest.mark.parametrize(
    "crew", [pytest.param(one, marks=() if one == SHORT else pytest.mark.slow) for one in CREWS]
)
def test_every_plan_by_rule_is_safe(demo: Book, crew: str) -> None:
    """For every pair of formats of its line a crew's plan by the rule alone breaks nothing."""
    assert unsafe(plans(demo, crew, 0)) == []


@pytest.mark.slow
@pytest.mark.parametrize("crew", CREWS)
def test_every_plan_of_the_solver_is_safe(demo: Book, crew: str) -> None:
    """For every pair of formats of its line the plan that the crew is given breaks nothing."""
    assert unsafe(plans(demo, crew, EFFORT)) == []


def test_every_step_that_moves_a_machine_says_so(demo: Book) -> None:
    """A step whose text turns, jogs, threads, spins or runs a machine has the key `moves`."""
    library: Changeover = demo.only("changeover").record
    words = ("jog", "hand wheel", "once by hand", "spin each", "thread the", "run-out with", "test cans")
    moving = [one for one in library.steps if any(word in one.text.lower() for word in words)]
    assert len(moving) >= 8
    assert [one.id for one in moving if one.moves is None] == []


# --- libraries made at random -----------------------------------------------------------------


def library(chance: random.Random) -> tuple[tuple[Step, ...], Difference]:
    """Steps at two or three groups of machines, with moves by hand and under power, in a safe order."""
    steps = [step("run-out", "clear", 4, people=0)]
    stations = []
    for number, kind in enumerate(chance.sample(["bodymaker", "trimmer", "necker"], chance.randint(2, 3)), 1):
        count = chance.choice([1, 2, 3])
        stations.append(station(number, kind, count, "part"))
        steps += _at(chance, kind, each=count > 1 and chance.random() < 0.7)
    return tuple(steps), difference(*stations)


def _at(chance: random.Random, kind: str, *, each: bool) -> Iterator[Step]:
    def made(name: str, phase: object, needs: str = "", **more: object) -> Step:
        minutes = chance.randint(1, 9)
        return step(f"{kind}-{name}", phase, minutes, kind, needs, each=each, **more)  # type: ignore[arg-type]

    moves = {by: Motion((kind,), by) for by in ("hand", "power")}  # type: ignore[arg-type]
    skills = {"bodymaker": "bodymaking", "trimmer": "trimming", "necker": "necking"}
    yield made("sweep", "clear", "run-out", moves=moves["power"])
    yield made("isolate", "isolate", skill=skills[kind])
    for i in range(chance.randint(1, 4)):
        needs = f"{kind}-hands-{i - 1}" if i and chance.random() < 0.4 else ""
        yield made(f"hands-{i}", "in", needs, hands_in=True, people=chance.choice([1, 1, 2]))
    if chance.random() < 0.8:
        turned = chance.choice([True, False])
        yield made("turn", "verify", hands_in=turned, moves=moves["hand"], people=chance.choice([1, 2]))
    yield made("release", "release", skill=chance.choice(["", skills[kind]]))
    yield made("jog", "verify", moves=moves["power"])


Solve = Callable[..., Schedule]


@pytest.mark.parametrize("solve", [serial_schedule, schedule], ids=["rule", "solver"])
def test_plans_of_libraries_made_at_random_are_safe(solve: Solve) -> None:
    """For all moves and all hands in machines, rule and solver make plans that break nothing."""
    planned = 0
    for seed in range(40 if solve is serial_schedule else 12):
        steps, one = library(random.Random(seed))
        found = plan_of(steps, one, solve)
        planned += 1
        assert breaches(found) == [], seed
    assert planned >= 12


def plan_of(steps: tuple[Step, ...], one: Difference, solve: Solve = serial_schedule) -> Plan:
    """A plan of the small plant."""
    tasks = tasks_of(steps, one, LOCK)
    means = small.SHARED | rooms_of(tasks)
    parts: tuple[Part, ...] = ("before", "stop", "after")
    made = [solve(activities_of(tasks, part=part), small.CREW, means) for part in parts]
    return Plan(one, "crew", small.CREW, means, tasks, *made)


def test_a_move_under_power_inside_isolation_has_no_plan() -> None:
    """A release that waits for a jog of its own machine waits for itself."""
    steps = (
        step("isolate", "isolate", 1, "necker"),
        step("dies", "in", 9, "necker", hands_in=True),
        step("jog", "verify", 1, "necker", "dies", moves=Motion(("necker",), "power")),
        step("release", "release", 1, "necker", "jog"),
    )
    with pytest.raises(NoPlan, match="ring"):
        plan_of(steps, difference(station(1, "necker", 1, "dies")))


# --- the checker itself -----------------------------------------------------------------------

STEPS = (
    step("isolate", "isolate", 2, "bodymaker", each=True, skill="bodymaking"),
    step("swap", "in", 9, "bodymaker", each=True, hands_in=True, skill="quality"),
    step("turn", "verify", 3, "bodymaker", each=True, hands_in=True, moves=Motion(("bodymaker",), "hand")),
    step("release", "release", 2, "bodymaker", each=True, skill="bodymaking"),
    step("jog", "verify", 1, "bodymaker", each=True, moves=Motion(("bodymaker",), "power")),
)
PLAN = plan_of(STEPS, difference(station(1, "bodymaker", 2, "punch")))


def changed(ident: str, **fields: object) -> Plan:
    """The plan with one slot changed."""
    slots = tuple(replace(slot, **fields) if slot.id == ident else slot for slot in PLAN.stop.slots)
    return replace(PLAN, stop=replace(PLAN.stop, slots=slots))


def at(ident: str) -> Slot:
    """A slot of the plan."""
    return next(slot for slot in PLAN.stop.slots if slot.id == ident)


def test_the_plan_as_made_breaks_nothing() -> None:
    """Before anything is changed the checker is content."""
    assert breaches(PLAN) == []


@pytest.mark.parametrize(
    ("ident", "fields", "wrong"),
    [
        ("turn@bodymakers#1", {"start": at("swap@bodymakers#1").start + 60}, "moves the machine while swap"),
        ("swap@bodymakers#1", {"start": 0}, "has hands in before the machine is isolated"),
        ("swap@bodymakers#1", {"end": 99999}, "has hands in after the machine is released"),
        ("jog@bodymakers#2", {"start": at("release@bodymakers#2").start}, "under power while it is isolated"),
        ("turn@bodymakers#2", {"start": 0, "end": 60}, "by hand while it is not isolated"),
        ("release@bodymakers#1", {"who": ("lead",)}, "is not done by those of isolate@bodymakers#1"),
        ("swap@bodymakers#2", {"end": at("swap@bodymakers#2").start + 540}, "cannot hang a lock"),
        ("swap@bodymakers#1", {"who": ("cupper",)}, "without the skill quality"),
        ("isolate@bodymakers#1", {"who": ()}, "has 0 people"),
        ("swap@bodymakers#2", {"start": at("swap@bodymakers#1").start}, "at once"),
    ],
    ids=lambda one: one if isinstance(one, str) and " " in one else "",
)
def test_the_checker_sees_what_is_wrong(ident: str, fields: dict[str, object], wrong: str) -> None:
    """Each rule that a changed slot breaks is named."""
    assert any(wrong in one for one in breaches(changed(ident, **fields)))


def test_the_checker_counts_tasks_and_equipment() -> None:
    """A task left out, a need not waited for and a hoist used twice are named."""
    fewer = replace(PLAN, stop=replace(PLAN.stop, slots=PLAN.stop.slots[1:]))
    assert "not every task is done once" in breaches(fewer)
    hoist = (step("a", "in", 5, uses=("hoist",)), step("b", "in", 5, "", "a", uses=("hoist",)))
    both = plan_of(hoist, difference(station(1, "necker", 1, "dies")))
    slots = tuple(replace(slot, start=0, end=300) for slot in both.stop.slots)
    wrong = breaches(replace(both, stop=replace(both.stop, slots=slots)))
    assert "b begins before a is done" in wrong
    assert "2 of hoist in use at 0" in wrong
