"""The profiles of a can's base and of an end, ready for the shell."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from kb.process.meridian import Arc, LineSegment, Meridian
from kb.process.profile import BaseSizes, DomeSizes, chime, domed_panel
from kb.units import Deg, Mm, Mm2


def base_profile(base: BaseSizes, dome: DomeSizes, *, wall: Mm, top: Mm, drawn: Mm2 = 0.0) -> Meridian:
    """The base of a can and the wall above it.

    Args:
        base: sizes of nose and chime
        dome: sizes of the dome
        wall: thickness of the domed metal [mm]
        top: height above the stand at which the wall is clamped [mm]
        drawn: surface of sheet that doming draws in over the nose, so that the chime thins [mm2]

    Returns:
        The profile, from the axis to the wall at `top`.

    Raises:
        ValueError: if the sizes do not close, or the wall starts above `top`.
    """
    panel = domed_panel(base, dome, wall=wall)
    leg = panel.pieces[2]
    if not (isinstance(leg, LineSegment) and leg.z0 >= leg.z1 and base.chime_run >= 0):
        raise ValueError("the base does not close: there is no room for the leg or the chime")
    if base.wall_start >= top:
        raise ValueError(f"the wall starts at {base.wall_start:.3g} mm, above its top at {top:.3g} mm")
    side = LineSegment(base.inside_radius, base.wall_start, base.inside_radius, top, base.wall, base.wall)
    return panel + chime(base, drawn=drawn) + Meridian((side,))


@dataclass(frozen=True, slots=True, kw_only=True)
class EndSizes:
    """An end from its centre panel to the chuck wall, measured in the middle of the metal.

    Attributes:
        panel_radius: radius of the flat centre panel [mm]
        corner_radius: radius between the panel and its wall [mm]
        countersink_radius: radius at the bottom of the countersink [mm]
        flat: width of the flat bottom between two such radii [mm]
        panel_height: height of the panel above the bottom of the countersink [mm]
        depth: height of the clamped top of the chuck wall above the bottom of the countersink [mm]
        chuck_wall_angle: angle of the chuck wall from the axis [deg]
        gauge: metal thickness [mm]
    """

    panel_radius: Mm
    corner_radius: Mm
    countersink_radius: Mm
    flat: Mm = 0.0
    panel_height: Mm
    depth: Mm
    chuck_wall_angle: Deg
    gauge: Mm


def end_profile(end: EndSizes) -> Meridian:
    """An end, turned so that its inside is up: the countersink rises from the panel.

    The pressure in the can pushes on its inside. The seam clamps the top of the chuck wall.

    Args:
        end: sizes in the middle of the metal

    Returns:
        The profile, from the axis to the top of the chuck wall.

    Raises:
        ValueError: if the sizes do not close.
    """
    angle, half = np.radians(end.chuck_wall_angle), end.gauge / 2
    side = end.panel_radius + end.corner_radius
    middle = side + end.countersink_radius
    crest = end.panel_height - end.countersink_radius
    foot_r = middle + end.flat + end.countersink_radius * np.cos(angle)
    foot_z = crest + end.countersink_radius * np.sin(angle)
    top_z = end.panel_height - end.depth
    top_r = foot_r + (foot_z - top_z) * np.tan(angle)
    if not (min(end.corner_radius, end.countersink_radius) > half and crest >= end.corner_radius):
        raise ValueError("the end does not close: there is no room for its radii")
    if not foot_z > top_z:
        raise ValueError("the end does not close: the chuck wall has no length")
    if not end.flat >= 0:
        raise ValueError("the end does not close: there is no room for the countersink")
    gauge, radius = end.gauge, end.countersink_radius + half
    bottom: tuple[LineSegment | Arc, ...] = (
        Arc(middle, crest, radius, 180.0, end.chuck_wall_angle, gauge, gauge),
    )
    if end.flat:
        level = end.panel_height
        bottom = (
            Arc(middle, crest, radius, 180.0, 90.0, gauge, gauge),
            _line(middle, level, middle + end.flat, level, gauge),
            Arc(middle + end.flat, crest, radius, 90.0, end.chuck_wall_angle, gauge, gauge),
        )
    return Meridian(
        (
            _line(0.0, 0.0, end.panel_radius, 0.0, gauge),
            Arc(end.panel_radius, end.corner_radius, end.corner_radius - half, -90.0, 0.0, gauge, gauge),
            _line(side, end.corner_radius, side, crest, gauge),
            *bottom,
            _line(foot_r, foot_z, top_r, top_z, gauge),
        )
    )


def _line(r0: Mm, z0: Mm, r1: Mm, z1: Mm, gauge: Mm) -> LineSegment:
    """The inside of a straight piece whose middle runs between two points."""
    half = gauge / 2 / np.maximum(np.hypot(r1 - r0, z1 - z0), 1e-12)
    across, up = half * (z1 - z0), half * (r1 - r0)
    return LineSegment(r0 - across, z0 + up, r1 - across, z1 + up, gauge, gauge)
