"""Facts of the trade for one format: a value of its route in everyday terms, with one sentence each."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

from kb.book.conversion import percent
from kb.book.records import End
from kb.checks.words import number
from kb.publish.edition import Edition, FormatEdition
from kb.route.run import Ram, run
from kb.route.stations import Route

STANDARD_GRAVITY = 9.80665
"""Standard acceleration of gravity [m/s2].

Source:
    3rd General Conference on Weights and Measures (1901), declaration on the unit of mass.
"""

FULLEST = math.pi / (2 * math.sqrt(3))
"""Share of a plane that equal circles cover in the densest pattern, each touched by six others.

Source:
    Geometry: a circle in its hexagon.
"""


class CanFact(NamedTuple):
    """A fact: what it is, its value with unit, and one or two sentences."""

    words: str
    value: str
    sentence: str


def facts(edition: Edition, one: FormatEdition, route: Route) -> list[CanFact]:
    """The facts of a format that has a route."""
    return [
        *_ram(edition, one, route),
        *_carried(route),
        _layer(route),
        *_smaller_end(edition, route.case.end),
        _tab(route),
    ]


def _ram(edition: Edition, one: FormatEdition, route: Route) -> Iterator[CanFact]:
    """The fastest ram of the format's lines."""
    lines = [edition.book.of("line")[line].record for line in one.record.lines]
    rams = [ram for line in lines for ram in run(route, line).rams]
    if not rams:
        return
    fastest: Ram = max(rams, key=lambda ram: float(ram.peak_acceleration))
    gravities = float(fastest.peak_acceleration) / 1000 / STANDARD_GRAVITY
    yield CanFact(
        "maximum ram acceleration",
        f"{number(gravities, figures=3)} g",
        f"Where the ram of {fastest.machine.title} turns, each kilogram of ram, punch and can pulls with the "
        f"weight of {number(gravities, figures=3)} kg.",
    )
    seconds = float(fastest.time_per_stroke)
    yield CanFact(
        "time of a stroke",
        f"{percent(seconds)} of a second",
        f"In {number(seconds, figures=2)} s the ram goes out and back, and a cup becomes a body.",
    )


def _carried(route: Route) -> Iterator[CanFact]:
    empty, full = float(route.strength.axial_empty), float(route.strength.axial_full)
    yield CanFact(
        "load that a closed can carries",
        f"{number(full / 1000, figures=2)} kN (estimate)",
        f"Pressure supports the wall: closed and at room temperature the can carries "
        f"{number(full / STANDARD_GRAVITY, figures=2)} kg on its axis, empty "
        f"{number(empty / STANDARD_GRAVITY, figures=2)} kg.",
    )


def _layer(route: Route) -> CanFact:
    spec, board = route.case.format.pallet, route.case.plant.pallet
    area = float((board.length + 2 * board.overhang) * (board.width + 2 * board.overhang))
    share = spec.per_layer * math.pi / 4 * float(route.domed.body_outside) ** 2 / area
    return CanFact(
        "share of a layer covered by cans",
        f"{percent(share)}",
        f"{spec.per_layer} round cans leave gaps: the densest pattern without an edge covers "
        f"{percent(FULLEST)}.",
    )


def _smaller_end(edition: Edition, end: End) -> Iterator[CanFact]:
    """The end against the next size of the book."""
    records = [spec.record for spec in edition.book.of("end").values() if spec.record.code != end.code]
    ends = sorted(records, key=lambda one: float(one.curl_diameter))
    larger = [one for one in ends if one.curl_diameter > end.curl_diameter]
    smaller = [one for one in ends if one.curl_diameter < end.curl_diameter]
    if larger:
        small, large = end, larger[0]
    elif smaller:
        small, large = smaller[-1], end
    else:
        return
    saved = float(large.mass) - float(small.mass)
    yield CanFact(
        f"saved by a {small.code} end instead of a {large.code} end",
        f"{number(saved, figures=2)} g",
        f"A {small.code} end weighs {number(float(small.mass))} g, a {large.code} end "
        f"{number(float(large.mass))} g: {number(saved, figures=2)} kg per 1000 cans.",
    )


def _tab(route: Route) -> CanFact:
    """The tab as a lever: common practice, no source."""
    pressure = 1000 * float(route.filled.room_pressure)
    return CanFact(
        "pressure that the tab lets out",
        f"{number(pressure, figures=2)} kPa",
        "Until the can vents, the tab is a lever of the second class: its nose rests on the panel, and it "
        "lifts the rivet between nose and finger. After that it is one of the first class: it turns about "
        "the rivet, and its nose pushes the opening in.",
    )
