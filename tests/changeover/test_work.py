from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.book.load import Book
from kb.book.records_floor import Changeover, Step
from kb.changeover.difference import OnLine
from kb.changeover.model import Difference, Task
from kb.changeover.work import activities_of, part_of, tasks_of
from kb.scheduling.activities import NoPlan, network
from tests.changeover import small
from tests.changeover.small import difference, station, step

GUARDS = (
    step("isolate", "isolate", 2, "necker"),
    step("release", "release", 2, "necker"),
)


def needs(tasks: Mapping[str, Task], ident: str) -> set[str]:
    """All tasks that come before one, also by others."""
    found: set[str] = set()
    todo = list(tasks[ident].needs)
    while todo:
        one = todo.pop()
        if one not in found:
            found.add(one)
            todo += tasks[one].needs
    return found


# --- which tasks ------------------------------------------------------------------------------


def test_a_part_that_changes_calls_for_its_steps() -> None:
    """A step that names parts is done where one of them changes, and says for which."""
    tasks = tasks_of(small.STEPS, small.EVERYTHING)
    assert tasks["die-set-out@cuppers"].because == ("the draw-die", "the cup-punch")
    assert "feed@cuppers" in tasks
    assert "feed@cuppers" not in tasks_of(small.STEPS, small.HEIGHT)


def test_a_step_that_names_no_part_is_done_where_anything_changes() -> None:
    """Isolation of the printers is called for by their plates alone, that of the necker is not."""
    tasks = tasks_of(small.STEPS, small.LABEL)
    assert tasks["printer-isolate@printers#1"].because == ("the plates",)
    assert not any("neckers" in ident for ident in tasks)


def test_a_step_without_a_machine_is_done_in_every_changeover() -> None:
    """The run-out is called for by a label as by everything; one that names parts only by them."""
    tasks = tasks_of(small.STEPS, small.LABEL)
    assert tasks["run-out"].because == ()
    assert "kit-cart" not in tasks
    assert tasks_of(small.STEPS, small.EVERYTHING)["kit-cart"].because[0] == "the punch"


def test_a_step_for_each_machine() -> None:
    """Eight bodymakers take eight swaps of the pack; the necker's dies go out once."""
    tasks = tasks_of(small.STEPS, small.EVERYTHING)
    assert [tasks[f"pack-out@bodymakers#{n}"].number for n in range(1, 9)] == list(range(1, 9))
    assert tasks["dies-out@neckers"].number is None


def test_two_groups_of_a_kind() -> None:
    """A line with two groups of bodymakers has the tasks at both, each with its own machines."""
    both = difference(
        station(1, "bodymaker", 2, "punch", "east"), station(2, "bodymaker", 3, "punch", "west")
    )
    steps = (
        step("isolate", "isolate", 1, "bodymaker", each=True),
        step("swap", "in", 5, "bodymaker", each=True, hands_in=True),
        step("release", "release", 1, "bodymaker", "swap", each=True),
    )
    tasks = tasks_of(steps, both)
    assert sum(ident.startswith("swap@") for ident in tasks) == 5
    assert set(tasks["release@west#3"].needs) == {"swap@west#3", "isolate@west#3"}


def test_nothing_differs_nothing_is_done() -> None:
    """From a format to itself there is no task at all."""
    assert tasks_of(small.STEPS, difference(station(1, "necker", 1, ""))) == {}


def test_hands_call_for_isolation() -> None:
    """Where hands go in, isolation and release are required even if they name other parts."""
    shy = tuple(replace(one, because_of=("pilots",)) for one in GUARDS)
    dies = step("dies", "in", 9, "necker", because_of=("dies",), hands_in=True)
    tasks = tasks_of((*shy, dies), difference(station(1, "necker", 1, "dies")))
    assert set(tasks) == {"isolate@neckers", "release@neckers", "dies@neckers"}


@pytest.mark.parametrize(
    ("steps", "why"),
    [
        ((step("dies", "in", 9, "necker", hands_in=True),), "no step of the phase isolate"),
        ((step("dies", "in", 9, "necker", hands_in=True), GUARDS[0]), "no step of the phase release"),
        ((step("dies", "after", 9, "necker", hands_in=True), *GUARDS), "while the line runs"),
        ((step("dies", "in", 9, "necker", "pilots"),), "needs pilots, which the library does not have"),
    ],
)
def test_an_unsafe_library_is_refused(steps: tuple[Step, ...], why: str) -> None:
    """Hands in a machine that nobody isolates, or that runs, make no plan."""
    with pytest.raises(NoPlan, match=why):
        tasks_of(steps, difference(station(1, "necker", 1, "dies")))


# --- in which order ---------------------------------------------------------------------------


def test_needs_stay_at_the_machine() -> None:
    """What is done at each machine waits for the same machine; what is done once waits for all."""
    tasks = tasks_of(small.STEPS, small.EVERYTHING)
    assert "pack-out@bodymakers#3" in tasks["pack-in@bodymakers#3"].needs
    assert "pack-out@bodymakers#4" not in tasks["pack-in@bodymakers#3"].needs
    assert {f"first-bodies@bodymakers#{n}" for n in range(1, 9)} <= set(tasks["first-necks@neckers"].needs)


def test_like_groups_go_by_number() -> None:
    """The trimmer of a bodymaker waits for that one where there are as many of both, otherwise for all."""
    steps = (
        step("jog", "verify", 2, "bodymaker", each=True),
        step("trim", "verify", 2, "trimmer", "jog", each=True),
    )
    pairs = difference(station(1, "bodymaker", 3, "punch"), station(2, "trimmer", 3, "pads"))
    assert tasks_of(steps, pairs)["trim@trimmers#2"].needs == ("jog@bodymakers#2",)
    shared = difference(station(1, "bodymaker", 3, "punch"), station(2, "trimmer", 2, "pads"))
    assert len(tasks_of(steps, shared)["trim@trimmers#2"].needs) == 3


def test_needs_pass_through_what_is_not_called_for() -> None:
    """Without new dies the turret is set after what the dies would have waited for."""
    steps = (
        step("sweep", "clear", 3),
        step("out", "out", 9, "necker", "sweep", because_of=("dies",)),
        step("in", "in", 9, "necker", "out", because_of=("dies",)),
        step("turret", "set", 9, "necker", "in"),
    )
    assert tasks_of(steps, difference(station(1, "necker", 1, "height")))["turret@neckers"].needs == (
        "sweep",
    )


def test_safety_comes_without_being_asked() -> None:
    """Clear, isolate, hands in, release: in this order even where the library names no need."""
    steps = (*GUARDS, step("clear", "clear", 2, "necker"), step("dies", "in", 9, "necker", hands_in=True))
    tasks = tasks_of(steps, difference(station(1, "necker", 1, "dies")))
    assert tasks["isolate@neckers"].needs == ("clear@neckers",)
    assert tasks["dies@neckers"].needs == ("isolate@neckers",)
    assert set(tasks["release@neckers"].needs) == {"dies@neckers", "isolate@neckers"}


def test_restart_comes_last() -> None:
    """The restart waits for everything else inside the stop, and the release of the run for the restart."""
    tasks = tasks_of(small.STEPS, small.EVERYTHING)
    inside = {task.id for task in tasks.values() if part_of(task.step) == "stop"}
    before = {ident for ident in needs(tasks, "cans-dry") if part_of(tasks[ident].step) == "stop"}
    assert before == inside - {"cans-dry", "release-run"}
    assert "cans-dry" in needs(tasks, "release-run")


@pytest.mark.parametrize("one", [small.EVERYTHING, small.HEIGHT, small.LABEL], ids=["all", "height", "label"])
def test_hands_are_between_isolation_and_release(one: Difference) -> None:
    """Nothing hands-on comes before the isolation of its machine or after its release."""
    tasks = tasks_of(small.STEPS, one)
    for task in tasks.values():
        if not task.step.hands_in:
            continue
        here = [other for other in tasks.values() if other.station == task.station]
        mine = [other for other in here if other.number in (None, task.number)]
        isolating = {other.id for other in mine if other.step.phase == "isolate"}
        assert isolating
        assert isolating <= needs(tasks, task.id)
        assert all(task.id in needs(tasks, o.id) for o in mine if o.step.phase == "release")


# --- parts of the changeover ------------------------------------------------------------------


def test_external_work_is_never_inside_the_stop() -> None:
    """Every task is in one part: what the phase says is done while the line runs is not in the stop."""
    tasks = tasks_of(small.STEPS, small.EVERYTHING)
    parts = {part: activities_of(tasks, part=part) for part in ("before", "stop", "after")}
    assert sorted(work.id for works in parts.values() for work in works) == sorted(tasks)
    for part, works in parts.items():
        outside = {"before": "before", "after": "after"}
        assert all(outside.get(tasks[work.id].step.phase, "stop") == part for work in works)
        inside = {work.id for work in works}
        assert all(set(work.needs) <= inside for work in works)


def test_needs_pass_through_another_part() -> None:
    """Where a step between two is made external, the later of the two still waits for the earlier."""
    tasks = tasks_of(small.STEPS, small.EVERYTHING)
    moved = {
        ident: replace(task, step=replace(task.step, phase="before")) if ident == "feed@cuppers" else task
        for ident, task in tasks.items()
    }
    works = {work.id: work for work in activities_of(moved, part="stop")}
    assert "feed@cuppers" not in works
    assert "die-set-in@cuppers" in works["first-cups@cuppers"].needs


def test_a_work_says_what_its_step_says() -> None:
    """Time in whole seconds, people, skill and equipment are the step's."""
    tasks = tasks_of(small.STEPS, small.EVERYTHING)
    works = {work.id: work for work in activities_of(tasks, part="stop")}
    work = works["dies-in@neckers"]
    assert (work.seconds, work.people, work.skill) == (2100, 2, "necking")
    assert work.uses == {"torque-wrench": 1, "in neckers": 1}
    assert works["pack-in@bodymakers#3"].where == "bodymakers#3"


@settings(max_examples=60)
@given(st.sets(st.sampled_from([change for one in small.EVERYTHING.stations for change in one.changes])))
def test_any_changes_make_a_network(changed: set[object]) -> None:
    """For all changes together, the tasks wait for each other without a ring."""
    stations = [
        replace(one, changes=tuple(change for change in one.changes if change in changed))
        for one in small.EVERYTHING.stations
    ]
    tasks = tasks_of(small.STEPS, difference(*stations))
    for part in ("before", "stop", "after"):
        works = activities_of(tasks, part=part)
        assert len(network(works, small.CREW, small.EQUIPMENT).order) == len(works)


def test_back_again_restores_every_part(demo: Book) -> None:
    """After A to B and B to A everything that was changed at a machine has been changed back there."""
    library: Changeover = demo.only("changeover").record
    for ident in demo.of("line"):
        on_line = OnLine(demo, ident)
        first, *others = on_line.formats()
        for other in others:
            there, back = on_line.difference(first, other), on_line.difference(other, first)
            went = {
                (one.id, change.id): (change.old, change.new)
                for one in there.stations
                for change in one.changes
            }
            came = {
                (one.id, change.id): (change.new, change.old)
                for one in back.stations
                for change in one.changes
            }
            assert went == came
            assert set(tasks_of(library.steps, there)) == set(tasks_of(library.steps, back))
