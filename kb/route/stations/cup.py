"""The cup, drawn in the cupper."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from kb.process import draw, material
from kb.process.meridian import Meridian
from kb.process.profile import cup as cup_shape
from kb.process.profile import tapered_wall_height
from kb.route.case import Case
from kb.route.station import Results, Station, result
from kb.route.stations.blank import Blank
from kb.units import Mm, MPa, N, Ratio


@dataclass(frozen=True, slots=True)
class Cup:
    """The drawn cup."""

    shape: Meridian
    draw_ratio: Ratio = result("draw ratio", main=True, walk=True)
    reduction: Ratio = result("draw reduction", "%")
    limit_by_anisotropy: Ratio = result("limiting draw ratio from the r-value", estimate=True)
    limit_by_thickness: Ratio = result("limiting draw ratio from relative thickness", estimate=True)
    relative_gauge: Ratio = result("gauge ÷ blank diameter", "%")
    height: Mm = result("cup height, mean", walk=True)
    ear: Mm = result("ears, peak to valley", walk=True)
    rim: Mm = result("thickness at the rim")
    outside: Mm = result("cup outside diameter, at the rim")
    hoop_strain: Ratio = result("hoop strain at the rim")
    clearance: Mm = result("draw clearance")
    clearance_over_gauge: Ratio = result("draw clearance ÷ gauge")
    die_radius_over_gauge: Ratio = result("draw die radius ÷ gauge")
    punch_radius_over_gauge: Ratio = result("cup punch radius ÷ gauge")
    drawing_force: N = result("drawing force, textbook form for the press limit", "kN", main=True, walk=True)
    monitor_force: N = result("drawing force with friction and bending, for the monitor", "kN", estimate=True)
    holder_pressure: MPa = result("draw pad pressure")
    holder_force: N = result("draw pad force, by that pressure", "kN", walk=True)
    press_force: N = result("press force, all cups across", "kN")


def take_cup(case: Case, blank: Blank) -> Cup:
    """The draw in the cupper."""
    spec, stock, setting = case.format.cup, case.stock, case.setting
    gauge, diameter = case.format.stock.gauge, case.format.blank.diameter
    clearance = draw.clearance(die_bore=spec.die_bore, punch_diameter=spec.punch_diameter)
    anisotropy = mean_anisotropy(case)
    rim = draw.rim_thickness(
        gauge=gauge,
        before=diameter,
        after=spec.punch_diameter,
        mean_anisotropy=anisotropy,
        clearance=clearance,
    )
    bottom = cup_shape(
        punch_diameter=spec.punch_diameter,
        punch_radius=spec.punch_radius,
        gauge=gauge,
        rim=rim,
        wall_height=0.0,
    )
    wall_height = tapered_wall_height(
        volume=blank.volume - bottom.metal(), inside_radius=spec.punch_diameter / 2, wall=gauge, rim=rim
    )
    shape = cup_shape(
        punch_diameter=spec.punch_diameter,
        punch_radius=spec.punch_radius,
        gauge=gauge,
        rim=rim,
        wall_height=wall_height,
    )
    height = shape.top()
    ratio = draw.draw_ratio(before=diameter, after=spec.punch_diameter)
    drawing_force = draw.drawing_force(
        blank_diameter=diameter, punch_diameter=spec.punch_diameter, gauge=gauge, tensile=stock.tensile
    )
    holder_pressure = draw.holder_pressure(
        draw_ratio=ratio, punch_diameter=spec.punch_diameter, gauge=gauge, tensile=stock.tensile
    )
    held_inside = spec.die_bore + 2 * spec.die_radius
    holder_force = holder_pressure * np.pi / 4 * (diameter**2 - held_inside**2)
    strain = material.strain(before=diameter, after=spec.punch_diameter)
    return Cup(
        shape=shape,
        draw_ratio=ratio,
        reduction=material.reduction(before=diameter, after=spec.punch_diameter),
        limit_by_anisotropy=draw.limiting_ratio_from_anisotropy(
            mean_anisotropy=anisotropy, efficiency=setting["draw-efficiency"]
        ),
        limit_by_thickness=draw.limiting_ratio_from_thickness(
            punch_diameter=spec.punch_diameter,
            gauge=gauge,
            bound=setting["thickness-bound"],
            slope=setting["thickness-slope"],
        ),
        relative_gauge=gauge / diameter,
        height=height,
        ear=ear_height(case, mean_height=height),
        rim=rim,
        outside=spec.punch_diameter + 2 * rim,
        hoop_strain=strain,
        clearance=clearance,
        clearance_over_gauge=clearance / gauge,
        die_radius_over_gauge=spec.die_radius / gauge,
        punch_radius_over_gauge=spec.punch_radius / gauge,
        drawing_force=drawing_force,
        monitor_force=draw.drawing_force_estimate(
            rim_diameter=np.maximum(setting["draw-peak-rim"] * diameter, spec.punch_diameter),
            punch_diameter=spec.punch_diameter,
            gauge=gauge,
            flow_stress=case.mean_flow_stress(0.0, strain),
            bend_stress=case.flow_stress(strain),
            die_radius=spec.die_radius,
            friction=setting["draw-friction"],
            holder_force=np.maximum(holder_force, 0.0),
        ),
        holder_pressure=holder_pressure,
        holder_force=holder_force,
        press_force=case.format.blank.across
        * (np.maximum(drawing_force, blank.cutting_force) + holder_force),
    )


def mean_anisotropy(case: Case) -> Ratio:
    """Mean strain ratio of the body stock [-]."""
    at = case.stock.anisotropy
    return material.mean_anisotropy(r0=at.r0, r45=at.r45, r90=at.r90)


def ear_height(case: Case, *, mean_height: Mm) -> Mm:
    """Peak less valley of a drawn cup whose mean height is given [mm]."""
    share = case.format.stock.earing
    if case.stock.earing_over == "valley":
        return share * mean_height / (1 + share / 2)
    return share * mean_height


STATION = Station(
    id="cup",
    title="Cup",
    description="The punch draws the blank through the die. The draw pad keeps the rim flat.",
    machine="cupper",
    blocks=("cup",),
    views=("cup",),
    tools=("cup",),
    changed_with="metal",
    results=(Results("cup", "Cup", Cup, take_cup),),
)
