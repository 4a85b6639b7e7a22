"""What is withdrawn is reported wherever something in use still names it, and once."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from kb.book.load import Book
from tests.conftest import judged, put


@pytest.mark.slow
def test_the_past_may_name_what_is_withdrawn(demo: Book, tmp_path: Path) -> None:
    """Past changeovers and recorded sheets stay as they were; a week that runs it has its own finding."""
    book = tmp_path / "specs"
    shutil.copytree(demo.root, book)
    put(book, "formats/b211-500.yaml", "status: released", "status: withdrawn")
    assert "went_to: b211-500" in (book / "changeover.yaml").read_text(encoding="utf-8")
    names = {one.name for one in judged(book).findings if "b211-500" in one.message}
    assert "revision.withdrawn-used" not in names
    assert "changeover.not-released" in names


@pytest.mark.slow
def test_a_released_format_on_a_withdrawn_end_is_reported_once(demo: Book, tmp_path: Path) -> None:
    """An end that is not released is reported once for each released format with it."""
    book = tmp_path / "specs"
    shutil.copytree(demo.root, book)
    put(book, "ends/avocet-206.yaml", "status: released", "status: withdrawn")
    found = [one for one in judged(book).findings if "avocet-206" in one.message]
    assert {one.name for one in found if one.place.key == "end"} == {"book.unreleased-end"}
