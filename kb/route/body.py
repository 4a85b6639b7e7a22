"""The body on the bodymaker's punch, as several stations share it, and where its metal goes."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from kb.process import blank
from kb.process.meridian import Meridian
from kb.process.profile import BaseSizes, DomeSizes, StepSizes, cut_wall
from kb.process.shell.parts import EndSizes
from kb.route.case import Case
from kb.units import Gram, Mm

if TYPE_CHECKING:
    from kb.route.stations import Route
    from kb.route.stations.dome import Domed
    from kb.route.stations.ironing import Ironed

WALL_PIECES = 3  # thin wall, step, thick wall
NECK_PIECES = 3  # shoulder, cone, neck arc


def base_sizes(case: Case, *, wall: Mm) -> BaseSizes:
    """The base on the punch, when the wall above it is `wall` thick."""
    punch, stand = case.format.punch, case.format.dome.stand_diameter
    return BaseSizes(
        inside_radius=punch.wall_diameter / 2,
        nose_radius=punch.nose_radius,
        chime_angle=punch.chime_angle,
        chime_radius=punch.chime_radius,
        stand_radius=stand / 2,
        gauge=case.format.stock.gauge,
        wall=wall,
    )


def dome_sizes(case: Case) -> DomeSizes:
    """The dome as the domer is ground."""
    dome = case.format.dome
    return DomeSizes(
        depth=dome.depth, radius=dome.radius, corner_radius=dome.corner_radius, leg_angle=dome.leg_angle
    )


def end_sizes(case: Case) -> EndSizes:
    """The end in the middle of its metal; the chuck is in the chuck wall at the height of the seam.

    Between panel wall and chuck wall there is a groove; what its two radii do not take is flat.
    """
    end, half = case.end, case.end.gauge / 2
    angle, radius = np.radians(end.chuck_wall_angle), end.countersink_radius + half
    panel_wall = end.panel_diameter / 2 - half
    rise = end.countersink - radius * (1 - np.sin(angle))
    foot = end.chuck_diameter / 2 + half - rise * np.tan(angle)
    return EndSizes(
        panel_radius=panel_wall - end.panel_corner_radius - half,
        corner_radius=end.panel_corner_radius + half,
        countersink_radius=radius,
        flat=foot - panel_wall - radius * (1 + np.cos(angle)),
        panel_height=end.panel_height,
        depth=end.countersink,
        chuck_wall_angle=end.chuck_wall_angle,
        gauge=end.gauge,
    )


def step_sizes(case: Case, *, thin: Mm, thick: Mm, drawn_down: Mm = 0.0) -> StepSizes:
    """The punch's step with the walls it leaves; doming draws them down the punch by `drawn_down`."""
    punch = case.format.punch
    return StepSizes(
        start=punch.step_height - drawn_down,
        length=punch.step_length,
        inside_radius=punch.wall_diameter / 2,
        neck_radius=punch.neck_diameter / 2,
        thin=thin,
        thick=thick,
    )


def body_below(case: Case, domed: Domed, ironed: Ironed, *, top: Mm) -> Meridian:
    """The domed can up to a height above the step."""
    base = base_sizes(case, wall=ironed.thin)
    step = step_sizes(case, thin=ironed.thin, thick=ironed.thick, drawn_down=domed.drawn_down)
    return domed.base + cut_wall(step, foot=base.wall_start, top=top)


def masses(route: Route) -> dict[str, Gram]:
    """Mass of each zone of one can from the base up, then the trim; together they are the blank [g]."""
    pieces = route.flanged.shape.pieces
    base = len(route.domed.base.pieces)
    wall = base + WALL_PIECES
    neck = wall + NECK_PIECES
    zones = {
        "base": pieces[:base],
        "thin wall": pieces[base : base + 1],
        "step": pieces[base + 1 : base + 2],
        "thick wall": pieces[base + 2 : wall],
        "neck": pieces[wall : neck + 1],
        "flange": pieces[neck + 1 :],
    }
    density = route.case.stock.density
    weighed = {
        name: blank.mass(volume=Meridian(part).metal(), density=density) for name, part in zones.items()
    }
    return weighed | {"trim": route.trimmed.trim_mass / 1000}
