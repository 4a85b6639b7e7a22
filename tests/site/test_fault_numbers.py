"""The fault guide and the setup sheet: each number that a fault sends the fitter to is on the sheet."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from kb.book.load import Book
from kb.folders import shipped
from kb.sheet.content import content
from tests.conftest import yaml_values

NUMBERS = {
    "Compare the draw pad pressure at each cavity with the setup sheet.": "Draw pad pressure",
    "Compare the draw pad pressure with the setup sheet.": "Draw pad pressure",
    "Compare the release point of the draw pad with the setup sheet.": "Draw pad release point",
    "Compare the feed length with the setup sheet.": "Feed pitch",
    "Measure web and edge on a good piece of skeleton against the setup sheet.": "Web, Edge",
    "Measure cup height at the ears and compare with the setup sheet.": "Cup height",
    "Compare sleeve pressure with the setup sheet.": "Redraw sleeve pressure",
    "Check the spacer behind the punch against the setup sheet.": "Spacer behind the punch",
    "Compare sleeve pressure with the setup sheet for this gauge.": "Redraw sleeve pressure",
    "Read hold-down pressure against the setup sheet.": "Hold-down pressure",
    "Reset over-travel to the setup sheet and measure again.": "Over-travel",
    "Check the setting against the setup sheet.": "Dome depth",
    "Check gap and overlap against the setup sheet, machine isolated.": "Knife gap, Knife overlap",
    "Check the base pad height against the setup sheet.": "Can height in",
    "Check stop and rolls against the setup sheet.": "Flange stop, Flanging rolls",
    "Check stroke against the setup sheet.": "Flanger stroke",
}
"""Rows of the setup sheet, by the beginnings of their names, for each sentence that needs them."""


def sentences(found: Any) -> Iterator[str]:
    """Every text of the guide that names the setup sheet."""
    if isinstance(found, str):
        if "setup sheet" in found:
            yield found
    elif isinstance(found, dict):
        for one in found.values():
            yield from sentences(one)
    elif isinstance(found, list):
        for one in found:
            yield from sentences(one)


def test_every_sentence_that_names_the_sheet_is_known() -> None:
    """A new sentence that sends the fitter to the setup sheet says here which row it means."""
    guide = yaml_values(shipped("site") / "faults.yaml")
    listed = {one for one in sentences(guide) if not one.startswith("Print")}
    assert listed == set(NUMBERS)


@pytest.mark.parametrize(("ident", "line"), [("b211-330", "heron"), ("b202-250", "plover")])
def test_the_number_is_on_the_sheet(demo: Book, ident: str, line: str) -> None:
    """Each of these rows is on the sheet, with a value and not with the word MISSING."""
    said = content(demo, ident, line)
    rows = [(one.name, one.cell) for one in said.material if one.cell]
    rows += [(one.name, one.value) for one in said.first_offs if one.value]
    rows += [(one.name, one.value) for block in said.machines for one in block.settings]
    for wanted in NUMBERS.values():
        for name in wanted.split(", "):
            found = [cell for row, cell in rows if row.startswith(name)]
            assert found, name
            assert not any(cell.missing for cell in found)
