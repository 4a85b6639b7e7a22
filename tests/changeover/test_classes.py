"""The class of a changeover: how far up the line the values reach that moved."""

from __future__ import annotations

from collections.abc import Iterable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.changeover.classes import HEIGHT, LADDER, REACH, class_of, facet
from kb.checks.consistency.floor_keys import sizes

some_keys = st.lists(st.sampled_from(sizes()), max_size=8)


def test_every_value_of_a_format_has_its_facet() -> None:
    """For every value in which formats differ, the table shows how far it reaches."""
    facets = {key: facet(key) for key in sizes()}
    assert set(facets.values()) == {"settings", "label", "neck", "height", "bodymaker", "metal", "diameter"}


def test_every_row_of_the_table_is_the_first_for_some_value() -> None:
    """No row is hidden behind another, and none names a block that no format has."""
    firsts = {next(row for row in REACH if key.startswith(row.block)) for key in sizes()}
    assert set(REACH) == firsts


@pytest.mark.parametrize(
    ("moved", "kind", "title"),
    [
        ([], "nothing", "Nothing changes"),
        (["format.pallet.layers", "format.seam.length"], "settings", "Settings and targets only"),
        (["format.label", "format.fill.contents"], "label", "Label only"),
        (
            ["format.end", "format.neck.plug_diameter", "format.flange.finished_height"],
            "end-neck",
            "End and neck",
        ),
        (
            [
                "format.trim.height",
                "format.neck.shoulder_height",
                "format.flange.finished_height",
                "format.punch.step_height",
                "format.label",
            ],
            "height",
            "Height",
        ),
        (["format.trim.height", "format.neck.diameters[3]"], "height-neck", "Height and neck"),
        (
            ["format.ironing.rings[2].bore", "format.flange.width"],
            "bodymaker",
            "Bodymaker tools; with end and neck",
        ),
        (["format.punch.step_height"], "bodymaker", "Bodymaker tools"),
        (["format.stock.gauge"], "metal", "Metal: coil, blank or cup tools"),
        (
            ["format.cup.die_bore", "format.trim.height", "format.end", "format.dome.depth"],
            "metal",
            "Metal: coil, blank or cup tools; with bodymaker tools, height, end and neck",
        ),
        (["format.body", "format.trim.height", "format.end"], "diameter", "Body diameter"),
    ],
)
def test_the_class_is_that_of_the_furthest_value(moved: list[str], kind: str, title: str) -> None:
    """Each class comes of the values that make it, and its title shows what else moves."""
    found = class_of(moved)
    assert (found.id, found.title) == (kind, title)


def test_limits_alone_reach_nowhere() -> None:
    """A tolerance that moves without its target is a matter of settings, for every value."""
    assert class_of([], ["format.blank.diameter"]).id == "settings"
    assert class_of(["format.label"], ["format.label", "format.blank.diameter"]).id == "label"


@given(some_keys, some_keys)
def test_more_moved_values_reach_no_less_far(few: list[str], more: list[str]) -> None:
    """With height moving in both cases, further values never lower the class."""
    assert class_of([HEIGHT, *few, *more]).rung >= class_of([HEIGHT, *few]).rung


@given(some_keys)
def test_order_and_repetition_do_not_matter(keys: list[str]) -> None:
    """The class is that of a set of values."""
    assert class_of(keys) == class_of([*reversed(keys), *keys])


def test_the_ladder_is_in_order() -> None:
    """Each class has its own rung, from nothing to the body diameter, and each is reached by some values."""
    assert [one.rung for one in LADDER] == list(range(len(LADDER)))
    assert (LADDER[0].id, LADDER[-1].id) == ("nothing", "diameter")
    reached = {class_of(keys).id for keys in _samples()}
    assert reached == {one.id for one in LADDER}


def _samples() -> Iterable[list[str]]:
    yield []
    yield [HEIGHT, "format.end"]
    yield from ([key] for key in sizes())
