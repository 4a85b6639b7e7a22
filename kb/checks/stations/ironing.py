"""Checks of the ironing rings and the walls they make."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from kb.checks.rule import Measured, measured_result, rule
from kb.route.case import Case
from kb.route.stations import Route


@rule("ironing.bore-order", "mm", least=0.01, source="Common practice, no source")
def ironing_bore_order(case: Case) -> Iterator[Measured]:
    """Each ring is smaller than the one before it.

    Why: A ring that is not smaller than the one before it does no work. Usually two rings are exchanged.
    Data: ironing.rings[].bore
    Formula: Definition: bore minus the next bore.
    To fix: Put the rings in falling order.
    """
    for i, (before, after) in enumerate(pairwise(case.format.ironing.rings), start=1):
        key = f"format.ironing.rings[{i}].bore"
        what = f"ring {i} bore minus ring {i + 1} bore"
        yield Measured(key, what, before.bore - after.bore, least=0.0)


@rule("ironing.distance-order", "mm", least=10.0, source="A ring and its spacer; common practice, no source")
def ironing_distance_order(case: Case) -> Iterator[Measured]:
    """Each ring is further along the ram than the one before it.

    Why: The wall meets the rings in the order of their distances. The list must have the same order.
    Data: ironing.rings[].distance
    Formula: Definition: distance of the next ring minus distance of the ring.
    To fix: Correct the distance, or the order of the rings.
    """
    for i, (before, after) in enumerate(pairwise(case.format.ironing.rings), start=1):
        key = f"format.ironing.rings[{i}].distance"
        yield Measured(
            key, f"distance from ring {i} to ring {i + 1}", after.distance - before.distance, least=0.0
        )


@rule("ironing.bore-over-punch", "mm", least=0.1, source="Common practice, no source")
def ironing_bore_over_punch(case: Case) -> Iterator[Measured]:
    """The last ring is wider than the punch.

    Why: Half the difference is the wall. At zero the punch hits the ring.
    Data: ironing.rings[].bore, punch.wall_diameter
    Formula: kb.process.ironing.gap
    To fix: Open the bore of the last ring, or correct the punch diameter.
    """
    last = len(case.format.ironing.rings) - 1
    key = f"format.ironing.rings[{last}].bore"
    yield Measured(
        key,
        "last ring bore minus punch diameter",
        case.format.ironing.rings[last].bore - case.format.punch.wall_diameter,
        least=0.0,
    )


@rule("ironing.ring-body", "mm", limit="spec")
def ironing_ring_body(case: Case) -> Iterator[Measured]:
    """The body of each ring is thicker than its land is long.

    Why: The ring body keeps the bore from opening under load. A thinner body is a wrong number: usually a
        bore or a radius written as the outside diameter.
    Data: ironing.outside_diameter, ironing.rings[].bore, ironing.land
    Formula: Definition: half the difference of outside diameter and widest bore, compared with the land.
    To fix: Correct the outside diameter or the bore.
    """
    spec = case.format.ironing
    widest = np.max(np.broadcast_arrays(*(ring.bore for ring in spec.rings)), axis=0)
    yield Measured(
        "format.ironing.outside_diameter",
        "ring body outside the widest bore",
        (spec.outside_diameter - widest) / 2,
        least=spec.land,
        against="the land",
    )


@rule(
    "ironing.half-angle",
    "deg",
    severity="warning",
    least=5.0,
    most=10.0,
    source="Semi-angle usually 5 to 10 degrees, from memory",
)
def ironing_half_angle(route: Route) -> Iterator[Measured]:
    """The entry angle of the rings suits ironing.

    Why: A small angle rubs over a long contact. A large angle shears the metal and keeps coolant off the
        land.
    Data: ironing.half_angle
    Formula: Definition.
    To fix: Grind the entry to an angle within the limits.
    """
    yield Measured("format.ironing.half_angle", "entry half angle", route.case.format.ironing.half_angle)


@rule("ironing.land", "mm", severity="warning", least=0.2, most=1.2, source="From memory, no publication")
def ironing_land(route: Route) -> Iterator[Measured]:
    """The land is long enough to hold its size and short enough to avoid pick-up.

    Why: The land sets the wall. A short land wears out of size. A long land picks up metal.
    Data: ironing.land
    Formula: Definition.
    To fix: Regrind the land to a length within the limits.
    """
    yield Measured("format.ironing.land", "land", route.case.format.ironing.land)


@rule(
    "ironing.ring-reduction",
    "-",
    show="%",
    most=0.42,
    source="Third ring 38 to 42 % in aluminium can practice, from memory",
)
def ironing_ring_reduction(route: Route) -> Iterator[Measured]:
    """The reduction of each ring is below its limit.

    Why: Above the limit the wall tears off or becomes uneven round the can. Both the thin and the thick wall
        are checked.
    Data: ironing.rings[].bore, punch.wall_diameter, punch.neck_diameter, stock.gauge
    Formula: kb.process.material.reduction
    To fix: Use a larger bore in this ring, or a smaller bore in the ring before it.
    """
    for i in range(len(route.ironed)):
        at = f"format.ironing.rings[{i}].bore"
        levers = (at, f"format.ironing.rings[{i - 1}].bore") if i else (at, "format.stock.gauge")
        yield measured_result(
            route, f"ironed[{i}].reduction", at, f"ring {i + 1} reduction of the thin wall", levers=levers
        )
        yield measured_result(
            route,
            f"ironed[{i}].thick_reduction",
            at,
            f"ring {i + 1} reduction of the thick wall",
            levers=levers,
        )


@rule(
    "ironing.ring-work", "-", show="%", severity="warning", least=0.08, source="From memory, no publication"
)
def ironing_ring_work(route: Route) -> Iterator[Measured]:
    """Each ring takes a useful reduction.

    Why: A ring with a small reduction does not centre the wall. The other rings must take its reduction.
    Data: ironing.rings[].bore, punch.wall_diameter, stock.gauge
    Formula: kb.process.material.reduction
    To fix: Use a smaller bore in this ring.
    """
    for i in range(len(route.ironed)):
        at = f"format.ironing.rings[{i}].bore"
        yield measured_result(route, f"ironed[{i}].reduction", at, f"ring {i + 1} reduction of the thin wall")


@rule(
    "ironing.rising-reduction",
    "-",
    show="%",
    severity="warning",
    least=0.0,
    source="Common practice, no source",
)
def ironing_rising_reduction(route: Route) -> Iterator[Measured]:
    """The reduction of each ring is at least that of the ring before it.

    Why: The wall becomes stronger and more even from ring to ring, so the later rings can take more. If the
        reduction falls, usually two rings or two numbers are exchanged.
    Data: ironing.rings[].bore, punch.wall_diameter, stock.gauge
    Formula: kb.process.material.reduction
    To fix: Use a larger bore in the ring before it.
    """
    for i, (before, after) in enumerate(pairwise(route.ironed), start=1):
        yield Measured(
            f"format.ironing.rings[{i}].bore",
            f"ring {i + 1} reduction minus ring {i} reduction",
            after.reduction - before.reduction,
            levers=(f"format.ironing.rings[{i - 1}].bore", f"format.ironing.rings[{i}].bore"),
        )


@rule(
    "ironing.total-reduction",
    "-",
    show="%",
    levers=("format.stock.gauge", "format.ironing.rings[2].bore"),
    most=0.7,
    source="Total 60 to 70 % in three rings, from memory",
)
def ironing_total_reduction(route: Route) -> Iterator[Measured]:
    """The total reduction of the rings is below its limit.

    Why: The wall is near the forming limit. A few microns more cause tear-offs.
    Data: stock.gauge, ironing.rings[].bore, punch.wall_diameter
    Formula: kb.process.material.reduction
    To fix: Use a thinner gauge or a thicker wall.
    """
    yield measured_result(
        route, "stroke.total_reduction", "format.stock.gauge", "total reduction of the thin wall"
    )


@rule("ironing.exit-stress", "-", show="%", most=0.75, source="From memory, no publication")
def ironing_exit_stress(route: Route) -> Iterator[Measured]:
    """The wall that leaves each ring carries the ironing force of that ring.

    Why: The finished wall pulls the thicker wall through the ring. If its stress comes near its strength, the
        wall tears off.
    Data: ironing.rings[].bore, ironing.half_angle, stock.gauge, material hardening, friction settings
    Formula: kb.process.ironing.exit_stress ÷ kb.process.material.flow_stress
    To fix: Reduce less in this ring. Keep the punch surface rougher than the ring, so that friction carries
        part of the force.
    """
    for i in range(len(route.ironed)):
        at = f"format.ironing.rings[{i}].bore"
        yield measured_result(
            route,
            f"ironed[{i}].stress_share",
            at,
            f"ring {i + 1} exit stress ÷ wall strength",
            levers=(at, f"format.ironing.rings[{max(i - 1, 0)}].bore"),
        )


@rule("ironing.thin-wall", "mm", limit="spec")
def ironing_thin_wall(route: Route) -> Iterator[Measured]:
    """Rings and punch give the target thin wall.

    Why: The wall is the gap plus the opening of the last ring under load. Often the target or the tools are
        changed, but not both.
    Data: ironing.rings[].bore, punch.wall_diameter, targets.thin_wall, ring settings
    Formula: kb.process.ironing.gap, kb.process.ironing.ring_growth, kb.process.ironing.thermal_growth
    To fix: Change the bore of the last ring, or the target.
    """
    last = len(route.ironed) - 1
    low, high = route.case.band("format.targets.thin_wall")
    key = f"format.ironing.rings[{last}].bore"
    yield measured_result(
        route,
        f"ironed[{last}].thin",
        key,
        "thin wall",
        least=low,
        most=high,
        against="the target's tolerance",
        levers=(key, "format.punch.wall_diameter"),
    )


@rule("ironing.thick-wall", "mm", limit="spec")
def ironing_thick_wall(route: Route) -> Iterator[Measured]:
    """Rings and punch give the target thick wall.

    Why: The necker needs this wall. A thinner wall pleats, a thicker wall jams.
    Data: ironing.rings[].bore, punch.neck_diameter, targets.thick_wall, ring settings
    Formula: kb.process.ironing.gap, kb.process.ironing.ring_growth, kb.process.ironing.thermal_growth
    To fix: Change the neck diameter of the punch, or the target.
    """
    low, high = route.case.band("format.targets.thick_wall")
    yield measured_result(
        route,
        f"ironed[{len(route.ironed) - 1}].thick",
        "format.punch.neck_diameter",
        "thick wall",
        least=low,
        most=high,
        against="the target's tolerance",
    )


@rule("ironing.thick-wall-fed", "mm", least=0.0, source="Common practice, no source")
def ironing_thick_wall_fed(route: Route) -> Iterator[Measured]:
    """The last ring irons the thick wall too.

    Why: The wall moves up the punch during ironing, so the wall that ends above the step came from below it.
        If that wall is thinner than the gap above the step, no ring sizes the thick wall. The neck is then
        thinner than the tools give.
    Data: ironing.rings[].bore, punch.wall_diameter, punch.neck_diameter, ring settings
    Formula: Definition: thin wall after the ring before the last − gap of the last ring above the step, with
        its growth by load and heat.
    To fix: Use a larger bore in the ring before the last, or a larger neck diameter on the punch.
    """
    last = len(route.ironed) - 1
    before = f"format.ironing.rings[{max(last - 1, 0)}].bore"
    yield measured_result(
        route,
        f"ironed[{last}].spare",
        before,
        "wall entering the last ring minus its gap, above the step",
        levers=(before, "format.punch.neck_diameter"),
    )


@rule(
    "ironing.rings-together",
    "count",
    limit_unit="-",
    severity="warning",
    most=2.0,
    source="Common practice, no source",
)
def ironing_rings_together(route: Route) -> Iterator[Measured]:
    """The rings are far enough apart that only the permitted number works at once.

    Why: Two rings on the wall at once add their forces. The wall between them is held at both ends and can
        tear.
    Data: ironing.rings[].distance, ironing.rings[].bore, blank.diameter
    Formula: Derived: ram travel from the first contact of the ring to the exit of the rim.
    To fix: Use longer spacers between the rings.
    """
    last = len(route.ironed) - 1
    yield measured_result(
        route,
        "stroke.rings_together",
        f"format.ironing.rings[{last}].distance",
        "rings on the wall at once",
        levers=tuple(f"format.ironing.rings[{i}].distance" for i in range(last, 0, -1)),
    )
