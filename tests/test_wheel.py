"""The wheel, built and installed where no checkout is near."""

from __future__ import annotations

import os
import subprocess
import sys
import venv
from pathlib import Path

import pytest

HOUSE = Path(__file__).resolve().parents[1]


def _run(command: list[str | Path], cwd: Path) -> subprocess.CompletedProcess[str]:
    outside = {name: value for name, value in os.environ.items() if name not in {"PYTHONPATH", "VIRTUAL_ENV"}}
    return subprocess.run(
        [str(word) for word in command], cwd=cwd, env=outside, capture_output=True, text=True, check=False
    )


@pytest.fixture(scope="module")
def clean(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A clean environment with the wheel and what it depends on."""
    folder = tmp_path_factory.mktemp("wheel")
    built = _run(
        [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", folder, HOUSE], folder
    )
    assert built.returncode == 0, built.stderr
    (wheel,) = folder.glob("*.whl")
    venv.create(folder / "env", with_pip=True)
    installed = _run([folder / "env/bin/pip", "install", "--quiet", wheel], folder)
    assert installed.returncode == 0, installed.stderr
    return folder


def test_new_book_from_a_wheel_passes_its_check(clean: Path) -> None:
    """Schemas and the starting book travel in the wheel: a book is made and judged without a checkout."""
    sizebook = clean / "env/bin/sizebook"
    made = _run([sizebook, "new", "plant"], clean)
    assert made.returncode == 0, made.stderr
    checked = _run([sizebook, "check", "plant"], clean)
    assert checked.returncode == 0, checked.stdout + checked.stderr
    assert "0 errors" in checked.stdout


def test_wheel_uses_its_own_copy(clean: Path) -> None:
    """An installed sizebook reads the schemas inside its own package."""
    where = _run(
        [clean / "env/bin/python", "-c", "from kb.folders import shipped; print(shipped('schema'))"], clean
    )
    assert Path(where.stdout.strip()).is_relative_to(clean / "env"), where.stdout + where.stderr
    assert (Path(where.stdout.strip()) / "size-format.json").is_file()
