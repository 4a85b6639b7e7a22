"""The changeover file and the weeks: what is read from them, and what is said of faulty ones."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from kb.book.load import Book, load
from kb.book.records_floor import Changeover, Week
from kb.checks.consistency.changeover import ORDER, changeover_faults
from kb.checks.consistency.floor_index import items
from kb.checks.consistency.isolation import HANDS
from kb.checks.names import finding_names
from tests.conftest import put

GOOD = Path(__file__).parents[1] / "specs_good"
FILE = "changeover.yaml"
WEEK = "weeks/line-1-50.yaml"
CHANGEOVER_NAMES = {name: one for name, one in finding_names().items() if name.startswith("changeover.")}

DONE_BY = 'day: "2026-09-14", crew: line-1-days'

Change = tuple[str, str] | tuple[str, str, str]


@pytest.fixture
def book(tmp_path: Path) -> Callable[..., Book]:
    """A maker of the small good book with texts of its changeover file, or another file, replaced."""

    def make(*changes: Change) -> Book:
        root = tmp_path / "specs"
        shutil.copytree(GOOD, root, dirs_exist_ok=True)
        for change in changes:
            put(root, *((FILE, *change) if len(change) == 2 else change))
        return load(root, shown="")

    return make


def reported(book: Book) -> list[tuple[str, str, str]]:
    """Name, key and message of everything said of a book whose files were read without a fault."""
    assert [one.message for one in book.findings] == []
    return [(one.name, one.place.key, one.message) for one in changeover_faults(book)]


# --- what is read -------------------------------------------------------------------------------


def test_the_good_book_has_nothing_against_it(book: Callable[..., Book]) -> None:
    """A small library with its floor, crews, past and week has no fault."""
    assert reported(book()) == []


def test_durations_are_kept_in_seconds(book: Callable[..., Book]) -> None:
    """Minutes, hours and seconds are one thing inside, and speeds are shares."""
    spec = book().only("changeover")
    assert spec is not None
    library: Changeover = spec.record
    times = {one.id: (one.time.typical, one.time.worst) for one in library.steps}
    assert times["kit-packs"] == (2400.0, 4320.0)
    assert times["release-bodymakers"] == (90.0, 180.0)
    assert library.ramp[0].speed == 0.6
    assert library.past[0].first_good == pytest.approx(10080.0)


def test_what_a_step_leaves_out_has_its_default(book: Callable[..., Book]) -> None:
    """One person, no skill, once for the group, called for by any change."""
    spec = book().only("changeover")
    assert spec is not None
    step = next(one for one in spec.record.steps if one.id == "note-losses")
    assert (step.people, step.skill, step.each, step.hands_in) == (1, "", False, False)
    assert (step.machine, step.because_of, step.uses, step.caution) == (None, (), (), None)


def test_a_week_is_read(book: Callable[..., Book]) -> None:
    """Runs keep their order, cans are whole numbers, times stay text."""
    spec = book().of("week")["line-1-50"]
    week: Week = spec.record
    assert (week.start, week.rate, week.running) == ("2026-12-07 06:00", 1700.0, "tall-330")
    assert [(one.format, one.cans, one.due) for one in week.runs] == [
        ("tall-330", 1_200_000, "2026-12-09 14:00")
    ]


def test_a_book_without_changeovers_has_nothing_said_of_it(book: Callable[..., Book]) -> None:
    """A plant that keeps no changeover file gets no finding; its weeks are still held to lines and times."""
    without = book()
    (without.root / FILE).unlink()
    assert reported(load(without.root, shown="")) == []
    late = book((WEEK, 'due: "2026-12-09 14:00"', 'due: "2026-12-07 06:00"'))
    (late.root / FILE).unlink()
    assert [name for name, _, _ in reported(load(late.root, shown=""))] == ["changeover.due"]


# --- the demo -----------------------------------------------------------------------------------


def test_the_demo_library_answers_the_whole_floor(demo: Book) -> None:
    """Every phase and kind of machine of the demo has steps, and every crew has every skill."""
    spec, floor = demo.only("changeover"), demo.only("floor")
    assert spec is not None
    assert floor is not None
    library: Changeover = spec.record
    assert list(changeover_faults(demo)) == []
    assert len(library.steps) >= 65
    assert {one.phase for one in library.steps} == set(ORDER)
    assert {one.machine for one in library.steps if one.machine} == {
        one.kind for line in demo.of("line").values() for one in line.record.machines
    }
    assert {one.id for one in items(floor.record)} == {i for s in library.steps for i in s.because_of}
    for crew in library.crews:
        assert {skill for one in crew.members for skill in one.skills} == set(library.skills), crew.id


def test_hands_in_a_demo_machine_come_with_a_warning(demo: Book) -> None:
    """Where the demo isolates a machine, the hazard is before the step and the how is left to others."""
    spec = demo.only("changeover")
    assert spec is not None
    isolating = [one for one in spec.record.steps if one.phase == "isolate"]
    assert {one.machine for one in isolating} == {one.machine for one in spec.record.steps if one.hands_in}
    for step in isolating:
        assert step.caution is not None, step.id
        assert "the site's isolation procedure" in step.caution.avoid, step.id
        assert "authorised people only" in step.caution.avoid, step.id


def test_the_demo_has_weeks_and_past_changeovers(demo: Book) -> None:
    """One week for each line, of eight runs or more; one pair of formats was changed five times."""
    weeks = [spec.record for spec in demo.of("week").values()]
    assert {one.line for one in weeks} == set(demo.of("line"))
    assert all(8 <= len(one.runs) <= 12 for one in weeks)
    spec = demo.only("changeover")
    assert spec is not None
    pairs = [(one.line, one.came_from, one.went_to) for one in spec.record.past]
    assert max(map(pairs.count, pairs)) == 5
    assert [one.day for one in spec.record.past] == sorted(one.day for one in spec.record.past)


# --- what is said -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "name", "key", "words"),
    [
        (
            [("id: a, title: body fitter", "id: b, title: body fitter")],
            "changeover.repeated",
            "crews[0].members[1].id",
            "member of line-1-days b is listed twice",
        ),
        (
            [("needs: [run-out]\n    skill: trimming", "needs: [note-losses]\n    skill: trimming")],
            "changeover.phase",
            "steps[5].needs[0]",
            "set-trim-height (set) needs note-losses, which comes later (after)",
        ),
        (
            [("needs: [kit-packs]", "needs: [kit-pack]")],
            "changeover.unknown-step",
            "steps[3].needs[0]",
            "step kit-pack does not exist",
        ),
        (
            [("uses: [pack-arm]", "uses: [pack-arm, pack-arm]")],
            "changeover.equipment",
            "steps[3].uses[0]",
            "fit-packs needs 2 of pack-arm; the plant has 1",
        ),
        (
            [("people: 2", "people: 4")],
            "changeover.people",
            "steps[3].people",
            "fit-packs needs 4 people; line-1-days has 3",
        ),
        (
            [("skills: [quality]}", "skills: []}")],
            "changeover.no-skill",
            "crews[0].id",
            "nobody in line-1-days has quality, which first-bodies requires, and 1 more",
        ),
        (
            [("because_of: [trim-height]", "because_of: [neck-die]")],
            "changeover.other-machine",
            "steps[5].because_of[0]",
            "set-trim-height is done at the trimmer; part neck-die belongs to the necker",
        ),
        (
            [(WEEK, "crew: line-1-days", "crew: line-1-day")],
            "changeover.unknown-crew",
            "crew",
            "changeover.yaml has no crew line-1-day",
        ),
        (
            [("at_rate: 216 min", "at_rate: 150 min")],
            "changeover.clocks",
            "past[0].at_rate",
            "at_rate 150 min is before first_good 2.8 h",
        ),
    ],
)
def test_a_fault_is_reported_at_its_place(
    book: Callable[..., Book], changes: list[Change], name: str, key: str, words: str
) -> None:
    """Name, place and words of a fault; a message names what it is about."""
    assert (name, key, words) in reported(book(*changes))


def test_a_ring_is_reported_step_by_step(book: Callable[..., Book]) -> None:
    """Steps that wait for one another are named in order, also where isolation alone makes them wait."""
    found = reported(
        book(("needs: [run-out]\n    skill: necking", "needs: [release-necker]\n    skill: necking"))
    )
    (ring,) = [one for one in found if one[0] == "changeover.ring"]
    assert ring[1] == "steps[6].needs[0]"
    named = ring[2].partition(": ")[2].partition(" (")[0].split(" needs ")
    assert named[0] == named[-1]
    assert set(named) == {"isolate-necker", "release-necker", "change-neck-dies"}
    assert ring[2].endswith("(at a machine: clear, isolate, hands in, release, run under power)")


def test_each_ring_is_reported_once(book: Callable[..., Book]) -> None:
    """Two rings apart are two findings; a step that needs itself is one."""
    found = reported(
        book(
            ("needs: [run-out]\n    skill: trimming", "needs: [set-trim-height]\n    skill: trimming"),
            ("typical: 40 min, worst: 1.2 h, basis: timed}", "typical: 40 min, worst: 1.2 h, basis: timed}\n"
             "    needs: [run-out]"),
            ("people: 0", "people: 0\n    needs: [kit-packs]"),
        )
    )  # fmt: skip
    rings = [message for name, _, message in found if name == "changeover.ring"]
    assert len(rings) == 2
    assert "steps wait for each other: set-trim-height needs itself" in rings


@pytest.mark.parametrize("phase", sorted(set(ORDER) - set(HANDS)))
def test_hands_go_in_only_inside_isolation(book: Callable[..., Book], phase: str) -> None:
    """A step with hands in a machine in any phase but those between isolation and release is refused."""
    found = reported(book(("phase: in\n    machine: necker", f"phase: {phase}\n    machine: necker")))
    assert ("changeover.hands-in", "steps[7].hands_in") in [(name, key) for name, key, _ in found]


@pytest.mark.parametrize("phase", ["isolate", "release"])
def test_isolation_is_called_for_by_all_that_calls_for_hands(book: Callable[..., Book], phase: str) -> None:
    """A machine that is isolated for one part only is not isolated for the others."""
    old = f"phase: {phase}\n    machine: bodymaker"
    change = (old, f"{old}\n    because_of: [punch, ironing-ring]")
    (found,) = reported(book(change))
    assert found[:2] == ("changeover.no-isolation", "steps[3].hands_in")
    assert found[2].endswith(f"no step of phase {phase} there is done because of stripper")


def test_a_part_is_not_changed_by_kitting_it(book: Callable[..., Book]) -> None:
    """A part needs a step inside the stop; for a setting any step will do."""
    part = reported(
        book(("because_of: [ironing-ring, punch, stripper]", "because_of: [ironing-ring, punch]"))
    )
    assert [(name, message) for name, _, message in part] == [
        ("changeover.no-step", "no step inside the stop changes part stripper")
    ]
    ahead = book(
        ("phase: set", "phase: before"),
        ("because_of: [trim-height]\n    needs: [run-out]", "because_of: [trim-height]"),
    )
    assert reported(ahead) == []


def test_a_format_required_alone_leaves_the_others_unread(demo: Book) -> None:
    """Weeks and past changeovers name formats that were not selected, and that is no fault."""
    one = load(demo.root, shown="", formats=[demo.root / "formats" / "b211-330.yaml"])
    assert [finding.message for finding in one.findings] == []
    assert list(changeover_faults(one)) == []


@pytest.mark.parametrize(
    ("written", "key"),
    [
        ("line: mill-9, came_from: tall-330", "line"),
        ("line: line-1, came_from: grouse-568", "came_from"),
    ],
)
def test_the_past_may_name_what_is_gone(book: Callable[..., Book], written: str, key: str) -> None:
    """A line or a format that the book has no more leaves the file whole and without a fault."""
    found = book(("line: line-1, came_from: tall-330", written))
    spec = found.only("changeover")
    assert spec is not None
    assert getattr(spec.record.past[0], key) in written
    assert reported(found) == []


def test_a_crew_of_the_past_may_be_gone(book: Callable[..., Book]) -> None:
    """Crews come and go; a stop of one that is gone stays, with a note that no plan is compared with it."""
    (found,) = changeover_faults(book((DONE_BY, 'day: "2026-09-14", crew: weekend')))
    assert (found.name, found.severity, found.place.key, found.message) == (
        "changeover.past-name",
        "note",
        "past[0].crew",
        "the stop of 2026-09-14 is of crew weekend, which changeover.yaml does not have",
    )
    assert "its stop is compared with no plan" in found.fixes[0]


@pytest.mark.parametrize(
    ("change", "key", "words"),
    [
        (
            ("line: line-1, came_from: tall-330", "line: lin-1, came_from: tall-330"),
            "past[0].line",
            "line lin-1 does not exist; a similar name is line-1",
        ),
        (
            ("came_from: tall-330, went_to: tall-330", "came_from: tall-330, went_to: tal-330"),
            "past[0].went_to",
            "format tal-330 does not exist; a similar name is tall-330",
        ),
        (
            (DONE_BY, 'day: "2026-09-14", crew: line-1-day'),
            "past[0].crew",
            "crew line-1-day does not exist; a similar name is line-1-days",
        ),
    ],
)
def test_a_name_of_the_past_that_is_misspelt(
    book: Callable[..., Book], change: Change, key: str, words: str
) -> None:
    """A name that is nearly one of the book is a warning with that name, and no error."""
    (found,) = changeover_faults(book(change))
    assert (found.name, found.severity, found.place.key, found.message) == (
        "changeover.past-name",
        "warning",
        key,
        words,
    )
    assert found.fixes[0].startswith(f"did you mean {words.rpartition(' ')[2]}?")


def test_a_retired_format_with_a_recorded_sheet_is_none_misspelt(book: Callable[..., Book]) -> None:
    """However near its name is to another, a format that the register of codes knows was one."""
    register = ("sheet-codes.yaml", "format: tall-330", "format: tall-331")
    found = book(("went_to: tall-330", "went_to: tall-331"), register)
    assert reported(found) == []


@pytest.mark.parametrize(
    "name", [one for one, shown in CHANGEOVER_NAMES.items() if shown.severity == "error"]
)
def test_names_say_what_holds(name: str) -> None:
    """The title of every name says the rule and not the fault."""
    assert not CHANGEOVER_NAMES[name].title.startswith(("Unknown", "Bad", "Wrong"))


def test_steps_that_all_need_one_another_are_reported_a_few_times(book: Callable[..., Book]) -> None:
    """A tangle of a hundred steps ends in a few findings, not in thousands."""
    names = [f"x{i}" for i in range(100)]
    tangle = "".join(
        f"  - {{id: {one}, text: X., phase: clear, time: {{typical: 5 min, worst: 9 min, basis: timed}}, "
        f"needs: [{', '.join(other for other in names[:40] if other != one)}]}}\n"
        for one in names
    )
    found = reported(book(("no_part:\n", f"{tangle}no_part:\n")))
    assert {name for name, _, _ in found} == {"changeover.ring"}
    assert len(found) == 20
