"""Every command with a file that is no spec where a spec belongs."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from kb.cli import main
from tests.cli.situations import COMMANDS, FILES, SLOW, words

TARGETS = ("plant.yaml", "limits.yaml", "floor.yaml", "changeover.yaml", "lines/heron.yaml", "formats/x.yaml")


def put(path: Path, what: str) -> None:
    """Put a hostile file where another may have been."""
    path.unlink(missing_ok=True)
    FILES[what](path)


def run(*command: str) -> Result:
    """Run a command in this process; what it does not catch fails the test."""
    done = CliRunner().invoke(main, list(command))
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exc_info
    assert done.exit_code in {0, 1, 2}
    if done.exit_code == 2:
        assert re.fullmatch(r"sizebook: [^\n]+\n", done.stderr)
    return done


@pytest.mark.parametrize("what", FILES)
@pytest.mark.parametrize("target", TARGETS)
def test_the_check_names_the_file(what: str, target: str, place: Path) -> None:
    """The check lists the file with what is wrong with it, and goes on with the rest of the book."""
    put(place / "specs" / target, what)
    done = run("check", "specs")
    if done.exit_code == 2:
        assert target == "plant.yaml"
        assert "no folder has a plant.yaml" in done.stderr
        return
    assert done.exit_code == 1
    assert re.search(rf"(?m)^specs/{re.escape(target)}:\d+:\d+: error: ", done.output)


@pytest.mark.parametrize("what", FILES)
@pytest.mark.parametrize(
    "name",
    [pytest.param(one, marks=[pytest.mark.slow] if one in {*SLOW, "review"} else []) for one in COMMANDS],
)
def test_every_command_ends_plainly(name: str, what: str, place: Path) -> None:
    """A command that needs the file says so in one line, and none of them hangs or fails in itself."""
    put(place / "specs/formats/b211-330.yaml", what)
    run(*words(name))


@pytest.mark.parametrize("what", FILES)
def test_a_format_that_is_no_format(what: str, place: Path) -> None:
    """A hostile file that is itself what the command is to read ends in findings or in one line."""
    path = place / "specs/formats/b211-330.yaml"
    put(path, what)
    for command in (["check", str(path)], ["route", str(path)], ["check", str(path / "below.yaml")]):
        assert run(*command).exit_code != 0


@pytest.mark.parametrize("what", FILES)
def test_a_book_that_is_no_folder(what: str, place: Path) -> None:
    """A path that is no book ends with 2 and one line."""
    path = place / "book"
    put(path, what)
    for command in (
        ["check", "book"],
        ["publish", "book"],
        ["route", "x", "--book", "book"],
        ["review", "book"],
    ):
        assert run(*command).exit_code == 2


# --- permissions ------------------------------------------------------------------------------


def test_a_folder_that_cannot_be_read(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A folder without permission is an error at its place, not a book without formats."""
    real, closed = os.scandir, os.path.realpath("specs/formats")

    def scandir(path: str) -> Iterator[os.DirEntry[str]]:
        if os.path.realpath(path) == closed:
            raise PermissionError(13, "Permission denied", path)
        return real(path)

    monkeypatch.setattr(os, "scandir", scandir)
    done = run("check", "specs")
    assert done.exit_code == 1
    assert re.search(
        r"(?m)^specs/formats:1:1: error: the folder cannot be read: permission denied \[reading\.file\]$",
        done.output,
    )
    assert "size-format b211-330 is not in the book" not in done.output


def test_a_book_that_cannot_be_read(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A book whose own folder has no permission is an error, not a clean book."""

    def scandir(path: str) -> Iterator[os.DirEntry[str]]:
        raise PermissionError(13, "Permission denied", path)

    monkeypatch.setattr(os, "scandir", scandir)
    assert run("check", "specs").exit_code != 0


def test_a_file_that_cannot_be_read(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file without permission is an error at its place; other formats are checked."""

    def refuse(path: Path, mode: str) -> object:
        if path.name == "b211-330.yaml":
            raise PermissionError(13, "Permission denied", str(path))
        return open(path, mode)

    monkeypatch.setattr("kb.book.source.open", refuse, raising=False)
    done = run("check", "specs")
    assert done.exit_code == 1
    assert "b211-330.yaml:1:1: error: the file cannot be read: permission denied" in done.output
    assert "1 format, " in done.output
