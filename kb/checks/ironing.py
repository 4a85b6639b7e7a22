"""Checks on the ironing rings and the punch."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from kb.checks.rule import Default, Measured, rule
from kb.route.stations import Route


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


@rule(
    "punch.strip-step",
    unit="mm",
    severity="warning",
    levers=("format.punch.neck_diameter",),
    default=Default(most=0.085, source="From memory of the literature"),
)
def punch_strip_step(route: Route) -> Iterator[Measured]:
    """The punch's step is not so deep that the can will not strip.

    Why:
        The inside of the thick wall is smaller than the punch below it; stripping has to open it.
    Data:
        punch.wall_diameter, punch.neck_diameter
    Formula:
        Definition: half the difference of the two diameters.
    To fix:
        Make the punch's neck diameter larger.
    """
    punch = route.case.format.punch
    step = (punch.wall_diameter - punch.neck_diameter) / 2
    yield Measured("format.punch.neck_diameter", "step of the punch", step)


@rule(
    "punch.runout",
    unit="-",
    show="%",
    severity="warning",
    levers=(),
    default=Default(most=0.5, source="Common practice, no source"),
)
def punch_runout(route: Route) -> Iterator[Measured]:
    """The sizes' tolerances alone keep the thin wall even enough.

    Why:
        What ring and punch tolerances spend of the wall band is not there for run-out, heat and wear.
    Data:
        ironing.rings[].bore, punch.wall_diameter, targets.thin_wall
    Formula:
        Derived: half the sum of the two diameters' bands over the band of the thin wall.
    To fix:
        Buy the ring and the punch closer, or agree a wider wall.
    """
    case, last = route.case, len(route.ironed) - 1
    ring = case.band(f"format.ironing.rings[{last}].bore")
    punch = case.band("format.punch.wall_diameter")
    wall = case.band("format.targets.thin_wall")
    spent = (ring[1] - ring[0] + punch[1] - punch[0]) / 2
    yield Measured(
        "format.targets.thin_wall",
        "tool tolerance over wall band",
        spent / np.maximum(wall[1] - wall[0], 1e-9),
    )
