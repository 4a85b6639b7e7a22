from __future__ import annotations

import datetime
import itertools
import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import replace

import pytest

from kb.blocks import MISSING, Cell
from kb.book.load import Book, load
from kb.changeover.content import change_code, change_content, change_digest, change_sheet, setups
from kb.changeover.documents import no_return
from kb.changeover.durations import NO_STOP, PROVEN, proof
from kb.changeover.jobs import critical_path, timed
from kb.changeover.lanes import lanes
from kb.changeover.model import Difference
from kb.changeover.plan import CannotRun, NothingChanges, Orphans, PlannedChangeover, change, sheet_of
from kb.changeover.sheet_model import ChangeContent, ChangeSheet, Job
from kb.changeover.times import Moment, length
from kb.scheduling.activities import Schedule, Slot
from kb.sheet.content import NoSheet
from kb.sheet.issue import code
from kb.sheet.model import NOT_FOR_USE
from tests.changeover.conftest import BACK, DIAMETER, DRAFT, LABEL, MADE, METAL, NAMES, NECK, TRIAL
from tests.conftest import MakeBook

# --- every difference has its place, once -----------------------------------------------------


def parts_of(difference: Difference, *, new: bool) -> Counter[tuple[int, str, int]]:
    """Machine, part and place of everything that comes out or goes in."""
    found: Counter[tuple[int, str, int]] = Counter()
    for station in difference.stations:
        for one in station.changes:
            cells = one.new if new else one.old
            many = max(len(one.old), len(one.new)) > 1
            if one.what == "part":
                found.update(
                    (station.number, one.id, place + 1 if many else 0)
                    for place in one.places
                    if place < len(cells)
                )
    return found


@pytest.mark.parametrize("name", NAMES)
def test_every_part_comes_out_and_goes_in_once(
    changed: Mapping[str, PlannedChangeover], change_sheets: Mapping[str, ChangeSheet], name: str
) -> None:
    """Each changing part is at each of its places once under tools out and once under tools in."""
    said = change_sheets[name].content
    for blocks, new in ((said.out, False), (said.fit, True)):
        counts = Counter((at.number, row.id, row.place) for at in blocks for row in at.rows)
        assert counts == parts_of(changed[name].difference, new=new)


@pytest.mark.parametrize("name", NAMES)
def test_every_setting_supply_and_gauge_is_once(
    changed: Mapping[str, PlannedChangeover], change_sheets: Mapping[str, ChangeSheet], name: str
) -> None:
    """Settings and supplies are once at their machine; a gauge is there once, with all its checks."""
    said, stations = change_sheets[name].content, changed[name].difference.stations
    expected = Counter(
        (station.number, one.id) for station in stations for one in station.changes if one.what != "part"
    )
    assert Counter((one.number, one.id) for one in said.settings) == expected
    gauges = {one.id for station in stations for one in station.gauges}
    assert Counter(one.id for one in said.gauges) == Counter(gauges)
    checks = {also.name for station in stations for one in station.gauges for also in one.also}
    assert {check for one in said.gauges for check in one.checks} == checks


def test_pieces_are_those_of_all_machines(
    changed: Mapping[str, PlannedChangeover], change_sheets: Mapping[str, ChangeSheet]
) -> None:
    """The pieces of a part on the sheet, place by place, come to the pieces of the difference."""
    said = change_sheets[DIAMETER].content
    for station in changed[DIAMETER].difference.stations:
        for one in station.changes:
            if one.what == "part":
                pieces = [
                    sum(
                        row.pieces
                        for at in blocks
                        if at.number == station.number
                        for row in at.rows
                        if row.id == one.id
                    )
                    for blocks in (said.out, said.fit)
                ]
                assert pieces == [one.pieces_out, one.pieces]


def test_what_nothing_is_changed_for_is_said(change_sheets: Mapping[str, ChangeSheet]) -> None:
    """A value that differs and needs no part is there with the plant's reason."""
    (listed,) = [one for one in change_sheets[METAL].content.excuses if "fill.headspace" in one.values]
    assert listed.why == "The filler sets it, not this line."


def test_untouched_machines_are_left_alone(
    changed: Mapping[str, PlannedChangeover], change_sheets: Mapping[str, ChangeSheet]
) -> None:
    """The line to leave alone names the machines at which nothing changes, and no other."""
    for name, one in changed.items():
        alone = tuple(station.title for station in one.difference.alone)
        assert change_sheets[name].content.alone == alone
    assert "Necker" in change_sheets[LABEL].content.alone


def test_look_alikes_are_distinguished(change_sheets: Mapping[str, ChangeSheet]) -> None:
    """Tools whose first three figures agree are marked with both sizes; others are not."""
    rows = {row.name: row for at in change_sheets[METAL].content.fit for row in at.rows}
    assert rows["Ironing ring 1, bore"].look_alike == "66.255 → 66.264"
    assert rows["Draw die"].look_alike == ""
    assert "step height 84.0 → 133.9" in rows["Punch, thin-wall diameter"].look_alike


def test_a_setting_that_keeps_its_number_must_be_found_again(
    change_sheets: Mapping[str, ChangeSheet],
) -> None:
    """A moved number is set without a search; the dome setting keeps its number over other metal."""
    direct = {one.id: one.direct for one in change_sheets[METAL].content.settings}
    assert direct["trim-height"]
    assert not direct["dome-setting"]


def test_first_offs_are_those_that_touched_machines_can_move(
    changed: Mapping[str, PlannedChangeover], change_sheets: Mapping[str, ChangeSheet]
) -> None:
    """A label moves no wall and no seam: checks of the machines left alone are not on the sheet."""
    label = {one.name for one in change_sheets[LABEL].content.first_offs}
    metal = {one.name for one in change_sheets[METAL].content.first_offs}
    assert label >= {"Sheet code", "Print, colour"}
    assert label < metal
    assert not {"Thin wall", "Stand diameter", "Dome reversal pressure", "Seam thickness", "Overlap"} & label
    assert {"Thin wall", "Finished height"} <= metal


# --- the plan on the sheet --------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_every_task_is_in_one_job(
    changed: Mapping[str, PlannedChangeover], change_sheets: Mapping[str, ChangeSheet], name: str
) -> None:
    """Jobs hold all work of the plan: member by member the same minutes, part by part."""
    said = change_sheets[name].content

    def worked(rows: list[tuple[str, tuple[str, ...], int]]) -> Counter[tuple[str, str]]:
        found: Counter[tuple[str, str]] = Counter()
        for part, who, seconds in rows:
            found.update({(part, member): seconds for member in who or ("",)})
        return found

    plan = [(one.part, one.slot.who, one.end - one.start) for one in timed(changed[name].plan)]
    jobs = [(one.part, one.who, one.end - one.start) for one in said.jobs]
    assert worked(jobs) == worked(plan)


@pytest.mark.parametrize("name", NAMES)
def test_lanes_do_not_overlap(change_sheets: Mapping[str, ChangeSheet], name: str) -> None:
    """Nobody has two jobs at a time, and tasks without people run side by side."""
    for lane in lanes(change_sheets[name].content):
        places: dict[int, list[Job]] = {}
        for bar in lane.bars:
            places.setdefault(bar.place, []).append(bar.job)
        for jobs in places.values():
            jobs.sort(key=lambda job: job.start)
            assert all(one.end <= other.start for one, other in itertools.pairwise(jobs))


@pytest.mark.parametrize("name", NAMES)
def test_the_critical_path_fills_the_stop(changed: Mapping[str, PlannedChangeover], name: str) -> None:
    """The path begins at the stop, ends at the restart, and no time is between two of its tasks."""
    plan = changed[name].plan
    path = critical_path(plan)
    assert path[0].start == 0
    assert path[-1].end == plan.stop.length
    assert all(one.end == other.start for one, other in itertools.pairwise(path))
    assert all(slot.critical for slot in path)


@pytest.mark.parametrize("name", NAMES)
def test_what_must_be_ready_is_due_before_the_stop(
    change_sheets: Mapping[str, ChangeSheet], name: str
) -> None:
    """Every step of the preparation is planned to end before T, and the steps are in order of time."""
    ready = change_sheets[name].content.ready
    for one in ready:
        assert one.start.seconds < one.end.seconds <= 0
    starts = [one.start.seconds for one in ready]
    assert starts == sorted(starts)


def test_the_point_of_no_return_is_the_first_tool_change(
    changed: Mapping[str, PlannedChangeover], change_sheets: Mapping[str, ChangeSheet]
) -> None:
    """It is the start of the first task that takes a tool out or puts one in; task and machine are named."""
    plan = changed[METAL].plan
    changing = [slot for slot in plan.stop.slots if plan.tasks[slot.id].step.phase in {"out", "in"}]
    first = min(changing, key=lambda slot: (slot.start, slot.id))
    task, durations = plan.tasks[first.id], change_sheets[METAL].content.durations
    assert (durations.no_return, durations.no_return_at) == (Moment(first.start), task.at)
    assert task.step.text.startswith(durations.no_return_step)


def test_going_back_after_it_is_a_changeover_of_its_own(
    demo: Book, change_sheets: Mapping[str, ChangeSheet]
) -> None:
    """The sheet gives the planned stop of the changeover the other way."""
    head, durations = change_sheets[METAL].content.header, change_sheets[METAL].content.durations
    other = change(demo, head.new.id, head.old.id, head.line, head.crew, effort=0)
    assert durations.back == other.durations.planned
    assert f"planned {length(durations.back)}" in no_return(durations)


def test_times_never_stand_alone(change_sheets: Mapping[str, ChangeSheet]) -> None:
    """Planned, median, nine in ten and worst rise; what was recorded has its worst beside its median."""
    for one in change_sheets.values():
        durations = one.content.durations
        assert (
            durations.bound
            <= durations.planned
            <= durations.median
            <= durations.nine_in_ten
            <= durations.worst
        )
        assert all(clock.median <= clock.worst for clock in durations.past)
    assert "of this changeover" in change_sheets[METAL].content.durations.past_of


def test_a_plan_is_only_called_proven_when_it_is() -> None:
    """A schedule as long as its bound is proven; a longer one shows by how much, rounded up."""
    one = Slot("lift-out", 0, 600, ("fitter-1",), 0)
    assert proof(Schedule((one,), 600, 600, "solver")) == PROVEN
    assert proof(Schedule((one,), 601, 600, "rule")) == "within 0.2 % of the best possible"
    assert proof(Schedule((), 0, 0, "rule")) == NO_STOP


def test_dangers_name_what_has_stored_energy(change_sheets: Mapping[str, ChangeSheet]) -> None:
    """The dangers on the first side are those of the machines that are opened."""
    listed = {one.machine for one in change_sheets[METAL].content.dangers}
    assert "Bodymakers H1 to H8" in listed
    assert "Bodymakers H1 to H8" not in {one.machine for one in change_sheets[LABEL].content.dangers}


# --- code, mark, refusal ----------------------------------------------------------------------


def test_the_code_is_grouped_unlike_a_setup_sheets(change_sheets: Mapping[str, ChangeSheet]) -> None:
    """No changeover sheet can be taken for a setup sheet: the hyphen is elsewhere."""
    for one in change_sheets.values():
        assert re.fullmatch(r"[A-Z3479]{2}-[A-Z3479]{3}", one.code)
        assert one.code != code(one.digest)
        assert one.code.replace("-", "") == code(one.digest).replace("-", "")


def test_the_way_back_is_another_sheet(change_sheets: Mapping[str, ChangeSheet]) -> None:
    """Every changeover has its own code, the reverse of one among them."""
    codes = {one.code for one in change_sheets.values()}
    assert len(codes) == len(NAMES)
    assert change_sheets[METAL].code != change_sheets[BACK].code


def test_the_day_of_the_copy_is_not_in_the_code(
    demo: Book, changed: Mapping[str, PlannedChangeover], change_sheets: Mapping[str, ChangeSheet]
) -> None:
    """A copy of another day has the same code and a later end."""
    later = sheet_of(demo, changed[METAL], made=MADE + datetime.timedelta(days=3))
    assert later.code == change_sheets[METAL].code
    assert later.content == change_sheets[METAL].content
    assert later.good_until > change_sheets[METAL].good_until


def test_another_setup_sheet_is_another_changeover_sheet(change_sheets: Mapping[str, ChangeSheet]) -> None:
    """The codes of both setup sheets are in the fingerprint."""
    said = change_sheets[METAL].content
    header = replace(said.header, new=replace(said.header.new, code="CDF-H9"))
    other = change_digest(replace(said, header=header))
    assert change_code(other) != change_sheets[METAL].code


def test_drafts_and_trials_are_marked(change_sheets: Mapping[str, ChangeSheet]) -> None:
    """The status of the new format is printed across the sheet; a released one leaves it clean."""
    assert change_sheets[TRIAL].mark == "TRIAL"
    assert change_sheets[DRAFT].mark == "DRAFT"
    assert change_sheets[NECK].mark == ""


def with_missing(demo: Book, one: PlannedChangeover) -> ChangeContent:
    """What a sheet says when the first changing part has no size."""
    stations = list(one.difference.stations)
    first = next(i for i, station in enumerate(stations) if station.changes)
    change_, *rest = stations[first].changes
    stations[first] = replace(stations[first], changes=(replace(change_, new=(Cell(MISSING),)), *rest))
    plan = replace(one.plan, difference=replace(one.difference, stations=tuple(stations)))
    both = setups(demo, one.difference, MADE)
    return change_content(demo, plan, one.crew, one.durations, both)


def test_a_missing_size_is_named_and_marks_the_sheet(
    demo: Book, changed: Mapping[str, PlannedChangeover]
) -> None:
    """A tool without a size makes the sheet unfit, and the reason names the tool."""
    one = changed[METAL]
    said = with_missing(demo, one)
    assert said.missing == ("Cut edge, die and punch",)
    sheet = change_sheet(said, setups(demo, one.difference, MADE), made=MADE)
    assert sheet.mark == NOT_FOR_USE
    assert sheet.unfit == ("missing: Cut edge, die and punch",)


def test_what_a_setup_sheet_lacks_the_changeover_lacks(
    demo: Book, changed: Mapping[str, PlannedChangeover]
) -> None:
    """A setup sheet that is not for use makes the changeover to its format unfit."""
    one = changed[METAL]
    _old, new = setups(demo, one.difference, MADE)
    both = setups(demo, one.difference, MADE)._replace(
        new=replace(new, unfit=("missing: Punch",), mark=NOT_FOR_USE)
    )
    sheet = sheet_of(demo, one, made=MADE)
    marked = change_sheet(sheet.content, both, made=MADE)
    assert marked.mark == NOT_FOR_USE
    assert marked.unfit == ("setup sheet of b211-500: missing: Punch",)


def test_the_same_format_changes_nothing(demo: Book) -> None:
    """From a format to itself there is nothing to do."""
    with pytest.raises(NothingChanges, match="nothing changes from b204-330 to b204-330"):
        change(demo, "b204-330", "b204-330", "plover", "plover-days", effort=0)


def test_a_line_that_cannot_run_it_says_which_machine(demo: Book) -> None:
    """The ranges that stop a format are reported, machine by machine."""
    with pytest.raises(CannotRun) as stopped:
        change(demo, "b204-330", "b211-568-206", "plover", "plover-days", effort=0)
    assert any("plover/bodymakers" in one for one in stopped.value.reasons)


def test_a_format_the_line_does_not_make_has_no_sheet(demo: Book, make_book: MakeBook) -> None:
    """Where machines could run it and the spec does not name the line, there is no setup sheet for it."""
    root = make_book(
        ["b211-330", "b211-355"],
        [("formats/b211-355.yaml", "lines: [heron]", "lines: [plover]")],
    )
    for name in ("floor.yaml", "changeover.yaml"):
        (root / name).write_bytes((demo.root / name).read_bytes())
    (root / "lines/plover.yaml").write_bytes((demo.root / "lines/plover.yaml").read_bytes())
    book = load(root, shown="")
    one = change(book, "b211-330", "b211-355", "heron", "heron-days", effort=0)
    with pytest.raises(NoSheet, match="b211-355 is not made on heron"):
        sheet_of(book, one, made=MADE)


def test_an_orphan_is_refused(demo: Book, make_book: MakeBook) -> None:
    """A value that differs and that nothing answers stops the sheet, reported as the check words it."""
    root = make_book(["b211-330", "b211-500"])
    for name in ("floor.yaml", "changeover.yaml"):
        (root / name).write_bytes((demo.root / name).read_bytes())
    path = root / "changeover.yaml"
    text = path.read_text(encoding="utf-8")
    assert text.count("format.fill.headspace, ") == 1
    path.write_text(text.replace("format.fill.headspace, ", ""), encoding="utf-8")
    with pytest.raises(Orphans) as refused:
        change(load(root, shown=""), "b211-330", "b211-500", "heron", "heron-days", effort=0)
    assert any(
        one.startswith("format.fill.headspace is ") and one.endswith("[changeover.orphan]")
        for one in refused.value.reasons
    )
