"""The geometry kernel against closed forms, and against the revolved outline summed up piece by piece."""

from __future__ import annotations

import math
from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import dblquad, quad

from kb.process.meridian import Arc, LineSegment, Meridian, Segment
from kb.units import Samples

FINE = 4001

CYLINDER = LineSegment(33.0, 8.0, 33.0, 120.0, 0.1, 0.1)
TAPERED_TUBE = LineSegment(33.0, 8.0, 32.9, 16.0, 0.1, 0.16)
CONE = LineSegment(31.0, 100.0, 27.0, 107.0, 0.16, 0.18)
LIP = LineSegment(27.0, 110.0, 28.3, 110.07, 0.178, 0.17)
DISC = LineSegment(0.0, 0.26, 23.6, 0.26, 0.26, 0.26)
NOSE = Arc(23.6, 1.86, 1.6, -90.0, -62.0, 0.26, 0.26)
CHIME_TO_WALL = Arc(27.9, 8.1, 5.0, -18.0, 0.0, 0.26, 0.1)
SHOULDER = Arc(26.9, 96.0, 6.0, 0.0, 30.0, 0.157, 0.165)
NECK = Arc(31.4, 107.0, 5.2, 210.0, 180.0, 0.17, 0.178)
DOME = Arc(0.0, -35.0, 46.0, 90.0, 63.0, 0.25, 0.25)
FOOT = Arc(23.6, 1.86, 1.6, -176.0, -90.0, 0.25, 0.26)
PIECES = {
    "cylinder": CYLINDER,
    "tapered tube": TAPERED_TUBE,
    "cone": CONE,
    "lip": LIP,
    "disc": DISC,
    "nose": NOSE,
    "chime to wall": CHIME_TO_WALL,
    "shoulder": SHOULDER,
    "neck, turned the other way": NECK,
    "dome": DOME,
    "foot": FOOT,
}


def metal(piece: Segment) -> float:
    """Metal on one piece [mm3]."""
    return float(Meridian((piece,)).metal())


def curves(piece: Segment, count: int = FINE) -> tuple[Samples, Samples, Samples, Samples]:
    """Inside and outside of a piece, worked out here: r and z inside, r and z outside."""
    at = np.linspace(0.0, 1.0, count)
    wall = piece.wall0 + (piece.wall1 - piece.wall0) * at
    if isinstance(piece, LineSegment):
        way = np.array([piece.r1 - piece.r0, piece.z1 - piece.z0])
        across = np.array([way[1], -way[0]]) / math.hypot(*way)  # to the right of the way of travel
        r, z = piece.r0 + way[0] * at, piece.z0 + way[1] * at
        return r, z, r + wall * across[0], z + wall * across[1]
    angle = np.radians(piece.start + (piece.end - piece.start) * at)
    away = 1.0 if piece.end > piece.start else -1.0
    r, z = piece.r + piece.radius * np.cos(angle), piece.z + piece.radius * np.sin(angle)
    return r, z, r + away * wall * np.cos(angle), z + away * wall * np.sin(angle)


def revolved(piece: Segment) -> float:
    """Volume of the outline between inside and outside curve, revolved: a sum over a fine polygon."""
    r, z, outer_r, outer_z = curves(piece)
    x, y = np.concatenate([r, outer_r[::-1], r[:1]]), np.concatenate([z, outer_z[::-1], z[:1]])
    # Green: the integral of 2 pi r over the inside of a polygon
    steps = (x[:-1] ** 2 + x[:-1] * x[1:] + x[1:] ** 2) * np.diff(y) / 3
    return math.pi * abs(float(np.sum(steps)))


def swept(r: Samples, z: Samples) -> float:
    """Area that a curve sweeps: a sum of cone frustums."""
    return math.pi * float(np.sum((r[1:] + r[:-1]) * np.hypot(np.diff(r), np.diff(z))))


# --- against sums and integrals ---------------------------------------------------------------


@pytest.mark.parametrize("piece", PIECES.values(), ids=PIECES)
def test_metal_is_the_revolved_outline(piece: Segment) -> None:
    """The metal on a piece is its outline revolved; a polygon of 4000 sides is good to 1e-7."""
    assert metal(piece) == pytest.approx(revolved(piece), rel=1e-7)


@pytest.mark.parametrize("piece", [NOSE, CHIME_TO_WALL, SHOULDER, NECK, FOOT])
def test_metal_of_an_arc_is_a_double_integral(piece: Arc) -> None:
    """Eight nodes along the arc do as well as an adaptive double integral over its sector."""
    away = 1.0 if piece.end > piece.start else -1.0
    sweep = math.radians(piece.end - piece.start)

    def ring(deep: float, at: float) -> float:
        rho = piece.radius + away * deep
        angle = math.radians(piece.start) + sweep * at
        return 2 * math.pi * (piece.r + rho * math.cos(angle)) * rho * abs(sweep)

    def wall(at: float) -> float:
        return piece.wall0 + (piece.wall1 - piece.wall0) * at

    expected, _ = dblquad(ring, 0.0, 1.0, 0.0, wall, epsabs=1e-11, epsrel=1e-12)
    assert metal(piece) == pytest.approx(expected, rel=1e-11)


@pytest.mark.parametrize("piece", [CYLINDER, TAPERED_TUBE, CONE, LIP, DISC])
def test_metal_of_a_line_is_an_integral(piece: LineSegment) -> None:
    """The closed form of a tapered strip is the integral of its rings."""
    length = math.hypot(piece.r1 - piece.r0, piece.z1 - piece.z0)
    rise = (piece.z1 - piece.z0) / length

    def ring(at: float) -> float:
        wall = piece.wall0 + (piece.wall1 - piece.wall0) * at
        middle = piece.r0 + (piece.r1 - piece.r0) * at + rise * wall / 2
        return 2 * math.pi * middle * wall * length

    assert metal(piece) == pytest.approx(quad(ring, 0.0, 1.0, epsrel=1e-12)[0], rel=1e-11)


@pytest.mark.parametrize("piece", PIECES.values(), ids=PIECES)
def test_enclosed_volume_is_a_sum_of_frustums(piece: Segment) -> None:
    """The volume between a piece and the axis is a stack of 4000 frustums, good to 1e-7."""
    r, z, _, _ = curves(piece)
    stack = math.pi * float(np.sum(np.diff(z) * (r[1:] ** 2 + r[1:] * r[:-1] + r[:-1] ** 2) / 3))
    assert float(piece.enclosed()) == pytest.approx(stack, rel=1e-7, abs=1e-9)


@pytest.mark.parametrize("piece", PIECES.values(), ids=PIECES)
def test_length_and_inside_area_are_sums(piece: Segment) -> None:
    """Length and inside area are those of a fine polygon, which is shorter by 1e-7 at most."""
    r, z, _, _ = curves(piece)
    assert float(piece.length()) == pytest.approx(float(np.sum(np.hypot(np.diff(r), np.diff(z)))), rel=1e-7)
    assert float(piece.area()) == pytest.approx(swept(r, z), rel=1e-7)


@pytest.mark.parametrize("piece", PIECES.values(), ids=PIECES)
def test_outside_area_is_a_sum(piece: Segment) -> None:
    """The outside area is that of the offset curve; an arc's taper is neglected, which costs 0.5 % here."""
    _, _, r, z = curves(piece)
    tapers = isinstance(piece, Arc) and piece.wall0 != piece.wall1
    assert float(piece.area(outside=True)) == pytest.approx(swept(r, z), rel=5e-3 if tapers else 1e-7)


@pytest.mark.parametrize("piece", PIECES.values(), ids=PIECES)
def test_points_lie_on_the_curves(piece: Segment) -> None:
    """The points drawn inside and outside are those of the definition."""
    r, z, outer_r, outer_z = curves(piece, 7)
    assert np.allclose(piece.points(7), (r, z), rtol=0, atol=1e-12)
    assert np.allclose(piece.points(7, outside=True), (outer_r, outer_z), rtol=0, atol=1e-12)


# --- closed forms -----------------------------------------------------------------------------


def test_a_disc_is_a_disc() -> None:
    """A flat bottom of radius 20, 0.25 thick, is pi 400 x 0.25; it hangs below its inside."""
    disc = LineSegment(0.0, 5.0, 20.0, 5.0, 0.25, 0.25)
    assert metal(disc) == pytest.approx(math.pi * 100)
    assert float(disc.area()) == pytest.approx(math.pi * 400)
    assert disc.points(2, outside=True)[1] == pytest.approx([4.75, 4.75])


def test_a_tube_is_a_tube() -> None:
    """A tube of inside radius 10, wall 2 and height 5 holds pi (12² - 10²) 5 = 220 pi of metal."""
    tube = LineSegment(10.0, 0.0, 10.0, 5.0, 2.0, 2.0)
    assert metal(tube) == pytest.approx(220 * math.pi)
    assert float(tube.enclosed()) == pytest.approx(500 * math.pi)
    assert float(tube.area()) == pytest.approx(100 * math.pi)
    assert float(tube.area(outside=True)) == pytest.approx(120 * math.pi)


def test_a_half_ball_is_a_half_ball() -> None:
    """A bowl of radius 10 holds 2/3 pi 1000, has the area 2 pi 100; a shell of 1 has 2/3 pi (11³ - 10³)."""
    bowl = Arc(0.0, 10.0, 10.0, -90.0, 0.0, 1.0, 1.0)
    assert float(bowl.enclosed()) == pytest.approx(2 / 3 * math.pi * 1000)
    assert float(bowl.area()) == pytest.approx(200 * math.pi)
    assert float(bowl.area(outside=True)) == pytest.approx(242 * math.pi)
    assert metal(bowl) == pytest.approx(2 / 3 * math.pi * 331)


def test_a_dome_takes_away_room() -> None:
    """A cap that bulges into the can takes its spherical segment from the room above it."""
    cap = Arc(0.0, -30.0, 50.0, 90.0, 60.0, 0.25, 0.25)
    edge, foot = 25.0, -30 + 50 * math.cos(math.pi / 6)
    height = 20 - foot
    segment = math.pi * height**2 * (3 * 50 - height) / 3
    assert float(cap.enclosed()) == pytest.approx(-segment)
    closed = Meridian((cap, LineSegment(edge, foot, edge, 40.0, 0.1, 0.1)))
    assert float(closed.enclosed()) == pytest.approx(math.pi * edge**2 * (40 - foot) - segment)


def test_pappus_on_a_ring_of_round_section() -> None:
    """Half a torus of tube radius 2 about a circle of radius 9: way of the centroid times the section."""
    tube = Arc(9.0, 0.0, 2.0, -90.0, 90.0, 0.5, 0.5)
    section = math.pi / 2 * (2.5**2 - 2.0**2)
    centroid = 9 + 4 / (3 * math.pi) * (2.5**3 - 2.0**3) / (2.5**2 - 2.0**2)
    assert metal(tube) == pytest.approx(2 * math.pi * centroid * section)
    line_centroid = 9 + 2 * 2.0 / math.pi
    assert float(tube.area()) == pytest.approx(2 * math.pi * line_centroid * math.pi * 2.0)


def test_both_senses_of_an_arc_carry_the_same_metal() -> None:
    """The same layer given from its other side, travelled the other way, is the same metal."""
    rising = Arc(20.0, 0.0, 5.0, 10.0, 60.0, 0.4, 0.6)
    # inside and outside change places; the taper runs along the arc, so it runs the other way too
    even = replace(rising, wall1=0.4)
    falling = Arc(20.0, 0.0, 5.4, 60.0, 10.0, 0.4, 0.4)
    assert metal(even) == pytest.approx(metal(falling), rel=1e-13)
    assert float(even.area()) == pytest.approx(float(falling.area(outside=True)), rel=1e-13)
    assert float(even.area(outside=True)) == pytest.approx(float(falling.area()), rel=1e-13)
    assert float(rising.enclosed()) == pytest.approx(-float(replace(rising, start=60.0, end=10.0).enclosed()))


def test_a_line_taken_the_other_way_carries_its_metal_on_the_other_side() -> None:
    """A tube given downward has its metal toward the axis."""
    assert metal(LineSegment(12.0, 5.0, 12.0, 0.0, 2.0, 2.0)) == pytest.approx(220 * math.pi)


def test_a_taper_may_start_from_nothing() -> None:
    """A wedge-shaped strip on a flat ring is the integral of 2 pi r w(r): here 200 pi / 3 by hand."""
    # r from 0 to 10, wall from 0 to 1: 2 pi x integral of r² / 10 = 2 pi x 100 / 3
    assert metal(LineSegment(0.0, 0.0, 10.0, 0.0, 0.0, 1.0)) == pytest.approx(200 * math.pi / 3)


def test_a_whole_is_the_sum_of_its_pieces() -> None:
    """A meridian's sums are those of its pieces, in any grouping, and its top is its last piece's end."""
    parts = [Meridian((piece,)) for piece in PIECES.values()]
    whole = Meridian(tuple(PIECES.values()))
    joined = sum(parts[1:], parts[0])
    assert tuple(joined) == whole.pieces
    for measure in (
        Meridian.metal,
        Meridian.length,
        Meridian.area_inside,
        Meridian.area_outside,
        Meridian.enclosed,
    ):
        assert float(measure(whole)) == pytest.approx(sum(float(measure(part)) for part in parts))
    assert float(Meridian((CYLINDER,)).top()) == 120.0
    assert float(Meridian((SHOULDER,)).top()) == pytest.approx(99.0)
    assert float(Meridian((FOOT,)).top()) == pytest.approx(0.26)


# --- samples and scale ------------------------------------------------------------------------


def measures(piece: Segment) -> dict[str, Samples]:
    """All that is computed on a piece."""
    whole = Meridian((piece,))
    return {
        "metal": np.asarray(whole.metal()),
        "length": np.asarray(whole.length()),
        "inside": np.asarray(whole.area_inside()),
        "outside": np.asarray(whole.area_outside()),
        "enclosed": np.asarray(whole.enclosed()),
        "top": np.asarray(whole.top()),
    }


@pytest.mark.parametrize("piece", [CONE, TAPERED_TUBE, CHIME_TO_WALL, NECK], ids=str)
def test_samples_are_computed_like_single_numbers(piece: Segment) -> None:
    """An array in any one field, or in all, gives what each of its numbers gives alone."""
    factors = np.array([0.97, 1.0, 1.05])
    names = [field.name for field in fields(piece)]
    for varied in [*([name] for name in names), names]:
        sampled = measures(replace(piece, **{name: getattr(piece, name) * factors for name in varied}))
        for i, factor in enumerate(factors):
            alone = measures(replace(piece, **{name: getattr(piece, name) * factor for name in varied}))
            for what, value in sampled.items():
                one = np.broadcast_to(value, factors.shape)[i]
                assert one == pytest.approx(float(alone[what]), rel=1e-13, abs=1e-13), (what, varied)


def test_points_of_samples_are_those_of_single_numbers() -> None:
    """The outline of a part that is partly the same in all samples has a column for each of them."""
    walls = np.array([0.09, 0.1, 0.11])
    sampled = Meridian((DISC, NOSE, replace(CYLINDER, wall0=walls, wall1=walls)))
    for outside in (False, True):
        # an inside that no wall moves has one column for all samples
        r, z = (np.broadcast_to(axis, (2 + 5 + 2, 3)) for axis in sampled.points(per_arc=5, outside=outside))
        for i, wall in enumerate(walls):
            alone = Meridian((DISC, NOSE, replace(CYLINDER, wall0=wall, wall1=wall)))
            r1, z1 = alone.points(per_arc=5, outside=outside)
            assert r1.ndim == z1.ndim == 1
            assert np.array_equal(r[:, i], r1)
            assert np.array_equal(z[:, i], z1)


LENGTHS = {"r0", "z0", "r1", "z1", "r", "z", "radius", "wall0", "wall1"}


@pytest.mark.parametrize("piece", PIECES.values(), ids=PIECES)
def test_twice_the_size(piece: Segment) -> None:
    """Twice all lengths: twice the length, four times the areas, eight times the volumes."""
    double = replace(
        piece, **{f.name: 2 * getattr(piece, f.name) for f in fields(piece) if f.name in LENGTHS}
    )
    powers = {"metal": 8, "enclosed": 8, "inside": 4, "outside": 4, "length": 2, "top": 2}
    small, large = measures(piece), measures(double)
    for what, times in powers.items():
        assert float(large[what]) == pytest.approx(times * float(small[what]), rel=1e-13, abs=1e-12)


# --- any piece --------------------------------------------------------------------------------

radii = st.floats(5.0, 60.0)
walls = st.floats(0.05, 0.5)


@given(
    r0=st.floats(1.0, 60.0), r1=st.floats(1.0, 60.0), rise=st.floats(-80.0, 80.0), wall0=walls, wall1=walls
)
@settings(max_examples=60, deadline=None, derandomize=True)
def test_any_line_holds_its_revolved_outline(
    r0: float, r1: float, rise: float, wall0: float, wall1: float
) -> None:
    """Lines of every slope and taper carry the metal of their revolved outline."""
    assume(math.hypot(r1 - r0, rise) > 1.0)
    piece = LineSegment(r0, 3.0, r1, 3.0 + rise, wall0, wall1)
    assert metal(piece) == pytest.approx(revolved(piece), rel=1e-6)


@given(
    r=radii,
    radius=st.floats(0.8, 4.0),
    start=st.floats(-180.0, 180.0),
    turn=st.floats(-90.0, 90.0),
    wall0=walls,
    wall1=walls,
)
@settings(max_examples=60, deadline=None, derandomize=True)
def test_any_arc_holds_its_revolved_outline(
    *, r: float, radius: float, start: float, turn: float, wall0: float, wall1: float
) -> None:
    """Arcs of both senses, any quarter and any taper carry the metal of their revolved outline."""
    assume(abs(turn) > 1.0)
    piece = Arc(r, 0.0, radius, start, start + turn, wall0, wall1)
    assert metal(piece) == pytest.approx(revolved(piece), rel=1e-6)
    inner_r, inner_z, outer_r, outer_z = curves(piece)
    assert float(piece.area()) == pytest.approx(swept(inner_r, inner_z), rel=1e-6)
    if wall0 == wall1:
        assert float(piece.area(outside=True)) == pytest.approx(swept(outer_r, outer_z), rel=1e-6)
