"""The wall through the ironing rings, one by one and all together."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from kb.process import ironing, material
from kb.process.meridian import Meridian
from kb.process.profile import chime, flat_panel, ironed_wall, tube_section
from kb.route.body import base_sizes, step_sizes
from kb.route.case import Case
from kb.route.station import Results, Station, result
from kb.route.stations.blank import Blank
from kb.route.stations.redraw import Redrawn, drawn_strain
from kb.units import Joule, Mm, Mm3, MPa, N, Number, Ratio

NO_WALL = 1e-6
"""What is left where heat grows the punch into the ring: no wall, and a number that formulas take [mm]."""


@dataclass(frozen=True, slots=True)
class Ironed:
    """The wall after one ring."""

    shape: Meridian
    gap: Mm = result("cold gap, ring to punch")
    growth: Mm = result("ring growth by load and heat, effect on the wall")
    thin: Mm = result("thin wall", main=True, walk=True, drivers="thin wall")
    thick: Mm = result("thick wall", main=True, walk=True, drivers="thick wall")
    spare: Mm = result("wall entering the ring minus its gap, above the step")
    reduction: Ratio = result("reduction, thin wall", "%", main=True, walk=True, column=True)
    thick_reduction: Ratio = result("reduction, thick wall", "%")
    strain: Ratio = result("thickness strain")
    exit_stress: MPa = result("wall stress at the exit of the ring")
    exit_strength: MPa = result("strength of the wall leaving the ring")
    stress_share: Ratio = result("exit stress ÷ strength", "%", walk=True)
    tension: N = result("wall tension at the exit of the ring", "kN")
    force: N = result("ram force at the ring", "kN", main=True, walk=True, column=True, estimate=True)
    thick_force: N = result("ram force at the ring, thick wall", "kN", estimate=True)
    height: Mm = result("height, mean", walk=True)
    engaged_from: Mm = result("ram travel at which ironing in the ring starts")
    engaged_to: Mm = result("ram travel at which ironing in the ring ends")
    work: Joule = result("ram work at the ring", estimate=True)
    ideal_work: Joule = result("ideal work at the ring, no friction")


@dataclass(frozen=True, slots=True)
class Stroke:
    """The ironing stroke as a whole."""

    total_reduction: Ratio = result("total ironing reduction, thin wall", "%", main=True)
    thick_total_reduction: Ratio = result("total ironing reduction, thick wall", "%")
    peak_force: N = result("maximum ram force, all rings", "kN", main=True, estimate=True)
    work: Joule = result("ram work in ironing, one can", estimate=True)
    ideal_work: Joule = result("ideal work of ironing, no friction")
    rings_together: Ratio = result("maximum number of rings on the wall at once")


def take_ironed(case: Case, blank: Blank, redrawn: Redrawn) -> tuple[Ironed, ...]:
    """The wall through each ring in turn.

    Note:
        The last few millimetres below the rim, which are trimmed off, pass two rings above the step and may
        come out thicker than the thick wall given here, which is that of the trimmed can.
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
    punch, ring = case.format.punch, case.format.ironing.rings[index]
    gap = ironing.gap(bore=ring.bore, punch_diameter=punch.wall_diameter)
    neck_gap = ironing.gap(bore=ring.bore, punch_diameter=punch.neck_diameter)
    growth = _growth(case, bore=ring.bore, strain=strain_in)
    thin = np.minimum(np.maximum(gap + growth, NO_WALL), thin_in)
    thick = np.minimum(np.maximum(neck_gap + growth, NO_WALL), thick_in)
    passed = _pass(case, index, strain_in=strain_in, wall_in=thin_in, wall_out=thin)
    above = _pass(case, index, strain_in=strain_in, wall_in=thick_in, wall_out=thick)
    strength = case.flow_stress(passed.strain_out)
    base = base_sizes(case, wall=thin)
    bottom = flat_panel(base) + chime(base)
    shape = bottom + ironed_wall(
        step_sizes(case, thin=thin, thick=thick), foot=base.wall_start, volume=blank.volume - bottom.metal()
    )
    height = shape.top()
    engaged_from = ring.distance + base.wall_start
    engaged_to = _leaves(case, index, metal=height * thin, growth=growth)
    travel = np.maximum(engaged_to - engaged_from, 0.0)
    below_step = np.clip(punch.step_height + punch.step_length / 2 - base.wall_start, 0.0, travel)
    thin_metal = below_step * tube_section(inside_radius=punch.wall_diameter / 2, wall=thin)
    thick_metal = (travel - below_step) * tube_section(inside_radius=punch.neck_diameter / 2, wall=thick)
    return Ironed(
        shape=shape,
        gap=gap,
        growth=growth,
        thin=thin,
        thick=thick,
        spare=thick_in - neck_gap - growth,
        reduction=material.reduction(before=thin_in, after=thin),
        thick_reduction=material.reduction(before=thick_in, after=thick),
        strain=passed.strain,
        exit_stress=passed.stress,
        exit_strength=strength,
        stress_share=passed.stress / strength,
        tension=passed.tension,
        force=passed.force,
        thick_force=above.force,
        height=height,
        engaged_from=engaged_from,
        engaged_to=engaged_to,
        work=(passed.force * below_step + above.force * (travel - below_step)) / 1000,
        ideal_work=passed.ideal_work(thin_metal) + above.ideal_work(thick_metal),
    )


class _Pass(NamedTuple):
    """One wall through one ring, as `_pass` computes it."""

    flow_stress: MPa
    strain: Ratio
    strain_out: Ratio
    stress: MPa
    tension: N
    force: N

    def ideal_work(self, volume: Mm3) -> Joule:
        """Least work that irons a volume of this wall [J]."""
        return ironing.ideal_work(flow_stress=self.flow_stress, strain=self.strain, volume=volume)


def _pass(case: Case, index: int, *, strain_in: Ratio, wall_in: Mm, wall_out: Mm) -> _Pass:
    """Stress, tension and ram force of a wall through ring `index`."""
    spec, punch, setting = case.format.ironing, case.format.punch.wall_diameter, case.setting
    friction = {
        "half_angle": spec.half_angle,
        "die_friction": setting["die-friction"],
        "punch_friction": setting["punch-friction"],
    }
    strain = material.strain(before=wall_in, after=wall_out)
    strain_out = strain_in + 2 / np.sqrt(3) * strain
    mean = case.mean_flow_stress(strain_in, strain_out)
    stress = ironing.exit_stress(flow_stress=mean, wall_in=wall_in, wall_out=wall_out, **friction)
    tension = ironing.wall_tension(stress=stress, mean_diameter=punch + wall_out, wall_out=wall_out)
    # on the land the wall is just short of yielding: pressure and tension together reach no more than that
    on_land = np.where(
        strain > 0, np.maximum(2 / np.sqrt(3) * case.flow_stress(strain_out) - stress, 0.0), 0.0
    )
    force = ironing.ram_force(
        tension=tension, land_pressure=on_land, bore=spec.rings[index].bore, land=spec.land, **friction
    )
    return _Pass(mean, strain, strain_out, stress, tension, force)


def _growth(case: Case, *, bore: Mm, strain: Ratio) -> Mm:
    """What load and heat add to the cold gap [mm]."""
    setting, punch = case.setting, case.format.punch.wall_diameter
    stretch = ironing.ring_growth(
        pressure=setting["ring-pressure-share"] * case.flow_stress(strain),
        bore=bore,
        outside_diameter=case.format.ironing.outside_diameter,
        modulus=setting["ring-modulus"],
        poisson=setting["ring-poisson"],
    )
    cold = case.plant.gauge_temperature
    ring_heat = ironing.thermal_growth(
        diameter=bore, expansion=setting["ring-expansion"], rise=case.plant.ring_temperature - cold
    )
    punch_heat = ironing.thermal_growth(
        diameter=punch, expansion=setting["punch-expansion"], rise=case.plant.punch_temperature - cold
    )
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


def take_stroke(case: Case, redrawn: Redrawn, ironed: tuple[Ironed, ...]) -> Stroke:
    """All rings together."""
    starts = [ring.engaged_from for ring in ironed]
    forces, counts = [], []
    for start in starts:
        on = [np.less_equal(r.engaged_from, start) & np.less(start, r.engaged_to) for r in ironed]
        forces.append(
            sum(
                np.where(held, np.maximum(ring.force, ring.thick_force), 0.0)
                for held, ring in zip(on, ironed, strict=True)
            )
        )
        counts.append(sum(np.where(held, 1.0, 0.0) for held in on))
    gauge = case.format.stock.gauge
    return Stroke(
        total_reduction=material.reduction(before=gauge, after=ironed[-1].thin),
        thick_total_reduction=material.reduction(before=redrawn.rim, after=ironed[-1].thick),
        peak_force=np.max(np.broadcast_arrays(*forces), axis=0),
        work=sum(ring.work for ring in ironed),
        ideal_work=sum(ring.ideal_work for ring in ironed),
        rings_together=np.max(np.broadcast_arrays(*counts), axis=0),
    )


STATION = Station(
    id="ironing",
    title="Ironing",
    description="The ring bore is smaller than punch plus two walls. The wall becomes thinner and longer.",
    machine="bodymaker",
    blocks=("ironing",),
    views=("pack", "ironing", "ring"),
    tools=("ironing",),
    changed_with="bodymaker",
    results=(
        Results("ironed", "Ironing", Ironed, take_ironed, member="ring {}", step="Ring {}"),
        Results("stroke", "Ironing stroke", Stroke, take_stroke, checks=("ironing", "punch")),
    ),
)
