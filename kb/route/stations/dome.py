"""The base, formed at the end of the stroke."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from kb.process import blank as blank_formulas
from kb.process.meridian import Meridian
from kb.process.profile import (
    DomeSizes,
    chime,
    dome_layout,
    domed_panel,
    flat_panel,
    ironed_wall,
    tube_section,
)
from kb.route.body import base_sizes, step_sizes
from kb.route.case import Case
from kb.route.station import Results, Station, result
from kb.route.stations.blank import Blank
from kb.route.stations.ironing import Ironed
from kb.route.stations.redraw import Redrawn
from kb.units import Deg, Gram, Mm, Ratio


@dataclass(frozen=True, slots=True)
class Domed:
    """The can as it leaves the bodymaker."""

    shape: Meridian
    base: Meridian
    wall: Mm = result("dome thickness", main=True, walk=True)
    stretch: Ratio = result("dome stretch from the flat base", "%")
    thinning: Ratio = result("dome thinning", "%", walk=True)
    drawn_down: Mm = result("wall drawn down over the chime")
    chime_thinning: Ratio = result("chime thinning, mean", "%")
    edge_angle: Deg = result("slope at the dome edge")
    leg_length: Mm = result("straight inner leg")
    depth_share: Ratio = result("dome depth ÷ stand diameter")
    body_outside: Mm = result("body outside diameter, on the straight wall")
    mouth_inside: Mm = result("can inside diameter, at the mouth")
    height: Mm = result("untrimmed height, mean", walk=True)
    ear: Mm = result("ears, peak to valley", walk=True)
    valley: Mm = result("height at the ear valleys", walk=True)
    peak: Mm = result("height at the ear peaks")
    base_mass: Gram = result("metal in the base")


def take_domed(case: Case, blank: Blank, redrawn: Redrawn, ironed: tuple[Ironed, ...]) -> Domed:
    """The base formed at the end of the stroke.

    Note:
        Metal drawn into the dome comes over the chime with the thickness of the chime. The thin wall follows
        it down over the chime, so the can loses height and the chime thins from its outer end.
    """
    last = ironed[-1]
    gauge, spec, punch = case.format.stock.gauge, case.format.dome, case.format.punch
    base = base_sizes(case, wall=last.thin)
    dome = DomeSizes(
        depth=spec.depth, radius=spec.radius, corner_radius=spec.corner_radius, leg_angle=spec.leg_angle
    )
    flat = flat_panel(base)
    stretch = domed_panel(base, dome, wall=gauge).area_inside() / flat.area_inside() - 1
    wall = gauge / (1 + (1 - case.setting["dome-draw-in"]) * stretch)
    panel = domed_panel(base, dome, wall=wall)
    undrawn = chime(base)
    # surface that the dome has beyond the flat base, by its metal and not by stretch
    drawn = flat.area_inside() * np.maximum((1 + stretch) * wall / gauge - 1, 0.0)
    around = chime(base, drawn=drawn)
    drawn_down = drawn / (2 * np.pi * base.inside_radius)
    bottom = panel + around
    base_metal = bottom.metal()
    shape = bottom + ironed_wall(
        step_sizes(case, thin=last.thin, thick=last.thick, drawn_down=drawn_down),
        foot=base.wall_start,
        volume=blank.volume - base_metal,
    )
    layout = dome_layout(base, dome, wall=wall)
    height = shape.top()
    ear = _ear_on_can(case, redrawn, last)
    return Domed(
        shape=shape,
        base=bottom,
        wall=wall,
        stretch=stretch,
        thinning=1 - wall / gauge,
        drawn_down=drawn_down,
        chime_thinning=1 - around.metal() / undrawn.metal(),
        edge_angle=layout.edge_angle,
        leg_length=layout.leg_length,
        depth_share=spec.depth / spec.stand_diameter,
        body_outside=np.maximum(punch.wall_diameter + 2 * last.thin, punch.neck_diameter + 2 * last.thick),
        mouth_inside=punch.neck_diameter,
        height=height,
        ear=ear,
        valley=height - ear / 2,
        peak=height + ear / 2,
        base_mass=blank_formulas.mass(volume=base_metal, density=case.stock.density),
    )


def _ear_on_can(case: Case, redrawn: Redrawn, ironed: Ironed) -> Mm:
    """Ears after ironing: the metal of the redrawn cup's ears on the thinner rim [mm]."""
    cup_rim = tube_section(inside_radius=case.format.punch.wall_diameter / 2, wall=redrawn.rim)
    can_rim = tube_section(inside_radius=case.format.punch.neck_diameter / 2, wall=ironed.thick)
    return redrawn.ear * cup_rim / can_rim


STATION = Station(
    id="dome",
    title="Dome",
    description=("At the end of the stroke the domer presses the base inward. The outer ring is the stand."),
    machine="bodymaker",
    blocks=("dome",),
    views=("dome", "stand"),
    tools=("dome",),
    changed_with="bodymaker",
    results=(Results("domed", "Dome, before trimming", Domed, take_domed, checks=("dome",)),),
)
