"""Entries of the user's cache folder: whole, or made again."""

from __future__ import annotations

from pathlib import Path

import pytest

from kb.cache import FOLDER, cache_folder, digest, keep_entry, read_entry


def test_an_entry_is_read_as_it_was_kept(tmp_path: Path) -> None:
    """What is kept under a name is read under this name, and under no other."""
    keep_entry(tmp_path / "new", "a", {"limit": 0.6})
    assert read_entry(tmp_path / "new", "a") == {"limit": 0.6}
    assert read_entry(tmp_path / "new", "b") is None


@pytest.mark.parametrize(
    "text", ["", "{", "[]", "null", '{"content": 1, "check": "0"}', "[" * 100_000, "\x00"]
)
def test_a_broken_entry_is_no_entry(text: str, tmp_path: Path) -> None:
    """A file that is empty, cut off, of another shape or changed by hand is ignored."""
    (tmp_path / "a.json").write_text(text, encoding="utf-8")
    assert read_entry(tmp_path, "a") is None


def test_an_entry_under_another_name_is_no_entry(tmp_path: Path) -> None:
    """A renamed file is not taken for the entry of its new name."""
    keep_entry(tmp_path, "a", 1)
    (tmp_path / "a.json").rename(tmp_path / "b.json")
    assert read_entry(tmp_path, "b") is None


def test_a_folder_that_cannot_be_written_loses_nothing(tmp_path: Path) -> None:
    """A file in place of the folder is no failure: the entry is not kept."""
    (tmp_path / "file").write_text("", encoding="utf-8")
    keep_entry(tmp_path / "file", "a", 1)
    assert read_entry(tmp_path / "file", "a") is None


def test_the_folder_is_the_one_that_is_named(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The environment names the folder; each kind of entries has its own in it."""
    monkeypatch.setenv(FOLDER, str(tmp_path))
    assert cache_folder("bases") == tmp_path / "bases"


def test_a_digest_is_of_the_content() -> None:
    """The order of keys changes no name, a number does."""
    assert digest({"a": 1, "b": 2}) == digest({"b": 2, "a": 1}) != digest({"a": 1, "b": 3})
