"""Books checked, for the report formats: the demo book, one with faults, one whose texts mean harm."""

from __future__ import annotations

import datetime
import re
from dataclasses import replace
from pathlib import Path

import pytest

from kb.book.finding import Consequence, Edit, Finding, Measure, NewValue, Place, Span
from kb.book.load import Book, load
from kb.checks import check_book
from kb.checks.report import Report, Skipped
from kb.output.document import CheckedBook

DAY = datetime.date(2026, 11, 2)

HOSTILE = "</td><script>alert(1)</script> | [x](http://a.b) @all \x1b[31m ]]> & \"'\u202e\x00 `c`"


@pytest.fixture(scope="session")
def passing(demo: Book, demo_report: Report) -> CheckedBook:
    """The demo book as judged: no errors, some warnings, one waived finding."""
    return CheckedBook("specs", demo, demo_report)


@pytest.fixture(scope="session")
def faulty(demo: Book, tmp_path_factory: pytest.TempPathFactory) -> CheckedBook:
    """The demo book with a blank too small, a format that cannot be read, and one that does not close."""
    root = tmp_path_factory.mktemp("faulty") / "specs"
    for file in sorted(demo.root.rglob("*.yaml")):
        target = root / file.relative_to(demo.root)
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(file.read_bytes())
    shrink_blank(root / "formats/b211-330.yaml", by=4.0)
    shrink_blank(root / "formats/b211-568-206.yaml", to=92.0)
    (root / "formats/b202-200.yaml").write_text("kind: size-format\n\tid: x\n", encoding="utf-8")
    book = load(root, shown="specs")
    return CheckedBook("specs", book, check_book(book, today=DAY))


@pytest.fixture
def hostile() -> CheckedBook:
    """A book whose every text tries to break out of the report."""
    place = Place(f"specs/{HOSTILE}.yaml", f"a.{HOSTILE}", Span(3, 5, 3, 9))
    moved = Consequence(HOSTILE, HOSTILE, float("nan"), float("inf"))
    value = NewValue(place, float("nan"), 1.0, HOSTILE, HOSTILE, HOSTILE)
    edit = Edit(HOSTILE, (value,), (moved,), (HOSTILE,))
    first = Finding(
        name="ironing.ring-reduction",
        severity="error",
        place=place,
        message=HOSTILE,
        fixes=(HOSTILE, HOSTILE),
        source=HOSTILE,
        measure=Measure(HOSTILE, float("nan"), "-", "worst corner", 0.4, "most", None, float("inf")),
        subject="tall",
        edits=(edit,),
    )
    waived = replace(first, severity="note", waiver="waivers[0]")
    about_file = Finding("reading.tab", "warning", place, HOSTILE)
    report = Report([first, waived, about_file], {}, [Skipped(HOSTILE, ("mechanics",), HOSTILE)], ("tall",))
    return CheckedBook("specs", Book(Path("specs")), report)


def shrink_blank(file: Path, *, by: float = 0.0, to: float | None = None) -> None:
    """Make the blank of a format smaller, by some millimetres or down to a diameter."""
    text = file.read_text(encoding="utf-8")
    found = re.search(r"(?m)^blank:\n  diameter: ([0-9.]+)", text)
    assert found is not None
    diameter = to if to is not None else float(found[1]) - by
    file.write_text(text[: found.start(1)] + f"{diameter:.2f}" + text[found.end(1) :], encoding="utf-8")
