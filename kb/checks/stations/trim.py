"""Checks of the trim."""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks.rule import Measured, measured_result, rule
from kb.route.case import Case
from kb.route.stations import Route


@rule("trim.above-shoulder", "mm", least=5.0, source="Common practice, no source")
def trim_above_shoulder(case: Case) -> Iterator[Measured]:
    """The can is trimmed above the start of the neck.

    Why: The neck is made from the metal between shoulder and trimmed edge.
    Data: trim.height, neck.shoulder_height
    Formula: Definition: trimmed height minus shoulder height.
    To fix: Raise the trimmed height, or lower the shoulder.
    """
    yield Measured(
        "format.trim.height",
        "trimmed height above the shoulder",
        case.format.trim.height - case.format.neck.shoulder_height,
        least=0.0,
    )


@rule(
    "trim.allowance",
    "mm",
    levers=("format.blank.diameter", "format.trim.height", "format.ironing.rings[2].bore"),
)
def trim_allowance(route: Route) -> Iterator[Measured]:
    """There is enough metal at the ear valleys to trim all round.

    Why: A short can is trimmed on the ears only: its edge has gaps and its flange splits. Thin coil, a small
        punch and high ears add up here. A small punch makes a thick wall.
    Data: blank.diameter, stock.gauge, stock.earing, ironing.rings[].bore, punch diameters, trim.height
    Formula: Derived: volume constancy over the meridian of the domed can, minus half the ear height.
    To fix: Use a larger blank or a thinner wall. Lower the trimmed height only if the finished height changes
        with it.
    """
    yield measured_result(
        route, "trimmed.allowance", "format.trim.height", "trim allowance at the ear valleys"
    )


@rule("trim.waste", "-", show="%", severity="warning")
def trim_waste(route: Route) -> Iterator[Measured]:
    """The metal trimmed off is below its limit.

    Why: Trim is bought as coil and sold as scrap. Long trim rings block the vacuum.
    Data: blank.diameter, stock.gauge, ironing.rings[].bore, trim.height
    Formula: Derived: (mass of the domed can − mass of the trimmed can) ÷ mass of the domed can.
    To fix: Use a smaller blank.
    """
    yield measured_result(route, "trimmed.trim_share", "format.blank.diameter", "metal trimmed off")
