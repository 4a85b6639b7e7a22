"""Profiles, metals and small problems that several tests of the shell need."""

from __future__ import annotations

from functools import partial

import numpy as np

from kb.process.meridian import Arc, LineSegment, Meridian
from kb.process.profile import BaseSizes, DomeSizes
from kb.process.shell import LinearFlow, Metal, SaturatingFlow, base_profile
from kb.process.shell.element import Shell
from kb.process.shell.loads import Loading, Memory, balance
from kb.process.shell.path import State, reach

BASE = BaseSizes(
    inside_radius=32.92,
    nose_radius=1.6,
    chime_angle=28.0,
    chime_radius=5.0,
    stand_radius=23.6,
    gauge=0.262,
    wall=0.0972,
)
DOME = DomeSizes(depth=10.6, radius=45.7, corner_radius=1.6, leg_angle=4.0)
DOME_WALL = 0.2527
TOP = 25.0
"""The base of a 330 ml can of 66 mm, its wall clamped 25 mm above the stand."""


def base(*, sizes: BaseSizes = BASE, dome: DomeSizes = DOME, wall: float = DOME_WALL) -> Meridian:
    """The base with other sizes."""
    return base_profile(sizes, dome, wall=wall, top=TOP)


def can_metal(final: float = 300.0) -> Metal:
    """Body stock with the flow stress final - 38 exp(-strain/0.03) MPa."""
    return Metal(modulus=69_000.0, poisson=0.33, flow=SaturatingFlow(final=final, rise=38.0, strain=0.03))


def plain_bottom(
    *,
    gauge: float,
    radius: float = 45.0,
    depth: float = 10.5,
    corner: float = 1.5,
    leg: float = 22.3,
    nose: float = 1.5,
) -> Meridian:
    """A base of one thickness with a vertical leg; sizes in the middle of the metal.

    Cone of the chime at 60 degrees, bend of 3 mm, wall at 33 mm, 20 mm high.
    """
    half, cone, bend, body = gauge / 2, np.radians(60.0), 3.0, 33.0
    edge = np.arcsin((leg - corner) / (radius - corner))
    centre = depth - radius
    corner_z = centre + (radius - corner) * np.cos(edge)
    foot_r = leg + nose + nose * np.sin(cone)
    foot_z = nose - nose * np.cos(cone)
    bend_r = body - bend + bend * np.sin(cone)
    bend_z = foot_z + (bend_r - foot_r) * np.tan(cone)
    wall_z = bend_z + bend * np.cos(cone)
    slope = 90.0 - np.degrees(edge)
    return Meridian(
        (
            Arc(0.0, centre, radius + half, 90.0, slope, gauge, gauge),
            Arc(leg - corner, corner_z, corner + half, slope, 0.0, gauge, gauge),
            line(leg, corner_z, leg, nose, gauge),
            Arc(leg + nose, nose, nose - half, -180.0, -30.0, gauge, gauge),
            line(foot_r, foot_z, bend_r, bend_z, gauge),
            Arc(body - bend, wall_z, bend - half, -30.0, 0.0, gauge, gauge),
            line(body, wall_z, body, wall_z + 20.0, gauge),
        )
    )


def plain_metal(yield_strength: float, *, slope: float = 0.0) -> Metal:
    """Body stock without a knee in its flow curve."""
    flow = LinearFlow(yield_strength=yield_strength, slope=slope)
    return Metal(modulus=69_000.0, poisson=0.33, flow=flow)


def line(r0: float, z0: float, r1: float, z1: float, gauge: float) -> LineSegment:
    """A straight piece whose middle runs between two points."""
    half = gauge / 2 / np.hypot(r1 - r0, z1 - z0)
    across, up = half * (z1 - z0), half * (r1 - r0)
    return LineSegment(r0 - across, z0 + up, r1 - across, z1 + up, gauge, gauge)


def loaded(shell: Shell, loading: Loading, *, fixed: np.ndarray, load: float) -> State:
    """The shell under a load that it holds, raised in one step."""
    rest = State(np.zeros((len(shell.mesh), 3)), 0.0, Memory(shell.untouched()))
    return reach(partial(balance, shell, loading), rest, fixed=fixed, load=load, steps=1)
