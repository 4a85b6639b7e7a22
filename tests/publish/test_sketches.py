"""The drawings of faults and of first-offs: made from the route, each with its mark on the part."""

from __future__ import annotations

import datetime
import re
from typing import Any
from xml.etree import ElementTree

import pytest

from kb.book.load import Book, load
from kb.publish.edition import Routed, gather
from kb.publish.sketches import HEIGHT, MARKS, VIEWS, WIDTH, sketch
from kb.publish.terms import knowledge, written

DRAWN = [one for one in knowledge("faults") if "drawing" in one]


@pytest.fixture(scope="module")
def routed(demo: Book) -> dict[str, Routed]:
    """A short wide can and a tall narrow one with their routes."""
    names = ("b211-330", "b204-355")
    paths = [demo.root / "formats" / f"{ident}.yaml" for ident in names]
    formats = gather(load(demo.root, shown="specs", formats=paths), datetime.date(2026, 11, 25)).formats
    found = {ident: one.routed for ident, one in formats.items()}
    return {ident: one for ident, one in found.items() if one is not None}


def points(svg: str, look: str) -> list[tuple[float, float]]:
    """The points of the paths and circles of one look."""
    found = []
    alike = [group for group in ElementTree.fromstring(svg) if group.get("class") == look]
    for one in (shape for group in alike for shape in group):
        if way := one.get("d"):
            numbers = [float(number) for number in re.findall(r"-?\d+\.?\d*", way)]
            found += list(zip(numbers[::2], numbers[1::2], strict=True))
        elif one.get("cx"):
            found.append((float(one.get("cx", "")), float(one.get("cy", ""))))
    return found


@pytest.mark.parametrize("fault", [*DRAWN, *written("sketches")["sketches"]], ids=lambda one: one["id"])
@pytest.mark.parametrize("ident", ["b211-330", "b204-355"])
def test_a_mark_is_in_the_picture_and_near_the_part(
    routed: dict[str, Routed], ident: str, fault: dict[str, Any]
) -> None:
    """A drawing has metal and a mark, all of it inside the picture, the mark touching the part's frame."""
    svg = sketch(fault["title"], fault["drawing"], routed[ident])
    metal, mark = points(svg, "metal") + points(svg, "end"), points(svg, "fault")
    assert metal
    assert mark
    assert all(0 <= x <= WIDTH and 0 <= y <= HEIGHT for x, y in (*metal, *mark))
    left, right = min(x for x, _ in metal), max(x for x, _ in metal)
    assert min(x for x, _ in mark) <= right + 20
    assert max(x for x, _ in mark) >= left - 20


def test_the_part_is_that_of_the_format(routed: dict[str, Routed]) -> None:
    """The can of a drawing has the ratio of height to width of the format's own can."""
    fault = next(one for one in DRAWN if one["id"] == "body-crush")
    for one in routed.values():
        metal = points(sketch("", fault["drawing"], one), "metal")
        wide = max(x for x, _ in metal) - min(x for x, _ in metal)
        high = max(y for _, y in metal) - min(y for _, y in metal)
        body = float(one.route.case.format.punch.wall_diameter) + 2 * float(one.route.ironed[-1].thin)
        assert high / wide == pytest.approx(float(one.route.flanged.height) / body, rel=0.01)


def test_every_view_and_mark_is_used() -> None:
    """No view and no mark is without a fault."""
    assert {one["drawing"]["view"] for one in DRAWN} == set(VIEWS)
    assert {mark["shape"] for one in DRAWN for mark in one["drawing"]["marks"]} == {*MARKS, "spot"}
