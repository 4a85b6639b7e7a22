"""A fix in the JSON of a check is data: a program applies it by file and line and the finding is gone."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from kb.book.load import load
from kb.book.quantity import parse
from kb.checks import check_book
from kb.output.document import CheckedBook
from kb.output.json_reports import check_json
from tests.conftest import TODAY, MakeBook
from tests.test_specs_bad import PATCHES, name_of, patched, read

BROKEN = [path for path in PATCHES if path.parent.name == "checks"][::7]
FILE = "formats/b211-330.yaml"
BLANK = "diameter: 137.80 ±0.03 mm"


def findings(root: Path) -> list[dict[str, Any]]:
    """The findings of a book on its formats, as JSON has them; files are shown from the book's folder."""
    book = load(root, shown="")
    record = json.loads(check_json([CheckedBook("", book, check_book(book, today=TODAY))]))
    return [one for one in record["books"][0]["findings"] if one["subject"]]


def computed(found: list[dict[str, Any]]) -> Iterator[tuple[dict[str, Any], dict[str, Any]]]:
    """Findings with those of their fixes that are one computed number."""
    return ((one, fix) for one in found for fix in one["fixes"] if fix["key"] is not None)


def applied(root: Path, fix: dict[str, Any]) -> list[dict[str, Any]]:
    """The findings after a fix, which is taken back: nothing is used but the keys of its record."""
    file = root / fix["file"]
    text = file.read_text(encoding="utf-8")
    lines = text.split("\n")
    line, begin = lines[fix["line"] - 1], fix["column"] - 1
    assert line.count(fix["old_text"]) == 1
    assert line[begin:].strip("\"'").startswith(fix["old_text"])
    lines[fix["line"] - 1] = line.replace(fix["old_text"], fix["new_text"])
    file.write_text("\n".join(lines), encoding="utf-8")
    after = findings(root)
    file.write_text(text, encoding="utf-8")
    return after


def try_out(root: Path) -> int:
    """Apply each computed fix of a book, one at a time; how many there were."""
    before, tried = findings(root), 0
    for one, fix in computed(before):
        tried += 1
        after = applied(root, fix)
        assert (one["name"], one["key"]) not in {(each["name"], each["key"]) for each in after}, fix["text"]
        new = {each["name"] for each in after} - {each["name"] for each in before}
        assert new <= set(fix["breaks"])
        assert fix["effects"][0]["old"] != fix["effects"][0]["new"]
    return tried


@pytest.mark.parametrize("path", BROKEN, ids=map(name_of, BROKEN))
def test_a_program_applies_each_fix(path: Path, demo: Any, tmp_path: Path) -> None:
    """Each fix that is data, written at its file and line, removes its finding; what it breaks was named."""
    root = tmp_path / "specs"
    patched(read(path), demo, root)
    try_out(root)


@pytest.mark.parametrize(
    ("written", "key", "unit"),
    [
        ("diameter: 133.58 ±0.03 mm", "blank.diameter", "mm"),
        ('diameter: "133.58 +0.02/-0.03 mm"', "blank.diameter", "mm"),
        ("diameter: 133.55 to 133.61 mm", "blank.diameter", "mm"),
        ("diameter: 5.2591 ±0.0012 in", "blank.diameter", "in"),
        ("diameter: 133.58 ±0.03 mm (5.2591 in)", "blank.diameter", "mm"),
    ],
)
def test_a_fix_keeps_the_form_of_the_value(make_book: MakeBook, written: str, key: str, unit: str) -> None:
    """However a value is written, the new one has its form, unit and tolerance, and removes the finding."""
    root = make_book(["b211-330"], [(FILE, BLANK, written)])
    trim = [(one, fix) for one, fix in computed(findings(root)) if one["name"] == "trim.allowance"]
    (fix,) = [fix for _, fix in trim if fix["key"] == key]
    assert fix["unit"] == unit
    old, new = parse(fix["old_text"], "mm"), parse(fix["new_text"], "mm")
    assert (new.form, new.unit) == (old.form, old.unit)
    assert new.high - new.low == pytest.approx(old.high - old.low, abs=1e-9)
    assert new.nominal == pytest.approx(parse(f"{fix['new']} {unit}", "mm").nominal)
    assert old.nominal == pytest.approx(parse(f"{fix['old']} {unit}", "mm").nominal)
    assert "trim.allowance" not in {one["name"] for one in applied(root, fix)}


def test_advice_in_words_has_no_number(make_book: MakeBook) -> None:
    """A fix that no number is says its text alone; a program can see that it cannot apply it."""
    root = make_book(["b211-330"], [(FILE, 'body: "211"', 'body: "204"')])
    (finding,) = findings(root)
    (fix,) = finding["fixes"]
    assert fix["text"] == "Correct the code."
    assert (fix["effects"], fix["breaks"]) == ([], [])
    assert {value for name, value in fix.items() if name not in {"text", "effects", "breaks"}} == {None}


@pytest.mark.slow
def test_most_fixes_are_data(demo: Any, tmp_path: Path) -> None:
    """Most broken formats have a fix that a program can apply, so that the tests above try many."""
    counts = []
    for path in BROKEN:
        root = tmp_path / path.stem
        patched(read(path), demo, root)
        counts.append(any(computed(findings(root))))
    assert sum(counts) >= 0.7 * len(BROKEN)
