"""`sizebook sheet` from the command line."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from kb.book.load import Book
from kb.cli import main
from kb.sheet.issue import codes
from tests.conftest import put
from tests.sheet.conftest import CopyBook, sheet_of

Run = Callable[..., tuple[int, str, str]]
DAY = ("--as-of", "2026-11-02")
REGISTER = "sheet-codes.yaml"
BLANK, SMALLER = "diameter: 136.20 ±0.03 mm", "diameter: 133.20 ±0.03 mm"
REVISION = 8
"""Revision of b204-330 in the demo."""


@pytest.fixture
def sizebook(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run the command in an empty folder; its exit code, output and errors."""
    here = tmp_path / "here"
    here.mkdir()
    monkeypatch.chdir(here)

    def run(*arguments: str) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as left:
            main.main(args=list(arguments))
        out, err = capsys.readouterr()
        return int(left.value.code or 0), out, err

    return run


def test_a_sheet_is_written_and_its_code_said(sizebook: Run, demo: Book) -> None:
    """The PDF is in the current folder under format and line; the first word printed is the code."""
    code, out, err = sizebook("sheet", "b204-330", "--line", "plover", "--book", str(demo.root), *DAY)
    assert (code, out) == (0, f"{sheet_of(demo).code} b204-330/plover, revision {REVISION}\n")
    assert err == "b204-330-plover.pdf written\n"
    assert Path("b204-330-plover.pdf").read_bytes().startswith(b"%PDF")


def test_the_only_line_need_not_be_said(sizebook: Run, demo: Book) -> None:
    """A format made on one line is printed for it; a file does as well as an id."""
    code, out, _ = sizebook("sheet", str(demo.root / "formats/b204-330.yaml"), *DAY)
    assert code == 0
    assert "b204-330/plover" in out


def test_one_of_several_lines_must_be_said(sizebook: Run, copy_book: CopyBook) -> None:
    """A format made on two lines has two sheets, and the reader says which."""
    book = copy_book([("formats/b204-330.yaml", "lines: [plover]", "lines: [plover, heron]")])
    code, _, err = sizebook("sheet", "b204-330", "--book", str(book.root), *DAY)
    assert (code, err) == (
        2,
        "sizebook: b204-330 is made on several lines; give --line with one of plover, heron\n",
    )


def test_html_and_another_file(sizebook: Run, demo: Book) -> None:
    """The page is one file that goes where the option says."""
    code, _, _ = sizebook("sheet", "b204-330", "--html", "--to", "x.html", "--book", str(demo.root), *DAY)
    assert code == 0
    assert Path("x.html").read_text(encoding="utf-8").startswith("<!doctype html>")


@pytest.mark.parametrize("face", ["pdf", "html"])
def test_a_sheet_cut_short_leaves_the_old_one(
    sizebook: Run, demo: Book, monkeypatch: pytest.MonkeyPatch, face: str
) -> None:
    """The old file stays until the new one is complete, and nothing half-written is left beside it."""
    file = Path(f"b204-330-plover.{face}")
    file.write_text("old", encoding="utf-8")

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    code, _, err = sizebook("sheet", "b204-330", f"--{face}", "--book", str(demo.root), *DAY)
    assert (code, err) == (2, f"sizebook: {file} cannot be written: No space left on device\n")
    assert file.read_text(encoding="utf-8") == "old"
    assert list(Path().iterdir()) == [file]


def test_the_same_day_and_time_give_the_same_file(
    sizebook: Run, demo: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With the build's own time fixed, a file is repeated byte by byte."""
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1793588400")
    for name in ("a.pdf", "b.pdf"):
        assert sizebook("sheet", "b204-330", "--to", name, "--book", str(demo.root), *DAY)[0] == 0
    assert Path("a.pdf").read_bytes() == Path("b.pdf").read_bytes()


def test_a_trial_says_so(sizebook: Run, demo: Book) -> None:
    """A trial's sheet may be printed, and its mark is reported."""
    code, out, _ = sizebook("sheet", "b204-355", "--book", str(demo.root), *DAY)
    assert code == 0
    assert out.endswith("b204-355/plover, revision 3, TRIAL\n")


def test_a_format_that_fails_its_check_is_not_for_use(sizebook: Run, copy_book: CopyBook) -> None:
    """The sheet is written, marked with the findings, and the command exits with 1."""
    book = copy_book([("formats/b204-330.yaml", BLANK, SMALLER)])
    code, out, _ = sizebook("sheet", "b204-330", "--book", str(book.root), *DAY)
    assert code == 1
    assert out.splitlines()[0].endswith("NOT FOR USE")
    assert "`sizebook check` finds trim.allowance" in out.splitlines()
    assert Path("b204-330-plover.pdf").is_file()


def test_a_fault_of_the_floor_makes_it_not_for_use(sizebook: Run, copy_book: CopyBook) -> None:
    """A plan that is not there is nothing to react with."""
    book = copy_book([("floor.yaml", "    reaction: 7\n", "    reaction: 77\n")])
    code, out, _ = sizebook("sheet", "b204-330", "--book", str(book.root), *DAY)
    assert code == 1
    assert "`sizebook check` finds floor.unknown-reaction" in out


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("nothing",), "format nothing is not in"),
        (("b204-330", "--line", "heron"), "b204-330 is not made on heron; lines: plover"),
        ((), "give one of"),
        (("b204-330", "--record"), "give one of"),
        (("--codes",), "give --line with one of heron, plover"),
        (("--codes", "--line", "owl"), "give --line with one of heron, plover"),
        (("b204-330", "--to", "no/such/folder.pdf"), "no/such/folder.pdf cannot be written"),
    ],
)
def test_what_cannot_be_done_is_said_in_one_line(
    sizebook: Run, demo: Book, arguments: tuple[str, ...], message: str
) -> None:
    """Exit code 2, one line, no file."""
    code, out, err = sizebook("sheet", *arguments, "--book", str(demo.root), *DAY)
    assert (code, out) == (2, "")
    assert message in err
    assert err.count("\n") == 1
    assert list(Path().iterdir()) == []


def test_a_file_that_cannot_be_read_is_no_sheet(sizebook: Run, copy_book: CopyBook) -> None:
    """A format with faults of reading is refused with its file."""
    book = copy_book([("formats/b204-330.yaml", "kind: size-format", "kind: size-fromat")])
    code, _, err = sizebook("sheet", "b204-330", "--book", str(book.root), *DAY)
    assert code == 2
    assert "b204-330.yaml has findings" in err


@pytest.mark.parametrize("face", ["pdf", "html"])
def test_the_codes_in_force_are_listed(sizebook: Run, demo: Book, face: str) -> None:
    """One line printed for each sheet of the line, and the page for posting written."""
    code, out, _ = sizebook(
        "sheet", "--codes", "--line", "plover", f"--{face}", "--book", str(demo.root), *DAY
    )
    assert code == 0
    assert f"{sheet_of(demo).code} b204-330, revision {REVISION}, 2026-11-30" in out.splitlines()
    made_here = [one for one in demo.of("size-format").values() if "plover" in one.record.lines]
    assert len(out.splitlines()) == len(made_here)
    assert Path(f"codes-plover.{face}").is_file()


def test_recording_from_the_command_line(sizebook: Run, copy_book: CopyBook) -> None:
    """New codes are added and reported; a second time there is nothing to add and nothing is written."""
    book = copy_book([("formats/b204-330.yaml", "depth: 9.90 ±0.10 mm", "depth: 9.90 ±0.09 mm")])
    register = book.root / REGISTER
    code, out, err = sizebook("sheet", "--record", "--book", str(book.root), *DAY)
    assert (code, err) == (0, "1 recorded\n")
    assert out == f"{sheet_of(book).code} b204-330/plover, revision {REVISION}, issued 2026-11-02\n"
    written = register.read_bytes()
    code, out, err = sizebook("sheet", "--record", "--book", str(book.root), *DAY)
    assert (code, out, err) == (0, "", "nothing new to record\n")
    assert register.read_bytes() == written
    assert not list(book.root.glob(".sizebook-*"))


def test_recording_shows_what_changed_since(sizebook: Run, copy_book: CopyBook) -> None:
    """With the book as it was, the register says from what to what."""
    before = copy_book(folder="before")
    book = copy_book([("formats/b204-330.yaml", "depth: 9.90 ±0.10 mm", "depth: 9.90 ±0.09 mm")])
    arguments = ("--record", "--since", str(before.root), "--book", str(book.root))
    assert sizebook("sheet", *arguments, *DAY)[0] == 0
    assert "9.80 to 10.00 mm, target 9.90 → 9.81 to 9.99 mm, target 9.90" in (book.root / REGISTER).read_text(
        encoding="utf-8"
    )


def test_nothing_of_a_book_with_errors_is_recorded(sizebook: Run, copy_book: CopyBook) -> None:
    """A code does not become current while the check fails."""
    book = copy_book([("formats/b204-330.yaml", BLANK, SMALLER)])
    before = (book.root / REGISTER).read_bytes()
    code, out, err = sizebook("sheet", "--record", "--book", str(book.root), *DAY)
    assert (code, out) == (1, "")
    assert "nothing recorded: the book has errors" in err
    assert (book.root / REGISTER).read_bytes() == before


def test_a_register_in_brackets_is_refused(sizebook: Run, copy_book: CopyBook) -> None:
    """What cannot be added to without rewriting is said in one line."""
    book = copy_book([("formats/b204-330.yaml", "depth: 9.90 ±0.10 mm", "depth: 9.90 ±0.09 mm")])
    one = codes(book).codes[0]
    entry = f'{{format: {one.format}, line: {one.line}, revision: 9, code: {one.code}, digest: "{one.digest}"'
    text = f'kind: sheet-codes\ncodes: [{entry}, in_force: "2026-01-01", changed: [First issue.]}}]\n'
    (book.root / REGISTER).write_text(text, encoding="utf-8")
    code, _, err = sizebook("sheet", "--record", "--book", str(book.root), *DAY)
    assert (code, err) == (2, "sizebook: write one code per line, each after a hyphen\n")


def test_the_check_command_judges_sheets(sizebook: Run, copy_book: CopyBook) -> None:
    """`check` warns of a sheet the register does not know, and first wants errors fixed."""
    book = copy_book([("formats/b204-330.yaml", "depth: 9.90 ±0.10 mm", "depth: 9.90 ±0.09 mm")])
    code, out, _ = sizebook("check", str(book.root), *DAY)
    assert code == 0
    assert "[sheet.unrecorded]" in out
    put(book.root, "formats/b204-330.yaml", BLANK, SMALLER)
    code, out, _ = sizebook("check", str(book.root), *DAY)
    assert (code, "sheet." in out) == (1, False)
    put(book.root, "formats/b204-330.yaml", SMALLER, BLANK)
    put(book.root, "formats/b204-330.yaml", "depth: 9.90 ±0.09 mm", "depth: 9.90 ±0.10 mm")
    code, out, _ = sizebook("check", str(book.root), *DAY)
    assert (code, "sheet." in out) == (0, False)
