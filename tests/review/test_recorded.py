"""What a printed sheet says of the one before: from the register, or the repository, or nothing."""

from __future__ import annotations

import datetime
import re
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from kb.book.load import load
from kb.cli import main
from kb.sheet.content import content
from kb.sheet.last_recorded_sheet import since_recorded
from kb.sheet.register import recording
from tests.conftest import TODAY
from tests.review.story import R330, Story, git

REGISTER = "sheet-codes.yaml"
GAUGE = ("gauge: 0.262 ±0.004 mm", "gauge: 0.263 ±0.004 mm")
ROW = "material, Gauge: 0.258 to 0.266 mm, target 0.262 → 0.259 to 0.267 mm, target 0.263"


@pytest.fixture
def kept(small: Story) -> Story:
    """A repository whose sheets are recorded, with a later commit that has nothing to do with them."""
    record(small)
    small.commit("recorded")
    small.put("plant.yaml", "warmest: 40 degC", "warmest: 41 degC")
    small.commit("later")
    return small


def record(story: Story, day: datetime.date = TODAY) -> None:
    """Add today's codes to the register."""
    story.write(REGISTER, recording(load(story.book, shown=""), today=day).text)


def rows(root: Path) -> tuple[str, ...]:
    """What the repository of a book knows to be new on one sheet."""
    book = load(root, shown="")
    return since_recorded(book, content(book, "b211-330", "heron"))


def printed(root: Path, tmp_path: Path) -> tuple[str, list[str]]:
    """What the command says, and the rows that the sheet prints as new."""
    words = ["sheet", "b211-330", "--line", "heron", "--html", "--to", str(tmp_path / "x.html")]
    done = CliRunner().invoke(main, [*words, "--book", str(root), "--as-of", "2026-11-02"])
    assert done.exit_code == 0, done.output
    page = (tmp_path / "x.html").read_text(encoding="utf-8")
    section = page.partition('id="sheet-changed"')[2].partition("</section>")[0]
    return done.stdout, re.findall(r"<li>(.*?)</li>", section)


def test_a_sheet_that_is_not_recorded_says_what_is_new(kept: Story, tmp_path: Path) -> None:
    """A gauge that moved since the recorded sheet is reported on the next one, committed or not."""
    kept.put(R330, *GAUGE)
    assert rows(kept.book)[0] == ROW
    assert ROW in printed(kept.book, tmp_path)[1]
    kept.commit("gauge")
    assert rows(kept.book)[0] == ROW


def test_what_the_register_shows_is_not_looked_up(
    kept: Story, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A recorded sheet prints the words of its record, and git is not asked."""
    before = load(kept.book, shown="")
    kept.raised(R330, GAUGE)
    made = recording(load(kept.book, shown=""), today=TODAY, before=before)
    kept.write(REGISTER, made.text)
    monkeypatch.setenv("PATH", str(tmp_path))
    assert ROW in printed(kept.book, tmp_path)[1]


def test_a_record_without_words_is_reported_from_the_repository(kept: Story, tmp_path: Path) -> None:
    """Where the register has the code and no more than the reason, the one before is found in git."""
    kept.raised(R330, GAUGE)
    record(kept)
    kept.commit("recorded-again")
    said, shown = printed(kept.book, tmp_path)
    assert "b211-330/heron" in said
    assert ROW in shown


def test_out_of_its_repository_nothing_is_said(
    kept: Story, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A copy of the book without its repository gives the sheet with the same code and no rows."""
    kept.put(R330, *GAUGE)
    code = printed(kept.book, tmp_path)[0]
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(tmp_path))
    shutil.copytree(kept.book, tmp_path / "copy")
    assert printed(tmp_path / "copy", tmp_path) == (code, [])
    monkeypatch.setenv("PATH", str(tmp_path))
    assert printed(kept.book, tmp_path) == (code, [])


def test_a_history_that_was_not_fetched_says_nothing(kept: Story, tmp_path: Path) -> None:
    """A shallow clone may lack the commit with the recorded sheet; what is there is not taken for it."""
    kept.put(R330, *GAUGE)
    kept.commit("gauge")
    git(tmp_path, "clone", "--quiet", "--depth", "1", kept.folder.as_uri(), "shallow")
    assert rows(tmp_path / "shallow/specs") == ()
    git(tmp_path, "clone", "--quiet", kept.folder.as_uri(), "whole")
    assert rows(tmp_path / "whole/specs")[0] == ROW


def test_a_first_sheet_has_none_before(small: Story) -> None:
    """Without a register, or without an entry, there is nothing to compare with."""
    assert rows(small.book) == ()
    small.write(REGISTER, "kind: sheet-codes\ncodes: []\n")
    small.commit("empty-register")
    assert rows(small.book) == ()


def test_nothing_of_the_repository_is_written(kept: Story) -> None:
    """Looking into the past leaves every file of the repository as it was."""

    def bytes_of() -> dict[str, bytes]:
        files = sorted(one for one in kept.folder.rglob("*") if one.is_file())
        return {one.relative_to(kept.folder).as_posix(): one.read_bytes() for one in files}

    kept.put(R330, *GAUGE)
    before = bytes_of()
    assert rows(kept.book)
    assert bytes_of() == before
