"""The recipe "Add a kind of machine" of DEVELOPERS.md, followed on a copy of the book."""

from __future__ import annotations

import re
import shutil
from pathlib import Path
from textwrap import dedent, indent

import pytest

import kb
from kb.book.load import Book
from kb.changeover.difference import OnLine
from kb.changeover.plan import Planner
from kb.changeover.safe import breaches
from kb.checks.consistency.changeover import changeover_faults
from kb.checks.consistency.floor import floor_faults

ROOT = Path(__file__).resolve().parents[2]
BEFORE = {
    "specs/floor.yaml": "  - machine: palletizer\n",
    "specs/lines/heron.yaml": "  - id: palletizer\n",
    "specs/changeover.yaml": "  # --- oven ---\n",
}
"""The line of each file above which its diff is put."""


def recipe() -> dict[str, str]:
    """What the recipe adds to each file."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    section = text.partition("## Add a kind of machine\n")[2].partition("\n## ")[0]
    found = re.findall(r"^\d\. In `([^`]+)`.*?```yaml\n(.*?)\n +```$", section, re.MULTILINE | re.DOTALL)
    return {path: dedent(source) + "\n" for path, source in found}


def followed(root: Path, *left_out: str) -> Book:
    """A copy of the demo book after the recipe, without its diff to some files."""
    shutil.copytree(ROOT / "specs", root / "specs")
    for path, diff in recipe().items():
        if path not in left_out:
            text = (root / path).read_text(encoding="utf-8")
            assert text.count(BEFORE[path]) == 1
            changed = text.replace(BEFORE[path], indent(diff, "  ") + BEFORE[path])
            (root / path).write_text(changed, encoding="utf-8")
    return kb.load(root / "specs")


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Book:
    """The demo book after the recipe."""
    assert sorted(recipe()) == sorted(BEFORE)
    return followed(tmp_path_factory.mktemp("house"))


def names(book: Book) -> set[str]:
    """The faults of the files that the recipe touches."""
    return {one.name for one in (*book.findings, *floor_faults(book), *changeover_faults(book))}


def test_the_book_is_without_faults(book: Book) -> None:
    """Nothing is missing after the three diffs."""
    assert names(book) == set()


@pytest.mark.parametrize(
    ("left_out", "name"),
    [
        ("specs/floor.yaml", "book.unknown-id"),
        ("specs/lines/heron.yaml", "book.unknown-id"),
        ("specs/changeover.yaml", "changeover.no-step"),
    ],
)
def test_a_diff_left_out_is_reported(tmp_path: Path, left_out: str, name: str) -> None:
    """Without the kind in floor.yaml, the machine on a line or the steps, the check says so."""
    assert name in names(followed(tmp_path, left_out))


def test_its_work_is_in_the_plans_of_other_heights(book: Book) -> None:
    """A change of height sets the guides behind locks; a change of label leaves them alone."""
    planner, on_line = Planner(book, "heron-days", effort=0), OnLine(book, "heron")
    taller = planner.plan(on_line.difference("b211-330", "b211-350"))
    label = planner.plan(on_line.difference("b211-330", "b211-330-lantern"))
    work = {"isolate-guides", "set-guides", "release-guides"}
    assert work <= {one.step.id for one in taller.tasks.values()}
    assert work.isdisjoint(one.step.id for one in label.tasks.values())
    assert breaches(taller) == []
