"""The page on the use from Python: its example runs on the demo book and prints what the page shows."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

import kb
from kb.folders import shipped

PAGE = (shipped("site") / "docs/python.md").read_text(encoding="utf-8")
STEPS = re.findall(r"^```python\n(.*?)^```$\n\n^```text\n(.*?)^```$", PAGE, flags=re.MULTILINE | re.DOTALL)
CUT = "--- next step ---"


@pytest.mark.slow
def test_the_example_prints_what_the_page_shows() -> None:
    """The steps of the example, run one after another beside the demo book, print the text below each."""
    script = f"print({CUT!r})\n".join(code for code, _ in STEPS)
    done = subprocess.run(
        [sys.executable, "-c", script],
        cwd=shipped("specs").parent,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.split(f"{CUT}\n") == [shown for _, shown in STEPS]


def test_every_step_shows_its_output() -> None:
    """Each block of code has its output below it."""
    assert len(STEPS) == PAGE.count("```python") == PAGE.count("```text") > 3


def test_every_question_is_on_the_page() -> None:
    """The table names each function of the interface, and no other."""
    functions = {name for name in kb.__all__ if name[0].islower()}
    assert set(re.findall(r"^\| `kb\.(\w+)`", PAGE, flags=re.MULTILINE)) == functions


def test_the_page_is_in_the_navigation() -> None:
    """The site's navigation leads to the page."""
    assert ": python.md\n" in (Path(shipped("site")) / "mkdocs.yml").read_text(encoding="utf-8")
