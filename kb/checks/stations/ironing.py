"""Checks of the ironing rings and the walls they make."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from kb.checks.rule import Default, Measured, rule
from kb.route.case import Case
from kb.route.stations import Route


@rule(
    "ironing.bore-order",
    unit="mm",
    reads="case",
    default=Default(least=0.01, source="Common practice, no source"),
)
def ironing_bore_order(case: Case) -> Iterator[Measured]:
    """Each ring is smaller than the one before it.

    Why:
        A ring no smaller than the one before it does no work; usually two rings are exchanged.
    Data:
        ironing.rings[].bore
    Formula:
        Definition: bore less the next bore.
    To fix:
        Put the rings in falling order.
    """
    for i, (before, after) in enumerate(pairwise(case.format.ironing.rings), start=1):
        key = f"format.ironing.rings[{i}].bore"
        what = f"ring {i} bore less ring {i + 1} bore"
        yield Measured(key, what, before.bore - after.bore, least=0.0, levers=(key,))


@rule(
    "ironing.distance-order",
    unit="mm",
    reads="case",
    default=Default(least=10.0, source="A ring and its spacer; common practice, no source"),
)
def ironing_distance_order(case: Case) -> Iterator[Measured]:
    """Each ring stands further along the ram than the one before it.

    Why:
        The wall meets the rings in the order of their distance; the list must show the same order.
    Data:
        ironing.rings[].distance
    Formula:
        Definition: distance of the next ring less distance of the ring.
    To fix:
        Correct the distance, or the order of the rings.
    """
    for i, (before, after) in enumerate(pairwise(case.format.ironing.rings), start=1):
        key = f"format.ironing.rings[{i}].distance"
        yield Measured(
            key,
            f"distance from ring {i} to ring {i + 1}",
            after.distance - before.distance,
            least=0.0,
            levers=(key,),
        )


@rule(
    "ironing.bore-over-punch",
    unit="mm",
    reads="case",
    default=Default(least=0.1, source="Common practice, no source"),
)
def ironing_bore_over_punch(case: Case) -> Iterator[Measured]:
    """The last ring is wider than the punch.

    Why:
        Half the difference is the wall; at zero the punch runs into the ring.
    Data:
        ironing.rings[].bore, punch.wall_diameter
    Formula:
        kb.process.ironing.gap
    To fix:
        Open the ring, or correct the punch diameter.
    """
    last = len(case.format.ironing.rings) - 1
    key = f"format.ironing.rings[{last}].bore"
    yield Measured(
        key,
        "last ring less punch diameter",
        case.format.ironing.rings[last].bore - case.format.punch.wall_diameter,
        least=0.0,
        levers=(key,),
    )


@rule("ironing.ring-body", unit="mm", reads="case", limit="spec", levers=("format.ironing.outside_diameter",))
def ironing_ring_body(case: Case) -> Iterator[Measured]:
    """The rings have a body outside their bores.

    Why:
        The ring's body resists its opening; one no thicker than its land is long is a wrong number,
        usually a bore or a radius written for the outside.
    Data:
        ironing.outside_diameter, ironing.rings[].bore, ironing.land
    Formula:
        Definition: half of outside diameter less the widest bore, against the land.
    To fix:
        Correct the outside diameter or the bore.
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
    unit="deg",
    severity="warning",
    levers=("format.ironing.half_angle",),
    default=Default(least=5.0, most=10.0, source="Semi-angle usually 5 to 10 degrees, from memory"),
)
def ironing_half_angle(route: Route) -> Iterator[Measured]:
    """The rings' entry angle is one that irons well.

    Why:
        A flat angle rubs over a long way, a steep one shears and starves the land of coolant.
    Data:
        ironing.half_angle
    Formula:
        Definition.
    To fix:
        Grind the entry to an angle inside the window.
    """
    yield Measured("format.ironing.half_angle", "entry half angle", route.case.format.ironing.half_angle)


@rule(
    "ironing.land",
    unit="mm",
    severity="warning",
    levers=("format.ironing.land",),
    default=Default(least=0.2, most=1.2, source="From memory of the literature"),
)
def ironing_land(route: Route) -> Iterator[Measured]:
    """The rings' land is long enough to hold size and short enough not to pick up.

    Why:
        The land sets the wall; a short one wears out of size, a long one rubs metal onto itself.
    Data:
        ironing.land
    Formula:
        Definition.
    To fix:
        Regrind the land to a length inside the window.
    """
    yield Measured("format.ironing.land", "land", route.case.format.ironing.land)


@rule(
    "ironing.ring-reduction",
    unit="-",
    show="%",
    default=Default(most=0.42, source="Third ring 38 to 42 % in aluminium can practice, from memory"),
)
def ironing_ring_reduction(route: Route) -> Iterator[Measured]:
    """No ring takes more of the wall than it can.

    Why:
        Above some share the wall tears off or runs uneven round the can. Thin and thick wall are both
        looked at.
    Data:
        ironing.rings[].bore, punch.wall_diameter, punch.neck_diameter, stock.gauge
    Formula:
        kb.process.ironing.reduction
    To fix:
        Open this ring, or close the one before it so that it takes more.
    """
    for i, ring in enumerate(route.ironed):
        at = f"format.ironing.rings[{i}].bore"
        levers = (at, f"format.ironing.rings[{i - 1}].bore") if i else (at, "format.stock.gauge")
        yield Measured(at, f"ring {i + 1} reduction of the thin wall", ring.reduction, levers=levers)
        yield Measured(at, f"ring {i + 1} reduction of the thick wall", ring.thick_reduction, levers=levers)


@rule(
    "ironing.ring-work",
    unit="-",
    show="%",
    severity="warning",
    default=Default(least=0.08, source="From memory of the literature"),
)
def ironing_ring_work(route: Route) -> Iterator[Measured]:
    """No ring runs nearly idle.

    Why:
        A ring that takes little does not centre the wall and leaves its share to the others.
    Data:
        ironing.rings[].bore, punch.wall_diameter, stock.gauge
    Formula:
        kb.process.ironing.reduction
    To fix:
        Close the idle ring.
    """
    for i, ring in enumerate(route.ironed):
        at = f"format.ironing.rings[{i}].bore"
        yield Measured(at, f"ring {i + 1} reduction of the thin wall", ring.reduction, levers=(at,))


@rule(
    "ironing.rising-reduction",
    unit="-",
    show="%",
    severity="warning",
    default=Default(least=0.0, source="Common practice, no source"),
)
def ironing_rising_reduction(route: Route) -> Iterator[Measured]:
    """Each ring takes at least the share of the one before it.

    Why:
        The wall gets stronger and its entry more even on the way, so the later rings can take more; a
        plan that falls usually has two rings or two numbers exchanged.
    Data:
        ironing.rings[].bore, punch.wall_diameter, stock.gauge
    Formula:
        kb.process.ironing.reduction
    To fix:
        Shift work to the later ring by opening the one before it.
    """
    for i, (before, after) in enumerate(pairwise(route.ironed), start=1):
        yield Measured(
            f"format.ironing.rings[{i}].bore",
            f"ring {i + 1} reduction less ring {i} reduction",
            after.reduction - before.reduction,
            levers=(f"format.ironing.rings[{i - 1}].bore", f"format.ironing.rings[{i}].bore"),
        )


@rule(
    "ironing.total-reduction",
    unit="-",
    show="%",
    levers=("format.stock.gauge", "format.ironing.rings[2].bore"),
    default=Default(most=0.7, source="Total 60 to 70 % in three rings, from memory"),
)
def ironing_total_reduction(route: Route) -> Iterator[Measured]:
    """The rings together leave metal enough to hold.

    Why:
        The wall is at the end of what it can give; a few microns more show as tear-offs.
    Data:
        stock.gauge, ironing.rings[].bore, punch.wall_diameter
    Formula:
        kb.process.ironing.total_reduction
    To fix:
        A thinner gauge or a thicker wall.
    """
    yield Measured("format.stock.gauge", "total reduction of the thin wall", route.stroke.total_reduction)


@rule(
    "ironing.exit-stress",
    unit="-",
    show="%",
    default=Default(most=0.75, source="From memory of the literature"),
)
def ironing_exit_stress(route: Route) -> Iterator[Measured]:
    """The wall leaving each ring can carry the ring's pull.

    Why:
        The finished wall pulls the thick wall through; when its stress nears its strength it tears off.
    Data:
        ironing.rings[].bore, ironing.half_angle, stock.gauge, material hardening, friction settings
    Formula:
        kb.process.ironing.exit_stress over kb.process.material.flow_stress
    To fix:
        Take less in this ring; keep the punch rougher than the ring, so that it helps to carry.
    """
    for i, ring in enumerate(route.ironed):
        at = f"format.ironing.rings[{i}].bore"
        yield Measured(
            at,
            f"ring {i + 1} exit stress over wall strength",
            ring.stress_share,
            levers=(at, f"format.ironing.rings[{max(i - 1, 0)}].bore"),
        )


@rule("ironing.thin-wall", unit="mm", limit="spec")
def ironing_thin_wall(route: Route) -> Iterator[Measured]:
    """Rings and punch give the thin wall that is asked for.

    Why:
        The wall is the gap plus what the last ring opens under load; the target and the tools are often
        changed one without the other.
    Data:
        ironing.rings[].bore, punch.wall_diameter, targets.thin_wall, ring settings
    Formula:
        kb.process.ironing.gap, kb.process.ironing.ring_growth, kb.process.ironing.thermal_growth
    To fix:
        Change the last ring's bore, or the target.
    """
    last = len(route.ironed) - 1
    low, high = route.case.band("format.targets.thin_wall")
    key = f"format.ironing.rings[{last}].bore"
    yield Measured(
        key,
        "thin wall",
        route.ironed[last].thin,
        least=low,
        most=high,
        against="the target's tolerance",
        levers=(key, "format.punch.wall_diameter"),
    )


@rule("ironing.thick-wall", unit="mm", limit="spec", levers=("format.punch.neck_diameter",))
def ironing_thick_wall(route: Route) -> Iterator[Measured]:
    """Rings and punch step give the thick wall that is asked for.

    Why:
        The necker needs it: too thin pleats, too thick jams.
    Data:
        ironing.rings[].bore, punch.neck_diameter, targets.thick_wall, ring settings
    Formula:
        kb.process.ironing.gap, kb.process.ironing.ring_growth, kb.process.ironing.thermal_growth
    To fix:
        Change the punch's neck diameter, or the target.
    """
    low, high = route.case.band("format.targets.thick_wall")
    yield Measured(
        "format.punch.neck_diameter",
        "thick wall",
        route.ironed[-1].thick,
        least=low,
        most=high,
        against="the target's tolerance",
    )


@rule("ironing.thick-wall-fed", unit="mm", default=Default(least=0.0, source="Common practice, no source"))
def ironing_thick_wall_fed(route: Route) -> Iterator[Measured]:
    """The last ring irons the thick wall too.

    Why:
        The wall grows upward on the punch, so what ends above the step was below it at the ring before. If
        that is thinner than the gap above the step, the neck gets a thinner wall than its tools say, and
        one that no ring has sized.
    Data:
        ironing.rings[].bore, punch.wall_diameter, punch.neck_diameter, ring settings
    Formula:
        Definition: thin wall of the ring before less the last ring's gap above the step, grown by load and
        heat.
    To fix:
        Open the ring before the last, or make the punch's neck diameter larger.
    """
    last = len(route.ironed) - 1
    before = f"format.ironing.rings[{max(last - 1, 0)}].bore"
    yield Measured(
        before,
        "wall that reaches the last ring above the step, less the gap there",
        route.ironed[last].spare,
        levers=(before, "format.punch.neck_diameter"),
    )


@rule(
    "ironing.rings-together",
    unit="count",
    limit_unit="-",
    severity="warning",
    default=Default(most=2.0, source="Common practice, no source"),
)
def ironing_rings_together(route: Route) -> Iterator[Measured]:
    """The rings stand far enough apart for as many as planned to work at once.

    Why:
        Two rings on the wall at once add their pull, and the wall between them is held at both ends.
    Data:
        ironing.rings[].distance, ironing.rings[].bore, blank.diameter
    Formula:
        Derived: ram travel from the ring taking the wall to the rim leaving it.
    To fix:
        Set the rings further apart with longer spacers.
    """
    last = len(route.ironed) - 1
    yield Measured(
        f"format.ironing.rings[{last}].distance",
        "rings on the wall at once",
        route.stroke.rings_together,
        levers=tuple(f"format.ironing.rings[{i}].distance" for i in range(last, 0, -1)),
    )
