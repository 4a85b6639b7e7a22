"""Which book and which formats a command is about."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from kb.book.selection import SelectionError, around, books, one_format, shown_path

MakeBook = Callable[..., Path]


@pytest.fixture
def book(make_book: MakeBook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A book of two formats in the folder `specs` below the current one."""
    root = make_book(["b211-330", "b204-355"])
    monkeypatch.chdir(tmp_path)
    return root


def test_no_path_is_the_book_around_here(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a path the book below or around the current folder is used, shown from there."""
    (asked,) = books([])
    assert (asked.root, asked.shown, asked.formats) == (book, "specs", None)
    monkeypatch.chdir(book / "formats")
    (asked,) = books([])
    assert (asked.root, asked.shown) == (book, book.as_posix())
    monkeypatch.chdir(book)
    (asked,) = books([])
    assert asked.shown == "."
    assert asked.load().findings == []


def test_format_asks_for_itself(book: Path) -> None:
    """A size format selects itself alone, in one book however many are given."""
    (asked,) = books([Path("specs/formats/b211-330.yaml"), Path("specs/formats/b204-355.yaml")])
    assert asked.formats is not None
    assert [one.stem for one in asked.formats] == ["b211-330", "b204-355"]
    (asked,) = books([Path("specs/formats/b211-330.yaml")])
    assert list(asked.load().of("size-format")) == ["b211-330"]


def test_waiver_of_an_unread_format_is_no_fault(book: Path) -> None:
    """A waiver for a format that was not selected does not count as naming what is not there."""
    (asked,) = books([Path("specs/formats/b211-330.yaml")])
    loaded = asked.load()
    assert [one.format for one in loaded.waivers.waivers] == ["b204-355"]
    assert loaded.findings == []


def test_waiver_of_a_format_that_is_not_there_is_a_fault(book: Path) -> None:
    """A waiver for a format that does not exist is reported, also when another format is selected."""
    (book / "formats/b204-355.yaml").unlink()
    (asked,) = books([Path("specs/formats/b211-330.yaml")])
    assert [one.name for one in asked.load().findings] == ["book.unknown-id"]


def test_shared_file_asks_for_the_whole_book(book: Path) -> None:
    """A file that formats depend on selects all of them, also beside a format."""
    for paths in (["specs/limits.yaml"], ["specs/formats/b211-330.yaml", "specs/ends/curlew-202.yaml"]):
        (asked,) = books([Path(one) for one in paths])
        assert asked.formats is None


def test_several_books(book: Path, make_book: MakeBook) -> None:
    """Each book is selected on its own, in the order given."""
    make_book(["b211-568-206"], folder="other")
    asked = books([Path("other"), Path("specs/formats/b211-330.yaml")])
    assert [one.shown for one in asked] == ["other", "specs"]


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("nowhere", "nowhere does not exist"),
        ("notes.txt", "is not a spec"),
        (".hidden.yaml", "hidden files are not part of a book"),
        ("empty", "no book in or above empty"),
        ("lost.yaml", "no book in or above lost.yaml"),
        ("no\nlines", r"no\u000alines does not exist"),
    ],
)
def test_what_cannot_be_checked_is_said_in_a_line(
    path: str, words: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A path that is not there, is no spec or is in no book is refused in one line."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "empty").mkdir()
    (tmp_path / "notes.txt").write_text("x", encoding="utf-8")
    (tmp_path / ".hidden.yaml").write_text("kind: end\n", encoding="utf-8")
    (tmp_path / "lost.yaml").write_text("kind: end\n", encoding="utf-8")
    with pytest.raises(SelectionError) as refused:
        books([Path(path)])
    assert words in str(refused.value)
    assert "\n" not in str(refused.value)


def test_one_format_by_id_or_file(book: Path) -> None:
    """A format is found by its id in the book around here or in one named, and by its file."""
    for name, folder in (
        ("b211-330", None),
        ("b211-330", Path("specs")),
        ("specs/formats/b211-330.yaml", None),
    ):
        asked, ident = one_format(name, folder)
        assert (asked.root, ident) == (book, "b211-330")
        assert list(asked.load().of("size-format")) == ["b211-330"]


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("b211-33", "did you mean b211-330?"),
        ("xyz", "formats: b204-355, b211-330"),
        ("specs/limits.yaml", "is not a size format"),
    ],
)
def test_unknown_format_is_guessed_at(book: Path, name: str, words: str) -> None:
    """A format that is not there is refused with the one that was probably meant."""
    with pytest.raises(SelectionError) as refused:
        one_format(name, None)
    assert words in str(refused.value)


def test_around_is_nothing_without_a_book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where there is no book, none is loaded and nothing is complained of."""
    monkeypatch.chdir(tmp_path)
    assert around() is None


def test_path_is_shown_from_here_or_in_full(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A path below the current folder is shown from there, any other in full."""
    inside = tmp_path / "here"
    inside.mkdir()
    monkeypatch.chdir(inside)
    assert shown_path(inside / "specs") == "specs"
    assert shown_path(tmp_path / "other") == (tmp_path / "other").resolve().as_posix()
