"""The cup drawn again, to the diameter of the bodymaker's punch."""

from __future__ import annotations

from dataclasses import dataclass

from kb.process import draw, material
from kb.process.meridian import LineSegment, Meridian
from kb.process.profile import chime, flat_panel, tapered_wall_height, tube_section
from kb.route.body import base_sizes
from kb.route.case import Case
from kb.route.station import Results, Station, result
from kb.route.stations.blank import Blank
from kb.route.stations.cup import Cup, mean_anisotropy
from kb.units import Mm, N, Ratio


@dataclass(frozen=True, slots=True)
class Redrawn:
    """The cup drawn to the bodymaker punch."""

    shape: Meridian
    draw_ratio: Ratio = result("redraw ratio", main=True, walk=True)
    reduction: Ratio = result("redraw reduction", "%")
    total_ratio: Ratio = result("blank to punch draw ratio")
    height: Mm = result("redrawn height, mean", walk=True)
    rim: Mm = result("thickness at the rim")
    clearance: Mm = result("redraw clearance")
    clearance_over_gauge: Ratio = result("redraw clearance ÷ gauge")
    die_radius_over_gauge: Ratio = result("redraw die radius ÷ gauge")
    nose_radius_over_gauge: Ratio = result("punch nose radius ÷ gauge")
    ear: Mm = result("ears, peak to valley")
    drawing_force: N = result("redraw force, textbook form for the ram limit", "kN", main=True, walk=True)
    monitor_force: N = result("redraw force with friction and bending, for the monitor", "kN", estimate=True)


def take_redrawn(case: Case, blank: Blank, cup: Cup) -> Redrawn:
    """The redraw to the bodymaker punch."""
    spec, punch, gauge = case.format.redraw, case.format.punch, case.format.stock.gauge
    before = case.format.cup.punch_diameter
    clearance = draw.clearance(die_bore=spec.die_bore, punch_diameter=punch.wall_diameter)
    rim = draw.rim_thickness(
        gauge=cup.rim,
        before=before,
        after=punch.wall_diameter,
        mean_anisotropy=mean_anisotropy(case),
        clearance=clearance,
    )
    base = base_sizes(case, wall=gauge)
    bottom = flat_panel(base) + chime(base)
    wall_height = tapered_wall_height(
        volume=blank.volume - bottom.metal(), inside_radius=base.inside_radius, wall=gauge, rim=rim
    )
    foot, radius = base.wall_start, base.inside_radius
    shape = bottom + Meridian((LineSegment(radius, foot, radius, foot + wall_height, gauge, rim),))
    growth = draw.ear_growth(
        strain_before=cup.hoop_strain,
        strain_after=drawn_strain(case),
        share=case.setting["redraw-ear-growth"],
    )
    before_rim = tube_section(inside_radius=before / 2, wall=cup.rim)
    return Redrawn(
        shape=shape,
        draw_ratio=draw.draw_ratio(before=before, after=punch.wall_diameter),
        reduction=material.reduction(before=before, after=punch.wall_diameter),
        total_ratio=draw.draw_ratio(before=case.format.blank.diameter, after=punch.wall_diameter),
        height=shape.top(),
        rim=rim,
        clearance=clearance,
        clearance_over_gauge=clearance / gauge,
        die_radius_over_gauge=spec.die_radius / gauge,
        nose_radius_over_gauge=punch.nose_radius / gauge,
        ear=cup.ear * growth * before_rim / tube_section(inside_radius=radius, wall=rim),
        drawing_force=draw.drawing_force(
            blank_diameter=before, punch_diameter=punch.wall_diameter, gauge=gauge, tensile=case.stock.tensile
        ),
        monitor_force=draw.drawing_force_estimate(
            rim_diameter=before,
            punch_diameter=punch.wall_diameter,
            gauge=gauge,
            flow_stress=case.mean_flow_stress(cup.hoop_strain, drawn_strain(case)),
            bend_stress=case.flow_stress(drawn_strain(case)),
            die_radius=spec.die_radius,
            friction=case.setting["draw-friction"],
        ),
    )


def drawn_strain(case: Case) -> Ratio:
    """Hoop strain of both draws, which the wall brings to the first ring [-]."""
    return material.strain(before=case.format.blank.diameter, after=case.format.punch.wall_diameter)


STATION = Station(
    id="redraw",
    title="Redraw",
    description="The bodymaker punch draws the cup to its diameter. The wall keeps the gauge of the coil.",
    machine="bodymaker",
    blocks=("redraw", "punch"),
    views=("redrawn",),
    tools=("redraw", "punch"),
    changed_with="bodymaker",
    results=(Results("redrawn", "Redraw", Redrawn, take_redrawn, checks=("redraw",)),),
)
