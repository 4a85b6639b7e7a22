"""Ctrl-C while a command solves."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from kb.book.load import Book

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(not Path("/proc/self/maps").exists(), reason="looks at the maps of the process"),
]

LONGEST = 5.0
"""Bound for a machine under load [s]; alone the command ends within a second."""

SEARCH = ("changeover", "b211-330", "b211-500", "--line", "heron", "--search", "50")
WEEK = ("week", "heron-49")
PUBLISH = ("publish", "--to", "site")
MATRIX = ("changeover", "--matrix", "--line", "heron", "--search", "50")


def solving(process: subprocess.Popen[str]) -> bool:
    """Whether a command has loaded the solver."""
    try:
        return "ortools" in Path(f"/proc/{process.pid}/maps").read_text(encoding="utf-8")
    except OSError:
        return False


def interrupted(arguments: tuple[str, ...], wait: float, here: Path) -> tuple[int, str, str, float]:
    """Exit code, output, errors and time to the end [s] of a command that Ctrl-C meets while it solves."""
    with subprocess.Popen(
        [sys.executable, "-m", "kb.cli", *arguments],
        cwd=here,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as process:
        until = time.monotonic() + 60
        while not solving(process) and process.poll() is None and time.monotonic() < until:
            time.sleep(0.02)
        time.sleep(wait)
        assert process.poll() is None, "the command had ended before Ctrl-C"
        process.send_signal(signal.SIGINT)
        sent = time.monotonic()
        try:
            out, err = process.communicate(timeout=60)
        except subprocess.TimeoutExpired:
            process.kill()
            raise
        return process.returncode, out, err, time.monotonic() - sent


@pytest.mark.parametrize(
    ("arguments", "wait"),
    [*((SEARCH, wait) for wait in (0.0, 0.7, 1.5, 4.0)), (MATRIX, 2.5), (WEEK, 0.1), (PUBLISH, 1.0)],
    ids=lambda one: f"{one:g} s" if isinstance(one, float) else one[0],
)
def test_ctrl_c_stops_a_search(
    demo: Book,
    tmp_path: Path,
    tmp_path_factory: pytest.TempPathFactory,
    arguments: tuple[str, ...],
    wait: float,
) -> None:
    """At any moment the command says that it stopped, in one line, exits with 130 and writes no file."""
    root = tmp_path_factory.mktemp("book") / "specs"
    shutil.copytree(demo.root, root, ignore=shutil.ignore_patterns("plans.json"))
    book = (str(root),) if arguments is PUBLISH else ("--book", str(root))
    code, out, err, took = interrupted((*arguments, *book), wait, tmp_path)
    assert (code, out, err) == (130, "", "sizebook: stopped\n")
    assert took < LONGEST
    assert list(tmp_path.iterdir()) == []
