"""Every command where its streams, folder or environment are not what a program is used to."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping, Sequence
from pathlib import Path

import pytest

from tests.cli.situations import COMMANDS, SLOW, alone, words

STREAMS: Mapping[str, str] = {
    "output closed": ">&-",
    "output full": ">/dev/full",
    "errors closed": "2>&-",
    "errors full": "2>/dev/full",
    "both closed": ">&- 2>&-",
    "all closed": "<&- >&- 2>&-",
}
QUICK = ("output closed", "all closed")

KEPT = ("punch", "cup", "redraw", "trim", "ironing")
"""Blocks that a search for less metal keeps here: how it ends is the same, and it ends sooner."""


def used(name: str) -> list[str]:
    """A plain use of a command that does not take long."""
    kept = [word for block in KEPT for word in ("--keep", block)] if name == "lightweight" else []
    return [*words(name), *kept]


ENVIRONMENTS: Mapping[str, Mapping[str, str | None]] = {
    "no home": {"HOME": None},
    "home of nobody": {"HOME": "/nonexistent"},
    "C locale": {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0", "PYTHONIOENCODING": None},
    "terminal of one column": {"COLUMNS": "1", "LINES": "1"},
    "no path": {"PATH": "/nonexistent"},
}


def plain(errors: bytes, code: int) -> None:
    """The end of a command is plain: no traceback, and what cannot run is said in one line."""
    assert b"Traceback" not in errors, errors.decode(errors="replace")
    assert code in {0, 1, 2}
    if code == 2 and errors:
        assert re.fullmatch(rb"sizebook: [^\n]+\n", errors)


def matrix(names: Sequence[str], situations: Sequence[str], quick: Sequence[str]) -> list[object]:
    """Every command in every situation; what takes long is marked slow."""
    return [
        pytest.param(
            name,
            one,
            marks=[pytest.mark.slow] if name in SLOW or one not in quick else [],
            id=f"{name}: {one}",
        )
        for name in names
        for one in situations
    ]


ONCE = [pytest.param(one, marks=[pytest.mark.slow] if one in SLOW else []) for one in COMMANDS]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no device that is always full")
@pytest.mark.parametrize(("name", "stream"), matrix(COMMANDS, list(STREAMS), QUICK))
def test_streams_that_take_nothing(name: str, stream: str, place: Path) -> None:
    """Output that finds no room ends with 2 and one line that says so; lost errors change nothing."""
    done = alone(used(name), place, shell=STREAMS[stream])
    plain(done.stderr, done.returncode)
    if stream.startswith("output"):
        assert done.returncode == 2
        assert done.stderr.startswith(b"sizebook: standard output cannot be written: ")
    if stream.startswith("errors"):
        assert done.returncode in {0, 1}
        assert done.stdout


@pytest.mark.parametrize("command", [["--help"], ["--version"], []])
@pytest.mark.parametrize("stream", [*STREAMS])
def test_help_to_streams_that_take_nothing(command: list[str], stream: str, tmp_path: Path) -> None:
    """Help and version end as every command does."""
    done = alone(command, tmp_path, shell=STREAMS[stream])
    plain(done.stderr, done.returncode)
    assert (done.returncode == 2) is not stream.startswith("errors")


@pytest.mark.parametrize("name", ONCE)
def test_a_reader_that_has_seen_enough(name: str, place: Path) -> None:
    """A pipe whose reader has gone is no error, and the exit code is the command's own."""
    reading, writing = os.pipe()
    os.close(reading)
    done = alone(used(name), place, output=writing)
    os.close(writing)
    plain(done.stderr, done.returncode)
    assert done.returncode in {0, 1}


@pytest.mark.parametrize(("name", "variables"), matrix(COMMANDS, list(ENVIRONMENTS), ("C locale",)))
def test_environments(name: str, variables: str, place: Path) -> None:
    """A bare environment changes nothing but how signs are written."""
    done = alone(used(name), place, **ENVIRONMENTS[variables])
    plain(done.stderr, done.returncode)
    assert done.returncode in {0, 1}
    if variables == "C locale":
        assert done.stdout.isascii() or name in {"explain", "publish"}


@pytest.mark.parametrize("name", ONCE)
def test_without_assertions(name: str, place: Path) -> None:
    """Nothing that a command needs is in an assertion: Python may be started with -O."""
    done = alone(used(name), place, python=["-O"])
    plain(done.stderr, done.returncode)
    assert done.returncode in {0, 1}


@pytest.mark.parametrize("name", COMMANDS)
def test_a_current_folder_that_is_gone(name: str, tmp_path: Path) -> None:
    """Where the current folder was deleted a command says so, or needs no folder."""
    gone = tmp_path / "gone"
    gone.mkdir()
    done = alone(words(name), gone, before='rmdir "$PWD"')
    plain(done.stderr, done.returncode)
    assert done.returncode == (0 if name == "explain" else 2)
    if name != "explain":
        assert done.stderr.endswith(b"the current folder no longer exists\n")


def test_a_book_named_in_full_needs_no_current_folder(place: Path, tmp_path: Path) -> None:
    """A book that is named by its full path is checked although the current folder is gone."""
    gone = tmp_path / "gone"
    gone.mkdir()
    done = alone(["check", str(place / "specs")], gone, before='rmdir "$PWD"')
    plain(done.stderr, done.returncode)
    assert b"2 formats, " in done.stdout
