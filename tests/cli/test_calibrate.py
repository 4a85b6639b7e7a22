"""The calibrate command: what it lists, what it writes, what it refuses."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import jsonschema
import pytest
from click.testing import CliRunner

from kb.cli import main
from kb.folders import shipped

pytest.importorskip("scipy")


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A copy of the demo book."""
    return Path(shutil.copytree(shipped("specs"), tmp_path / "specs"))


def calibrate(book: Path, *more: str) -> tuple[int, str, str]:
    """Exit code, output and messages."""
    done = CliRunner().invoke(main, ["calibrate", "--book", str(book), *more])
    return done.exit_code, done.stdout, done.stderr


def test_json_is_as_its_schema_says(book: Path) -> None:
    """Each setting with trials is listed, with a factor or the reason why there is none."""
    code, out, _ = calibrate(book, "--output", "json")
    data = json.loads(out)
    schema = json.loads((shipped("schema") / "output/calibration.json").read_text(encoding="utf-8"))
    jsonschema.validate(data, schema)
    assert code == 0
    found = {one["setting"]: one for one in data["calibrations"]}
    assert found["dome-calibration"]["factor"]["trials"] == 8
    assert found["axial-calibration"]["factor"] is None
    assert found["axial-calibration"]["why_not"]


def test_it_lists_without_writing(book: Path) -> None:
    """Without --write no file changes; the text has each trial and the interval."""
    before = {path: path.read_bytes() for path in book.rglob("*.yaml")}
    code, out, _ = calibrate(book)
    assert code == 0
    assert out.count("reversal-2026") == 8
    assert "95 % of new trials" in out
    assert {path: path.read_bytes() for path in book.rglob("*.yaml")} == before


@pytest.mark.slow
def test_it_writes_once(book: Path) -> None:
    """--write changes the setting; a second run finds nothing to change."""
    limits = book / "limits.yaml"
    text = limits.read_text(encoding="utf-8")
    value = next(line for line in text.split("dome-calibration:")[1].splitlines() if "value:" in line)
    limits.write_text(text.replace(value, "    value: 0.900"), encoding="utf-8")
    code, _, said = calibrate(book, "--write")
    assert (code, "dome-calibration written to" in said) == (0, True)
    assert limits.read_text(encoding="utf-8") == text
    assert "has these factors" in calibrate(book, "--write")[2]


def test_a_book_without_trials_says_so(book: Path) -> None:
    """No trial is no error: every strength stays an estimate."""
    shutil.rmtree(book / "trials")
    code, out, _ = calibrate(book)
    assert code == 0
    assert out.startswith("No trials in the book")


@pytest.mark.parametrize("broken", ["limits.yaml", "plant.yaml"])
def test_a_broken_book_is_one_line(book: Path, broken: str) -> None:
    """A file with faults stops the command in one line."""
    (book / broken).write_text("kind: [\n", encoding="utf-8")
    code, out, said = calibrate(book)
    assert (code, out, len(said.strip().splitlines())) == (2, "", 1)
