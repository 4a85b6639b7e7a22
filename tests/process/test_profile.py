"""The can's shapes: pieces that meet without gap or kink, sizes that come out as asked, metal that closes."""

from __future__ import annotations

import math
from dataclasses import fields, replace
from itertools import pairwise
from typing import Any, NamedTuple

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from kb.process.meridian import Arc, LineSegment, Meridian, Segment
from kb.process.profile import (
    BaseSizes,
    DomeSizes,
    FlangeSizes,
    NeckSizes,
    StepSizes,
    chime,
    cup,
    cut_wall,
    dome_layout,
    domed_panel,
    flange,
    flat_panel,
    ironed_wall,
    neck,
    tapered_wall_height,
    tube_section,
)

GAUGE, THIN, THICK = 0.262, 0.097, 0.157
BASE = BaseSizes(
    inside_radius=32.92,
    nose_radius=1.6,
    chime_angle=28.0,
    chime_radius=5.0,
    stand_radius=23.6,
    gauge=GAUGE,
    wall=THIN,
)
DOME = DomeSizes(depth=10.6, radius=45.7, corner_radius=1.6, leg_angle=4.0)
DOME_WALL = 0.253
STEP = StepSizes(start=84.0, length=8.0, inside_radius=32.92, neck_radius=32.86, thin=THIN, thick=THICK)
NECK = NeckSizes(
    body_radius=32.86,
    wall=THICK,
    shoulder_height=96.0,
    shoulder_radius=6.0,
    angle=30.0,
    neck_radius=5.0,
    plug_radius=26.2,
    neck_wall=0.186,
)
FLANGE = FlangeSizes(
    plug_radius=26.2, edge_radius=28.28, radius=1.27, angle=3.0, neck_wall=0.186, edge_wall=0.179
)


class End(NamedTuple):
    """One end of a piece: position [mm], direction of travel [deg], thickness [mm]."""

    r: float
    z: float
    way: float
    wall: float


def ends(piece: Segment) -> tuple[End, End]:
    """Both ends of a piece, worked out here."""
    if isinstance(piece, LineSegment):
        way = math.degrees(math.atan2(piece.z1 - piece.z0, piece.r1 - piece.r0))
        return End(piece.r0, piece.z0, way, piece.wall0), End(piece.r1, piece.z1, way, piece.wall1)
    turn = 90.0 if piece.end >= piece.start else -90.0

    def at(angle: float, wall: float) -> End:
        radians = math.radians(angle)
        r, z = piece.r + piece.radius * math.cos(radians), piece.z + piece.radius * math.sin(radians)
        return End(r, z, angle + turn, wall)

    return at(piece.start, piece.wall0), at(piece.end, piece.wall1)


def kinks(shape: Meridian) -> list[float]:
    """Angles by which the curve turns where its pieces meet; every joint must be closed [deg]."""
    found = []
    real = [piece for piece in shape if float(piece.length()) > 1e-9]
    for before, after in pairwise(real):
        one, other = ends(before)[1], ends(after)[0]
        assert (other.r, other.z) == pytest.approx((one.r, one.z), abs=1e-9)
        assert other.wall == pytest.approx(one.wall, abs=1e-12)
        found.append((other.way - one.way + 180) % 360 - 180)
    return found


def start(shape: Meridian) -> End:
    """Where a shape starts."""
    return ends(shape.pieces[0])[0]


def finish(shape: Meridian) -> End:
    """Where a shape ends."""
    return ends(shape.pieces[-1])[1]


def thinnest(shape: Meridian) -> float:
    """The thinnest metal anywhere in a shape [mm]."""
    return float(min(min(piece.wall0, piece.wall1) for piece in shape))


# --- cup --------------------------------------------------------------------------------------


def test_cup_is_smooth_and_as_wide_as_its_punch() -> None:
    """Bottom, corner and wall follow one another without a kink, from the axis to the rim."""
    shape = cup(punch_diameter=88.0, punch_radius=3.2, gauge=GAUGE, rim=0.278, wall_height=30.0)
    assert kinks(shape) == pytest.approx([0.0, 0.0], abs=1e-9)
    assert start(shape)[:2] == (0.0, GAUGE)
    assert finish(shape) == pytest.approx((44.0, GAUGE + 3.2 + 30.0, 90.0, 0.278))
    assert float(np.min(shape.points(outside=True)[1])) == pytest.approx(0.0, abs=1e-12)


def test_cup_wall_takes_its_metal() -> None:
    """A wall as high as worked out for some metal holds just that metal."""
    for volume, rim in ((3000.0, 0.278), (500.0, 0.262), (9000.0, 0.2)):
        height = tapered_wall_height(volume=volume, inside_radius=44.0, wall=GAUGE, rim=rim)
        wall = Meridian((LineSegment(44.0, 3.0, 44.0, 3.0 + height, GAUGE, rim),))
        assert float(wall.metal()) == pytest.approx(volume, rel=1e-12)


def test_tube_section_is_a_ring() -> None:
    """A tube's section is the outer circle less the inner one."""
    ring = math.pi * (33.1**2 - 33.0**2)
    assert tube_section(inside_radius=33.0, wall=0.1) == pytest.approx(ring)
    assert tube_section(inside_radius=33.0, wall=np.array([0.1, 0.2]))[0] == pytest.approx(ring)


# --- base -------------------------------------------------------------------------------------


def test_flat_base_is_smooth_and_is_on_its_nose() -> None:
    """Bottom, nose, chime and wall meet tangent; the lowest metal is at the stand, at height zero."""
    shape = flat_panel(BASE) + chime(BASE)
    assert kinks(shape) == pytest.approx([0.0] * 4, abs=1e-9)
    assert finish(shape) == pytest.approx((BASE.inside_radius, BASE.wall_start, 90.0, THIN))
    assert float(np.min(shape.points(outside=True)[1])) == pytest.approx(0.0, abs=1e-12)


def test_domed_base_is_smooth() -> None:
    """Cap, corner, leg, nose, chime and wall meet without gap or kink."""
    shape = domed_panel(BASE, DOME, wall=DOME_WALL) + chime(BASE)
    assert kinks(shape) == pytest.approx([0.0] * 7, abs=1e-9)
    assert start(shape).r == pytest.approx(0.0, abs=1e-12)
    assert start(shape).way == pytest.approx(0.0, abs=1e-9)


def test_dome_depth_and_stand_come_out_as_asked() -> None:
    """Outside, the dome's top is at its depth and the lowest metal at the stand diameter."""
    shape = domed_panel(BASE, DOME, wall=DOME_WALL) + chime(BASE)
    r, z = shape.points(per_arc=401, outside=True)
    assert z[0] == pytest.approx(DOME.depth, abs=1e-12)
    lowest = int(np.argmin(z))
    assert (r[lowest], z[lowest]) == pytest.approx((BASE.stand_radius, 0.0), abs=1e-9)


def test_dome_follows_the_domer() -> None:
    """The outside of cap and corner are the domer's radii, for any thickness of the dome."""
    for wall in (0.2, 0.25, 0.3):
        cap, corner, *_ = domed_panel(BASE, DOME, wall=wall).pieces
        assert isinstance(cap, Arc)
        assert isinstance(corner, Arc)
        assert (cap.radius - wall, corner.radius - wall) == pytest.approx((45.7, 1.6))


@pytest.mark.parametrize("leg_angle", [0.0, 4.0, 12.0])
@pytest.mark.parametrize("depth", [9.6, 10.6, 11.5])
def test_dome_edge_is_where_the_leg_touches_the_nose(leg_angle: float, depth: float) -> None:
    """The closed form for the dome's edge is the root of the distance from nose centre to leg line."""
    dome = replace(DOME, leg_angle=leg_angle, depth=depth)
    inside, corner = dome.radius + DOME_WALL, dome.corner_radius + DOME_WALL
    slope = math.radians(leg_angle)

    def gap(edge: float) -> float:
        turn = math.radians(edge)
        r = (inside - corner) * math.sin(turn) + corner * math.cos(slope)
        z = depth - dome.radius + (inside - corner) * math.cos(turn) + corner * math.sin(slope)
        # the leg runs down and outward at the slope; the nose centre is nose_radius outside of it
        away = (BASE.stand_radius - r) * math.cos(slope) + (BASE.nose_height - z) * math.sin(slope)
        return away - BASE.nose_radius

    layout = dome_layout(BASE, dome, wall=DOME_WALL)
    assert float(layout.edge_angle) == pytest.approx(brentq(gap, 5.0, 60.0, xtol=1e-12), abs=1e-9)
    leg = domed_panel(BASE, dome, wall=DOME_WALL).pieces[2]
    assert float(leg.length()) == pytest.approx(float(layout.leg_length), abs=1e-9)
    assert layout.cap_radius == pytest.approx(inside * math.sin(math.radians(float(layout.edge_angle))))


def test_a_dome_that_does_not_close_is_reported_by_its_leg() -> None:
    """Too shallow a dome leaves a leg below zero, too wide a stand leaves no edge angle at all."""
    shallow = dome_layout(BASE, replace(DOME, depth=6.0), wall=DOME_WALL)
    assert float(shallow.leg_length) < 0
    wide = dome_layout(replace(BASE, stand_radius=60.0), DOME, wall=DOME_WALL)
    assert math.isnan(float(wide.leg_length))


def test_chime_room_runs_out() -> None:
    """The straight chime shrinks as the stand widens, and is below zero when there is none."""
    radii = np.array([23.6, 25.0, 30.0])
    runs = replace(BASE, stand_radius=radii).chime_run
    assert np.all(np.diff(runs) == pytest.approx(-np.diff(radii)))
    assert float(runs[-1]) < 0 < float(runs[0])


def test_wall_no_thinner_than_the_gauge_leaves_the_chime_whole() -> None:
    """Before ironing the chime is of gauge all the way up."""
    shape = chime(replace(BASE, wall=GAUGE))
    assert {float(piece.wall1) for piece in shape} == {GAUGE}
    assert kinks(shape) == pytest.approx([0.0] * 2, abs=1e-9)


# --- ironed wall ------------------------------------------------------------------------------

FOOT = float(BASE.wall_start)
THIN_METAL = tube_section(inside_radius=STEP.inside_radius, wall=THIN) * (STEP.start - FOOT)
STEP_METAL = float(Meridian((LineSegment(32.92, 0.0, 32.86, 8.0, THIN, THICK),)).metal())


@pytest.mark.parametrize(
    ("volume", "top"),
    [
        (0.5 * THIN_METAL, "thin"),
        (THIN_METAL, "thin"),
        (THIN_METAL + 0.3 * STEP_METAL, "step"),
        (THIN_METAL + 0.999 * STEP_METAL, "step"),
        (THIN_METAL + STEP_METAL, "step"),
        (THIN_METAL + STEP_METAL + 900.0, "thick"),
    ],
)
def test_wall_reaches_as_high_as_its_metal(volume: float, top: str) -> None:
    """Wherever the metal ends, below, on or above the step, all of it is in the wall, in one curve."""
    shape = ironed_wall(STEP, foot=FOOT, volume=volume)
    assert float(shape.metal()) == pytest.approx(volume, rel=1e-12)
    assert all(abs(kink) < 0.5 for kink in kinks(shape))  # the step leans by 0.06 in 8 mm
    height = float(shape.top())
    reached = "thin" if height <= 84.0 + 1e-9 else "step" if height <= 92.0 + 1e-9 else "thick"
    assert reached == top
    assert thinnest(shape) == THIN


def test_wall_of_samples_is_the_wall_of_each() -> None:
    """Cans whose metal ends at different places are computed together as they are alone."""
    volumes = np.array([0.5, 1.0, 1.2, 3.0]) * THIN_METAL
    together = ironed_wall(STEP, foot=FOOT, volume=volumes)
    for i, volume in enumerate(volumes):
        alone = ironed_wall(STEP, foot=FOOT, volume=float(volume))
        assert together.top()[i] == pytest.approx(float(alone.top()), rel=1e-14)
        assert together.metal()[i] == pytest.approx(float(alone.metal()), rel=1e-14)


def test_cut_wall_is_the_ironed_wall_cut() -> None:
    """A wall cut at the height that its metal reaches is that wall."""
    whole = ironed_wall(STEP, foot=FOOT, volume=THIN_METAL + STEP_METAL + 900.0)
    cut = cut_wall(STEP, foot=FOOT, top=whole.top())
    assert float(cut.metal()) == pytest.approx(float(whole.metal()), rel=1e-14)
    assert finish(cut) == pytest.approx(finish(whole))


# --- neck and flange --------------------------------------------------------------------------


def finished() -> Meridian:
    """A whole finished body: base, wall, neck, straight neck, flange."""
    lower = (
        domed_panel(BASE, DOME, wall=DOME_WALL)
        + chime(BASE)
        + cut_wall(STEP, foot=FOOT, top=96.0)
        + neck(NECK)
    )
    top = float(lower.top())
    straight = LineSegment(26.2, top, 26.2, top + 2.8, 0.186, 0.186)
    return lower + Meridian((straight,)) + flange(FLANGE, foot=top + 2.8)


def test_neck_is_smooth_and_reaches_the_plug() -> None:
    """Shoulder, cone and neck arc meet tangent, from straight wall to straight neck."""
    shape = neck(NECK)
    assert kinks(shape) == pytest.approx([0.0, 0.0], abs=1e-9)
    assert start(shape) == pytest.approx((32.86, 96.0, 90.0, THICK))
    assert finish(shape)[:2] == pytest.approx((26.2, float(shape.top())))
    assert finish(shape).way == pytest.approx(90.0)
    assert finish(shape).wall == 0.186


def test_cone_has_its_angle_and_its_run() -> None:
    """The cone leans by the neck's angle from the axis and runs inward as far as given."""
    cone = neck(NECK).pieces[1]
    assert isinstance(cone, LineSegment)
    lean = math.degrees(math.atan2(cone.r0 - cone.r1, cone.z1 - cone.z0))
    assert lean == pytest.approx(30.0)
    assert cone.r0 - cone.r1 == pytest.approx(float(NECK.cone_run))


def test_outside_of_the_neck_arc_is_the_die() -> None:
    """The die's radius is on the outside of the metal, which is toward the arc's centre."""
    arc = neck(NECK).pieces[2]
    assert isinstance(arc, Arc)
    assert arc.end < arc.start
    assert arc.radius - arc.wall1 == pytest.approx(NECK.neck_radius)


@pytest.mark.parametrize("plug", [32.8, 32.0, 31.6, 31.2])
def test_shallow_neck_turns_only_as_far_as_it_must(plug: float) -> None:
    """A first stage that has no room for the full angle is two arcs that meet tangent, with no cone."""
    sizes = replace(NECK, plug_radius=plug)
    shape = neck(sizes)
    assert kinks(shape) == pytest.approx([0.0] * (len([p for p in shape if p.length() > 1e-9]) - 1), abs=1e-6)
    assert finish(shape).r == pytest.approx(plug)
    assert (float(sizes.turn) < 30.0) == (float(sizes.cone_run) < 0)


def test_finished_body_is_one_curve() -> None:
    """From the dome's top to the flange's edge every piece meets the next; only the punch's step kinks."""
    shape = finished()
    turned = kinks(shape)
    assert sum(abs(kink) > 1e-6 for kink in turned) == 2
    assert max(map(abs, turned)) == pytest.approx(math.degrees(math.atan(0.06 / 8)), rel=1e-6)
    assert thinnest(shape) == THIN


def test_chime_bulges_at_most_a_quarter_of_what_is_ironed_off() -> None:
    """No metal is outside the last ring, but for the bulge that an even taper draws at the chime."""
    # the true taper keeps the outside straight: its thickness falls with the square of the angle
    r, _ = finished().points(per_arc=401, outside=True)
    bulge = float(np.max(r)) - (BASE.inside_radius + THIN)
    assert 0 <= bulge <= (GAUGE - THIN) / 4


def test_flange_reaches_its_edge() -> None:
    """The bend leaves the straight neck without a kink and the lip ends at the flange diameter."""
    shape = flange(FLANGE, foot=112.0)
    assert kinks(shape) == pytest.approx([0.0], abs=1e-9)
    assert start(shape) == pytest.approx((26.2, 112.0, 90.0, 0.186))
    assert finish(shape).r == pytest.approx(28.28)
    assert finish(shape).way == pytest.approx(3.0)
    bend, lip = shape.pieces
    assert isinstance(bend, Arc)
    assert isinstance(lip, LineSegment)
    assert bend.radius - bend.wall0 == pytest.approx(1.27)
    assert lip.r1 - lip.r0 == pytest.approx(float(FLANGE.lip_run))


def double(sizes: Any) -> Any:
    """The same shape, all its lengths doubled."""
    angles = {"chime_angle", "leg_angle", "angle"}
    return replace(
        sizes, **{f.name: 2 * getattr(sizes, f.name) for f in fields(sizes) if f.name not in angles}
    )


def test_twice_the_size_is_eight_times_the_metal() -> None:
    """All sizes of base, wall, neck and flange doubled give eight times the metal and four the surface."""
    small = (
        domed_panel(BASE, DOME, wall=0.25) + chime(BASE) + cut_wall(STEP, foot=FOOT, top=96.0) + neck(NECK)
    )
    large = (
        domed_panel(double(BASE), double(DOME), wall=0.5)
        + chime(double(BASE))
        + cut_wall(double(STEP), foot=2 * FOOT, top=192.0)
        + neck(double(NECK))
    )
    assert float(large.metal()) == pytest.approx(8 * float(small.metal()), rel=1e-12)
    assert float(large.enclosed()) == pytest.approx(8 * float(small.enclosed()), rel=1e-12)
    assert float(large.area_inside()) == pytest.approx(4 * float(small.area_inside()), rel=1e-12)
    assert float(large.area_outside()) == pytest.approx(4 * float(small.area_outside()), rel=1e-12)


@given(
    stand=st.floats(20.0, 26.0),
    nose=st.floats(0.8, 2.5),
    depth=st.floats(8.0, 13.0),
    radius=st.floats(38.0, 60.0),
    leg=st.floats(0.0, 15.0),
    chime_angle=st.floats(20.0, 50.0),
)
@settings(max_examples=60, deadline=None, derandomize=True)
def test_any_base_that_closes_is_smooth(
    *, stand: float, nose: float, depth: float, radius: float, leg: float, chime_angle: float
) -> None:
    """Every base whose leg and chime have room is one smooth curve of the depth and stand required."""
    base = replace(BASE, stand_radius=stand, nose_radius=nose, chime_angle=chime_angle)
    dome = replace(DOME, depth=depth, radius=radius, leg_angle=leg)
    layout = dome_layout(base, dome, wall=DOME_WALL)
    assume(float(layout.leg_length) > 0 and float(base.chime_run) > 0)
    shape = domed_panel(base, dome, wall=DOME_WALL) + chime(base)
    assert kinks(shape) == pytest.approx([0.0] * 7, abs=1e-7)
    _, z = shape.points(outside=True)
    assert (float(z[0]), float(np.min(z))) == pytest.approx((depth, 0.0), abs=1e-9)
