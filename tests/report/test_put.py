"""Where reports go."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from kb.report import put


def test_file_is_replaced_whole(tmp_path: Path) -> None:
    """A report takes the place of the old file, keeps its permissions, and leaves nothing beside it."""
    file = tmp_path / "report.json"
    file.write_text("old", encoding="utf-8")
    file.chmod(0o640)
    put.to_file(file, "new ±\n")
    assert file.read_bytes() == "new ±\n".encode()
    assert file.stat().st_mode & 0o777 == 0o640
    assert os.listdir(tmp_path) == ["report.json"]


def test_new_file_has_ordinary_permissions(tmp_path: Path) -> None:
    """A new report can be read by whom new files can be read, not by its writer alone."""
    put.to_file(tmp_path / "a", "x")
    (tmp_path / "b").write_text("x", encoding="utf-8")
    assert (tmp_path / "a").stat().st_mode == (tmp_path / "b").stat().st_mode


def test_link_is_followed(tmp_path: Path) -> None:
    """A link stays a link; the file it leads to is replaced."""
    (tmp_path / "real").write_text("old", encoding="utf-8")
    (tmp_path / "link").symlink_to(tmp_path / "real")
    put.to_file(tmp_path / "link", "new")
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "real").read_text(encoding="utf-8") == "new"


def test_interrupted_write_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """When writing is cut short the old report is still there, and nothing half-written beside it."""
    file = tmp_path / "report"
    file.write_text("old", encoding="utf-8")

    def cut(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "replace", cut)
    with pytest.raises(KeyboardInterrupt):
        put.to_file(file, "new")
    assert file.read_text(encoding="utf-8") == "old"
    assert os.listdir(tmp_path) == ["report"]


def test_folder_and_missing_folder_are_refused(tmp_path: Path) -> None:
    """A report cannot be written over a folder, nor into one that is not there."""
    with pytest.raises(IsADirectoryError):
        put.to_file(tmp_path, "x")
    with pytest.raises(FileNotFoundError):
        put.to_file(tmp_path / "no" / "file", "x")


@pytest.mark.skipif(not Path(os.devnull).exists(), reason="this system has no null device in its file tree")
def test_device_is_written_to_not_replaced() -> None:
    """The null device takes a report and stays a device."""
    put.to_file(Path(os.devnull), "x")
    assert not Path(os.devnull).is_file()


@pytest.mark.parametrize(
    ("asked", "environment", "in_file", "coloured"),
    [
        (True, {"NO_COLOR": "1"}, True, True),
        (False, {"FORCE_COLOR": "1"}, False, False),
        (None, {"FORCE_COLOR": "1"}, False, True),
        (None, {"FORCE_COLOR": "1", "NO_COLOR": "1"}, False, False),
        (None, {"FORCE_COLOR": "1"}, True, False),
        (None, {}, False, False),
    ],
)
def test_colours_as_asked_and_declined(
    asked: bool | None,
    environment: dict[str, str],
    in_file: bool,
    coloured: bool,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The command line decides on colours, then NO_COLOR, then FORCE_COLOR, then whether it is a terminal."""
    for name in ("NO_COLOR", "FORCE_COLOR"):
        monkeypatch.delenv(name, raising=False)
    for name, value in environment.items():
        monkeypatch.setenv(name, value)
    assert put.coloured(asked, in_file=in_file) is coloured
