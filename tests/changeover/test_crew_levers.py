"""What another person or skill saves."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest

from kb.book.load import Book
from kb.changeover.lever import CrewLever, crew_levers
from kb.changeover.plan import PlannedChangeover
from kb.changeover.sheet_model import ChangeSheet
from kb.changeover.text import change_text
from kb.changeover.week import stops_a_year
from kb.changeover.work import activities_of
from kb.scheduling.activities import Operator
from kb.scheduling.plan import schedule
from tests.changeover.conftest import LABEL, NECK


@pytest.fixture(scope="module")
def found(changed: Mapping[str, PlannedChangeover]) -> tuple[CrewLever, ...]:
    """The levers of a label change, by a short search."""
    one = changed[LABEL]
    return crew_levers(one.plan, one.crew, a_year=10.0, effort=0.02)


def test_each_saves_and_the_best_is_first(found: tuple[CrewLever, ...]) -> None:
    """Only what saves time is listed, the best first, none twice."""
    assert all(one.saved > 0 for one in found)
    assert [one.saved for one in found] == sorted((one.saved for one in found), reverse=True)
    assert len({one.words for one in found}) == len(found)


def test_another_printer_is_solved_again(
    changed: Mapping[str, PlannedChangeover], found: tuple[CrewLever, ...]
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
    crew_levers(one.plan, one.crew, effort=0.0)
    assert activities_of(one.plan.tasks, part="stop") == before


def test_the_text_lists_them(
    changed: Mapping[str, PlannedChangeover], change_sheets: Mapping[str, ChangeSheet]
) -> None:
    """The report has a line for each, with minutes a year; without any it says so."""
    one, sheet = changed[LABEL], change_sheets[LABEL]
    lever = CrewLever("another printer", 4320, 3720, False, 12.0)
    text = change_text(
        one, sheet, (), crews=[lever, replace(lever, words="lead trained in printing", proven=True)]
    )
    assert "  another printer: stop 72 -> 62 min, 120 min a year by the weeks of the book\n" in text
    assert (
        "lead trained in printing: stop 72 -> 62 min, 120 min a year by the weeks of the book (proven)"
        in text
    )
    assert "no other person or skill shortens the stop" in change_text(one, sheet, (), crews=[])
    assert "another person or skill" not in change_text(one, sheet, ())


def test_stops_a_year_are_counted_in_the_weeks(demo: Book) -> None:
    """The planned weeks count; a pair that no week has, and a line without weeks, have none."""
    week = demo.of("week")["heron-49"].record
    first = (week.running, week.runs[0].format)
    assert stops_a_year(demo, "heron", *first) == pytest.approx(365.25 / 7)
    assert stops_a_year(demo, "heron", "b211-350", "b211-440") == 0
    assert stops_a_year(demo, "other", *first) == 0
