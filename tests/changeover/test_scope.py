"""How much of the line stops: from the first machine that changes, and not at all where nothing must stop."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import pytest

from kb.book.load import Book
from kb.book.records_floor import Motion, PieceTime, StepTime
from kb.changeover.documents import change_document
from kb.changeover.durations import NO_STOP
from kb.changeover.model import Plan, Task
from kb.changeover.plan import Changeovers, PlannedChangeover, Planner, change, crew_of, sheet_of
from kb.changeover.safe import breaches
from kb.changeover.sheet_model import ChangeSheet
from kb.changeover.work import part_of, tasks_of
from tests.changeover.conftest import LABEL, MADE, METAL
from tests.changeover.small import change as part_change
from tests.changeover.small import compared, difference, station, step


def steps_of(plan: Plan, part: str) -> set[str]:
    """Ids of the steps in one part of a plan."""
    return {task.step.id for task in plan.tasks.values() if part_of(task.step) == part}


def test_a_label_change_clears_from_the_printers_on(changed: Mapping[str, PlannedChangeover]) -> None:
    """Machines before the printers are not run empty, those from the printers on are."""
    inside = steps_of(changed[LABEL].plan, "stop")
    assert not inside & {"run-out-cups", "run-out-washer", "clear-cupper"}
    assert inside >= {"stop-feed", "run-out-printers", "run-out-oven", "run-out-necker"}


def test_a_machine_before_the_first_that_changes_is_not_run_empty() -> None:
    """Where the necker is the first to change, printers keep their cans; a step that is not bound is done."""
    steps = (
        step("run-out-printers", "clear", 2, downstream=True, moves=Motion(("printer",), "power")),
        step("run-out-oven", "clear", 5, moves=Motion(("oven",), "power")),
        step("run-out-necker", "clear", 6, downstream=True, moves=Motion(("necker",), "power")),
        step("set-neck", "set", 3, "necker"),
    )
    line = (station(1, "printer", 2, ""), station(2, "oven", 1, ""), station(3, "necker", 1, "die"))
    assert set(tasks_of(steps, difference(*line))) == {"run-out-oven", "run-out-necker", "set-neck@neckers"}


def test_a_metal_change_clears_the_whole_line(changed: Mapping[str, PlannedChangeover]) -> None:
    """With another coil every machine is run empty."""
    assert steps_of(changed[METAL].plan, "stop") >= {
        "run-out-cups",
        "run-out-washer",
        "run-out-printers",
        "run-out-oven",
        "run-out-necker",
    }


def test_a_pallet_change_needs_no_stop(demo: Book) -> None:
    """What changes at the next pallet is changed while the line runs; its sheets are compared as ever."""
    found = change(demo, "b204-330", "b204-330-ferry", "plover", crew_of(demo, "plover"), effort=0)
    assert {station.id for station in found.difference.stations if station.changes} == {"palletizer"}
    assert found.plan.stop.slots == ()
    assert found.durations.planned == 0
    assert steps_of(found.plan, "before") >= {"store-pallet-layout", "take-pallet-layout"}
    assert breaches(found.plan) == []


def test_every_machine_with_hands_in_it_was_run_empty(demo: Book) -> None:
    """In no plan of the demo does a machine that is isolated lack the step that runs it empty."""
    clearing = {
        kind for one in Planner(demo, "heron-days").library.steps if one.downstream for kind in one.machines
    }
    pairs = [("b211-330", "b211-330-lantern"), ("b211-355", "b211-355-206"), ("b211-350", "b211-355")]
    for old, new in pairs:
        one = compared(demo, old, new, "heron")
        tasks = tasks_of(Planner(demo, "heron-days").library.steps, one)
        kinds = {station.id: station.kind for station in one.stations}
        isolated = {kinds[task.station] for task in tasks.values() if task.step.phase == "isolate"}
        cleared = {kind for t in tasks.values() if t.step.phase == "clear" for kind in t.step.machines}
        assert isolated & clearing <= cleared


def test_an_item_of_a_running_line_that_needs_hands_stops_it() -> None:
    """Where the step for such an item puts hands into a machine, the line stops for it all the same."""
    steps = (
        step("isolate", "isolate", 2, "palletizer", because_of=("guide",)),
        step("set-guide", "set", 3, "palletizer", because_of=("guide",), hands_in=True),
        step("release", "release", 2, "palletizer", because_of=("guide",)),
    )
    there = station(1, "palletizer", 1, "")
    changes = (replace(part_change("guide"), running=True),)
    tasks = tasks_of(steps, difference(replace(there, changes=changes)))
    assert {task.step.phase for task in tasks.values()} == {"isolate", "set", "release"}


# --- first-offs -------------------------------------------------------------------------------


def test_a_label_change_proves_the_print_alone(
    changed: Mapping[str, PlannedChangeover], change_sheets: Mapping[str, ChangeSheet]
) -> None:
    """Of a label change the sheet has the checks of print and codes, each with a task and a person."""
    said = change_sheets[LABEL].content
    assert [one.name for one in said.first_offs] == [
        "Sheet code",
        "Print, colour",
        "Print, colour register",
        "Label code and text",
    ]
    assert {"pass-print", "read-codes"} <= steps_of(changed[LABEL].plan, "stop")
    assert all(note.who for note in said.proof)


def test_every_first_off_is_a_task_and_every_task_of_proof_is_on_the_sheet(
    demo: Book, changed: Mapping[str, PlannedChangeover], change_sheets: Mapping[str, ChangeSheet]
) -> None:
    """Required first-offs and tasks that make them are one list, each with minutes."""
    spec = demo.only("floor")
    assert spec is not None
    names = {one.id: one.name for one in spec.record.first_offs}
    for name, one in changed.items():
        said = change_sheets[name].content
        proving = [task for task in one.plan.tasks.values() if task.step.proves]
        made = {ident for task in proving for ident in task.step.proves}
        rows = {row.name for row in said.first_offs}
        assert rows == {names[ident] for ident in made & set(one.difference.first_offs)}
        slots = {slot.id: slot for slot in one.plan.stop.slots}
        for task in proving:
            assert slots[task.id].end > slots[task.id].start
            assert slots[task.id].who
        texts = {note.text for note in (*said.proof, *said.verification)}
        assert {task.step.text for task in one.plan.tasks.values() if task.step.phase == "first-off"} <= texts
        assert {task.step.text for task in proving} <= texts


def test_with_other_metal_every_first_off_is_made(
    demo: Book, change_sheets: Mapping[str, ChangeSheet]
) -> None:
    """Where every machine is touched no check is left out."""
    spec = demo.only("floor")
    assert spec is not None
    rows = [one.name for one in change_sheets[METAL].content.first_offs]
    assert rows == [one.name for one in spec.record.first_offs]


# --- pieces -----------------------------------------------------------------------------------


@pytest.mark.parametrize(("old", "new"), [("b211-355-206", "b211-330"), ("b211-330", "b211-355-206")])
def test_more_pieces_take_longer(demo: Book, old: str, new: str) -> None:
    """Pieces out count on the way out, pieces in on the way in, beside a fixed part, in whole minutes."""
    one = compared(demo, old, new, "heron")
    tasks = tasks_of(Planner(demo, "heron-days").library.steps, one)
    (necker,) = (station for station in one.stations if station.id == "necker")
    items = {item.id: item for item in necker.changes}
    out = items["neck-die"].pieces_out + items["neck-pilot"].pieces_out
    assert items["neck-die"].pieces_out != items["neck-die"].pieces
    assert minutes_of(tasks["take-neck-tools-out@necker"]) == math.ceil(6 + out * 8 / 60)
    dies = items["neck-die"].pieces
    assert minutes_of(tasks["fit-neck-dies@necker"]) == math.ceil(5 + dies * 15 / 60)


def minutes_of(task: Task) -> float:
    """Typical time of a task [min]."""
    return float(task.step.time.typical) / 60


def test_there_and_back_differ_where_the_work_differs(demo: Book) -> None:
    """More stages go in on one way than on the other: the stops differ."""
    line = Changeovers(demo, "heron", "heron-days", effort=0)
    assert line.stop("b211-330", "b211-355-206") != line.stop("b211-355-206", "b211-330")


def test_a_step_at_each_machine_has_the_pieces_of_one(demo: Book) -> None:
    """The pieces of a group are shared by its machines."""
    one = replace(
        step("fit", "in", 1, "printer", each=True),
        time=StepTime(60, 90, "timed", PieceTime(10, 20)),
    )
    there = station(1, "printer", 2, "")
    item = replace(part_change("mandrel"), pieces=48, pieces_out=24)
    release = [step("isolate", "isolate", 1, "printer"), step("release", "release", 1, "printer")]
    tasks = tasks_of((one, *release), difference(replace(there, changes=(item,))))
    assert tasks["fit@printers#1"].step.time.typical == 60 + 24 * 10
    assert tasks["fit@printers#2"].step.time.worst == 90 + 24 * 20


def test_the_sheet_of_a_running_changeover_has_no_part_of_a_stop(demo: Book) -> None:
    """Without a stop the sheet has no run-out, locks, restart, clocks, back-out plan or lanes."""
    one = change(demo, "b204-330", "b204-330-ferry", "plover", crew_of(demo, "plover"), effort=0)
    sheet = sheet_of(demo, one, made=MADE)
    keys = {part.id.removeprefix("change-") for part in change_document(sheet).parts}
    assert not keys & {"run_out", "locks", "restart", "clocks", "back_out", "lanes", "verification"}
    assert keys >= {"current", "times", "machines", "ready", "first_offs"}
    assert sheet.content.durations.proof == NO_STOP
    # the format that comes has another target of the axial load
    assert [row.name for row in sheet.content.first_offs] == ["Sheet code", "Axial load"]
