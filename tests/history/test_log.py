"""The log of one format: what the log of the book says of it, read from its own file alone."""

from __future__ import annotations

import datetime
import os
import subprocess
import sys
from pathlib import Path

import pytest

from kb.book.load import Book, load
from kb.checks.catalog import NAMES
from kb.history import log
from kb.history.log import MOST_COMMITS, file_log, read_log, values_of_revision
from kb.sheet import last_recorded_sheet
from kb.sheet.content import content
from kb.sheet.issue import issue
from kb.sheet.last_recorded_sheet import with_changes
from kb.sheet.register import recording
from tests.conftest import TODAY
from tests.review.story import R330, R355, Story, git

ROOT = Path(__file__).resolve().parents[2]
ALL = 1000
"""More commits than any repository here has."""
GAUGE = ("gauge: 0.262 ±0.004 mm", "gauge: 0.263 ±0.004 mm")
GAUGE_ROW = "stock gauge: 0.262 ±0.004 mm → 0.263 ±0.004 mm (+0.001 mm)"


def test_the_log_of_a_format_is_that_of_the_book(story: Story) -> None:
    """Through edits, renames, reverts, merges and faults, both logs list the same changes of a format."""
    book = read_log(story.book, NAMES, ALL)
    idents = {one.file.id for step in book.commits for one in step.files if one.file.kind == "size-format"}
    assert {"b211-330", "b211-355-tall", "b202-200"} <= idents
    for ident in idents:
        assert list(file_log(story.book, ident, NAMES, ALL)) == list(book.of_format(ident)), ident


def test_the_log_of_a_format_follows_its_former_name(story: Story) -> None:
    """A renamed format has the changes that it had under its former id."""
    changes = list(file_log(story.book, "b211-355-tall", NAMES))
    assert ["renamed" in one.file.states for one in changes].count(True) == 1
    assert changes[-1].file.id == "b211-355"
    assert changes[-1].file.states == ("added", "released")


def test_other_commits_do_not_push_a_change_out(story: Story) -> None:
    """The last commits of the book no longer reach the first change of a gauge; the file's log does."""
    words = "stock gauge: 0.262 ±0.004 mm → 0.254 ±0.004 mm (−0.008 mm)"
    lines = [one.values for one in file_log(story.book, "b211-330", NAMES)]
    assert (words,) in lines
    assert len(read_log(story.book, NAMES).commits) == MOST_COMMITS
    assert (words,) not in [one.values for one in read_log(story.book, NAMES).of_format("b211-330")]


def test_so_many_changes_are_read_as_are_wanted(story: Story) -> None:
    """A smaller number gives the newest changes."""
    changes = list(file_log(story.book, "b211-330", NAMES))
    assert list(file_log(story.book, "b211-330", NAMES, 2)) == changes[:2]
    assert list(file_log(story.book, "b211-330", NAMES, 0)) == []


def test_a_format_without_a_past_has_no_change(small: Story, tmp_path: Path) -> None:
    """An id that git does not know, a hostile id and a book outside any repository have an empty log."""
    for ident in ("none-such", "../plant", "", "-x", ":(glob)*"):
        assert list(file_log(small.book, ident, NAMES)) == [], ident
    assert list(file_log(tmp_path, "b211-330", NAMES)) == []


def test_a_damaged_history_has_no_change(small: Story) -> None:
    """Where one version of the file is missing, the log is empty and not a part that looks whole."""
    small.raised(R330, GAUGE)
    small.commit("gauge")
    assert len(list(file_log(small.book, "b211-330", NAMES))) == 2
    oid = git(small.folder, "rev-parse", f"start:specs/{R330}")
    (small.folder / ".git/objects" / oid[:2] / oid[2:]).unlink()
    assert list(file_log(small.book, "b211-330", NAMES)) == []


@pytest.fixture
def counted(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What is read while a test runs: `book` for a whole book, or the path of one file."""
    reads: list[str] = []

    def whole(*args: object, **options: object) -> Book:
        reads.append("book")
        return load(*args, **options)  # type: ignore[arg-type]

    def one(path: Path, name: str, shown: str) -> object:
        reads.append(name)
        return read_spec(path, name, shown)

    read_spec = log.read_spec
    monkeypatch.setattr(last_recorded_sheet, "load", whole)
    monkeypatch.setattr(log, "read_spec", one)
    return reads


def _changed(book: Book) -> tuple[str, ...]:
    sheet = issue(content(book, "b211-330", "heron"), book, made=_made())
    return with_changes(sheet, book).changed


def _made() -> datetime.datetime:
    """The day of the copy."""
    return datetime.datetime.combine(TODAY, datetime.time())


def test_a_sheet_reads_the_log_of_its_format_alone(small: Story, counted: list[str]) -> None:
    """Of a book without a register only the versions of the format's file are read, each once."""
    small.put(R355, "kind: size-format", "# a remark\nkind: size-format")
    small.commit("another")
    small.raised(R330, GAUGE)
    small.put(R355, "# a remark\n", "# another remark\n")
    small.commit("gauge")
    assert _changed(load(small.book, shown="")) == (GAUGE_ROW,)
    assert counted == [R330, R330]


def test_a_sheet_reads_one_book_of_the_past(small: Story, counted: list[str]) -> None:
    """Where the register has the last sheet, the book of that commit is read, and no log."""
    small.write("sheet-codes.yaml", recording(load(small.book, shown=""), today=TODAY).text)
    small.commit("recorded")
    small.raised(R330, GAUGE)
    small.commit("gauge")
    assert _changed(load(small.book, shown=""))
    assert counted == ["book"]


def test_a_revision_has_the_values_that_changed_under_it(small: Story) -> None:
    """The values of two commits of one revision are listed, the older first; other revisions are not."""
    small.raised(R330, GAUGE)
    revision = next(iter(file_log(small.book, "b211-330", NAMES))).revision or 0
    small.commit("gauge")
    small.put(R330, "land: 0.50 mm", "land: 0.52 mm")
    small.commit("land")
    changes = list(file_log(small.book, "b211-330", NAMES))
    first, second = values_of_revision(changes, revision + 1)
    assert first == GAUGE_ROW
    assert "0.50 mm → 0.52 mm" in second
    assert values_of_revision(changes, revision) == ()


def test_several_changes_of_one_value_under_a_revision_are_one_line(small: Story) -> None:
    """A value says what it was before the revision and what it is; one that is as it was is not listed."""
    small.raised(R330, ("land: 0.50 mm", "land: 0.52 mm"))
    small.put(R330, "half_angle: 8 deg", "half_angle: 7 deg")
    small.commit("first")
    small.put(R330, "land: 0.52 mm", "land: 0.55 mm")
    small.put(R330, "half_angle: 7 deg", "half_angle: 8 deg")
    small.commit("second")
    changes = list(file_log(small.book, "b211-330", NAMES))
    (land,) = values_of_revision(changes, changes[0].revision or 0)
    assert land.endswith(": 0.50 mm → 0.55 mm (+0.05 mm)")


def test_the_sheet_needs_neither_review_nor_publish(small: Story, tmp_path: Path) -> None:
    """The command that prints a sheet with its changes loads no module of the review or the site."""
    small.raised(R330, GAUGE)
    small.commit("gauge")
    script = (
        "import sys\n"
        "from kb.cli import main\n"
        "try:\n"
        "    main(sys.argv[1:])\n"
        "except SystemExit as end:\n"
        "    print(end.code, [one for one in sys.modules if one.startswith(('kb.review', 'kb.publish'))])\n"
    )
    target = tmp_path / "sheet.html"
    done = subprocess.run(
        [
            sys.executable,
            "-c",
            script,
            "sheet",
            "b211-330",
            "--line",
            "heron",
            "--html",
            "--to",
            str(target),
        ],
        cwd=small.book,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stdout.splitlines()[-1] == "0 []", done.stdout + done.stderr
    assert "0.262 ±0.004 mm → 0.263 ±0.004 mm" in target.read_text(encoding="utf-8")
