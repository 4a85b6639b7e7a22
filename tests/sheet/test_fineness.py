"""Gauges beside bands that only the sheets know."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

import pytest

from kb.blocks import Cell
from kb.book.load import Book
from kb.sheet.model import Content
from kb.sheet.register import bands, coarse_gauges, sheet_faults
from tests.conftest import Edit
from tests.sheet.conftest import LINE, RELEASED, CopyBook

FLOOR = "floor.yaml"
CUP_HEIGHT: Edit = (
    FLOOR,
    "    value: route.cup.height\n    within: 0.8 mm\n",
    "    value: route.cup.height\n",
)
"""The cup's height held to what tools and ears make of it, 1.6 to 2.4 mm."""
COARSE: Edit = (FLOOR, "    resolution: 0.05 mm\n", "    resolution: 0.5 mm\n")
"""A gauge for the cup's height that shows too little for that band."""


def with_cup_height(contents: Mapping[str, Content], sheet: str, most: str, least: str = "1.0") -> Content:
    """A sheet of another name with other limits for the height of the cup."""
    said = contents[f"{RELEASED}/{LINE}"]
    cell = Cell("", least, "", most, unit="mm", computed=True)
    offs = tuple(replace(one, value=cell) if one.name == "Cup height" else one for one in said.first_offs)
    return replace(said, first_offs=offs, identity=replace(said.identity, sheet=sheet))


def test_the_demo_gauges_are_fine_enough(demo: Book, contents: Mapping[str, Content]) -> None:
    """No band of a demo sheet is too narrow for its gauge, and some stand on no page but the sheet."""
    assert list(coarse_gauges(demo, [bands(demo, one) for one in contents.values()])) == []
    (flange,) = (one for one in contents[f"{RELEASED}/{LINE}"].first_offs if one.name == "Flange diameter")
    assert flange.value is not None
    assert flange.value.computed


def test_a_computed_band_is_held_to_the_gauge(copy_book: CopyBook) -> None:
    """A first-off whose limits come from the route alone is warned of, once, with the narrowest band."""
    (found,) = (one for one in sheet_faults(copy_book([CUP_HEIGHT, COARSE])) if one.name.startswith("floor."))
    assert (found.name, found.severity, found.place.key) == (
        "floor.gauge-resolution",
        "warning",
        "first_offs[5].gauge",
    )
    words = (
        r"cup-height-gauge shows 0\.5 mm; the tolerance of Cup height is 1\.\d+ mm \(computed for \S+/\w+\)"
    )
    assert re.fullmatch(words, found.message)
    (fix,) = found.fixes
    assert re.fullmatch(r"measure it with a gauge that shows 0\.1\d+ mm or finer", fix)


def test_the_narrowest_of_the_bands_is_reported(copy_book: CopyBook, contents: Mapping[str, Content]) -> None:
    """Of several sheets the one whose band is narrowest is named, whichever comes first."""
    book = copy_book([CUP_HEIGHT])
    wide, narrow = (with_cup_height(contents, ident, most) for ident, most in (("a", "1.3"), ("b", "1.2")))
    for sheets in ([wide, narrow], [narrow, wide]):
        (found,) = coarse_gauges(book, [bands(book, one) for one in sheets])
        assert "is 0.2 mm (computed for b)" in found.message


@pytest.mark.parametrize(
    ("least", "most", "coarse"), [("1.0", "1.5", False), ("1.0", "1.49", True), ("1.0", "", False)]
)
def test_a_gauge_shows_a_tenth_of_the_printed_band(
    copy_book: CopyBook, contents: Mapping[str, Content], least: str, most: str, coarse: bool
) -> None:
    """Ten steps of 0.05 mm in the band will do, fewer will not, and an open side is no band."""
    book, said = copy_book([CUP_HEIGHT]), with_cup_height(contents, "a", most, least)
    assert bool(list(coarse_gauges(book, [bands(book, said)]))) is coarse


@pytest.mark.parametrize(
    "edit",
    [
        (FLOOR, "    value: route.flanged.flange_diameter\n", "    value: route.flanged.mass\n"),
        (FLOOR, "    gauge: cup-height-gauge\n", "    gauge: no-such-gauge\n"),
    ],
)
def test_what_the_floor_file_is_reported_of_is_not_reported_twice(copy_book: CopyBook, edit: Edit) -> None:
    """A gauge of another quantity, or none, is a finding on the floor file and not on the sheets too."""
    book = copy_book([CUP_HEIGHT, edit] if "cup" in edit[1] else [edit])
    assert [one.name for one in sheet_faults(book) if one.name.startswith("floor.")] == []
