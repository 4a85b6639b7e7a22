"""The neck, pressed inward stage by stage."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from kb.process import material, neck, strength
from kb.process.profile import NeckSizes, tube_section
from kb.route.case import Case
from kb.route.station import Results, Station, result
from kb.route.stations.ironing import Ironed
from kb.units import Mm, MPa, N, Ratio


@dataclass(frozen=True, slots=True)
class NeckStage:
    """One pass of the necker."""

    diameter: Mm = result("inside diameter", walk=True, column=True)
    die_bore: Mm = result("die bore", walk=True, column=True)
    pilot: Mm = result("pilot diameter", walk=True, column=True)
    wall: Mm = result("wall", main=True, walk=True, column=True)
    wall_low: Mm = result("wall, free to lengthen")
    wall_high: Mm = result("wall, at fixed length")
    reduction: Ratio = result("diameter reduction", "%", main=True, walk=True, column=True)
    bending_stress: MPa = result("share of bending and unbending in the axial stress")
    stress: MPa = result("axial stress of necking", walk=True, column=True)
    buckling_share: Ratio = result(
        "axial stress ÷ buckling stress of the wall", "%", column=True, estimate=True
    )
    force: N = result("necking force", "kN", main=True, column=True)
    pleating: Ratio = result("diameter step ÷ wall, for pleats", estimate=True)


def take_necked(case: Case, ironed: tuple[Ironed, ...]) -> tuple[NeckStage, ...]:
    """Each pass of the necker."""
    last = ironed[-1]
    spec, stock = case.format.neck, case.stock
    body = case.format.punch.neck_diameter
    flow = stock.hardening.saturation
    radius = case.format.punch.wall_diameter / 2
    thin_buckles = strength.knock_down(radius=radius, wall=last.thin) * strength.buckling_stress_classical(
        wall=last.thin, radius=radius, modulus=stock.modulus, poisson=stock.poisson
    )
    thin_section = tube_section(inside_radius=radius, wall=last.thin)
    stages = []
    for before, after in pairwise(stage_diameters(case)):
        wall = neck_wall(case, last, after)
        wall_before = neck_wall(case, last, before)
        bending = sum(
            neck.bending_stress(
                flow_stress=flow,
                wall=wall_before,
                radius=tool_radius + wall_before / 2,
                bends=case.setting["neck-bends"] / 2,
            )
            for tool_radius in (spec.shoulder_radius, spec.neck_radius)
        )
        stress = bending + neck.stage_stress(
            flow_stress=flow,
            before=before,
            after=after,
            half_angle=spec.angle,
            friction=case.setting["neck-friction"],
        )
        force = stress * tube_section(inside_radius=before / 2, wall=wall_before)
        stages.append(
            NeckStage(
                diameter=after,
                die_bore=after + 2 * wall,
                pilot=after - 2 * spec.pilot_clearance,
                wall=wall,
                wall_low=neck.wall_after(wall=last.thick, before=body, after=after, exponent=0.5),
                wall_high=neck.wall_after(wall=last.thick, before=body, after=after, exponent=1.0),
                reduction=material.reduction(before=before, after=after),
                bending_stress=bending,
                stress=stress,
                buckling_share=force / thin_section / thin_buckles,
                force=force,
                pleating=neck.pleating(before=before, after=after, wall=wall_before),
            )
        )
    return tuple(stages)


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


STATION = Station(
    id="neck",
    title="Neck",
    description="Dies press the rim inward in small stages. The diameter decreases and the wall thickens.",
    machine="necker",
    blocks=("neck",),
    views=("neck",),
    tools=("neck",),
    interface=("neck.plug_diameter",),
    changed_with="neck",
    results=(
        Results(
            "necked",
            "Neck",
            NeckStage,
            take_necked,
            checks=("neck",),
            member="stage {}",
            step="Neck {} of {}",
        ),
    ),
)
