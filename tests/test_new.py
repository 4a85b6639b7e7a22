"""A small book to begin with."""

from __future__ import annotations

import datetime
import json
import os
import re
from pathlib import Path

import pytest

from kb import new
from kb.book.load import load
from kb.checks import check_book

DAY = datetime.date(2026, 11, 2)


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A new book."""
    new.new_book(tmp_path / "my-book")
    return tmp_path / "my-book"


def test_new_book_is_valid(book: Path) -> None:
    """A new book passes its check with nothing unused and no waivers."""
    loaded = load(book, shown="my-book")
    report = check_book(loaded, today=DAY)
    assert [(one.name, one.message) for one in report.findings] == []
    assert report.skipped == []
    assert report.formats == (new.START,)
    assert len(report.verdicts[new.START]) > 50
    assert loaded.waivers.waivers == ()


def test_new_book_is_small(book: Path) -> None:
    """A new book holds one format, one end, two metals, one line, plant, limits and waivers."""
    specs = sorted(path.relative_to(book).as_posix() for path in book.rglob("*.yaml"))
    folders = [name.rpartition("/")[0] for name in specs]
    assert folders.count("formats") == folders.count("ends") == folders.count("lines") == 1
    assert folders.count("materials") == 2
    assert [name for name in specs if "/" not in name] == ["limits.yaml", "plant.yaml", "waivers.yaml"]


def test_editor_finds_the_schema_of_each_file(book: Path) -> None:
    """Each file names its schema once, by a path that works from where it is and says its kind."""
    for file in book.rglob("*.yaml"):
        text = file.read_text(encoding="utf-8")
        (hint,) = re.findall(r"(?m)^# yaml-language-server: \$schema=(.+)$", text)
        schema = json.loads((file.parent / hint).read_text(encoding="utf-8"))
        (kind,) = re.findall(r"(?m)^kind: (.+)$", text)
        assert schema["properties"]["kind"]["const"] == kind


def test_book_is_as_readable_as_any_folder(book: Path) -> None:
    """The book's folder has the permissions of an ordinary new folder, and nothing is left beside it."""
    beside = book.parent / "ordinary"
    beside.mkdir()
    assert book.stat().st_mode == beside.stat().st_mode
    assert sorted(os.listdir(book.parent)) == ["my-book", "ordinary"]


def test_empty_folder_is_filled(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An empty folder is filled in place, so that a shell standing in it sees the book."""
    monkeypatch.chdir(tmp_path)
    before = tmp_path.stat().st_ino
    made = new.new_book(Path())
    assert tmp_path.stat().st_ino == before
    assert "plant.yaml" in made
    assert (Path() / "plant.yaml").is_file()


def test_the_open_ones_there_is_left_alone(tmp_path: Path) -> None:
    """A folder with something in it, a file, or a place without a folder above is refused and unchanged."""
    (tmp_path / "full").mkdir()
    (tmp_path / "full/note").write_text("mine", encoding="utf-8")
    (tmp_path / "file").write_text("mine", encoding="utf-8")
    for target in (tmp_path / "full", tmp_path / "file", tmp_path / "no/where"):
        with pytest.raises(new.CannotMake):
            new.new_book(target)
    assert sorted(os.listdir(tmp_path)) == ["file", "full"]
    assert os.listdir(tmp_path / "full") == ["note"]


@pytest.mark.parametrize("there", [False, True])
def test_interruption_leaves_nothing_half_written(
    there: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """When it is stopped at any write, what was there is as before: no folder, or an empty one."""
    target = tmp_path / "my-book"
    if there:
        target.mkdir()

    def stop(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    for module, name in ((os, "replace"), (os, "rename")):
        with monkeypatch.context() as patched:
            patched.setattr(module, name, stop)
            with pytest.raises(KeyboardInterrupt):
                new.new_book(target)
        assert os.listdir(tmp_path) == (["my-book"] if there else [])
        assert not there or os.listdir(target) == []


def test_interruption_between_moves_is_undone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Stopped half-way through filling an empty folder, the folder is empty again."""
    rename, calls = os.rename, []

    def third_stops(old: Path, to: Path) -> None:
        calls.append(to)
        if len(calls) == 3:
            raise KeyboardInterrupt
        rename(old, to)

    (tmp_path / "my-book").mkdir()
    monkeypatch.setattr(os, "rename", third_stops)
    with pytest.raises(KeyboardInterrupt):
        new.new_book(tmp_path / "my-book")
    assert len(calls) == 3
    assert os.listdir(tmp_path / "my-book") == []
    assert os.listdir(tmp_path) == ["my-book"]
