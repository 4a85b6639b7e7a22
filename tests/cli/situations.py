"""What a stranger's machine and book can be like; the tests of every command share it."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import click

from kb.cli import main

PROGRAM = (sys.executable, "-m", "kb")

SAMPLES: Mapping[str, str] = {
    "FORMAT": "b211-330",
    "A": "b211-330",
    "B": "b211-330-beacon",
    "LINE": "heron",
    "NAME": "heron-49",
    "BASE": "before",
    "DIR": "fresh",
    "BOOK": "specs",
    "PATH": "specs",
    "TARGETS": "targets.yaml",
    "TABLE": "sizes.csv",
    "KIND": "format",
    "OLD": "b211-330",
    "NEW": "b211-331",
}
"""What to give for a word of a command's help, in a folder with a book in `specs` and a copy in `before`."""

OPTIONAL = ("FORMAT", "A", "B", "BOOK", "BASE")
"""Words that are optional only because the command has a second form."""


def words(name: str) -> list[str]:
    """A plain use of a command, made from what its help requires.

    A new command needs a sample for each new word, and is in every test from then on.
    """
    used = [name]
    for one in main.commands[name].params:
        word = (one.metavar or "").strip("[].")
        if one.required or (isinstance(one, click.Argument) and word in OPTIONAL):
            assert word in SAMPLES, f"give a sample for {one.metavar} of `sizebook {name}`"
            used += [SAMPLES[word]] if isinstance(one, click.Argument) else [one.opts[0], SAMPLES[word]]
    return used


COMMANDS = sorted(main.commands)
SLOW = {"changeover", "design", "lightweight", "publish", "week"}
"""Commands that take seconds; what is quick is tested on every change."""


def alone(
    command: Sequence[str],
    cwd: Path,
    *,
    before: str = "true",
    shell: str = "",
    python: Sequence[str] = (),
    output: int = subprocess.PIPE,
    **environment: str | None,
) -> subprocess.CompletedProcess[bytes]:
    """Run the program as its own process.

    Args:
        command: words after `sizebook`
        cwd: the current folder
        before: what a shell does first
        shell: redirections of a shell, such as `>&-`
        python: options of Python
        output: where standard output goes
        environment: variables to set, or to take out
    """
    begin, *rest = PROGRAM
    set_to = {**os.environ, **{name: value for name, value in environment.items() if value is not None}}
    for name in (name for name, value in environment.items() if value is None):
        set_to.pop(name, None)
    return subprocess.run(
        ["/bin/sh", "-c", f'{before}; exec "$0" "$@" {shell}', begin, *python, *rest, *command],
        cwd=cwd,
        env=set_to,
        stdout=output,
        stderr=subprocess.PIPE,
        check=False,
        timeout=300,
    )


# --- files ------------------------------------------------------------------------------------


def _loop(path: Path) -> None:
    path.symlink_to(path.name)


def _dangling(path: Path) -> None:
    path.symlink_to("nowhere.yaml")


def _device(path: Path) -> None:
    path.symlink_to("/dev/zero")


def _pipe(path: Path) -> None:
    os.mkfifo(path)


def _huge(path: Path) -> None:
    with open(path, "wb") as file:
        file.truncate(50 * 1024 * 1024)


def _written(content: bytes) -> Callable[[Path], None]:
    def write(path: Path) -> None:
        path.write_bytes(content)

    return write


FILES: Mapping[str, Callable[[Path], None]] = {
    "a loop of links": _loop,
    "a link to nothing": _dangling,
    "a link to a device": _device,
    "a pipe": _pipe,
    "a folder": Path.mkdir,
    "50 MB": _huge,
    "nothing in it": _written(b""),
    "10,000 brackets": _written(b"kind: " + 10_000 * b"[" + b"\n"),
    "10,000 groups": _written(10_000 * b"{a: " + b"\n"),
    "a million digits": _written(b"kind: " + 100_000 * b"9" + b"\n"),
    "a number beyond any": _written(b"kind: size-format\nrevision: 1e999999999\n"),
    "bytes": _written(bytes(range(256)) * 64),
    "UTF-16": _written("kind: size-format\n".encode("utf-16")),
    "NUL": _written(b"kind: size-format\0\n"),
    "a carriage return": _written(b"kind: size-format\r::warning ::x\n"),
}
"""Makers of hostile files, by what they are."""
