"""Where reports go."""

from __future__ import annotations

import ast
import errno
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from kb.output import io
from tests.conftest import syntax_tree

HOUSE = Path(__file__).resolve().parents[2]


def test_file_is_replaced_whole(tmp_path: Path) -> None:
    """A report takes the place of the old file, keeps its permissions, and leaves nothing beside it."""
    file = tmp_path / "report.json"
    file.write_text("old", encoding="utf-8")
    file.chmod(0o640)
    io.write_atomic(file, "new ±\n")
    assert file.read_bytes() == "new ±\n".encode()
    assert file.stat().st_mode & 0o777 == 0o640
    assert os.listdir(tmp_path) == ["report.json"]


def test_new_file_has_ordinary_permissions(tmp_path: Path) -> None:
    """A new report can be read by whom new files can be read, not by its writer alone."""
    io.write_atomic(tmp_path / "a", "x")
    (tmp_path / "b").write_text("x", encoding="utf-8")
    assert (tmp_path / "a").stat().st_mode == (tmp_path / "b").stat().st_mode


def test_link_is_followed(tmp_path: Path) -> None:
    """A link stays a link; the file it leads to is replaced."""
    (tmp_path / "real").write_text("old", encoding="utf-8")
    (tmp_path / "link").symlink_to(tmp_path / "real")
    io.write_atomic(tmp_path / "link", "new")
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "real").read_text(encoding="utf-8") == "new"


def cut(*_: object) -> None:
    """The reader stops the command."""
    raise KeyboardInterrupt


def test_bytes_are_put_down_as_they_are(tmp_path: Path) -> None:
    """A drawing or a PDF is replaced whole too, no byte of it taken for text."""
    file = tmp_path / "sheet.pdf"
    file.write_bytes(b"old")
    io.write_atomic(file, b"%PDF\r\n\xff\x00\n")
    assert file.read_bytes() == b"%PDF\r\n\xff\x00\n"
    assert os.listdir(tmp_path) == ["sheet.pdf"]


@pytest.mark.skipif(os.name != "posix", reason="files are cut short by a limit that only POSIX systems have")
def test_a_killed_write_leaves_the_old_file(tmp_path: Path) -> None:
    """When the process dies with half of the file on the disk, the old file is whole."""
    file = tmp_path / "sheet.pdf"
    file.write_bytes(b"old")
    program = """
import os, pathlib, resource, signal, sys
from kb.output.io import write_atomic
signal.signal(signal.SIGXFSZ, lambda *_: os.kill(os.getpid(), signal.SIGKILL))
resource.setrlimit(resource.RLIMIT_FSIZE, (5000, resource.RLIM_INFINITY))
write_atomic(pathlib.Path(sys.argv[1]), b"new" * 5000)
"""
    done = subprocess.run([sys.executable, "-c", program, str(file)], check=False, cwd=HOUSE)
    assert done.returncode == -signal.SIGKILL
    assert file.read_bytes() == b"old"
    assert [one.stat().st_size for one in tmp_path.glob(".sizebook-*")] == [5000]


def test_interrupted_write_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """When writing is cut short the old report is still there, and nothing half-written beside it."""
    file = tmp_path / "report"
    file.write_text("old", encoding="utf-8")
    monkeypatch.setattr(os, "replace", cut)
    with pytest.raises(KeyboardInterrupt):
        io.write_atomic(file, "new")
    assert file.read_text(encoding="utf-8") == "old"
    assert os.listdir(tmp_path) == ["report"]


@pytest.mark.parametrize("fails", ["mkstemp", "write", "replace"])
def test_a_full_disk_names_the_file_and_keeps_the_old_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fails: str
) -> None:
    """The error names the file as it was given, not a temporary one, and the old file is whole."""
    monkeypatch.chdir(tmp_path)
    file = Path("report")
    file.write_text("old", encoding="utf-8")

    def full(*_: object, **__: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), ".sizebook-temporary")

    module, name = {
        "mkstemp": (io.tempfile, "mkstemp"),
        "write": (io.os, "chmod"),
        "replace": (io.os, "replace"),
    }[fails]
    monkeypatch.setattr(module, name, full)
    with pytest.raises(OSError, match="No space left") as error:
        io.write_atomic(file, "new")
    assert error.value.filename == "report"
    assert error.value.errno == errno.ENOSPC
    assert file.read_text(encoding="utf-8") == "old"
    assert os.listdir(tmp_path) == ["report"]


@pytest.mark.skipif(os.name != "posix", reason="files are cut short by a limit that only POSIX systems have")
def test_a_write_that_the_disk_cuts_short_names_the_file(tmp_path: Path) -> None:
    """When the system takes only a part of the bytes, the error names the file and the old one is whole."""
    file = tmp_path / "sheet.pdf"
    file.write_bytes(b"old")
    program = """
import pathlib, resource, sys
from kb.output.io import write_atomic
resource.setrlimit(resource.RLIMIT_FSIZE, (5000, resource.RLIM_INFINITY))
try:
    write_atomic(pathlib.Path(sys.argv[1]), b"new" * 5000)
except OSError as error:
    print(error.filename)
"""
    command = [sys.executable, "-c", program, str(file)]
    done = subprocess.run(command, check=False, cwd=HOUSE, capture_output=True, text=True)
    assert (done.stdout, done.stderr) == (f"{file}\n", "")
    assert file.read_bytes() == b"old"
    assert os.listdir(tmp_path) == ["sheet.pdf"]


WRITERS = {
    "io.py": "the one function",
    "cache.py": "entries of the cache, whole or none",
    "git.py": "git's files, into a new folder of its own",
    "kept.py": "kept schedules, which are below the output in the layers; each is whole or absent",
}
"""Modules that may open a file to write it, and why."""


def test_one_function_writes_every_file() -> None:
    """No other module writes a file by itself, so that no file is ever written half."""
    found = []
    for path in sorted((HOUSE / "kb").rglob("*.py")):
        for node in ast.walk(syntax_tree(path)):
            if isinstance(node, ast.Call) and path.name not in WRITERS and _writes(node):
                found.append(f"{path.relative_to(HOUSE)}:{node.lineno}")
    assert found == []


def _writes(call: ast.Call) -> bool:
    """Whether a call writes a file: by a method of a path, a copy, or `open` with such a mode."""
    name = getattr(call.func, "attr", getattr(call.func, "id", ""))
    if name in {"write_text", "write_bytes", "copyfile", "copy2", "copytree"}:
        return True
    if name not in {"open", "fdopen"}:
        return False
    given = [*call.args, *(one.value for one in call.keywords if one.arg == "mode")]
    modes = [one.value for one in given if isinstance(one, ast.Constant) and isinstance(one.value, str)]
    return any(set(mode) & set("wax+") and set(mode) <= set("wax+bt") for mode in modes)


def test_folder_and_missing_folder_are_refused(tmp_path: Path) -> None:
    """A report cannot be written over a folder, nor into one that is not there."""
    with pytest.raises(IsADirectoryError):
        io.write_atomic(tmp_path, "x")
    with pytest.raises(FileNotFoundError):
        io.write_atomic(tmp_path / "no" / "file", "x")


@pytest.mark.skipif(not Path(os.devnull).exists(), reason="this system has no null device in its file tree")
def test_device_is_written_to_not_replaced() -> None:
    """The null device takes a report and stays a device."""
    io.write_atomic(Path(os.devnull), "x")
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
    assert io.coloured(asked, in_file=in_file) is coloured
