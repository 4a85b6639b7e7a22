"""What a check says that the book cannot do yet."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from kb.book.load import load
from kb.checks.consistency.whole_book import lacks
from kb.cli import main
from kb.new import new_book

FLOOR = "no floor.yaml: no setup sheet can be printed for use, and no changeover planned"
CHANGEOVER = "no changeover.yaml: no changeover can be planned"
SPECS = Path(__file__).parents[2] / "specs"


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A new book without its files for the floor."""
    new_book(tmp_path / "book")
    for name in ("floor.yaml", "changeover.yaml"):
        (tmp_path / "book" / name).unlink()
    return tmp_path / "book"


def check(*words: str) -> Result:
    """The outcome of `sizebook check`."""
    return CliRunner().invoke(main, ["check", *words])


def test_a_book_says_what_it_cannot_do(book: Path) -> None:
    """The last lines of its check name the missing files, then count what is not confirmed; it passes."""
    done = check(str(book))
    assert done.exit_code == 0
    *_, first, floor, changeover, unconfirmed = done.output.splitlines()
    assert (first, floor, changeover) == ("all checks ran", FLOOR, CHANGEOVER)
    assert re.fullmatch(
        r"\d+ limits and settings not yet confirmed by this plant: .*--unconfirmed`", unconfirmed
    )


def test_programs_and_comments_get_the_same(book: Path) -> None:
    """JSON has the lacks as records, Markdown as a list."""
    (printed,) = json.loads(check(str(book), "--output", "json").output)["books"]
    assert [(one["lacks"], one["why"]) for one in printed["cannot"]] == [
        ("floor.yaml", "no"),
        ("changeover.yaml", "no"),
    ]
    assert FLOOR.replace(":", "&#58;") in check(str(book), "--output", "markdown").output


def test_several_books_are_named(book: Path) -> None:
    """With more than one book, each line says which book lacks the file."""
    output = check(str(book), str(SPECS)).output
    assert f"{book}: {FLOOR}" in output


def test_a_file_with_faults_is_not_called_missing(book: Path) -> None:
    """A floor file that cannot be read has faults; the effect is the same."""
    (book / "floor.yaml").write_text("kind: floor\n", encoding="utf-8")
    assert next(one.line for one in lacks(load(book, shown=""))) == (
        "floor.yaml has errors: no setup sheet can be printed for use, and no changeover planned"
    )


@pytest.mark.parametrize(
    ("gone", "says"),
    [
        ("plant.yaml", "no plant.yaml: nothing can be checked, printed or published"),
        ("limits.yaml", "no limits.yaml: nothing can be checked or printed"),
        ("lines/heron.yaml", "no lines in lines/: no setup sheet can be printed, and no changeover planned"),
        ("formats/b211-330.yaml", "no size formats in formats/: there is nothing to check"),
    ],
)
def test_each_file_that_matters_is_named(gone: str, says: str, book: Path) -> None:
    """For every file taken out, a line says what cannot be done without it."""
    for file in book.glob(f"{gone.partition('/')[0]}/*") if "/" in gone else [book / gone]:
        file.unlink()
    assert says in [one.line for one in lacks(load(book, shown=""))]


def test_the_demo_book_lacks_nothing() -> None:
    """A complete book ends its check as before."""
    assert lacks(load(SPECS, shown="specs")) == ()


def test_a_register_and_past_changeovers_are_missed_where_they_matter(tmp_path: Path) -> None:
    """A book with a floor file and released formats has a register of codes; a plan has recorded stops."""
    for file in SPECS.rglob("*.yaml"):
        target = tmp_path / file.relative_to(SPECS)
        target.parent.mkdir(exist_ok=True)
        target.write_bytes(file.read_bytes())
    (tmp_path / "sheet-codes.yaml").unlink()
    text = (tmp_path / "changeover.yaml").read_text(encoding="utf-8")
    (tmp_path / "changeover.yaml").write_text(text[: text.index("\npast:")] + "\n", encoding="utf-8")
    assert [one.what for one in lacks(load(tmp_path, shown=""))] == [
        "past changeovers in changeover.yaml",
        "sheet-codes.yaml",
    ]
