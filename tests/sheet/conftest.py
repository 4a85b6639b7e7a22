"""Sheets of the demo book, and of copies of it changed in places."""

from __future__ import annotations

import datetime
import shutil
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import TypeAlias

import pytest

from kb.book.load import Book, load
from kb.sheet.content import content
from kb.sheet.issue import issue
from kb.sheet.model import Content, Sheet
from tests.conftest import Edit, Shelf, put

MADE = datetime.datetime(2026, 11, 2, 3, 0)
"""When the copies are made: the waiver of the demo book runs, every format is effective."""

CopyBook: TypeAlias = Callable[..., Book]

RELEASED = "b204-330"
LINE = "plover"


@pytest.fixture(scope="session")
def contents(demo: Book) -> Mapping[str, Content]:
    """What the sheet of every format on every line it is made on says."""
    return Shelf(
        {
            f"{ident}/{line}": content(demo, ident, line)
            for ident, spec in demo.of("size-format").items()
            for line in spec.record.lines
        }
    )


@pytest.fixture(scope="session")
def sheets(demo: Book, contents: Mapping[str, Content]) -> Mapping[str, Sheet]:
    """The sheet of every format on every line it is made on."""
    return Shelf({name: issue(said, demo, made=MADE) for name, said in contents.items()})


@pytest.fixture
def copy_book(demo: Book, tmp_path: Path) -> CopyBook:
    """A maker of copies of the demo book, changed in places, files left out."""

    def make(edits: Iterable[Edit] = (), without: Iterable[str] = (), folder: str = "specs") -> Book:
        root = tmp_path / folder
        shutil.copytree(demo.root, root, dirs_exist_ok=True)
        for name in without:
            (root / name).unlink()
        for edit in edits:
            put(root, *edit)
        return load(root, shown="specs")

    return make


def sheet_of(book: Book, ident: str = RELEASED, line: str = LINE, made: datetime.datetime = MADE) -> Sheet:
    """The sheet of one format of a book."""
    return issue(content(book, ident, line), book, made=made)
