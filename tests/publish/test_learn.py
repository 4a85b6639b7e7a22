"""Pages written by hand, in books that have the formats they speak of and in books that do not."""

from __future__ import annotations

from pathlib import Path

import pytest

from kb import new
from kb.book.load import load
from kb.publish.edition import Edition, gather
from kb.publish.learn import PlaceholderError, filled
from tests.publish.conftest import DAY

PAGE = "# The wall\n\n{{ value b211-330 ironed[2].thin }} from {{ spec b211-330 stock.gauge }}.\n"
NOTE = "those of the demo plant"


def edition(folder: Path, ident: str) -> Edition:
    """A new book whose one format has an id of its own."""
    new.new_book(folder)
    first, second = (folder / "formats" / f"{one}.yaml" for one in new.START)
    second.unlink()
    text = first.read_text(encoding="utf-8")
    first.unlink()
    text = text.replace(f"id: {first.stem}", f"id: {ident}").replace("0.262 ±", "0.263 ±")
    (folder / "formats" / f"{ident}.yaml").write_text(text, encoding="utf-8")
    return gather(load(folder, shown="book"), DAY)


def test_a_book_shows_its_own_numbers(tmp_path: Path) -> None:
    """A page about a format of the book has what that book declares, and no note."""
    made = filled(PAGE, edition(tmp_path / "book", "b211-330"), "learn/wall.md")
    assert "0.263 ±0.004 mm" in made
    assert NOTE not in made


def test_a_book_without_the_format_shows_the_demo_numbers(tmp_path: Path) -> None:
    """Elsewhere the page has the demo's numbers, and says so below its heading."""
    made = filled(PAGE, edition(tmp_path / "book", "only-one"), "learn/wall.md")
    assert "0.262 ±0.004 mm" in made
    assert made.startswith("# The wall\n")
    assert NOTE in made


def test_a_page_that_asks_for_what_nobody_has_is_a_mistake(tmp_path: Path) -> None:
    """A placeholder that neither book can fill is reported with the page and the placeholder."""
    one = edition(tmp_path / "book", "only-one")
    with pytest.raises(PlaceholderError, match=r"learn/wall.md: \{\{ spec b211-330 stock.colour \}\}"):
        filled("# The wall\n\n{{ spec b211-330 stock.colour }}\n", one, "learn/wall.md")
