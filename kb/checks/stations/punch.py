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
        The smaller end leaves the thick wall for neck and flange; the other way round the can
        cannot be stripped.
    Data:
        punch.wall_diameter, punch.neck_diameter
    Formula:
        Definition: wall diameter less neck diameter.
    To fix:
        Exchange the two diameters, or correct the one that is wrong.
    """
    punch = case.format.punch
    yield Measured(
        "format.punch.neck_diameter",
        "punch wall diameter less neck diameter",
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
    """The thick wall is reached below the neck.

    Why:
        A neck that starts in the thin wall pleats; a step that ends inside the cone leaves the wall
        uneven where the first dies press.
    Data:
        punch.step_height, punch.step_length, neck.shoulder_height
    Formula:
        Definition: shoulder height less the top of the step.
    To fix:
        Lower the step on the punch, or start the neck higher.
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
        The nose carries the can through all rings and becomes the stand; too sharp and the bottom
        breaks out.
    Data:
        punch.nose_radius, stock.gauge
    Formula:
        Definition: radius over gauge.
    To fix:
        Bring the radius into the window; dome and stand move with it.
    """
    yield Measured(
        "format.punch.nose_radius", "punch nose radius over gauge", route.redrawn.nose_radius_over_gauge
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
