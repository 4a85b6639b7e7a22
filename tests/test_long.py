"""The table of tests that are long by nature names tests that exist, and the full run leaves none out."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from tests.conftest import LONG

HOUSE = Path(__file__).resolve().parents[1]


@pytest.mark.parametrize("name", LONG)
def test_what_is_long_is_there(name: str) -> None:
    """Each entry is a folder, the beginning of the names of files, or a function of a file."""
    path, _, function = name.partition("::")
    assert list(HOUSE.glob(f"{path}*"))
    assert not function or f"\ndef {function}(" in (HOUSE / path).read_text(encoding="utf-8")


def test_the_quick_run_leaves_out_what_is_long() -> None:
    """With `-m "not slow"` pytest leaves out the tests of a long file, and without it takes them."""
    long, quick = "tests/test_wheel.py", "tests/process/test_size_code.py"
    collect = [sys.executable, "-m", "pytest", "--collect-only", "-q", "-p", "no:cacheprovider", long, quick]
    for marks, taken in (([], {long, quick}), (["-m", "not slow"], {quick}), (["-m", "slow"], {long})):
        done = subprocess.run([*collect, *marks], cwd=HOUSE, capture_output=True, text=True, check=False)
        assert {line.partition("::")[0] for line in done.stdout.splitlines() if "::" in line} == taken


def test_no_command_of_the_project_leaves_any_out() -> None:
    """README's test command and pytest's own settings run the long tests too."""
    readme = (HOUSE / "README.md").read_text(encoding="utf-8")
    assert "not slow" not in readme
    project = (HOUSE / "pyproject.toml").read_text(encoding="utf-8")
    assert "not slow" not in "".join(line for line in project.splitlines() if line.startswith("addopts"))
