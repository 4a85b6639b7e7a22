"""`sizebook changeover` and `sizebook week` from the command line."""

from __future__ import annotations

import errno
import json
import os
import re
import sys
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from kb.book.load import Book
from kb.changeover.sheet_model import ChangeSheet
from kb.cli import main
from tests.changeover.conftest import LABEL
from tests.conftest import MakeBook

Run = Callable[..., tuple[int, str, str]]
DAY = ("--as-of", "2026-11-02")
PAIR = ("b211-330", "b211-330-lantern", "--line", "heron")


@pytest.fixture
def sizebook(
    demo: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Run:
    """Run a command on the demo book in an empty folder; its exit code, output and errors."""
    here = tmp_path / "here"
    here.mkdir()
    monkeypatch.chdir(here)
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1793588400")

    def run(*arguments: str, book: Path = demo.root) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as left:
            main.main(args=[*arguments, "--book", str(book)])
        out, err = capsys.readouterr()
        return int(left.value.code or 0), out, err

    return run


def planned_in(text: str) -> int:
    """The planned stop that a text names [min]."""
    found = re.search(r"  planned (\d+) min", text)
    assert found is not None
    return int(found[1])


# --- reported -------------------------------------------------------------------------------------


def test_a_changeover_is_reported(sizebook: Run, change_sheets: Mapping[str, ChangeSheet]) -> None:
    """Class, codes, what changes, what is left alone, times with their spread, path, waits, levers."""
    code, out, err = sizebook("changeover", *PAIR, *DAY)
    assert (code, err) == (0, "")
    lines = out.splitlines()
    assert lines[0] == "b211-330 -> b211-330-lantern on heron, crew heron-days: Label only"
    assert "  Printers, two: supplies: Plates, Inks" in lines
    assert any(one.startswith("leave alone: Cupper, 12 across; Bodymakers H1 to H8;") for one in lines)
    proven = ", proven: no plan with one fitter or pair in each machine is shorter"
    (planned,) = (planned_in(one) for one in lines if one.endswith(proven))
    times = change_sheets[LABEL].content.durations
    assert times.bound <= planned <= times.planned
    for head in ("critical path", "stop", "changes"):
        assert head in lines
    assert "ways to shorten the stop, one step at a time, all other work in planned order" in lines
    assert any(one.startswith("    halve change-inks: stop ") for one in lines)
    assert any(one.startswith("idle time during the stop: line lead ") for one in lines)


def test_a_longer_search_is_reported_and_never_printed(sizebook: Run) -> None:
    """A plan searched for longer names no sheet, is not longer than the sheet's, and makes no sheet."""
    pair = ("b211-350", "b211-355", "--line", "heron", *DAY)
    code, out, _ = sizebook("changeover", *pair, "--search", "2")
    assert code == 0
    assert "no sheet: this plan is from a longer search; sheets have the usual plan, from setup sheet " in out
    usual = planned_in(sizebook("changeover", *pair)[1])
    assert planned_in(out) <= usual
    for face in (("--pdf",), ("--html",), ("--cards",), ("--output", "json")):
        code, out, err = sizebook("changeover", *pair, "--search", "2", *face)
        assert (code, out) == (2, "")
        assert err.startswith("sizebook: --search is for text")
    assert sizebook("changeover", *pair, "--search", "0")[0] == 2


def test_json_is_versioned_and_stable(sizebook: Run) -> None:
    """Asked twice the record is the same, and names its form."""
    first = sizebook("changeover", *PAIR, *DAY, "--output", "json")
    assert first == sizebook("changeover", *PAIR, *DAY, "--output", "json")
    record = json.loads(first[1])
    assert record["schema"] == "sizebook-changeover/1"
    assert record["difference"]["class"] == "label"
    printers = [one for one in record["locks"] if one["machine"].startswith("printers#")]
    assert len(printers) == 2
    assert all(one["isolates"] == one["releases"] != [] for one in printers)
    ends = [task["end"] for task in record["schedules"]["stop"]["tasks"]]
    assert max(ends) == record["schedules"]["stop"]["length"]


def test_the_matrix_has_every_pair(sizebook: Run, make_book: MakeBook, demo: Book) -> None:
    """Of three formats six stops are reported, each with its class, a format to itself with none."""
    root = small_book(make_book, demo, "b204-330", "b204-325", "b204-330-200")
    code, out, _ = sizebook("changeover", "--matrix", "--line", "plover", book=root)
    assert code == 0
    rows = [one.split() for one in out.splitlines() if one.startswith("  b204-")]
    assert [len(row) for row in rows] == [4] * 6
    assert [rows[i][i + 1] for i in range(3)] == ["-"] * 3
    assert rows[3][1:] == ["-", "height", "height-neck"]
    code, out, _ = sizebook("changeover", "--matrix", "--line", "plover", "--output", "json", book=root)
    record = json.loads(out)
    assert record["schema"] == "sizebook-changeover-matrix/1"
    assert len(record["stops"]) == 6


def small_book(make_book: MakeBook, demo: Book, *formats: str) -> Path:
    """A book of some formats with the floor and the way of changing over."""
    root = make_book(formats)
    for name in ("floor.yaml", "changeover.yaml"):
        (root / name).write_bytes((demo.root / name).read_bytes())
    return root


# --- printed ----------------------------------------------------------------------------------


@pytest.mark.parametrize(("option", "begins"), [("--pdf", b"%PDF"), ("--html", b"<!doctype html>")])
def test_a_sheet_is_written_and_its_code_said(sizebook: Run, option: str, begins: bytes) -> None:
    """The file is in the current folder under both formats and the line."""
    code, out, err = sizebook("changeover", *PAIR, *DAY, option)
    name = f"b211-330-b211-330-lantern-heron.{option[2:]}"
    assert (code, err) == (0, f"{name} written\n")
    assert out.endswith(" b211-330 > b211-330-lantern / heron, crew heron-days\n")
    assert Path(name).read_bytes().startswith(begins)


def test_the_same_call_writes_the_same_bytes(sizebook: Run) -> None:
    """Two copies of one minute are one file."""
    for name in ("a.pdf", "b.pdf"):
        sizebook("changeover", *PAIR, *DAY, "--pdf", "--to", name)
    assert Path("a.pdf").read_bytes() == Path("b.pdf").read_bytes()


def test_cards_are_paper_unless_asked_otherwise(sizebook: Run) -> None:
    """The job cards go to a file of their own."""
    assert sizebook("changeover", *PAIR, *DAY, "--cards")[0] == 0
    assert Path("b211-330-b211-330-lantern-heron-cards.pdf").read_bytes().startswith(b"%PDF")
    assert sizebook("changeover", *PAIR, *DAY, "--cards", "--html", "--to", "cards.html")[0] == 0
    assert "Job card" in Path("cards.html").read_text(encoding="utf-8")


def test_another_crew_is_another_plan(sizebook: Run) -> None:
    """The crew given is the one on the sheet; the first of the line without."""
    _, days, _ = sizebook("changeover", *PAIR, *DAY, "--pdf", "--to", "a.pdf")
    _, nights, _ = sizebook("changeover", *PAIR, *DAY, "--crew", "heron-nights", "--pdf", "--to", "b.pdf")
    assert days.split()[0] != nights.split()[0]
    assert nights.endswith("crew heron-nights\n")


# --- stopped ----------------------------------------------------------------------------------


def test_a_line_that_cannot_run_it_prints_no_sheet(sizebook: Run) -> None:
    """The machine's range that stops the format is reported, with 1, and no file is made."""
    code, out, _ = sizebook("changeover", "b204-330", "b211-568-206", "--line", "plover", *DAY, "--pdf")
    assert code == 1
    assert out.startswith("line plover cannot run b211-568-206:\ncan height at plover/bodymakers 183.9 mm; ")
    assert list(Path().iterdir()) == []
    code, out, _ = sizebook(
        "changeover", "b204-330", "b211-568-206", "--line", "plover", *DAY, "--output", "json"
    )
    assert code == 1
    assert any("plover/bodymakers" in one for one in json.loads(out)["difference"]["stopped_by"])


def test_an_orphan_prints_no_sheet(sizebook: Run, make_book: MakeBook, demo: Book) -> None:
    """A value that nothing answers is reported as the finding that the check makes of it, with 1."""
    root = small_book(make_book, demo, "b211-330", "b211-500")
    path = root / "changeover.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("format.fill.headspace, ", ""), encoding="utf-8")
    pair = ("b211-330", "b211-500", "--line", "heron")
    code, out, _ = sizebook("changeover", *pair, *DAY, "--pdf", book=root)
    assert code == 1
    assert "format.fill.headspace is " in out
    assert "[changeover.orphan]" in out
    assert list(Path().iterdir()) == []


def test_a_sheet_of_a_book_with_errors_is_not_for_use(sizebook: Run, make_book: MakeBook, demo: Book) -> None:
    """An error of the check marks the sheet and is named; the command exits with 1."""
    root = small_book(make_book, demo, "b211-330", "b211-330-lantern")
    path = root / "changeover.yaml"
    text = path.read_text(encoding="utf-8")
    old = "{id: print, title: printer, skills: [printing, coating]}"
    assert text.count(old) == 2
    path.write_text(text.replace(old, old.replace("coating]", "coating, painting]"), 1), encoding="utf-8")
    code, out, _ = sizebook("changeover", *PAIR, *DAY, "--pdf", book=root)
    assert code == 1
    assert out.splitlines()[0].endswith(", NOT FOR USE")
    assert "`sizebook check` finds changeover.unknown-skill" in out.splitlines()


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (
            ("b211-330", "b211-330", "--line", "heron"),
            "nothing changes from b211-330",
        ),
        (("b211-33", "b211-500", "--line", "heron"), "did you mean b211-330?"),
        (("b211-330", "b211-500", "--line", "hern"), "line hern is not in the book; lines: heron"),
        (
            ("b211-330", "b211-500", "--line", "heron", "--crew", "heron-day"),
            "mean heron-days?",
        ),
        (
            ("b211-330", "b211-500", "--line", "heron", "--crew", "plover-days"),
            "of line plover",
        ),
        (("b211-330", "--line", "heron"), "give two formats, A and B, or --matrix"),
        (("--line", "heron"), "give two formats, A and B, or --matrix"),
        (("a", "b", "--matrix", "--line", "heron"), "give two formats, A and B, or --matrix"),
        (("--matrix", "--pdf", "--line", "heron"), "no sheet and no cards"),
    ],
)
def test_what_cannot_be_done_is_refused(sizebook: Run, arguments: tuple[str, ...], words: str) -> None:
    """Unknown names, one format twice and contradictions are reported in one line, with 2."""
    code, out, err = sizebook("changeover", *arguments)
    assert (code, out) == (2, "")
    assert words in err
    assert err.count("\n") == 1


def test_a_file_that_cannot_be_written_is_refused(sizebook: Run) -> None:
    """A folder that is not there is reported, with 2."""
    code, _, err = sizebook("changeover", *PAIR, *DAY, "--pdf", "--to", "nowhere/a.pdf")
    assert code == 2
    assert "nowhere/a.pdf cannot be written" in err


@pytest.mark.parametrize("way", [("--html",), ("--html", "--cards")])
def test_a_full_disk_keeps_the_old_sheet(
    sizebook: Run, monkeypatch: pytest.MonkeyPatch, way: tuple[str, ...]
) -> None:
    """A sheet or card that no longer fits on the disk is named in one line, and the old one is whole."""
    Path("old.html").write_text("the old sheet", encoding="utf-8")

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "replace", full)
    code, out, err = sizebook("changeover", *PAIR, *DAY, *way, "--to", "old.html")
    assert (code, out, err) == (2, "", "sizebook: old.html cannot be written: No space left on device\n")
    assert Path("old.html").read_text(encoding="utf-8") == "the old sheet"
    assert os.listdir() == ["old.html"]


# --- weeks ------------------------------------------------------------------------------------


def test_a_week_holds_two_orders_side_by_side(sizebook: Run, demo: Book) -> None:
    """Each order has each run once; the one found is never worse than the one given."""
    code, out, _ = sizebook("week", "heron-49", "--output", "json")
    record = json.loads(out)
    assert (code, record["schema"]) == (0, "sizebook-week/1")
    week = demo.of("week")["heron-49"].record
    for order in (record["given"], record["found"]):
        assert sorted(one["run"] for one in order["runs"]) == list(range(1, len(week.runs) + 1))
        lost = (one[part] for one in order["runs"] for part in ("held", "changeover", "wait"))
        assert sum(lost) == order["lost"]
    assert record["saved"] == record["given"]["lost"] - record["found"]["lost"]
    worth = [(one["minutes_late"], one["lost"]) for one in (record["given"], record["found"])]
    assert worth[1] <= worth[0]


def test_a_week_is_reported(sizebook: Run) -> None:
    """Both tables, what is saved, what is late, how sure."""
    code, out, _ = sizebook("week", "plover-49")
    assert code == 0
    lines = out.splitlines()
    assert any(one.startswith("as given: ") for one in lines)
    assert any(one.startswith("as found: ") for one in lines)
    assert any(one.startswith("saves ") and "min;" in one for one in lines)
    assert out.count("run  format") == 2


def test_an_unknown_week_is_refused(sizebook: Run) -> None:
    """A week near to the name is offered."""
    code, _, err = sizebook("week", "heron-48")
    assert code == 2
    assert "did you mean heron-49?" in err


@pytest.mark.parametrize("arguments", [("changeover", "--matrix", "--line", "heron"), ("week", "heron-49")])
def test_a_missing_solver_is_one_line(
    sizebook: Run, monkeypatch: pytest.MonkeyPatch, arguments: tuple[str, ...]
) -> None:
    """Where the solver package is not installed, one line names its part of the installation; exit code 2."""
    monkeypatch.setitem(sys.modules, "ortools", None)
    monkeypatch.setitem(sys.modules, "ortools.sat.python", None)
    code, out, err = sizebook(*arguments)
    assert (code, out, err.count("\n")) == (2, "", 1)
    assert "needs sizebook[schedule] (ortools not installed)" in err
