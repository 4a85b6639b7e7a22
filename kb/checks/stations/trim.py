"""Checks of the trim."""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks.rule import Default, Measured, rule
from kb.route.case import Case
from kb.route.stations import Route


@rule(
    "trim.above-shoulder",
    unit="mm",
    reads="case",
    levers=("format.trim.height",),
    default=Default(least=5.0, source="Common practice, no source"),
)
def trim_above_shoulder(case: Case) -> Iterator[Measured]:
    """The can is trimmed above the start of the neck.

    Why:
        The neck is made of the metal between shoulder and trimmed edge.
    Data:
        trim.height, neck.shoulder_height
    Formula:
        Definition: trim height less shoulder height.
    To fix:
        Raise the trim height or lower the shoulder.
    """
    yield Measured(
        "format.trim.height",
        "trim height above the shoulder",
        case.format.trim.height - case.format.neck.shoulder_height,
        least=0.0,
    )


@rule(
    "trim.allowance",
    unit="mm",
    levers=("format.blank.diameter", "format.trim.height", "format.ironing.rings[2].bore"),
)
def trim_allowance(route: Route) -> Iterator[Measured]:
    """At the ear valleys there is enough left to trim all round.

    Why:
        A short can is trimmed on the ears only: its edge has gaps, its flange splits. Thin
        coil, a small punch and high ears come together here: a small punch makes a thick wall.
    Data:
        blank.diameter, stock.gauge, stock.earing, ironing.rings[].bore, punch diameters, trim.height
    Formula:
        Derived: volume constancy over the domed can's meridian, less half the ears.
    To fix:
        Open the blank, lower the trim height, or iron a little thinner.
    """
    yield Measured("format.trim.height", "trim allowance at the ear valleys", route.trimmed.allowance)


@rule("trim.waste", unit="-", show="%", severity="warning", levers=("format.blank.diameter",))
def trim_waste(route: Route) -> Iterator[Measured]:
    """No more is trimmed off than ears and spread need.

    Why:
        Trim is sheet bought and sold back as scrap, and long trim rings block the vacuum.
    Data:
        blank.diameter, stock.gauge, ironing.rings[].bore, trim.height
    Formula:
        Derived: metal of the domed can less metal of the trimmed can.
    To fix:
        A smaller blank.
    """
    yield Measured("format.blank.diameter", "metal trimmed off", route.trimmed.trim_share)
