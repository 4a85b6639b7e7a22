"""All checks that read a format: those that the station files declare, in process order."""

from __future__ import annotations

from kb.checks.rule import Rule
from kb.checks.stations import (
    blank,
    cup,
    dome,
    filled,
    flange,
    ironing,
    line,
    neck,
    redraw,
    seam,
    trim,
)
from kb.route.settings import SETTINGS

STATIONS = (blank, cup, redraw, ironing, dome, trim, neck, flange, seam, filled, line)
"""The files of checks, in process order; within a file the order is that of the functions."""

_DECLARED = [one for station in STATIONS for one in vars(station).values() if isinstance(one, Rule)]

GEOMETRY: tuple[Rule, ...] = tuple(one for one in _DECLARED if one.reads == "case")
"""The checks of the shape, before there is a route."""

MECHANICS: tuple[Rule, ...] = tuple(one for one in _DECLARED if one.reads != "case")
"""The checks of the route, and of its run on each line."""

RULES: dict[str, Rule] = {one.name: one for one in (*GEOMETRY, *MECHANICS)}

NAMES: dict[str, str] = {
    **{name: name for name in RULES},
    **{name: one.words for name, one in SETTINGS.items()},
}
"""Names of limits and settings in process order, with the words that a reader knows them by."""

RETIRED: tuple[str, ...] = ()
"""Names of checks that are gone; none is ever used again."""
