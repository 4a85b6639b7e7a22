"""Books that say nothing wrong: read to the last file, with a record for each."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from kb.book.keys import quantities
from kb.book.load import Book, load
from kb.folders import shipped

GOOD = Path(__file__).parent / "specs_good"


@pytest.fixture(params=[GOOD, shipped("specs")], ids=["specs_good", "demo"])
def folder(request: pytest.FixtureRequest) -> Path:
    """A folder of valid specs."""
    assert isinstance(request.param, Path)
    return request.param


def records(book: Book) -> dict[tuple[str, str], object]:
    """Every record of a book by kind and id."""
    return {(kind, ident): spec.record for kind, specs in book.specs.items() for ident, spec in specs.items()}


def test_every_file_is_a_record(folder: Path) -> None:
    """Reading, shape, units and references find nothing, and each file becomes one record."""
    book = load(folder, shown="")
    assert book.findings == []
    assert book.broken == {}
    assert len(records(book)) == len(list(folder.rglob("*.yaml")))
    for kind in ("plant", "limits", "waivers", "line", "material", "end", "size-format"):
        assert book.of(kind), kind


def test_line_ends_make_no_difference(folder: Path, tmp_path: Path) -> None:
    """The same book with the line ends of another system, or a mark at the front, holds the same records."""
    copy = tmp_path / "specs"
    shutil.copytree(folder, copy)
    for path in copy.rglob("*.yaml"):
        path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes().replace(b"\n", b"\r\n"))
    there = load(copy, shown="")
    assert there.findings == []
    assert records(there) == records(load(folder, shown=""))


def test_places_point_into_the_files(folder: Path) -> None:
    """Every written quantity is in its file at its reported place."""
    book = load(folder, shown="")
    texts = {
        path.relative_to(folder).as_posix(): path.read_text(encoding="utf-8").split("\n")
        for path in folder.rglob("*.yaml")
    }
    for specs in book.specs.values():
        for spec in specs.values():
            for key, quantity in quantities(spec.record):
                place = spec.place(key)
                lines, span = texts[place.file], place.span
                assert span.line == span.end_line
                written = lines[span.line - 1][span.column - 1 : span.end_column - 1]
                assert written.strip("\"'") == quantity.text
