"""The stations of the route, one file each, listed by hand in process order."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from kb.route.case import Case
from kb.route.station import Declaration, Results, Station
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

TOOLS = Station(
    id="shape",
    title="Tools together",
    short="Tools",
    description="Conditions that the tool dimensions must meet to form a can.",
    results=(Results("shape", "Shape of the tools"),),
)
"""The tools against one another: checks of geometry measure here, before any metal is formed."""

DECLARED: Mapping[str, Declaration] = MappingProxyType(
    {
        results.result_key(one.name): one
        for station in STATIONS
        for results in station.results
        for one in results.declared
    }
)
"""What is declared of each result, by its key with `[]` for a list position."""


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
    loose_end: seam.LooseEnd
    seam: seam.Seam
    filled: filled.Filled
    strength: strength.Strength
    palletized: pallet.Palletized
