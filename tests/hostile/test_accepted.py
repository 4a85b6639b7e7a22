"""Values that once passed without a word: each is a finding at its place."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from kb.book.finding import Finding
from tests.conftest import demo_in_full, judged, put

FORMAT = "formats/b211-330.yaml"


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """The demo book with one format, its floor and its changeover library."""
    root = tmp_path / "specs"
    shutil.copytree(
        demo_in_full(),
        root,
        ignore=shutil.ignore_patterns("weeks", "trials", "waivers.yaml", "sheet-codes.yaml"),
    )
    for file in (root / "formats").iterdir():
        if file.name != "b211-330.yaml":
            file.unlink()
    text = (root / "changeover.yaml").read_text(encoding="utf-8")
    (root / "changeover.yaml").write_text(text[: text.index("\npast:")] + "\n", encoding="utf-8")
    return root


def found(root: Path, name: str) -> Finding:
    """The one finding of a name in a book."""
    (one,) = [one for one in judged(root).findings if one.name == name]
    return one


@pytest.mark.parametrize(
    "case",
    [
        ("floor.yaml", "resolution: 0.05 mm", "resolution: 0 mm", "units.band", "0 mm is not above 0", None),
        ("floor.yaml", "resolution: 0.05 mm", "resolution: -0.05 mm", "units.band", "is not above 0", None),
        ("floor.yaml", "within: 0.05 mm", "within: -0.05 mm", "units.band", "is not above 0", None),
        ("floor.yaml", "within: 0.05 mm", "within: 0 mm", "units.band", "is not above 0", None),
        (
            "floor.yaml",
            "within: 0.05 mm",
            "within: 999 mm",
            "floor.within",
            "route.blank.pitch is 138.7",
            None,
        ),
        (FORMAT, "layers: 22", "layers: 22.", "shape.type", "a whole number is required", "write 22"),
        (FORMAT, "layers: 22", "layers: 22.0", "shape.type", "a whole number is required", "write 22"),
        (FORMAT, 'effective: "2026', 'effective: "1026', "shape.date", "outside the plausible years", None),
        (
            "ends/curlew-202.yaml",
            "material: shingle-5182",
            "material: marsh-3104",
            "book.wrong-stock",
            "marsh-3104 is body stock; end stock is required here",
            "name one of shingle-5182",
        ),
        (
            FORMAT,
            "material: marsh-3104",
            "material: shingle-5182",
            "book.wrong-stock",
            "shingle-5182 is end stock; body stock is required here",
            "name one of marsh-3104, reed-3104",
        ),
        (
            "lines/heron.yaml",
            "id: bodymakers",
            "id: cupper",
            "book.machine-twice",
            "machine cupper is in the line twice",
            "give one of them another id, or remove it",
        ),
        (
            "plant.yaml",
            "title: ",
            'title: "  " #',
            "shape.length",
            "the text is empty: it has spaces only",
            None,
        ),
    ],
)
def test_it_is_a_finding_at_its_place(case: tuple[str, str, str, str, str, str | None], book: Path) -> None:
    """The finding is at the changed line, says what is wrong, and has a useful fix or none."""
    file, old, new, name, says, fix = case
    text = (book / file).read_text(encoding="utf-8")
    (book / file).write_text(text.replace(old, new, 1), encoding="utf-8")
    one = found(book, name)
    assert one.place.file == file
    assert one.place.span.line == text[: text.index(old)].count("\n") + 1
    assert says in one.message
    assert one.fixes == (() if fix is None else (fix,))


@pytest.mark.parametrize("key", ["needs", "uses"])
def test_an_optional_list_that_is_empty_is_a_finding(key: str, book: Path) -> None:
    """`needs: []` says nothing; the key is left out instead."""
    put(book, "changeover.yaml", "- id: print-sheets\n", f"- {key}: []\n    id: print-sheets\n")
    one = found(book, "shape.length")
    assert one.place.key == f"steps[0].{key}"
    assert one.message == "no item here; 1 is the least allowed"


def test_the_same_past_changeover_twice_is_a_finding(book: Path) -> None:
    """A stop that is recorded twice would count twice in every median."""
    entry = (
        "  - {line: heron, came_from: b211-330, went_to: b211-330, crew: heron-days,\n"
        '     day: "2026-01-05", stopped: 300 min, first_good: 320 min, at_rate: 400 min}\n'
    )
    with (book / "changeover.yaml").open("a", encoding="utf-8") as library:
        library.write(f"past:\n{entry}{entry}")
    assert found(book, "shape.repeated").place.key == "past[1]"


def test_an_owner_is_a_short_name(book: Path) -> None:
    """A sentence among the owners is a finding there, so that no fix elsewhere lists it as an owner."""
    text = (book / "plant.yaml").read_text(encoding="utf-8")
    sentence = "An invented plant that makes drink cans on two lines, to show what the book can do."
    put(book, "plant.yaml", text[text.index("owners:") :].split("\n")[0], f"owners: ['{sentence}']")
    findings = judged(book).findings
    assert [one.name for one in findings if one.place.file == "plant.yaml"] == ["shape.length"]
    assert not any(sentence in fix for one in findings for fix in one.fixes)


def test_nothing_known_is_no_fix(book: Path) -> None:
    """Where no file of a kind is valid, a wrong id has no list of known ones that says none."""
    put(book, FORMAT, "end: curlew-202", "end: no-such-end")
    for file in (book / "ends").iterdir():
        file.unlink()
    assert found(book, "book.unknown-id").fixes == ()
