"""The measurements of speed can be started: what they use is there."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

FOLDER = Path(__file__).resolve().parent / "bench"


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.py")), ids=lambda path: path.stem)
def test_a_measurement_finds_what_it_imports(path: Path) -> None:
    """Each file of the bench runs up to its own start."""
    start = f"import runpy, sys; sys.path.insert(0, {str(FOLDER)!r}); runpy.run_path({str(path)!r})"
    done = subprocess.run([sys.executable, "-c", start], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
