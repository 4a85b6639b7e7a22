"""The setup sheet says what its format is built on, which values are its own, and who approved it."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from kb.book.load import Book, load
from kb.folders import shipped
from kb.output.html import page
from kb.sheet.content import content
from kb.sheet.documents import setup_document
from kb.sheet.issue import issue
from kb.sheet.model import Sheet
from tests.conftest import put
from tests.sheet.conftest import MADE


def made(book: Book, ident: str, line: str) -> Sheet:
    """The setup sheet of a format."""
    return issue(content(book, ident, line), book, made=MADE)


def head(sheet: Sheet) -> tuple[str, ...]:
    """The lines of a sheet's identity."""
    return setup_document(sheet).notes


@pytest.mark.parametrize(
    ("ident", "line", "words"),
    [
        ("b211-330", "heron", "built on body standard 211"),
        ("b211-330-lantern", "heron", "built on body standard 211, base format b211-330"),
    ],
)
def test_the_head_names_standard_and_base(ident: str, line: str, words: str, short_demo: Book) -> None:
    """A format on a standard names it, a label variant its base format too."""
    assert words in head(made(short_demo, ident, line))


def test_a_format_in_full_names_none(demo: Book) -> None:
    """A format that has all its values says nothing of a standard, and its head has no empty line."""
    sheet = made(demo, "b211-330", "heron")
    assert (sheet.built_on, sheet.own_values) == ("", ())
    assert len(head(sheet)) == 2


def test_own_values_are_listed_with_those_of_the_standard(short_demo: Book) -> None:
    """The sheet lists each own value in trade words with the value that it replaces."""
    sheet = made(short_demo, "b211-568-206", "heron")
    assert sheet.own_values == (
        "ring distance, ring 2 210.0 mm, not 190.0 mm",
        "ring distance, ring 3 350.0 mm, not 310.0 mm",
    )
    assert "Own values instead of those of the body standard:" in page(setup_document(sheet))
    other = page(setup_document(made(short_demo, "b211-330", "heron")))
    assert "Own values instead" not in other


def test_many_own_values_are_cut(short_demo: Book, tmp_path: Path) -> None:
    """A format that overrides many values still has a short list, and the rest is counted."""
    root = Path(shutil.copytree(shipped("specs"), tmp_path / "specs"))
    own = "  stand_diameter: 46.01 mm\n  depth: 10.61 ±0.10 mm\n  radius: 45.6 mm\n  leg_angle: 4.1 deg\n"
    put(root, "formats/b211-330.yaml", "trim:\n", f"dome:\n{own}  corner_radius: 1.61 mm\ntrim:\n")
    put(root, "formats/b211-330.yaml", "flange:\n", "flange:\n  width: 2.07 ±0.10 mm\n  radius: 1.28 mm\n")
    sheet = made(load(root, shown=""), "b211-330", "heron")
    assert len(sheet.own_values) == 6
    assert sheet.own_values[-1] == "and 2 more"


def test_approvals_of_the_revision_are_in_the_head(short_demo: Book, tmp_path: Path) -> None:
    """Role, name and day of each approval of this revision are printed; the code of the sheet stays."""
    root = Path(shutil.copytree(shipped("specs"), tmp_path / "specs"))
    put(
        root,
        "formats/b211-330.yaml",
        "revision: 11\n",
        "revision: 11\napprovals:\n"
        '  - {role: quality, revision: 11, day: "2026-10-20"}\n'
        '  - {role: toolroom, revision: 11, day: "2026-10-21", name: A. N.}\n'
        '  - {role: cupping, revision: 10, day: "2026-01-02"}\n',
    )
    sheet, before = (made(one, "b211-330", "heron") for one in (load(root, shown=""), short_demo))
    assert "approved by quality 2026-10-20, toolroom A. N. 2026-10-21" in head(sheet)
    assert sheet.code == before.code
    assert not any("approved" in one for one in head(before))


def test_the_words_are_on_paper_and_screen(short_demo: Book) -> None:
    """A page of the sheet has the same words as its document."""
    text = page(setup_document(made(short_demo, "b204-330-200", "plover")))
    assert "built on body standard 204" in text
    assert "neck stages 10, not 7" in text
