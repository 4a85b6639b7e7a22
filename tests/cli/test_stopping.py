"""Ctrl-C, at any moment: one line, exit code 130, and no traceback."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.cli.situations import PROGRAM

START = (
    sys.executable,
    "-c",
    "import sys; sys.argv[:1] = ['sizebook']; from kb.__main__ import main; "
    "print('ready', flush=True); main()",
)
"""The program, which says when its first line is about to run; before that Ctrl-C is Python's own matter."""


@pytest.mark.parametrize("module", ["click", "yaml", "numpy"])
def test_while_the_program_loads(module: str, place: Path) -> None:
    """Ctrl-C while a library is being loaded is answered as any other."""
    library = place / "libraries" / module / "__init__.py"
    library.parent.mkdir(parents=True)
    library.write_text("import os, signal\nos.kill(os.getpid(), signal.SIGINT)\n", encoding="utf-8")
    paths = os.pathsep.join(
        [str(place / "libraries"), *filter(None, [os.environ.get("PYTHONPATH")]), *sys.path]
    )
    done = subprocess.run(
        [*PROGRAM, "check", "specs"],
        cwd=place,
        env={**os.environ, "PYTHONPATH": paths},
        capture_output=True,
        check=False,
    )
    assert (done.returncode, done.stdout, done.stderr) == (130, b"", b"sizebook: stopped\n")


def stopped_after(seconds: float, place: Path, *words: str) -> tuple[int, bytes]:
    """Run a command, stop it after a while, and give its exit code and what it said."""
    process = subprocess.Popen(
        [*START, *words], cwd=place, stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True
    )
    assert process.stdout is not None
    assert process.stdout.readline() == b"ready\n"
    time.sleep(seconds)
    os.killpg(process.pid, signal.SIGINT)
    try:
        _, errors = process.communicate(timeout=60)
    finally:
        process.kill()
    return process.returncode, errors


def plainly_stopped(code: int, errors: bytes) -> None:
    """It was stopped, or had ended before."""
    assert b"Traceback" not in errors, errors.decode()
    assert code in {0, 1, 130}
    assert re.fullmatch(rb"sizebook: stopped\n" if code == 130 else rb"", errors)


@pytest.mark.parametrize("seconds", [0.1, 0.4])
def test_soon_after_the_start(seconds: float, place: Path) -> None:
    """Ctrl-C in the first moments of a check stops it in one line."""
    plainly_stopped(*stopped_after(seconds, place, "check", "specs"))


@pytest.mark.slow
@pytest.mark.parametrize("step", range(24))
def test_at_any_moment(step: int, place: Path) -> None:
    """Ctrl-C stops the check of a book that shares its work among processes, whenever it comes."""
    formats = place / "specs/formats"
    text = (formats / "b211-330.yaml").read_text(encoding="utf-8")
    for i in range(60):
        other = text.replace("id: b211-330", f"id: other-{i}").replace("title: ", f"title: {i} ")
        (formats / f"other-{i}.yaml").write_text(other, encoding="utf-8")
    plainly_stopped(*stopped_after(0.1 * step, place, "check", "specs"))


def test_a_fault_of_the_program_is_one_line(place: Path) -> None:
    """An exception that nothing expects is named a bug, with the way to its traceback; it is not hidden."""
    script = (
        "import kb.book.selection as a; a.books = lambda paths: 1 // 0; from kb.__main__ import main; main()"
    )
    environment = {name: value for name, value in os.environ.items() if name != "SIZEBOOK_TRACEBACK"}
    for more, said in (
        ({}, b"sizebook: this is a bug of sizebook"),
        ({"SIZEBOOK_TRACEBACK": "1"}, b"Traceback"),
    ):
        done = subprocess.run(
            [sys.executable, "-c", script, "check"],
            cwd=place,
            env={**environment, **more},
            capture_output=True,
            check=False,
        )
        assert done.returncode != 0
        assert done.stderr.startswith(said)
        assert b"ZeroDivisionError" in done.stderr
        if not more:
            assert (done.returncode, done.stderr.count(b"\n")) == (2, 1)
