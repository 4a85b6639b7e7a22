"""The recipe "Add a station result" of DEVELOPERS.md, followed on a copy of the tree, with no other edit."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from html import unescape
from pathlib import Path

import pytest

from kb.book.load import Book
from tests.conftest import copy_book, put

pytestmark = pytest.mark.slow

ROOT = Path(__file__).resolve().parents[2]
IDENT = "b211-330"
WORDS = "mean trim ring over untrimmed height"
STAGE_WORDS = "wall over the wall before"


def recipe() -> list[str]:
    """The two lines that the recipe adds: the result declared, and its value."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    section = text.partition("## Add a station result\n")[2].partition("\n## ")[0]
    lines: list[str] = re.findall(r"^ +(ring_share\b.*)$", section, re.MULTILINE)
    return lines


def add(file: Path, record: str, declared: str, value: str) -> None:
    """Declare a result at the end of a record, and compute it at the end of the call that makes it."""
    text = file.read_text(encoding="utf-8")
    text, declarations = re.subn(
        rf"(\nclass {record}:\n.*?)(\n\n\ndef )", rf"\1\n    {declared}\2", text, count=1, flags=re.DOTALL
    )
    text, calls = re.subn(
        rf"(\n( +)(?:return )?{record}\(\n.*?)(\n\2\))",
        rf"\1\n\2    {value}\3",
        text,
        count=1,
        flags=re.DOTALL,
    )
    assert (declarations, calls) == (1, 1)
    file.write_text(text, encoding="utf-8")


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the tree to which a result of the trim is added, and one of each neck stage."""
    root = tmp_path_factory.mktemp("house")
    for folder in ("kb", "schema", "site", "specs"):
        shutil.copytree(ROOT / folder, root / folder, ignore=shutil.ignore_patterns("__pycache__"))
    stations = root / "kb" / "route" / "stations"
    declared, value = recipe()
    assert f'"{WORDS}"' in declared
    add(stations / "trim.py", "Trimmed", declared, value)
    stage = f'wall_gain: Ratio = result("{STAGE_WORDS}", column=True)'
    add(stations / "neck.py", "NeckStage", stage, "wall_gain=wall / neck_wall(case, last, before),")
    return root


@pytest.fixture(scope="module")
def books(demo: Book, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A book of one format, and the same with a higher trim and a thicker neck."""
    folder = tmp_path_factory.mktemp("books")
    old, new = folder / "old", folder / "new"
    copy_book(demo, old, (IDENT,))
    shutil.copytree(old, new)
    spec = f"formats/{IDENT}.yaml"
    put(new, spec, "trim:\n  height: 117.21 ", "trim:\n  height: 117.91 ")
    put(new, "limits.yaml", *exponent(new / "limits.yaml"))
    return old, new


def exponent(limits: Path) -> tuple[str, str]:
    """The lines of a book that set how a neck thickens, and those that double it."""
    found = re.search(
        r"neck-wall-exponent:\n.*?value: ([0-9.]+)", limits.read_text(encoding="utf-8"), re.DOTALL
    )
    assert found is not None
    return found[0], found[0].removesuffix(found[1]) + f"{2 * float(found[1])}"


def sizebook(house: Path, *words: str | Path) -> str:
    """What the copy's command prints."""
    run = subprocess.run(
        [sys.executable, "-m", "kb.cli", *map(str, words)],
        cwd=house,
        env={**os.environ, "PYTHONPATH": str(house), "COLUMNS": "120"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode in {0, 1, 3}, run.stderr
    assert "Traceback" not in run.stderr, run.stderr
    return run.stdout


def test_an_added_result_is_in_the_route(house: Path, books: tuple[Path, Path]) -> None:
    """The table shows the result of the trim as a row, and that of the neck as a column."""
    text = sizebook(house, "route", IDENT, "--book", books[0])
    trim = text.partition("\nTrim ")[2].partition("\n\n")[0]
    assert re.search(rf"^  {WORDS} +\d\.\d+ +\d\.\d+ +\d\.\d+ %", trim, re.MULTILINE)
    neck = text.partition("\nNeck, 12 stages")[2].partition("\n\n")[0]
    assert [line.split()[-1] for line in neck.splitlines()[1:3]] == ["wall", "gain"]


def test_an_added_result_is_in_json(house: Path, books: tuple[Path, Path]) -> None:
    """The route for programs has both under their keys, each stage with its own."""
    record = json.loads(sizebook(house, "route", IDENT, "--json", "--book", books[0]))
    rows = {row["key"]: row for section in record["sections"] for row in section["rows"]}
    added = rows["trimmed.ring_share"]
    assert (added["words"], added["unit"]) == (WORDS, "%")
    ring, height = rows["trimmed.mean_allowance"]["nominal"], rows["domed.height"]["nominal"]
    assert added["nominal"] == pytest.approx(100 * ring / height, rel=1e-8)
    assert added["low"] < added["nominal"] < added["high"]
    assert sum(key.startswith("necked[") and key.endswith("].wall_gain") for key in rows) == 12


def test_an_added_result_is_on_the_page(house: Path, books: tuple[Path, Path], tmp_path: Path) -> None:
    """The page of the format shows both at their stations."""
    sizebook(house, "publish", books[0], "--to", tmp_path / "site", "--changes", "0")
    page = (tmp_path / "site" / "formats" / f"{IDENT}.html").read_text(encoding="utf-8")
    parts = dict(re.findall(r'<h2 id="([^"]+)">(.*?)(?=<h2 id=|$)', page, re.DOTALL))
    assert WORDS in unescape(parts["trim"])
    assert STAGE_WORDS in unescape(parts["neck"])


def test_an_added_result_is_in_the_review(house: Path, books: tuple[Path, Path]) -> None:
    """The effects of a change that moves the results list them with both values."""
    review = sizebook(house, "review", *books, "--output", "json")
    effects = {one["key"]: one for part in json.loads(review)["touched"] for one in part["effects"]}
    assert effects["trimmed.ring_share"]["words"] == WORDS
    assert float(effects["trimmed.ring_share"]["new"]) < float(effects["trimmed.ring_share"]["old"])
    assert any(re.fullmatch(r"necked\[\d+\]\.wall_gain", key) for key in effects)


def test_an_added_result_is_a_key_for_the_floor(house: Path) -> None:
    """The floor's file can name both as values of a gauge or a setting."""
    code = "from kb.checks.consistency.floor_keys import leaf; print(*map(leaf, {keys}))"
    keys = ["route.trimmed.ring_share", "route.necked[].wall_gain", "route.trimmed.no_such"]
    run = subprocess.run(
        [sys.executable, "-c", code.format(keys=keys)],
        cwd=house,
        env={**os.environ, "PYTHONPATH": str(house)},
        capture_output=True,
        text=True,
        check=True,
    )
    assert run.stdout == "Leaf(unit='-') Leaf(unit='-') None\n"
