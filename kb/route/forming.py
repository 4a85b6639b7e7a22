"""From coil to trimmed can: the stations in which the metal's volume stays."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from kb.process import blank as blank_formulas
from kb.process import draw, ironing, material
from kb.process.meridian import Line, Meridian
from kb.process.profile import (
    BaseSizes,
    DomeSizes,
    StepSizes,
    chime,
    cup,
    cut_wall,
    dome_layout,
    domed_panel,
    flat_panel,
    ironed_wall,
    tapered_wall_height,
    tube_section,
)
from kb.route.case import Case
from kb.route.stations import Blank, Cup, Domed, Ironed, Redrawn, Stroke, Trimmed
from kb.units import Mm, MPa, Number, Ratio

NO_WALL = 1e-6
"""What is left where heat grows the punch into the ring: no wall, and a number that formulas take [mm]."""


def take_blank(case: Case) -> Blank:
    """The disc and its place in the coil."""
    spec, stock, gauge = case.format.blank, case.stock, case.format.stock.gauge
    volume = blank_formulas.disc_volume(diameter=spec.diameter, gauge=gauge)
    mass = blank_formulas.mass(volume=volume, density=stock.density)
    coil_mass = blank_formulas.coil_mass_per_thousand(
        diameter=spec.diameter,
        across=spec.across,
        web=spec.web,
        edge=spec.edge,
        gauge=gauge,
        density=stock.density,
    )
    return Blank(
        volume=volume,
        mass=mass,
        pitch=blank_formulas.pitch(diameter=spec.diameter, web=spec.web),
        strip_width=blank_formulas.strip_width(
            diameter=spec.diameter, across=spec.across, web=spec.web, edge=spec.edge
        ),
        utilisation=blank_formulas.utilisation(
            diameter=spec.diameter, across=spec.across, web=spec.web, edge=spec.edge
        ),
        coil_mass=coil_mass,
        coil_length=blank_formulas.coil_length_per_thousand(
            diameter=spec.diameter, across=spec.across, web=spec.web
        ),
        skeleton_mass=coil_mass - 1000 * mass,
        cutting_force=blank_formulas.cutting_force(
            diameter=spec.diameter, gauge=gauge, shear_strength=stock.shear_strength
        ),
        clearance_share=spec.die_clearance / gauge,
    )


def ear_height(case: Case, *, mean_height: Mm) -> Mm:
    """Peak less valley of a drawn cup whose mean height is given [mm]."""
    share = case.format.stock.earing
    if case.stock.earing_over == "valley":
        return share * mean_height / (1 + share / 2)
    return share * mean_height


def take_cup(case: Case, blank: Blank) -> Cup:
    """The draw in the cupper."""
    spec, stock, setting = case.format.cup, case.stock, case.setting
    gauge, diameter = case.format.stock.gauge, case.format.blank.diameter
    rim = gauge * (1 + setting["cup-rim-thickening"])
    bottom = cup(
        punch_diameter=spec.punch_diameter,
        punch_radius=spec.punch_radius,
        gauge=gauge,
        rim=rim,
        wall_height=0.0,
    )
    wall_height = tapered_wall_height(
        volume=blank.volume - bottom.metal(), inside_radius=spec.punch_diameter / 2, wall=gauge, rim=rim
    )
    shape = cup(
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
    clearance = draw.clearance(die_bore=spec.die_bore, punch_diameter=spec.punch_diameter)
    return Cup(
        shape=shape,
        draw_ratio=ratio,
        reduction=draw.reduction(before=diameter, after=spec.punch_diameter),
        limit_by_anisotropy=draw.limiting_ratio_from_anisotropy(
            mean_anisotropy=material.mean_anisotropy(
                r0=stock.anisotropy.r0, r45=stock.anisotropy.r45, r90=stock.anisotropy.r90
            ),
            efficiency=setting["draw-efficiency"],
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
        hoop_strain=draw.hoop_strain(before=diameter, after=spec.punch_diameter),
        clearance=clearance,
        clearance_over_gauge=clearance / gauge,
        die_radius_over_gauge=spec.die_radius / gauge,
        punch_radius_over_gauge=spec.punch_radius / gauge,
        drawing_force=drawing_force,
        holder_pressure=holder_pressure,
        holder_force=holder_force,
        holder_force_by_yield=draw.holder_force(
            blank_diameter=diameter,
            punch_diameter=spec.punch_diameter,
            gauge=gauge,
            die_radius=spec.die_radius,
            yield_strength=stock.yield_strength,
        ),
        press_force=case.format.blank.across
        * (np.maximum(drawing_force, blank.cutting_force) + holder_force),
    )


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


def step_sizes(case: Case, *, thin: Mm, thick: Mm) -> StepSizes:
    """The punch's step with the walls it leaves."""
    punch = case.format.punch
    return StepSizes(
        start=punch.step_height,
        length=punch.step_length,
        inside_radius=punch.wall_diameter / 2,
        neck_radius=punch.neck_diameter / 2,
        thin=thin,
        thick=thick,
    )


def take_redrawn(case: Case, blank: Blank, drawn: Cup) -> Redrawn:
    """The redraw to the bodymaker punch."""
    spec, punch, gauge = case.format.redraw, case.format.punch, case.format.stock.gauge
    before = case.format.cup.punch_diameter
    rim = drawn.rim * (1 + case.setting["redraw-rim-thickening"])
    base = base_sizes(case, wall=gauge)
    bottom = flat_panel(base) + chime(base)
    wall_height = tapered_wall_height(
        volume=blank.volume - bottom.metal(), inside_radius=base.inside_radius, wall=gauge, rim=rim
    )
    foot, radius = base.wall_start, base.inside_radius
    shape = bottom + Meridian((Line(radius, foot, radius, foot + wall_height, gauge, rim),))
    clearance = draw.clearance(die_bore=spec.die_bore, punch_diameter=punch.wall_diameter)
    return Redrawn(
        shape=shape,
        draw_ratio=draw.draw_ratio(before=before, after=punch.wall_diameter),
        reduction=draw.reduction(before=before, after=punch.wall_diameter),
        total_ratio=draw.draw_ratio(before=case.format.blank.diameter, after=punch.wall_diameter),
        height=shape.top(),
        rim=rim,
        clearance=clearance,
        clearance_over_gauge=clearance / gauge,
        die_radius_over_gauge=spec.die_radius / gauge,
        nose_radius_over_gauge=punch.nose_radius / gauge,
        drawing_force=draw.drawing_force(
            blank_diameter=before,
            punch_diameter=punch.wall_diameter,
            gauge=gauge,
            tensile=case.stock.tensile,
        ),
    )


def drawn_strain(case: Case) -> Ratio:
    """Strain the wall brings to the first ring: hoop strain of both draws."""
    return draw.hoop_strain(before=case.format.blank.diameter, after=case.format.punch.wall_diameter)


def take_ironed(case: Case, blank: Blank, redrawn: Redrawn) -> tuple[Ironed, ...]:
    """The wall through each ring in turn.

    Note:
        The last few millimetres below the rim, which are trimmed off, pass two rings above the step and may
        leave thicker than the thick wall told here, which is that of the trimmed can.
    """
    gauge = case.format.stock.gauge
    thin, thick, strain = gauge, redrawn.rim, drawn_strain(case)
    passed = []
    for i in range(len(case.format.ironing.rings)):
        ring = _through_ring(case, blank, i, thin_in=thin, thick_in=thick, strain_in=strain)
        # the wall grows upward on the punch: what is above the step now was below it at the ring before
        thin = thick = ring.thin
        strain = strain + 2 / np.sqrt(3) * ring.strain
        passed.append(ring)
    return tuple(passed)


def _through_ring(
    case: Case, blank: Blank, index: int, *, thin_in: Mm, thick_in: Mm, strain_in: Ratio
) -> Ironed:
    spec, punch, stock, setting = case.format.ironing, case.format.punch, case.stock, case.setting
    ring = spec.rings[index]
    gap = ironing.gap(bore=ring.bore, punch_diameter=punch.wall_diameter)
    neck_gap = ironing.gap(bore=ring.bore, punch_diameter=punch.neck_diameter)
    growth = _growth(case, bore=ring.bore, strain=strain_in)
    thin = np.minimum(np.maximum(gap + growth, NO_WALL), thin_in)
    thick = np.minimum(np.maximum(neck_gap + growth, NO_WALL), thick_in)
    strain = ironing.strain(wall_in=thin_in, wall_out=thin)
    flow = stock.hardening
    strain_out = strain_in + 2 / np.sqrt(3) * strain
    stress = ironing.exit_stress(
        flow_stress=material.mean_flow_stress(
            strain_from=strain_in,
            strain_to=strain_out,
            start=flow.start,
            saturation=flow.saturation,
            scale=flow.scale,
        ),
        wall_in=thin_in,
        wall_out=thin,
        half_angle=spec.half_angle,
        die_friction=setting["die-friction"],
        punch_friction=setting["punch-friction"],
    )
    strength = _strength(case, strain_out)
    base = base_sizes(case, wall=thin)
    bottom = flat_panel(base) + chime(base)
    shape = bottom + ironed_wall(
        step_sizes(case, thin=thin, thick=thick), foot=base.wall_start, volume=blank.volume - bottom.metal()
    )
    height = shape.top()
    return Ironed(
        shape=shape,
        gap=gap,
        growth=growth,
        thin=thin,
        thick=thick,
        spare=thick_in - neck_gap - growth,
        reduction=ironing.reduction(wall_in=thin_in, wall_out=thin),
        thick_reduction=ironing.reduction(wall_in=thick_in, wall_out=thick),
        strain=strain,
        exit_stress=stress,
        exit_strength=strength,
        stress_share=stress / strength,
        force=ironing.ring_force(stress=stress, mean_diameter=punch.wall_diameter + thin, wall_out=thin),
        height=height,
        engaged_from=ring.distance + base.wall_start,
        engaged_to=_leaves(case, index, metal=height * thin, growth=growth),
    )


def _strength(case: Case, strain: Ratio) -> MPa:
    flow = case.stock.hardening
    return material.flow_stress(strain=strain, start=flow.start, saturation=flow.saturation, scale=flow.scale)


def _growth(case: Case, *, bore: Mm, strain: Ratio) -> Mm:
    """What load and heat add to the cold gap [mm]."""
    setting, punch = case.setting, case.format.punch.wall_diameter
    stretch = ironing.ring_growth(
        pressure=setting["ring-pressure-share"] * _strength(case, strain),
        bore=bore,
        outside_diameter=case.format.ironing.outside_diameter,
        modulus=setting["ring-modulus"],
        poisson=setting["ring-poisson"],
    )
    rise = case.plant.tool_temperature - case.plant.gauge_temperature
    ring_heat = ironing.thermal_growth(diameter=bore, expansion=setting["ring-expansion"], rise=rise)
    punch_heat = ironing.thermal_growth(diameter=punch, expansion=setting["punch-expansion"], rise=rise)
    return stretch + (ring_heat - punch_heat) / 2


def _leaves(case: Case, index: int, *, metal: Number, growth: Mm) -> Mm:
    """Ram travel at which the rim leaves ring `index`, the later rings thinning the wall below it [mm].

    `metal` is height times wall, the wall's metal per length of circumference; `growth` is what load and
    heat add to each gap, taken as here for the later rings too.
    """
    rings, punch = case.format.ironing.rings, case.format.punch.wall_diameter
    travel: Mm = rings[index].distance
    for here, after in pairwise(rings[index:]):
        wall = ironing.gap(bore=here.bore, punch_diameter=punch) + growth
        used = np.minimum(metal, wall * (after.distance - here.distance))
        travel, metal = travel + used / wall, metal - used
    return travel + metal / (ironing.gap(bore=rings[-1].bore, punch_diameter=punch) + growth)


def take_stroke(case: Case, redrawn: Redrawn, rings: tuple[Ironed, ...]) -> Stroke:
    """All rings together."""
    starts = [ring.engaged_from for ring in rings]
    forces, counts = [], []
    for start in starts:
        on = [np.less_equal(r.engaged_from, start) & np.less(start, r.engaged_to) for r in rings]
        forces.append(sum(np.where(held, ring.force, 0.0) for held, ring in zip(on, rings, strict=True)))
        counts.append(sum(np.where(held, 1.0, 0.0) for held in on))
    gauge = case.format.stock.gauge
    return Stroke(
        total_reduction=ironing.total_reduction(wall_in=gauge, wall_out=rings[-1].thin),
        thick_total_reduction=ironing.total_reduction(wall_in=redrawn.rim, wall_out=rings[-1].thick),
        peak_force=np.max(np.broadcast_arrays(*forces), axis=0),
        work=sum(r.force * (r.engaged_to - r.engaged_from) for r in rings) / 1000,
        rings_together=np.max(np.broadcast_arrays(*counts), axis=0),
    )


def take_domed(case: Case, blank: Blank, drawn: Cup, ironed: Ironed) -> Domed:
    """The base formed at the end of the stroke; the wall gives what metal the base draws in."""
    gauge, spec, punch = case.format.stock.gauge, case.format.dome, case.format.punch
    base = base_sizes(case, wall=ironed.thin)
    dome = DomeSizes(
        depth=spec.depth, radius=spec.radius, corner_radius=spec.corner_radius, leg_angle=spec.leg_angle
    )
    flat = flat_panel(base)
    stretch = domed_panel(base, dome, wall=gauge).area_inside() / flat.area_inside() - 1
    wall = gauge / (1 + (1 - case.setting["dome-draw-in"]) * stretch)
    panel = domed_panel(base, dome, wall=wall)
    bottom = panel + chime(base)
    base_metal = bottom.metal()
    shape = bottom + ironed_wall(
        step_sizes(case, thin=ironed.thin, thick=ironed.thick),
        foot=base.wall_start,
        volume=blank.volume - base_metal,
    )
    layout = dome_layout(base, dome, wall=wall)
    height = shape.top()
    ear = _ear_on_can(case, drawn, ironed)
    return Domed(
        shape=shape,
        base=bottom,
        wall=wall,
        stretch=stretch,
        thinning=1 - wall / gauge,
        edge_angle=layout.edge_angle,
        leg_length=layout.leg_length,
        depth_share=spec.depth / spec.stand_diameter,
        body_outside=np.maximum(
            punch.wall_diameter + 2 * ironed.thin, punch.neck_diameter + 2 * ironed.thick
        ),
        mouth_inside=punch.neck_diameter,
        height=height,
        ear=ear,
        valley=height - ear / 2,
        peak=height + ear / 2,
        base_mass=blank_formulas.mass(volume=base_metal, density=case.stock.density),
    )


def _ear_on_can(case: Case, drawn: Cup, ironed: Ironed) -> Mm:
    """Ears after ironing: the metal of the cup's ears on the smaller and thinner rim [mm]."""
    cup_rim = tube_section(inside_radius=case.format.cup.punch_diameter / 2, wall=drawn.rim)
    can_rim = tube_section(inside_radius=case.format.punch.neck_diameter / 2, wall=ironed.thick)
    return drawn.ear * cup_rim / can_rim


def take_trimmed(case: Case, blank: Blank, ironed: Ironed, domed: Domed) -> Trimmed:
    """The can cut to height."""
    cut = case.format.trim.height
    shape = body_below(case, domed, ironed, top=cut)
    metal = shape.metal()
    scrap_mass = blank.mass - blank_formulas.mass(volume=metal, density=case.stock.density)
    rim = tube_section(inside_radius=case.format.punch.neck_diameter / 2, wall=ironed.thick)
    needed = metal + domed.ear / 2 * rim
    return Trimmed(
        shape=shape,
        allowance=domed.valley - cut,
        mean_allowance=domed.height - cut,
        peak_allowance=domed.peak - cut,
        trim_mass=1000 * scrap_mass,
        trim_share=scrap_mass / blank.mass,
        blank_needed=blank_formulas.diameter_for_volume(volume=needed, gauge=case.format.stock.gauge),
    )


def body_below(case: Case, domed: Domed, ironed: Ironed, *, top: Mm) -> Meridian:
    """The domed can up to a height above the step."""
    base = base_sizes(case, wall=ironed.thin)
    wall = cut_wall(step_sizes(case, thin=ironed.thin, thick=ironed.thick), foot=base.wall_start, top=top)
    return domed.base + wall
