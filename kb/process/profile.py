"""The shapes of the can, station by station, as meridians; and the lengths that close their volume.

Heights count from the stand plane. Each function takes the tools' sizes and gives the
metal's shape: no forces, no limits.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from kb.process.meridian import Arc, LineSegment, Meridian
from kb.units import Deg, Mm, Mm2, Mm3, Number, Ratio


def tube_section(*, inside_radius: Mm, wall: Mm) -> Mm2:
    """Metal section of a tube, so the metal in a millimetre of its height [mm2].

    Args:
        inside_radius: inside radius [mm]
        wall: thickness [mm]

    Returns:
        Section [mm2].

    Source:
        Definition.

    Example:
        >>> tube_section(inside_radius=33.0, wall=0.1)
        20.77
    """
    return np.pi * wall * (2 * inside_radius + wall)


# --- cup --------------------------------------------------------------------------------------


def cup(*, punch_diameter: Mm, punch_radius: Mm, gauge: Mm, rim: Mm, wall_height: Mm) -> Meridian:
    """The drawn cup: flat bottom, corner, wall thickening evenly from `gauge` to `rim`."""
    radius = punch_diameter / 2
    flat = radius - punch_radius
    corner = gauge + punch_radius
    return Meridian(
        (
            LineSegment(0.0, gauge, flat, gauge, gauge, gauge),
            Arc(flat, corner, punch_radius, -90.0, 0.0, gauge, gauge),
            LineSegment(radius, corner, radius, corner + wall_height, gauge, rim),
        )
    )


def tapered_wall_height(*, volume: Mm3, inside_radius: Mm, wall: Mm, rim: Mm) -> Mm:
    """Height of a straight wall that takes `volume`, its thickness rising evenly from `wall` to `rim`."""
    mean_square = (wall**2 + wall * rim + rim**2) / 3
    return volume / (np.pi * (inside_radius * (wall + rim) + mean_square))


# --- base -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class BaseSizes:
    """What fixes the base: punch nose and chime inside, domer outside; lengths [mm], angles [deg]."""

    inside_radius: Mm
    nose_radius: Mm
    chime_angle: Deg
    chime_radius: Mm
    stand_radius: Mm
    gauge: Mm
    wall: Mm

    @property
    def nose_height(self) -> Mm:
        """Height of the nose centre above the stand plane [mm]."""
        return self.nose_radius + self.gauge

    @property
    def chime_run(self) -> Mm:
        """Radial length of the straight part of the chime; below zero there is no room for it [mm]."""
        rise = np.sin(np.radians(self.chime_angle))
        start = self.stand_radius + self.nose_radius * rise
        return self.inside_radius - self.chime_radius * (1 - rise) - start

    @property
    def wall_start(self) -> Mm:
        """Height at which the straight wall starts [mm]."""
        angle = np.radians(self.chime_angle)
        fall = (self.chime_radius - self.nose_radius) * np.cos(angle)
        return self.nose_height + self.chime_run * np.tan(angle) + fall


def chime(base: BaseSizes, *, drawn: Mm2 = 0.0) -> Meridian:
    """From the lowest point of the nose up to the straight wall.

    The wall is thicker where the curve of the punch is further from the land of the last ring.

    Args:
        base: base sizes
        drawn: surface of sheet that doming draws in over the nose [mm2]

    Returns:
        The chime. Sheet that is drawn in keeps its thickness: as much surface of the thin wall follows it
        down. The chime thins from its outer end, as far as its curve reaches.

    Source:
        Derived: the sheet slides over the chime without stretching. Surface is counted on the inside.
    """
    angle = np.radians(base.chime_angle)
    rise, fall = np.sin(angle), np.cos(angle)
    start_r = base.stand_radius + base.nose_radius * rise
    start_z = base.nose_height - base.nose_radius * fall
    end_r, end_z = start_r + base.chime_run, start_z + base.chime_run * np.tan(angle)
    centre_r = base.inside_radius - base.chime_radius
    gauge, wall, bend = base.gauge, base.wall, 90.0 - base.chime_angle
    taper = np.degrees(np.arccos(1 - np.maximum(gauge - wall, 0.0) / base.chime_radius))
    pieces = (
        Arc(
            base.stand_radius,
            base.nose_height,
            base.nose_radius,
            -90.0,
            base.chime_angle - 90.0,
            gauge,
            gauge,
        ),
        LineSegment(start_r, start_z, end_r, end_z, gauge, gauge),
    )
    stops: tuple[tuple[Deg, Mm], ...]
    if not np.any(np.greater(drawn, 0.0)):
        taper = np.minimum(taper, bend)
        stops = ((-bend, gauge), (-taper, gauge), (0.0, wall))
    else:
        thin = _turn_of_surface(base, drawn)
        thick = _turn_of_surface(base, drawn + _surface_of_turn(base, taper))
        stops = (
            (-bend, gauge),
            (-np.minimum(thick, bend), gauge),
            (-np.minimum(thin, bend), wall),
            (0.0, wall),
        )
    return Meridian(
        (
            *pieces,
            *(
                Arc(centre_r, base.wall_start, base.chime_radius, start, end, wall0, wall1)
                for (start, wall0), (end, wall1) in pairwise(stops)
            ),
        )
    )


def _surface_of_turn(base: BaseSizes, turn: Deg) -> Mm2:
    """Inside surface of the chime's curve, from the straight wall down through an angle [mm2]."""
    angle, radius = np.radians(turn), base.chime_radius
    return 2 * np.pi * radius * ((base.inside_radius - radius) * angle + radius * np.sin(angle))


def _turn_of_surface(base: BaseSizes, surface: Mm2) -> Deg:
    """Angle of the chime's curve that has some inside surface, at most a right angle [deg]."""
    angle: Number = surface / (2 * np.pi * base.chime_radius * base.inside_radius)
    for _ in range(6):  # Newton's method from below: the surface grows ever slower with the angle
        radius = base.inside_radius - base.chime_radius * (1 - np.cos(angle))
        short = surface - _surface_of_turn(base, np.degrees(angle))
        angle = np.minimum(angle + short / (2 * np.pi * base.chime_radius * radius), np.pi / 2)
    return np.degrees(angle)


def flat_panel(base: BaseSizes) -> Meridian:
    """The bottom inside the stand before it is domed."""
    return Meridian((LineSegment(0.0, base.gauge, base.stand_radius, base.gauge, base.gauge, base.gauge),))


@dataclass(frozen=True, slots=True)
class DomeSizes:
    """The domer's share of the base; lengths [mm], angle [deg]."""

    depth: Mm
    radius: Mm
    corner_radius: Mm
    leg_angle: Deg


@dataclass(frozen=True, slots=True)
class DomeLayout:
    """Where the dome's pieces meet; lengths [mm], angle [deg]."""

    inside_radius: Mm
    corner_radius: Mm
    edge_angle: Deg
    centre_height: Mm
    leg_length: Mm

    @property
    def cap_radius(self) -> Mm:
        """Radius of the spherical cap's edge, on the domer's side [mm]."""
        return self.inside_radius * np.sin(np.radians(self.edge_angle))


def dome_layout(base: BaseSizes, dome: DomeSizes, *, wall: Mm) -> DomeLayout:
    """Fit cap, corner and leg between the dome's top and the punch nose.

    Args:
        base: base sizes
        dome: domer sizes
        wall: thickness of the domed metal [mm]

    Returns:
        The layout; not-a-number or a negative leg where the sizes do not close.

    Source:
        Derived: the leg is tangent to corner and nose; with the cap's edge angle f and the leg's
        slope a from the axis, sin f + tan a cos f is known, so f = arcsin(K cos a / R) - a.
    """
    slope = np.radians(dome.leg_angle)
    inside, corner = dome.radius + wall, dome.corner_radius + wall
    reach = inside - corner
    centre = dome.depth - dome.radius
    nose = base.nose_radius
    below = centre - base.nose_height + (corner + nose) * np.sin(slope)
    known = base.stand_radius - (nose + corner) * np.cos(slope) - np.tan(slope) * below
    with np.errstate(invalid="ignore"):
        edge = np.arcsin(known * np.cos(slope) / reach) - slope
    leg = (reach * np.cos(edge) + below) / np.cos(slope)
    return DomeLayout(inside, corner, np.degrees(edge), centre, leg)


def domed_panel(base: BaseSizes, dome: DomeSizes, *, wall: Mm) -> Meridian:
    """The bottom inside the stand after doming: cap, corner, leg, and the nose's inner half."""
    at = dome_layout(base, dome, wall=wall)
    edge, slope = np.radians(at.edge_angle), np.radians(dome.leg_angle)
    reach = at.inside_radius - at.corner_radius
    corner_r, corner_z = reach * np.sin(edge), at.centre_height + reach * np.cos(edge)
    leg_r = corner_r + at.corner_radius * np.cos(slope)
    leg_z = corner_z + at.corner_radius * np.sin(slope)
    foot_r = base.stand_radius - base.nose_radius * np.cos(slope)
    foot_z = base.nose_height - base.nose_radius * np.sin(slope)
    return Meridian(
        (
            Arc(0.0, at.centre_height, at.inside_radius, 90.0, 90.0 - at.edge_angle, wall, wall),
            Arc(corner_r, corner_z, at.corner_radius, 90.0 - at.edge_angle, dome.leg_angle, wall, wall),
            LineSegment(leg_r, leg_z, foot_r, foot_z, wall, wall),
            Arc(
                base.stand_radius,
                base.nose_height,
                base.nose_radius,
                dome.leg_angle - 180.0,
                -90.0,
                wall,
                base.gauge,
            ),
        )
    )


# --- ironed wall ------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class StepSizes:
    """The punch's step: thin wall below `start`, thick wall above `start + length` [mm]."""

    start: Mm
    length: Mm
    inside_radius: Mm
    neck_radius: Mm
    thin: Mm
    thick: Mm


def ironed_wall(step: StepSizes, *, foot: Mm, volume: Mm3) -> Meridian:
    """The straight wall from height `foot` up, as high as `volume` of metal reaches.

    Args:
        step: wall thicknesses and the punch's step
        foot: height at which the wall starts [mm]
        volume: metal there is for it [mm3]

    Returns:
        Thin wall, step, thick wall; the upper ones of zero length when the metal ends below them.
    """
    thin_room = step.start - foot
    thin_section = tube_section(inside_radius=step.inside_radius, wall=step.thin)
    thin_height = np.minimum(volume / thin_section, thin_room)
    left = volume - thin_height * thin_section
    share = _step_share(step, left)
    left = left - _step_metal(step, share)
    thick_height = np.maximum(left, 0.0) / tube_section(inside_radius=step.neck_radius, wall=step.thick)
    z1 = foot + thin_height
    z2 = z1 + share * step.length
    r2 = step.inside_radius + share * (step.neck_radius - step.inside_radius)
    wall2 = step.thin + share * (step.thick - step.thin)
    return Meridian(
        (
            LineSegment(step.inside_radius, foot, step.inside_radius, z1, step.thin, step.thin),
            LineSegment(step.inside_radius, z1, r2, z2, step.thin, wall2),
            LineSegment(r2, z2, r2, z2 + thick_height, wall2, wall2),
        )
    )


def cut_wall(step: StepSizes, *, foot: Mm, top: Mm) -> Meridian:
    """The straight wall from `foot` cut off at `top`, which is above the step [mm]."""
    thick = step.start + step.length
    return Meridian(
        (
            LineSegment(step.inside_radius, foot, step.inside_radius, step.start, step.thin, step.thin),
            LineSegment(step.inside_radius, step.start, step.neck_radius, thick, step.thin, step.thick),
            LineSegment(step.neck_radius, thick, step.neck_radius, top, step.thick, step.thick),
        )
    )


def _step_metal(step: StepSizes, share: Ratio) -> Mm3:
    """Metal on the first `share` of the step [mm3]."""
    radius, wall = _on_step(step, share)
    return LineSegment(step.inside_radius, 0.0, radius, share * step.length, step.thin, wall).metal


def _on_step(step: StepSizes, share: Ratio) -> tuple[Mm, Mm]:
    """Inside radius and wall a share of the way up the step [mm]."""
    radius = step.inside_radius + share * (step.neck_radius - step.inside_radius)
    return radius, step.thin + share * (step.thick - step.thin)


def _step_share(step: StepSizes, volume: Mm3) -> Ratio:
    """How much of the step `volume` fills, 0 to 1."""
    share: Number = np.clip(volume / _step_metal(step, 1.0), 0.0, 1.0)
    if np.any((share > 0.0) & (share < 1.0)):
        # Newton's method; the metal of one more slice is the tube's section there, nearly exactly
        for _ in range(6):
            radius, wall = _on_step(step, share)
            slice_metal = tube_section(inside_radius=radius, wall=wall) * step.length
            share = np.clip(share + (volume - _step_metal(step, share)) / slice_metal, 0.0, 1.0)
    return share


# --- neck and flange --------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class NeckSizes:
    """A neck from the thick wall inward; lengths [mm], angle from the can's axis [deg]."""

    body_radius: Mm
    wall: Mm
    shoulder_height: Mm
    shoulder_radius: Mm
    angle: Deg
    neck_radius: Mm
    plug_radius: Mm
    neck_wall: Mm

    @property
    def outer_neck_radius(self) -> Mm:
        """Inside radius of the neck arc, its outside being the die's `neck_radius` [mm]."""
        return self.neck_radius + self.neck_wall

    @property
    def turn(self) -> Deg:
        """Angle the shoulder really reaches: less than `angle` while the neck is still shallow [deg]."""
        bend = self.shoulder_radius + self.outer_neck_radius
        full = np.arccos(np.clip(1 - (self.body_radius - self.plug_radius) / bend, -1.0, 1.0))
        return np.minimum(self.angle, np.degrees(full))

    @property
    def cone_run(self) -> Mm:
        """Radial length of the straight cone at the full angle; below zero it has no room [mm]."""
        bend = self.shoulder_radius + self.outer_neck_radius
        return self.body_radius - self.plug_radius - bend * (1 - np.cos(np.radians(self.angle)))


def neck(sizes: NeckSizes) -> Meridian:
    """Shoulder, cone and neck arc, up to where the straight neck starts."""
    turn = np.radians(sizes.turn)
    sine, lost = np.sin(turn), 1 - np.cos(turn)
    arc = sizes.outer_neck_radius
    r1 = sizes.body_radius - sizes.shoulder_radius * lost
    z1 = sizes.shoulder_height + sizes.shoulder_radius * sine
    r2 = np.minimum(sizes.plug_radius + arc * lost, r1)
    z2 = z1 + (r1 - r2) / np.maximum(np.tan(turn), 1e-9)
    wall1 = _wall_at(sizes, r1)
    wall2 = _wall_at(sizes, r2)
    return Meridian(
        (
            Arc(
                sizes.body_radius - sizes.shoulder_radius,
                sizes.shoulder_height,
                sizes.shoulder_radius,
                0.0,
                sizes.turn,
                sizes.wall,
                wall1,
            ),
            LineSegment(r1, z1, r2, z2, wall1, wall2),
            Arc(
                sizes.plug_radius + arc,
                z2 + arc * sine,
                arc,
                180.0 + sizes.turn,
                180.0,
                wall2,
                sizes.neck_wall,
            ),
        )
    )


def _wall_at(sizes: NeckSizes, radius: Mm) -> Mm:
    """Thickness on the way from body to neck, changing evenly with the radius [mm]."""
    way = (sizes.body_radius - radius) / np.maximum(sizes.body_radius - sizes.plug_radius, 1e-9)
    return sizes.wall + way * (sizes.neck_wall - sizes.wall)


@dataclass(frozen=True, slots=True)
class FlangeSizes:
    """The lip; `radius` is under it, `angle` how far it rises above level; lengths [mm], angle [deg]."""

    plug_radius: Mm
    edge_radius: Mm
    radius: Mm
    angle: Deg
    neck_wall: Mm
    edge_wall: Mm

    @property
    def lip_run(self) -> Mm:
        """Radial length of the straight lip outside the bend; below zero the bend does not fit [mm]."""
        bend = self.radius + self.neck_wall
        return self.edge_radius - self.plug_radius - bend * (1 - np.sin(np.radians(self.angle)))


def flange(sizes: FlangeSizes, *, foot: Mm) -> Meridian:
    """Bend and lip, from height `foot` at the top of the straight neck."""
    angle = np.radians(sizes.angle)
    bend = sizes.radius + sizes.neck_wall
    centre = sizes.plug_radius + bend
    r1, z1 = centre - bend * np.sin(angle), foot + bend * np.cos(angle)
    z2 = z1 + sizes.lip_run * np.tan(angle)
    return Meridian(
        (
            Arc(centre, foot, bend, 180.0, 90.0 + sizes.angle, sizes.neck_wall, sizes.neck_wall),
            LineSegment(r1, z1, sizes.edge_radius, z2, sizes.neck_wall, sizes.edge_wall),
        )
    )
