"""Lines and arcs out of meridians."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from math import dist, hypot, pi

import pytest

from kb.drawing.model import Bend, Shape, Straight
from kb.drawing.outline import (
    circle,
    cut_at,
    extent,
    inside,
    looped,
    mirrored,
    outside,
    rounded,
    section,
    through,
)
from kb.process.meridian import Arc, LineSegment, Meridian
from kb.route.stations import Route
from tests.drawing.geometry import revolved, sampled

STEPLESS = {
    "cup": lambda route: route.cup.shape,
    "redrawn cup": lambda route: route.redrawn.shape,
    "base": lambda route: route.domed.base,
}
STEPPED = {
    "domed can": lambda route: route.domed.shape,
    "trimmed can": lambda route: route.trimmed.shape,
    "finished can": lambda route: route.flanged.shape,
}


@pytest.mark.parametrize("part", STEPLESS)
def test_the_drawn_section_holds_the_metal_of_the_route(routes: Mapping[str, Route], part: str) -> None:
    """Area times the way of the centroid of a drawn section is the route's volume of metal."""
    for route in routes.values():
        shape = STEPLESS[part](route)
        assert revolved(section(shape)) == pytest.approx(float(shape.metal()), rel=1e-6)


@pytest.mark.parametrize("part", STEPPED)
def test_a_stepped_wall_differs_by_the_wedges_at_its_bends_alone(
    routes: Mapping[str, Route], part: str
) -> None:
    """Where the wall bends sharply at the punch's step the drawn section has a wedge more or less.

    The meridian counts each piece of the wall square to itself: at a bend to the inside a wedge is left out,
    at a bend to the outside one is counted twice. With those wedges the drawn metal is the route's again.
    """
    for route in routes.values():
        shape = STEPPED[part](route)
        lines = [piece for piece in shape if isinstance(piece, LineSegment) and float(piece.length()) > 0]
        wedges = 0.0
        for one, other in pairwise(lines):
            if (one.r1, one.z1) == (other.r0, other.z0):
                ax, ay = float(one.r1 - one.r0), float(one.z1 - one.z0)
                bx, by = float(other.r1 - other.r0), float(other.z1 - other.z0)
                sine = (ax * by - ay * bx) / hypot(ax, ay) / hypot(bx, by)
                wedges += pi * float(one.r1 + one.wall1 * 2 / 3) * float(one.wall1) ** 2 * sine
        assert revolved(section(shape)) == pytest.approx(float(shape.metal()) + wedges, rel=1e-6)
        assert abs(wedges) < 1e-5 * float(shape.metal())


def test_sections_are_closed_loops_without_gaps(routes: Mapping[str, Route]) -> None:
    """Each piece of a section starts where the last one ended, and the last ends where the first started."""
    for route in routes.values():
        for part in (*STEPLESS.values(), *STEPPED.values()):
            pieces = section(part(route))
            for one, other in pairwise([*pieces, pieces[0]]):
                assert dist(one.end, other.start) < 1e-8


def test_the_outside_of_a_tapering_arc_is_arcs_close_to_the_true_curve(route: Route) -> None:
    """Where the thickness changes along an arc, its outside is drawn with arcs within 5e-6 mm of it."""
    tapers = [
        piece
        for piece in route.flanged.shape
        if isinstance(piece, Arc) and float(piece.wall0) != float(piece.wall1)
    ]
    assert len(tapers) >= 3
    for arc in tapers:
        pieces = outside([arc])
        assert all(isinstance(piece, Bend) for piece in pieces)
        r, z = arc.points(4001, outside=True)
        for piece in pieces:
            for point in sampled(piece):
                assert min((r - point[0]) ** 2 + (z - point[1]) ** 2) ** 0.5 < 5e-4
                if isinstance(piece, Bend):
                    away = abs(
                        ((r - piece.centre[0]) ** 2 + (z - piece.centre[1]) ** 2) ** 0.5 - piece.radius
                    )
                    nearest = ((r - point[0]) ** 2 + (z - point[1]) ** 2).argmin()
                    assert away[nearest] < 5e-6


def test_exaggeration_moves_the_outside_alone(route: Route) -> None:
    """A part drawn thicker keeps its inside, and its outside is that many times further off."""
    wall = [LineSegment(10.0, 0.0, 10.0, 5.0, 0.2, 0.3)]
    assert inside(wall) == [Straight((10.0, 0.0), (10.0, 5.0))]
    assert outside(wall, 4.0) == [Straight((10.8, 0.0), (11.2, 5.0))]
    thick = section(route.cup.shape, 3.0)
    assert thick[0] == section(route.cup.shape)[0]
    assert revolved(thick) > 2.9 * float(route.cup.shape.metal())


def test_thickness_that_has_no_room_in_a_bend_is_refused() -> None:
    """More thickness than a bend has radius on its inner side is refused with the most there is room for."""
    bend = [Arc(0.0, 0.0, 1.0, 90.0, 0.0, 0.25, 0.25)]
    assert outside(bend, 3.9)
    with pytest.raises(ValueError, match="less than 4 times true, not 4"):
        outside(bend, 4.0)


def test_pieces_of_no_length_are_left_out() -> None:
    """Pieces without length, which a route may have, leave no trace."""
    part = Meridian((LineSegment(1.0, 0.0, 1.0, 0.0, 0.1, 0.1), Arc(0.0, 0.0, 1.0, 30.0, 30.0, 0.1, 0.1)))
    assert inside(part) == []
    assert outside(part) == []


def test_three_points_make_an_arc_or_a_line() -> None:
    """The arc through three points has their circle and direction; points in line make a straight piece."""
    arc = through((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0))
    assert isinstance(arc, Bend)
    assert arc.centre == pytest.approx((0.0, 0.0))
    assert (arc.radius, arc.begin, arc.finish) == pytest.approx((1.0, 0.0, 180.0))
    other = through((-1.0, 0.0), (0.0, 1.0), (1.0, 0.0))
    assert isinstance(other, Bend)
    assert other.finish - other.begin == pytest.approx(-180.0)
    assert through((0.0, 0.0), (1.0, 1.0), (2.0, 2.0)) == Straight((0.0, 0.0), (2.0, 2.0))


def test_a_mirrored_arc_runs_on_the_other_side() -> None:
    """Mirroring puts every point of an arc at the opposite side of the axis."""
    arc = Bend((2.0, 1.0), 3.0, 20.0, 70.0)
    (other,) = mirrored([arc])
    for (x, y), (u, v) in zip(sampled(arc), sampled(other), strict=True):
        assert (u, v) == pytest.approx((-x, y))


def test_extent_reaches_the_tops_of_arcs() -> None:
    """The extent of an arc counts where it turns back, not its ends alone."""
    arc = Shape("outline", (Bend((0.0, 0.0), 2.0, 30.0, 150.0),))
    assert extent([arc]) == pytest.approx((-(3**0.5), 1.0, 3**0.5, 2.0))
    assert extent([Shape("blank", tuple(circle((1.0, 1.0), 1.0)))]) == pytest.approx((0.0, 0.0, 2.0, 2.0))


def test_a_cut_keeps_thickness_along_a_tapering_line() -> None:
    """A tapering line cut half way has half of its taper there."""
    (line,) = cut_at(Meridian((LineSegment(5.0, 0.0, 5.0, 10.0, 0.1, 0.3),)), top=5.0)
    assert isinstance(line, LineSegment)
    assert (line.z1, line.wall1) == pytest.approx((5.0, 0.2))


def test_a_bent_sheet_keeps_its_thickness() -> None:
    """A sheet bent right and left is as long and thick as its pieces, joined without a kink."""
    sheet = rounded([(0.0, 0.0), (10.0, 0.0), (10.0, -10.0), (20.0, -10.0)], [3.0, 2.0], 1.0)
    assert float(sheet.length()) == pytest.approx(7 + 3 * pi / 2 + 5 + 2 * pi / 2 + 8)
    pieces = inside(sheet)
    for one, other in pairwise(pieces):
        assert dist(one.end, other.start) < 1e-9
    upper, lower = pieces[1], outside(sheet)[1]
    assert isinstance(upper, Bend)
    assert isinstance(lower, Bend)
    assert (upper.radius, lower.radius) == pytest.approx((3.0, 2.0))


def test_a_loop_closes_itself() -> None:
    """Open pieces are closed with straight ones."""
    loop = looped([Straight((0.0, 0.0), (1.0, 0.0)), Straight((1.0, 1.0), (0.0, 1.0))])
    assert len(loop) == 4
    assert loop[-1].end == loop[0].start
