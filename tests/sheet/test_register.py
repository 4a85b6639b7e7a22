"""The register of codes: added to, never rewritten, and judged."""

from __future__ import annotations

import datetime
import re

import pytest

from kb.book.load import Book, load
from kb.checks import check_book
from kb.checks.names import finding_names
from kb.route import study, take
from kb.route.case import Case
from kb.route.stations import Route
from kb.sheet.issue import codes, issues
from kb.sheet.last_recorded_sheet import MOST_ROWS, changes
from kb.sheet.register import CannotRecord, known_sheets, marks, recording, sheet_faults
from tests.conftest import put
from tests.sheet.conftest import CopyBook, sheet_of

DAY = datetime.date(2026, 11, 2)
LATER = datetime.date(2026, 12, 1)
REGISTER = "sheet-codes.yaml"
DEEPER = ("formats/b204-330.yaml", "depth: 9.90 ±0.10 mm", "depth: 9.90 ±0.09 mm")
WHY = "Steeper chime with a larger radius: the base held too little axial load at the worst corner."
RAISED = ("formats/b204-330.yaml", "revision: 8", "revision: 9")


def record(book: Book, day: datetime.date = DAY, before: Book | None = None) -> Book:
    """The book after today's codes were written into it."""
    (book.root / REGISTER).write_text(recording(book, today=day, before=before).text, encoding="utf-8")
    return load(book.root, shown="specs")


def names(book: Book) -> list[str]:
    """Names of what the register is faulted for."""
    return [one.name for one in sheet_faults(book)]


# --- recording --------------------------------------------------------------------------------


def test_the_demo_book_is_recorded(demo: Book) -> None:
    """Every released sheet of the demo book is in its register, and nothing is left to add."""
    assert names(demo) == []
    assert recording(demo, today=LATER).added == ()
    released = [one for one in demo.of("size-format").values() if one.record.status == "released"]
    assert {one.format for one in codes(demo).codes} == {one.id for one in released}


def test_a_book_without_a_register_gets_one(copy_book: CopyBook) -> None:
    """The first recording makes the file; it reads, and holds one issue of each released sheet."""
    book = record(copy_book(without=[REGISTER]))
    assert book.findings == []
    assert {one.in_force for one in codes(book).codes} == {DAY.isoformat()}
    assert names(book) == []


def test_recording_twice_adds_nothing(copy_book: CopyBook) -> None:
    """What is recorded is not recorded again, on any day."""
    book = record(copy_book(without=[REGISTER]))
    again = recording(book, today=LATER)
    assert again.added == ()
    assert again.text == (book.root / REGISTER).read_text(encoding="utf-8")


def test_the_open_ones_there_stays_as_it_is(copy_book: CopyBook) -> None:
    """Order, comments and the way of writing are kept; the new entry comes after the last."""
    book = copy_book([DEEPER])
    path = book.root / REGISTER
    old = path.read_text(encoding="utf-8").replace(
        "codes:\n", "codes:  # the newest last\n  # since the move\n"
    )
    path.write_text(old + "\n# end of the list\n", encoding="utf-8")
    book = record(load(book.root, shown="specs"))
    text = path.read_text(encoding="utf-8")
    assert text.startswith(old.rstrip("\n"))
    assert text.endswith("\n# end of the list\n")
    assert text.count("- format:") == old.count("- format:") + 1
    assert book.findings == []
    assert names(book) == []


@pytest.mark.parametrize("ending", ["codes: []", "codes: []\n", "codes: []  # none yet\n", "codes:\n  []\n"])
def test_an_empty_register_is_filled(copy_book: CopyBook, ending: str) -> None:
    """An empty list becomes a list of entries, however it is written."""
    book = copy_book()
    (book.root / REGISTER).write_text(f"kind: sheet-codes\n{ending}", encoding="utf-8")
    book = record(load(book.root, shown="specs"))
    assert book.findings == []
    assert names(book) == []


def test_a_register_in_brackets_is_not_rewritten(copy_book: CopyBook) -> None:
    """A list on one line cannot be added to without rewriting it, and is refused."""
    book = copy_book([DEEPER])
    first = codes(book).codes[0]
    entry = (
        f"{{format: {first.format}, line: {first.line}, revision: 1, code: {first.code}, "
        f'digest: "{first.digest}", in_force: "2026-01-01", changed: [First issue.]}}'
    )
    (book.root / REGISTER).write_text(f"kind: sheet-codes\ncodes: [{entry}]\n", encoding="utf-8")
    with pytest.raises(CannotRecord, match="one code per line"):
        recording(load(book.root, shown="specs"), today=DAY)


def test_a_register_with_faults_is_not_touched(copy_book: CopyBook) -> None:
    """A file that cannot be read as a register is left alone."""
    book = copy_book()
    (book.root / REGISTER).write_text("kind: sheet-codes\ncodes: 7\n", encoding="utf-8")
    with pytest.raises(CannotRecord, match="has errors"):
        recording(load(book.root, shown="specs"), today=DAY)


def test_a_code_is_in_force_from_its_formats_first_day(copy_book: CopyBook) -> None:
    """A revision that begins later makes its code current on that day, not on the day of recording."""
    later = ("formats/b204-330.yaml", 'effective: "2026-10-26"', 'effective: "2027-01-04"')
    (added,) = recording(copy_book([later]), today=DAY).added
    assert added.in_force == "2027-01-04"


def test_drafts_and_trials_are_not_recorded(copy_book: CopyBook) -> None:
    """Only released sheets have a place on the list."""
    book = record(copy_book(without=[REGISTER]))
    assert not {"b211-440-light", "b204-355"} & {one.format for one in codes(book).codes}


def test_a_sheet_with_a_value_missing_is_not_recorded(copy_book: CopyBook) -> None:
    """A sheet that is not for use does not become current, and the reason is given."""
    nowhere = ("floor.yaml", "        value: machine.ram_speed\n", "        value: machine.speed\n")
    made = recording(copy_book([nowhere]), today=DAY)
    assert made.added == ()
    assert "b204-330/plover: missing Strokes" in made.left_out


def test_hostile_reasons_are_written_as_text(copy_book: CopyBook) -> None:
    """Quotes, colons, hashes and brackets in a reason come back from the register as they were."""
    reason = """It's "so": # no comment, [x] {y} \\ 100 % & *z"""
    edit = (
        "formats/b204-330.yaml",
        f'why: "{WHY}"',
        f"why: '{reason.replace(chr(39), 2 * chr(39))}'",
    )
    book = record(copy_book([edit, RAISED]))
    assert book.findings == []
    assert issues(book, "b204-330", "plover")[-1].changed == (reason,)


# --- what changed -----------------------------------------------------------------------------


def test_a_new_revision_gives_its_reason(copy_book: CopyBook) -> None:
    """Without the older book, what changed is what the format says of its revision."""
    (added,) = recording(copy_book([RAISED]), today=DAY).added
    assert (added.revision, added.changed) == (9, (WHY,))


def test_a_change_within_a_revision_says_so(copy_book: CopyBook) -> None:
    """A shared file that alters a sheet leaves its revision; the register says that much."""
    (added,) = recording(copy_book([DEEPER]), today=DAY).added
    assert added.changed == ("Changed within the revision, in what it shares with other sheets.",)


def test_the_older_book_shows_old_and_new(copy_book: CopyBook) -> None:
    """With the book as it was, each change is reported from and to, once for all rows that have it."""
    before = copy_book(folder="before")
    (added,) = recording(copy_book([DEEPER, RAISED]), today=DAY, before=before).added
    reason, *rows = added.changed
    assert reason == WHY
    assert "9.80 to 10.00 mm, target 9.90 → 9.81 to 9.99 mm, target 9.90" in rows[0]
    assert rows[0].startswith("first offs, Dome depth (and 1 more rows)")


def test_many_changes_are_counted(copy_book: CopyBook) -> None:
    """No more rows than a reader takes in; the rest is a number."""
    before = copy_book(folder="before")
    wholly = changes(sheet_of(before).content, sheet_of(before, "b202-250").content)
    assert len(wholly) == MOST_ROWS
    assert wholly[-1].endswith("more changes; read the whole sheet")
    assert changes(sheet_of(before).content, sheet_of(before).content) == ()


def test_a_recorded_sheet_shows_its_history(copy_book: CopyBook) -> None:
    """A sheet prints what its issue changed and which issue it replaces."""
    old = sheet_of(copy_book(folder="before"))
    book = record(copy_book([DEEPER]), LATER, copy_book(folder="before"))
    new = sheet_of(book)
    assert new.recorded
    assert new.supersedes == f"{old.code} (rev 8)"
    assert any("9.81 to 9.99 mm" in row for row in new.changed)
    assert not sheet_of(copy_book([RAISED], folder="other")).recorded


def test_going_back_is_a_new_issue(copy_book: CopyBook) -> None:
    """A content that was current before becomes current again under the code it had."""
    book = record(copy_book([DEEPER]), LATER)
    put(book.root, "formats/b204-330.yaml", "depth: 9.90 ±0.09 mm", "depth: 9.90 ±0.10 mm")
    book = record(load(book.root, shown="specs"), LATER)
    first, second, third = issues(book, "b204-330", "plover")[-3:]
    assert first.code == third.code != second.code
    assert sheet_of(book).supersedes == f"{second.code} (rev 8)"
    assert names(book) == []


# --- findings ---------------------------------------------------------------------------------


def test_an_unrecorded_sheet_is_a_warning(copy_book: CopyBook) -> None:
    """A sheet that says something else than its recorded issue is reported at the format's revision."""
    book = copy_book([DEEPER])
    (found,) = sheet_faults(book)
    assert (found.name, found.severity, found.subject) == ("sheet.unrecorded", "warning", "b204-330")
    assert (found.place.file, found.place.key) == ("specs/formats/b204-330.yaml", "revision")
    assert sheet_of(book).code in found.message
    assert issues(book, "b204-330", "plover")[-1].code in found.message


def test_a_failing_format_is_not_asked_to_be_recorded(copy_book: CopyBook) -> None:
    """While a format has errors of its own, its sheet is not called unrecorded."""
    assert list(sheet_faults(copy_book([DEEPER]), failing=["b204-330"])) == []


def test_a_code_under_another_revision_is_an_error(copy_book: CopyBook) -> None:
    """An entry whose fingerprint is that of another revision or sheet would answer wrongly."""
    book = copy_book()
    entry = f'    digest: "{sheet_of(book).digest}"\n'
    text = (book.root / REGISTER).read_text(encoding="utf-8")
    at = text.rindex("revision: 8", 0, text.index(entry))
    (book.root / REGISTER).write_text(f"{text[:at]}revision: 4{text[at + 11 :]}", encoding="utf-8")
    found = list(sheet_faults(load(book.root, shown="specs")))
    assert [(one.name, one.severity) for one in found] == [("sheet.other-revision", "error")]
    assert "recorded as b204-330/plover revision 4" in found[0].message


def test_a_code_that_is_not_its_digests_is_an_error(copy_book: CopyBook) -> None:
    """A code changed by hand is seen."""
    book = copy_book()
    code = sheet_of(book).code
    put(book.root, REGISTER, f"code: {code}", "code: CCC-CC")
    assert names(load(book.root, shown="specs")) == ["sheet.digest"]


def test_a_released_sheet_with_a_value_missing_is_a_warning(copy_book: CopyBook) -> None:
    """The check says which sheet lacks what, before anyone prints it."""
    nowhere = ("floor.yaml", "        value: machine.ram_speed\n", "        value: machine.speed\n")
    found = [one for one in sheet_faults(copy_book([nowhere])) if one.name == "sheet.missing"]
    assert {one.subject for one in found} >= {"b204-330", "b211-330"}
    assert all(one.severity == "warning" and "Strokes" in one.message for one in found)


def test_a_book_without_a_register_is_not_judged(copy_book: CopyBook) -> None:
    """Who keeps no register is not reminded of it."""
    assert names(copy_book(without=[REGISTER])) == []


def test_a_format_that_cannot_be_routed_has_other_findings(copy_book: CopyBook) -> None:
    """A shape that does not close is reported by its own check, not by its sheet."""
    shut = ("formats/b204-330.yaml", "  height: 145.48 ±0.10 mm", "  height: 134.00 ±0.10 mm")
    book = copy_book([shut])
    assert names(book) == []
    assert "trim.above-shoulder" in {one.name for one in check_book(book, today=DAY).findings}


def test_severities_are_those_explained(copy_book: CopyBook) -> None:
    """Each finding has the severity that its explanation shows."""
    nowhere = ("floor.yaml", "        value: machine.ram_speed\n", "        value: machine.speed\n")
    found = list(sheet_faults(copy_book([nowhere, DEEPER])))
    assert found
    assert all(one.severity == finding_names()[one.name].severity for one in found)


# --- looking up -------------------------------------------------------------------------------


def test_the_last_issue_is_current_and_the_others_superseded(copy_book: CopyBook) -> None:
    """Of each sheet one issue is current from its first day on."""
    book = record(copy_book([DEEPER]), LATER)

    def states(day: datetime.date) -> list[str]:
        return [one["state"] for one in known_sheets(book, day) if one["format"] == "b204-330"]

    former = ["superseded"] * 3
    assert states(LATER) == [*former, "superseded", "current"]
    assert states(LATER - datetime.timedelta(days=1)) == [*former, "current", "superseded"]


def test_nothing_of_a_withdrawn_format_is_current(copy_book: CopyBook) -> None:
    """When a format is taken back, its last code is no longer current, and stays known."""
    book = copy_book([("formats/b204-330.yaml", "status: released", "status: withdrawn")])
    states = {one["state"] for one in known_sheets(book, LATER) if one["format"] == "b204-330"}
    assert states == {"superseded"}


def test_the_code_of_a_format_that_is_gone_stays_known(copy_book: CopyBook) -> None:
    """A sheet found in a drawer years later is still distinguished from a misread code."""
    book = copy_book(without=["formats/b204-325.yaml"])
    listed = {
        (one["sheet"], one["state"]) for one in known_sheets(book, LATER) if one["format"] == "b204-325"
    }
    assert listed == {("b204-325", "superseded")}
    assert book.findings == []


def test_the_register_reads_as_written(demo: Book, copy_book: CopyBook) -> None:
    """The demo's file is what the command writes: what the last day added, taken out, is added again."""
    text = (demo.root / REGISTER).read_text(encoding="utf-8")
    day = max(one.in_force for one in codes(demo).codes)
    head, *entries = re.split(r"^(?=  - format: )", text, flags=re.MULTILINE)
    before = [one for one in entries if f'in_force: "{day}"' not in one]
    assert 0 < len(before) < len(entries)
    book = copy_book()
    (book.root / REGISTER).write_text("".join([head, *before]), encoding="utf-8")
    made = recording(load(book.root, shown="specs"), today=datetime.date.fromisoformat(day))
    assert made.text == text


# --- one study for the checks and the sheets ---


def test_the_check_makes_the_marks_of_the_sheets_itself(copy_book: CopyBook) -> None:
    """Marks that the check hands over give the findings of sheets that are made again."""
    book = copy_book([DEEPER])
    known = check_book(book, today=DAY, also=marks).also
    assert list(sheet_faults(book, (), known)) == list(sheet_faults(book))
    assert [one.name for one in sheet_faults(book, (), known)] != []


def test_a_sheet_costs_no_route_of_its_own(copy_book: CopyBook, monkeypatch: pytest.MonkeyPatch) -> None:
    """The sheet shares the study of the checks: its worst corners are in the route of theirs."""
    taken: list[object] = []

    def counted(case: Case) -> Route:
        taken.append(case)
        return take(case)

    monkeypatch.setattr(study, "take", counted)
    book, released = copy_book([]), "b211-330"
    counts = []
    for also in (None, marks):
        taken.clear()
        check_book(book, today=DAY, formats=[released], also=also)
        counts.append(len(taken))
    assert counts[1] == counts[0] > 0
