"""The part inside the ironing rings: all its metal there, each stretch as thick as its ring leaves it."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise

import pytest

from kb.book.load import Book, load
from kb.folders import shipped
from kb.process.meridian import LineSegment
from kb.publish.process_page import MidStroke, middle_of, part_at, process_data
from kb.route import take
from kb.route.assemble import Assembled, assemble
from kb.route.stations import Route

BOOK = load(shipped("specs"), shown="specs")
SHARES = (0.001, 0.25, 0.5, 0.9, 0.99, 1.0)
"""How far the wall is through the ring."""


def assembled(book: Book, ident: str) -> Assembled:
    """A format that is known to close."""
    made = assemble(book, ident)
    assert made is not None
    return made


def with_rings_at(*distances: float) -> Route:
    """The regular can made with its rings at other distances from the redraw die."""
    case = assembled(BOOK, "b211-330").study.case
    ironing = case.format.ironing
    rings = tuple(replace(ring, distance=at) for ring, at in zip(ironing.rings, distances, strict=True))
    return take(replace(case, format=replace(case.format, ironing=replace(ironing, rings=rings))))


def wall_at(now: MidStroke, height: float) -> float:
    """Thickness of the wall at a height above the stand."""
    (piece,) = (
        one for one in now.shape.pieces[5:] if isinstance(one, LineSegment) and one.z0 <= height < one.z1
    )
    share = (height - piece.z0) / (piece.z1 - piece.z0)
    return float(piece.wall0 + (piece.wall1 - piece.wall0) * share)


@pytest.mark.parametrize("ident", sorted(BOOK.of("size-format")))
def test_metal_is_neither_made_nor_lost(ident: str) -> None:
    """At every moment in every ring the part holds the metal of the blank."""
    route = assembled(BOOK, ident).study.nominal
    for ring in route.ironed:
        begin, end = float(ring.engaged_from), float(ring.engaged_to)
        for share in SHARES:
            now = part_at(route, begin + share * (end - begin))
            assert float(now.shape.metal()) == pytest.approx(float(route.blank.volume), rel=1e-10)


@pytest.mark.parametrize("ident", sorted(BOOK.of("size-format")))
def test_the_wall_only_grows(ident: str) -> None:
    """As the ram goes on the part never gets shorter: a ring thins what comes and thickens nothing."""
    route = assembled(BOOK, ident).study.nominal
    begin, end = float(route.ironed[0].engaged_from), float(route.ironed[-1].engaged_to)
    heights = [float(part_at(route, begin + i / 100 * (end - begin)).shape.top()) for i in range(1, 101)]
    assert all(after >= before - 1e-9 for before, after in pairwise(heights))


@pytest.mark.parametrize("distances", [(90.0, 100.0, 110.0), (90.0, 130.0, 150.0), (90.0, 110.0, 310.0)])
def test_metal_is_all_there_with_several_rings_on_the_wall(distances: tuple[float, ...]) -> None:
    """Rings that work together share the wall; its metal stays that of the blank."""
    route = with_rings_at(*distances)
    together = [part_at(route, middle_of(route, i)) for i in range(3)]
    assert max(len(now.rings) for now in together) > 1
    for now in together:
        assert float(now.shape.metal()) == pytest.approx(float(route.blank.volume), rel=1e-10)


def test_each_stretch_is_as_thick_as_its_ring_leaves_it() -> None:
    """With three rings on the wall it is stepped: the last ring's wall lowest, the redrawn wall on top."""
    route = with_rings_at(90.0, 100.0, 110.0)
    now = part_at(route, 165.0)
    assert now.rings == ((2, 55.0), (1, 65.0), (0, 75.0))
    for height, ring in ((50.0, 2), (60.0, 1), (70.0, 0)):
        assert wall_at(now, height) == pytest.approx(float(route.ironed[ring].thin), rel=1e-9)
    gauge = float(route.case.format.stock.gauge)
    assert gauge < wall_at(now, 80.0) < float(route.redrawn.rim)


@pytest.mark.parametrize("index", [0, 1, 2])
def test_half_way_the_wall_above_the_land_is_not_ironed_yet(index: int) -> None:
    """Below the land the wall is the ring's, above the entry it is that of the station before."""
    route = assembled(BOOK, "b211-330").study.nominal
    now = part_at(route, middle_of(route, index))
    ((ring, land),) = now.rings
    assert ring == index
    assert wall_at(now, land - 1.0) == pytest.approx(float(route.ironed[index].thin), rel=1e-9)
    before = float(route.ironed[index - 1].thin) if index else float(route.case.format.stock.gauge)
    assert before <= wall_at(now, land + 2.0) <= float(route.redrawn.rim)
    assert wall_at(now, land + 2.0) == pytest.approx(before, rel=0.1)


def test_the_part_grows_on_its_way_through_a_ring() -> None:
    """From entering a ring until the ring reaches the punch's step the part gets taller without a jump."""
    route = assembled(BOOK, "b211-330").study.nominal
    begin = float(route.ironed[2].engaged_from)
    step = float(route.case.format.punch.step_height + route.case.format.ironing.rings[2].distance)
    tops = [float(part_at(route, begin + i * (step - begin) / 20).shape.top()) for i in range(1, 21)]
    heights = [float(route.ironed[1].shape.top()), *tops]
    assert heights == sorted(heights)
    assert max(after - before for before, after in pairwise(heights)) < 3.0
    assert heights[-1] > heights[0] + 20.0


def test_when_the_wall_has_left_it_is_the_station_s_part() -> None:
    """Beyond its end of travel no ring is on the wall and the part is the route's own."""
    route = assembled(BOOK, "b211-330").study.nominal
    now = part_at(route, float(route.ironed[0].engaged_to) + 1.0)
    assert now.rings == ()
    assert now.shape is route.ironed[0].shape


def test_the_walk_says_at_which_travel_a_ring_is_drawn() -> None:
    """The caption of each ring names the ram travel its picture is of."""
    route = assembled(BOOK, "b211-330").study.nominal
    said = re.findall(r"([\d.]+) mm of ram travel past the redraw die", process_data(route, "regular"))
    assert [float(one) for one in said] == [pytest.approx(middle_of(route, i), abs=0.05) for i in range(3)]
