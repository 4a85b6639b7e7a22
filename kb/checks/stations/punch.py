"""Checks of the bodymaker's punch."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from kb.checks.rule import Default, Measured, rule
from kb.route.case import Case
from kb.route.stations import Route


@rule(
    "punch.step-inward",
    unit="mm",
    reads="case",
    levers=("format.punch.neck_diameter",),
    default=Default(least=0.02, source="Common practice, no source"),
)
def punch_step_inward(case: Case) -> Iterator[Measured]:
    """The punch is smaller above its step than below.

    Why:
        The smaller diameter makes the thick wall for neck and flange. If the step points outward, the
        can cannot be stripped.
    Data:
        punch.wall_diameter, punch.neck_diameter
    Formula:
        Definition: wall diameter minus neck diameter.
    To fix:
        Exchange the two diameters, or correct the wrong one.
    """
    punch = case.format.punch
    yield Measured(
        "format.punch.neck_diameter",
        "punch wall diameter minus neck diameter",
        punch.wall_diameter - punch.neck_diameter,
        least=0.0,
    )


@rule(
    "punch.step-below-shoulder",
    unit="mm",
    reads="case",
    levers=("format.punch.step_height",),
    default=Default(least=0.5, source="Common practice, no source"),
)
def punch_step_below_shoulder(case: Case) -> Iterator[Measured]:
    """The thick wall starts below the neck.

    Why:
        A neck that starts in the thin wall pleats. A step that ends inside the cone leaves an uneven
        wall under the first dies.
    Data:
        punch.step_height, punch.step_length, neck.shoulder_height
    Formula:
        Definition: shoulder height minus the height of the top of the step.
    To fix:
        Lower the step on the punch, or raise the start of the neck.
    """
    punch = case.format.punch
    yield Measured(
        "format.punch.step_height",
        "neck start above the step",
        case.format.neck.shoulder_height - punch.step_height - punch.step_length,
        least=0.0,
    )


@rule(
    "punch.nose-radius",
    unit="-",
    severity="warning",
    levers=("format.punch.nose_radius",),
    default=Default(least=4.0, most=9.0, source="From memory of the literature"),
)
def punch_nose_radius(route: Route) -> Iterator[Measured]:
    """The punch nose is round enough for the gauge.

    Why:
        The nose pushes the can through all rings and forms the stand. With a small radius the base
        breaks out.
    Data:
        punch.nose_radius, stock.gauge
    Formula:
        Definition: radius ÷ gauge.
    To fix:
        Set the radius within its limits. Dome and stand change with it.
    """
    yield Measured(
        "format.punch.nose_radius",
        "punch nose radius ÷ gauge",
        route.redrawn.nose_radius_over_gauge,
        result="redrawn.nose_radius_over_gauge",
    )


@rule(
    "punch.strip-step",
    unit="mm",
    severity="warning",
    levers=("format.punch.neck_diameter",),
    default=Default(most=0.085, source="From memory of the literature"),
)
def punch_strip_step(route: Route) -> Iterator[Measured]:
    """The step of the punch is shallow enough for the can to strip.

    Why:
        The inside of the thick wall is smaller than the punch below it. Stripping must stretch it over
        the punch.
    Data:
        punch.wall_diameter, punch.neck_diameter
    Formula:
        Definition: half the difference of the two diameters.
    To fix:
        Use a larger neck diameter on the punch.
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
    """The tolerances of ring and punch use up only part of the wall tolerance.

    Why:
        Run-out, heat and wear need the rest of the wall tolerance. If the tools use it up, the wall
        goes outside its limits.
    Data:
        ironing.rings[].bore, punch.wall_diameter, targets.thin_wall
    Formula:
        Derived: half the sum of the two diameter tolerances ÷ tolerance of the thin wall.
    To fix:
        Buy ring and punch to closer tolerances, or agree a wider tolerance of the wall.
    """
    case, last = route.case, len(route.ironed) - 1
    ring = case.band(f"format.ironing.rings[{last}].bore")
    punch = case.band("format.punch.wall_diameter")
    wall = case.band("format.targets.thin_wall")
    spent = (ring[1] - ring[0] + punch[1] - punch[0]) / 2
    yield Measured(
        "format.targets.thin_wall",
        "tool tolerance ÷ wall tolerance",
        spent / np.maximum(wall[1] - wall[0], 1e-9),
    )
