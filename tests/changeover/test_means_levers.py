"""What another person, skill or piece saves."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest

from kb.book.load import Book
from kb.book.records_floor import Equipment, Motion
from kb.changeover.lever import MeansLever, means_levers, on_first_cans
from kb.changeover.plan import PlannedChangeover
from kb.changeover.sheet_model import ChangeSheet
from kb.changeover.text import change_text
from kb.changeover.week import stops_a_year
from kb.changeover.work import activities_of
from kb.scheduling.activities import Operator
from kb.scheduling.plan import schedule
from tests.changeover.conftest import LABEL, METAL, NECK

PIECES = (Equipment("pack-arm", "Lifting arm", 2),)


@pytest.fixture(scope="module")
def found(changed: Mapping[str, PlannedChangeover]) -> tuple[MeansLever, ...]:
    """The levers of a label change, by a short search."""
    one = changed[LABEL]
    return means_levers(one.plan, one.crew, PIECES, a_year=10.0, effort=0.02)


def test_each_saves_and_the_best_is_first(found: tuple[MeansLever, ...]) -> None:
    """Only what saves time is listed, the best first, none twice; all together come last."""
    alone = [one for one in found if one.kind != "together"]
    assert all(one.saved > 0 for one in found)
    assert [one.saved for one in alone] == sorted((one.saved for one in alone), reverse=True)
    assert len({one.words for one in found}) == len(found)
    assert list(found[: len(alone)]) == alone


def test_first_cans_drop_no_task(changed: Mapping[str, PlannedChangeover]) -> None:
    """Later proof waits for the first two bodymakers; the restart still waits for all, and no task goes."""
    tasks = changed[METAL].plan.tasks
    found = on_first_cans(tasks)
    assert found.keys() == tasks.keys()
    jog, start = found["jog-necker@necker"], found["start-line"]
    numbers = {found[need].number for need in jog.needs if found[need].station == "trimmers"}
    assert numbers == {1, 2}
    assert start.needs == tasks["start-line"].needs
    for ident, task in found.items():
        lost = set(tasks[ident].needs) - set(task.needs)
        assert all(tasks[one].station != task.station for one in lost)


def test_first_cans_do_not_run_machines_that_hands_are_in(changed: Mapping[str, PlannedChangeover]) -> None:
    """A task that moves the trimmers waits for every one of them, though the cans of two are enough."""
    tasks = dict(changed[METAL].plan.tasks)
    jog = tasks["jog-necker@necker"]
    moves = Motion((*jog.step.machines, "trimmer"), "power")
    tasks[jog.id] = replace(jog, step=replace(jog.step, moves=moves))
    assert on_first_cans(tasks)[jog.id].needs == jog.needs


def test_the_first_cans_save_time_in_a_long_stop(changed: Mapping[str, PlannedChangeover]) -> None:
    """Work that waits for fewer machines is not longer, and every task keeps its time."""
    one = changed[METAL]
    before = activities_of(one.plan.tasks, part="stop")
    after = activities_of(on_first_cans(one.plan.tasks), part="stop")
    assert [work.seconds for work in after] == [work.seconds for work in before]
    then = schedule(
        after, one.plan.operators, one.plan.equipment, effort=0.0, tries=1, known=one.plan.stop.slots
    )
    assert then.length <= one.plan.stop.length


def test_another_printer_is_solved_again(
    changed: Mapping[str, PlannedChangeover], found: tuple[MeansLever, ...]
) -> None:
    """A second printer takes part in a label change; his stop is that of the larger crew."""
    plan = changed[LABEL].plan
    works = activities_of(plan.tasks, part="stop")
    printer = next(one for one in changed[LABEL].crew.members if one.skills[0] == "printing")
    crew = (*plan.operators, Operator("more", frozenset(printer.skills)))
    alone = schedule(works, crew, plan.equipment, effort=0.02, tries=1, known=plan.stop.slots)
    listed = {one.words: one.then for one in found}
    today = found[0].stop if found else plan.stop.length
    assert listed.get(f"another {printer.title}", today) == alone.length


def test_no_lever_shortens_proof_or_locks(changed: Mapping[str, PlannedChangeover]) -> None:
    """A lever changes the crew alone: the work of the stop is the same, task by task."""
    one = changed[NECK]
    before = activities_of(one.plan.tasks, part="stop")
    means_levers(one.plan, one.crew, PIECES, effort=0.0)
    assert activities_of(one.plan.tasks, part="stop") == before


def test_the_text_lists_them(
    changed: Mapping[str, PlannedChangeover], change_sheets: Mapping[str, ChangeSheet]
) -> None:
    """The report has a line for each, with minutes a year; without any it says so."""
    one, sheet = changed[LABEL], change_sheets[LABEL]
    lever = MeansLever("person", "another printer", 4320, 3720, False, 12.0)
    text = change_text(
        one, sheet, (), means=[lever, replace(lever, words="lead trained in printing", proven=True)]
    )
    assert "  another printer: stop 72 -> 62 min, 120 min a year by the weeks of the book\n" in text
    assert (
        "lead trained in printing: stop 72 -> 62 min, 120 min a year by the weeks of the book (proven)"
        in text
    )
    assert "no other person, skill or piece shortens the stop" in change_text(one, sheet, (), means=[])
    assert "with other people, skills or pieces" not in change_text(one, sheet, ())


def test_stops_a_year_are_counted_in_the_weeks(demo: Book) -> None:
    """The planned weeks count; a pair that no week has, and a line without weeks, have none."""
    week = demo.of("week")["heron-49"].record
    first = (week.running, week.runs[0].format)
    assert stops_a_year(demo, "heron", *first) == pytest.approx(365.25 / 7)
    assert stops_a_year(demo, "heron", "b211-350", "b211-440") == 0
    assert stops_a_year(demo, "other", *first) == 0
