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
    """Findings with those of their fixes that are computed numbers."""
    return ((one, fix) for one in found for fix in one["fixes"] if fix["changes"])


def applied(root: Path, fix: dict[str, Any]) -> list[dict[str, Any]]:
    """The findings after a fix, which is taken back: nothing is used but the keys of its record."""
    before = {one["file"]: (root / one["file"]).read_text(encoding="utf-8") for one in fix["changes"]}
    for change in sorted(fix["changes"], key=lambda one: (one["line"], -one["column"])):
        file = root / change["file"]
        lines = file.read_text(encoding="utf-8").split("\n")
        line, begin = lines[change["line"] - 1], change["column"] - 1
        assert line[begin:].strip("\"'").startswith(change["old_text"])
        lines[change["line"] - 1] = line[:begin] + line[begin:].replace(
            change["old_text"], change["new_text"], 1
        )
        file.write_text("\n".join(lines), encoding="utf-8")
    after = findings(root)
    for name, text in before.items():
        (root / name).write_text(text, encoding="utf-8")
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
    (fix, change), *_ = [
        (fix, fix["changes"][0]) for _, fix in trim if [one["key"] for one in fix["changes"]] == [key]
    ]
    assert change["unit"] == unit
    old, new = parse(change["old_text"], "mm"), parse(change["new_text"], "mm")
    assert (new.form, new.unit) == (old.form, old.unit)
    assert new.high - new.low == pytest.approx(old.high - old.low, abs=1e-9)
    assert new.nominal == pytest.approx(parse(f"{change['new']} {unit}", "mm").nominal)
    assert old.nominal == pytest.approx(parse(f"{change['old']} {unit}", "mm").nominal)
    assert "trim.allowance" not in {one["name"] for one in applied(root, fix)}


def test_advice_in_words_has_no_number(make_book: MakeBook) -> None:
    """A fix that no number is says its text alone; a program can see that it cannot apply it."""
    root = make_book(["b211-330"], [(FILE, 'body: "211"', 'body: "204"')])
    (finding,) = findings(root)
    (fix,) = finding["fixes"]
    assert fix["text"] == "Correct the code."
    assert (fix["changes"], fix["effects"], fix["breaks"]) == ([], [], [])


@pytest.mark.slow
def test_most_fixes_are_data(demo: Any, tmp_path: Path) -> None:
    """Most broken formats have a fix that a program can apply, so that the tests above try many."""
    counts = []
    for path in BROKEN:
        root = tmp_path / path.stem
        patched(read(path), demo, root)
        counts.append(any(computed(findings(root))))
    assert sum(counts) >= 0.7 * len(BROKEN)


def test_several_numbers_are_one_fix(make_book: MakeBook) -> None:
    """With 345 ml in a 330 ml can a program moves all heights at once, and no finding is left."""
    root = make_book(["b211-330"], [(FILE, "contents: 330 ml", "contents: 345 ml")])
    before = findings(root)
    (headspace,) = [one for one in before if one["name"] == "can.headspace"]
    (fix,) = headspace["fixes"]
    assert [one["key"] for one in fix["changes"]][:4] == [
        "trim.height",
        "punch.step_height",
        "neck.shoulder_height",
        "flange.finished_height",
    ]
    assert fix["breaks"] == []
    assert len(before) == 3
    assert applied(root, fix) == []
