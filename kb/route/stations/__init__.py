"""The stations of the route, one file each, listed by hand in process order."""

from __future__ import annotations

from dataclasses import dataclass

from kb.route.case import Case
from kb.route.stations import (
    blank,
    cup,
    dome,
    filled,
    flange,
    ironing,
    neck,
    pallet,
    redraw,
    seam,
    strength,
    tools,
    trim,
)

STATIONS = (
    blank.STATION,
    cup.STATION,
    redraw.STATION,
    ironing.STATION,
    dome.STATION,
    trim.STATION,
    neck.STATION,
    flange.STATION,
    seam.STATION,
    filled.STATION,
    strength.STATION,
    pallet.STATION,
)
"""Every station, in process order."""

TOOLS = tools.STATION
"""What is checked before the first station: whether the tools make a shape."""


@dataclass(frozen=True, slots=True)
class Route:
    """One format taken through every station."""

    case: Case
    blank: blank.Blank
    cup: cup.Cup
    redrawn: redraw.Redrawn
    ironed: tuple[ironing.Ironed, ...]
    stroke: ironing.Stroke
    domed: dome.Domed
    trimmed: trim.Trimmed
    necked: tuple[neck.NeckStage, ...]
    flanged: flange.Flanged
    seam: seam.Seam
    filled: filled.Filled
    strength: strength.Strength
    palletized: pallet.Palletized
