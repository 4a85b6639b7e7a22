"""From trimmed can to filled can: neck, flange, seam, contents, strength."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from kb.process import blank as blank_formulas
from kb.process import dome, flange, gas, neck, seam, size_code, strength
from kb.process.meridian import Line, Meridian
from kb.process.profile import FlangeSizes, NeckSizes, cut_wall, tube_section
from kb.process.profile import flange as flange_shape
from kb.process.profile import neck as neck_shape
from kb.route.case import Case
from kb.route.forming import base_sizes, body_below, step_sizes
from kb.route.stations import (
    Detail,
    Domed,
    Filled,
    Flanged,
    Ironed,
    NeckStage,
    Pressure,
    Route,
    Seam,
    Strength,
    Trimmed,
)
from kb.units import DegC, Mm, Mm3, MPa, Samples

TEMPERATURES = (4.0, 20.0, 30.0, 40.0, 50.0, 60.0)
"""Where the pressure in the can is told [degC]."""


# --- neck -------------------------------------------------------------------------------------


def stage_diameters(case: Case) -> list[Mm]:
    """Inside diameters from the body to the plug, as declared or in equal shares [mm]."""
    spec, body = case.format.neck, case.format.punch.neck_diameter
    if spec.diameters:
        return [body, *spec.diameters]
    schedule = neck.equal_schedule(before=body, after=spec.plug_diameter, stages=spec.stages)
    return list(np.asarray(schedule))


def neck_wall(case: Case, ironed: Ironed, diameter: Mm) -> Mm:
    """Wall of a neck of some inside diameter, thickened by the plant's exponent [mm]."""
    return neck.wall_after(
        wall=ironed.thick,
        before=case.format.punch.neck_diameter,
        after=diameter,
        exponent=case.setting["neck-wall-exponent"],
    )


def take_necked(case: Case, ironed: Ironed) -> tuple[NeckStage, ...]:
    """Each pass of the necker."""
    spec, stock = case.format.neck, case.stock
    body = case.format.punch.neck_diameter
    flow = stock.hardening.saturation
    radius = case.format.punch.wall_diameter / 2
    thin_buckles = strength.knock_down(radius=radius, wall=ironed.thin) * strength.buckling_stress_classical(
        wall=ironed.thin, radius=radius, modulus=stock.modulus, poisson=stock.poisson
    )
    thin_section = tube_section(inside_radius=radius, wall=ironed.thin)
    stages = []
    for before, after in pairwise(stage_diameters(case)):
        wall = neck_wall(case, ironed, after)
        stress = neck.stage_stress(
            flow_stress=flow,
            before=before,
            after=after,
            half_angle=spec.angle,
            friction=case.setting["neck-friction"],
        )
        force = stress * tube_section(inside_radius=before / 2, wall=neck_wall(case, ironed, before))
        stages.append(
            NeckStage(
                diameter=after,
                die_bore=after + 2 * wall,
                pilot=after - 2 * spec.pilot_clearance,
                wall=wall,
                wall_low=neck.wall_free_length(wall=ironed.thick, before=body, after=after),
                wall_high=neck.wall_fixed_length(wall=ironed.thick, before=body, after=after),
                reduction=neck.stage_reduction(before=before, after=after),
                stress=stress,
                buckling_share=force / thin_section / thin_buckles,
                force=force,
            )
        )
    return tuple(stages)


# --- flange -----------------------------------------------------------------------------------


def neck_sizes(case: Case, *, plug: Mm, wall: Mm, neck_wall: Mm) -> NeckSizes:
    """The neck at some inside diameter."""
    spec = case.format.neck
    return NeckSizes(
        body_radius=case.format.punch.neck_diameter / 2,
        wall=wall,
        shoulder_height=spec.shoulder_height,
        shoulder_radius=spec.shoulder_radius,
        angle=spec.angle,
        neck_radius=spec.neck_radius,
        plug_radius=plug / 2,
        neck_wall=neck_wall,
    )


def flange_sizes(case: Case, *, neck_wall: Mm) -> FlangeSizes:
    """The flange on the finished neck."""
    spec, plug = case.format.flange, case.format.neck.plug_diameter
    edge = flange.flange_diameter(plug_diameter=plug, width=spec.width)
    return FlangeSizes(
        plug_radius=plug / 2,
        edge_radius=edge / 2,
        radius=spec.radius,
        angle=spec.angle,
        neck_wall=neck_wall,
        edge_wall=flange.edge_wall(
            wall=neck_wall, edge_strain=flange.edge_strain(neck_diameter=plug, flange_diameter=edge)
        ),
    )


def take_flanged(case: Case, ironed: Ironed, domed: Domed, trimmed: Trimmed) -> Flanged:
    """Neck and flange, the straight neck taking what metal the trim left."""
    plug = case.format.neck.plug_diameter
    wall = neck_wall(case, ironed, plug)
    lower = body_below(case, domed, ironed, top=case.format.neck.shoulder_height) + neck_shape(
        neck_sizes(case, plug=plug, wall=ironed.thick, neck_wall=wall)
    )
    lip = flange_sizes(case, neck_wall=wall)
    lip_metal = flange_shape(lip, foot=0.0).metal()
    straight = (trimmed.shape.metal() - lower.metal() - lip_metal) / tube_section(
        inside_radius=plug / 2, wall=wall
    )
    foot = lower.top()
    shape = (
        lower
        + Meridian((Line(plug / 2, foot, plug / 2, foot + straight, wall, wall),))
        + flange_shape(lip, foot=foot + straight)
    )
    height = shape.top()
    return Flanged(
        shape=shape,
        straight=straight,
        height=height,
        height_gap=height - case.format.flange.finished_height,
        flange_diameter=2 * lip.edge_radius,
        edge_strain=flange.edge_strain(neck_diameter=plug, flange_diameter=2 * lip.edge_radius),
        edge_wall=lip.edge_wall,
        neck_wall=wall,
        curl_clearance=case.end.curl_opening - 2 * lip.edge_radius,
        mass=blank_formulas.mass(volume=shape.metal(), density=case.stock.density),
        mass_declared=blank_formulas.mass(volume=declared_metal(case, domed), density=case.stock.density),
    )


def declared_metal(case: Case, domed: Domed) -> Mm3:
    """Metal of the body as declared: its target walls and finished height, not the rings' gaps [mm3].

    The blank and the rings give one mass, the targets another; where they part, a number is wrong.
    """
    targets, plug = case.format.targets, case.format.neck.plug_diameter
    wall = neck.wall_after(
        wall=targets.thick_wall,
        before=case.format.punch.neck_diameter,
        after=plug,
        exponent=case.setting["neck-wall-exponent"],
    )
    step = step_sizes(case, thin=targets.thin_wall, thick=targets.thick_wall)
    foot = base_sizes(case, wall=targets.thin_wall).wall_start
    body = domed.base + cut_wall(step, foot=foot, top=case.format.neck.shoulder_height)
    shoulder = neck_shape(neck_sizes(case, plug=plug, wall=targets.thick_wall, neck_wall=wall))
    lip = flange_shape(flange_sizes(case, neck_wall=wall), foot=0.0)
    straight = case.format.flange.finished_height - shoulder.top() - lip.top()
    return (
        body.metal()
        + shoulder.metal()
        + lip.metal()
        + straight * tube_section(inside_radius=plug / 2, wall=wall)
    )


# --- end and seam -----------------------------------------------------------------------------


def take_seam(case: Case, flanged: Flanged) -> Seam:
    """The double seam as declared, against the end and the flange that make it."""
    spec, end = case.format.seam, case.end
    return Seam(
        overlap=seam.overlap(
            body_hook=spec.body_hook, end_hook=spec.end_hook, end_gauge=end.gauge, length=spec.length
        ),
        overlap_share=seam.overlap_share(
            body_hook=spec.body_hook,
            end_hook=spec.end_hook,
            end_gauge=end.gauge,
            body_wall=flanged.neck_wall,
            length=spec.length,
        ),
        free_space=seam.free_space(
            thickness=spec.thickness, end_gauge=end.gauge, body_wall=flanged.edge_wall
        ),
        thickness_target=seam.thickness_target(
            end_gauge=end.gauge, body_wall=flanged.edge_wall, allowance=case.setting["seam-allowance"]
        ),
        butting=seam.body_hook_butting(
            body_hook=spec.body_hook, length=spec.length, end_gauge=end.gauge, body_wall=flanged.edge_wall
        ),
        hook_from_flange=case.format.flange.width - case.setting["body-hook-loss"],
        chuck_clearance=seam.plug_chuck_clearance(
            plug_diameter=case.format.neck.plug_diameter, chuck_diameter=end.chuck_diameter
        ),
        countersink_room=end.countersink - spec.length,
        code_gap=end.curl_diameter - size_code.nominal_mm(code=end.code),
    )


# --- contents ---------------------------------------------------------------------------------


def end_displaces(case: Case) -> Mm3:
    """Room the end takes below the plane of the seam's top [mm3].

    Source:
        Derived: the cone frustum of the chuck wall down to the countersink, less the raised panel.
    """
    end = case.end
    upper = case.format.neck.plug_diameter / 2 - end.gauge
    lower = upper - end.countersink * np.tan(np.radians(end.chuck_wall_angle))
    frustum = np.pi * end.countersink * (upper**2 + upper * lower + lower**2) / 3
    return frustum - np.pi / 4 * end.panel_diameter**2 * end.panel_height


def level_of(upper: Meridian, *, room: Mm3) -> Mm:
    """Height of the liquid's surface with some room above it.

    Args:
        upper: the body from the foot of its wall up to the flange
        room: volume between surface and flange [mm3]

    Returns:
        Height above the stand [mm]; never above the flange, never below the wall.

    Source:
        Derived: the room is counted down from the flange in thin frustums.
    """
    r, z = (axis[::-1] for axis in upper.points(per_arc=17))
    if np.ndim(room) > z.ndim - 1:
        r, z = r[:, np.newaxis], z[:, np.newaxis]
    slices = np.pi * (z[:-1] - z[1:]) * (r[1:] ** 2 + r[1:] * r[:-1] + r[:-1] ** 2) / 3
    above = np.concatenate([np.zeros_like(z[:1]), np.cumsum(slices, axis=0)])
    below = np.asarray(np.clip(np.sum(above < room, axis=0), 1, len(z) - 1))
    r0, z0, wanted = _pick(r, below - 1), _pick(z, below - 1), room - _pick(above, below - 1)
    widens, falls = _pick(r, below) - r0, np.maximum(z0 - _pick(z, below), 1e-12)
    share = np.clip(wanted / np.maximum(_pick(slices, below - 1), 1e-12), 0.0, 1.0)
    for _ in range(4):  # Newton's method: a cone's room grows with the cube of its height
        filled = np.pi * falls * share * (r0**2 + r0 * widens * share + (widens * share) ** 2 / 3)
        share = np.clip(share + (wanted - filled) / (np.pi * falls * (r0 + widens * share) ** 2), 0.0, 1.0)
    return z0 - share * falls


def _pick(values: Samples, index: NDArray[np.intp]) -> Samples:
    """From each column of `values` the row that `index` names."""
    columns = np.broadcast_to(values, (len(values), *index.shape))
    return np.take_along_axis(columns, index[np.newaxis], axis=0)[0]


def take_filled(case: Case, ironed: Ironed, domed: Domed, flanged: Flanged) -> Filled:
    """Capacity, headspace, pressure."""
    spec, plant = case.format.fill, case.plant
    brimful = flanged.shape.enclosed()
    sealed = brimful - end_displaces(case)
    headspace = sealed - spec.contents
    upper = Meridian(flanged.shape.pieces[len(domed.base.pieces) :])
    level = level_of(upper, room=brimful - spec.contents)
    hoop = strength.hoop_stress(
        pressure=plant.design_pressure,
        radius=case.format.punch.wall_diameter / 2,
        wall=ironed.thin,
    )
    return Filled(
        brimful=brimful,
        sealed=sealed,
        headspace_volume=headspace,
        headspace_share=headspace / spec.contents,
        fill_level=level,
        headspace=flanged.height - level,
        finished_mass=flanged.mass + case.end.mass,
        hoop_stress=hoop,
        hoop_share=hoop / ironed.exit_strength,
        fill_pressure=pressure_at(case, headspace, temperature=spec.temperature),
        room_pressure=pressure_at(case, headspace, temperature=plant.gauge_temperature),
        warmest_pressure=pressure_at(case, headspace, temperature=plant.warmest),
    )


def pressure_at(case: Case, headspace: Mm3, *, temperature: DegC) -> MPa:
    """Inside pressure of the closed can over the air outside [MPa]."""
    spec = case.format.fill
    return gas.can_pressure(
        temperature=temperature,
        volumes=spec.carbonation,
        liquid_volume=spec.contents,
        headspace_volume=np.maximum(headspace, 1.0),
        nitrogen_mass=spec.nitrogen,
    )


def take_detail(route: Route) -> Detail:
    """What no check asks for and a reader may: surfaces to coat, pressure over temperature."""
    shape, headspace = route.flanged.shape, route.filled.headspace_volume
    return Detail(
        area_inside=shape.area_inside(),
        area_outside=shape.area_outside(),
        pressures=tuple(
            Pressure(temperature=t, gauge_pressure=pressure_at(route.case, headspace, temperature=t))
            for t in TEMPERATURES
        ),
    )


# --- strength ---------------------------------------------------------------------------------


def take_strength(case: Case, ironed: Ironed, domed: Domed, filled: Filled) -> Strength:
    """Estimates: published bounds, and the plant's own trial scaled to this can."""
    spec, stock, setting = case.format.dome, case.stock, case.setting
    radius = case.format.punch.wall_diameter / 2 + ironed.thin / 2
    sphere = spec.radius + domed.wall / 2
    return Strength(
        reversal=dome.reversal_from_trial(
            trial_pressure=setting["dome-trial-pressure"],
            trial_wall=setting["dome-trial-gauge"],
            trial_yield=setting["dome-trial-yield"],
            trial_stand=setting["dome-trial-stand"],
            wall=domed.wall,
            yield_strength=stock.yield_after_bake,
            stand_diameter=spec.stand_diameter,
            exponent=setting["dome-trial-exponent"],
        ),
        reversal_cap_low=dome.sphere_buckling_lower_bound(
            radius=sphere,
            wall=domed.wall,
            modulus=stock.modulus,
            poisson=stock.poisson,
            base_diameter=2 * spec.radius * np.sin(np.radians(domed.edge_angle)),
        ),
        reversal_cap_high=dome.sphere_buckling_classical(
            radius=sphere, wall=domed.wall, modulus=stock.modulus, poisson=stock.poisson
        ),
        reversal_flat=dome.flat_end_collapse(
            radius=spec.stand_diameter / 2, wall=domed.wall, yield_strength=stock.yield_after_bake
        ),
        axial_empty=setting["axial-calibration"]
        * strength.axial_buckling_load(
            radius=radius, wall=ironed.thin, modulus=stock.modulus, poisson=stock.poisson
        ),
        axial_full=setting["axial-calibration"]
        * strength.axial_buckling_load(
            radius=radius,
            wall=ironed.thin,
            modulus=stock.modulus,
            poisson=stock.poisson,
            pressure=np.maximum(filled.room_pressure, 0.0),
        ),
        knock_down=strength.knock_down(radius=radius, wall=ironed.thin),
    )
