"""The walk through the making: the real sections of a format, station by station, as data for the page."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from kb.checks.words import in_reader_unit, number
from kb.process.meridian import Line, Meridian
from kb.process.profile import neck as neck_shape
from kb.process.profile import tube_section
from kb.publish.midstroke import MidStroke, middle_of, part_at
from kb.publish.terms import terms_for
from kb.publish.typeset import unit_sign
from kb.route.body import body_below
from kb.route.result import told
from kb.route.stations import Route
from kb.route.stations.neck import NeckStage, neck_sizes

Point = list[float]

BASE_PIECES = 5
"""Pieces of the flat base with its chime, before the wall."""

PUNCH_BEYOND = 6.0
"""How far the punch is drawn beyond the rim of what stands on it [mm]."""

SAY = {
    "blank": "A disc is sheared from the coil. All the metal of the can is in it.",
    "cup": "The punch draws the disc through the die. The rim shrinks; the blank holder keeps it flat.",
    "redraw": "The bodymaker's punch draws the cup narrower and longer, its wall as thick as the sheet.",
    "ironing": "The ring is narrower than punch and wall together: the wall gets thinner and longer.",
    "dome": "At the end of the stroke the domer presses the bottom inward. The can stands on a narrow ring.",
    "trim": "A knife cuts off the wavy rim. What falls is bought as sheet and sold as scrap.",
    "neck": "Dies press the rim inward a little at a time; the wall gets thicker as it gets narrower.",
    "flange": "The rim is turned outward. This lip becomes the body's half of the seam.",
}


def walk_data(route: Route, title: str) -> str:
    """The data script of a walk.

    Args:
        route: the format's route
        title: the format's title

    Returns:
        JavaScript that sets `window.sizebookWalk`; lengths in mm.
    """
    stations = list(_stations(route))
    heights = [point[1] for one in stations for part in one["parts"] for point in _points(part)]
    data = {
        "id": route.case.format.id,
        "title": title,
        "scale_mm": round(max(heights), 3),
        "stations": stations,
        "terms": terms_for(words for one in stations for words, _, _ in one["numbers"]),
    }
    return f"window.sizebookWalk = {json.dumps(data, ensure_ascii=True, separators=(',', ':'))};\n"


def _points(part: dict[str, Any]) -> list[Point]:
    points: list[Point] = part.get("outer") or part["outline"]
    return points


def _stations(route: Route) -> Iterator[dict[str, Any]]:
    yield _station("blank", "Blank", SAY["blank"], [_disc(route)], _numbers(route.blank, "blank.", 4))
    yield _station(
        "cup",
        "Cup",
        SAY["cup"],
        [_metal(route.cup.shape), *_cup_tools(route)],
        _numbers(route.cup, "cup.", 99, ("draw_ratio", "height", "ear", "drawing_force", "holder_force")),
    )
    yield _station(
        "redraw",
        "Redraw",
        SAY["redraw"],
        [_metal(route.redrawn.shape), _punch(route, route.redrawn.shape)],
        _numbers(route.redrawn, "redrawn.", 99, ("draw_ratio", "height", "drawing_force")),
    )
    for i, ring in enumerate(route.ironed):
        now = part_at(route, middle_of(route, i))
        yield _station(
            f"ring-{i + 1}",
            f"Ring {i + 1}",
            f"{SAY['ironing']} {_moment(now)}",
            [_metal(now.shape), _punch(route, now.shape), *(_ring(route, *one) for one in now.rings)],
            _numbers(ring, "", 99, ("thin", "thick", "reduction", "stress_share", "force", "height")),
        )
    yield _station(
        "dome",
        "Dome",
        SAY["dome"],
        [_metal(route.domed.shape), _domer(route)],
        _numbers(route.domed, "", 99, ("wall", "thinning", "height", "ear", "valley")),
    )
    yield _station(
        "trim",
        "Trim",
        SAY["trim"],
        [_metal(route.trimmed.shape)],
        _numbers(route.trimmed, "", 99, ("allowance", "mean_allowance", "trim_mass", "trim_share")),
    )
    for i, stage in enumerate(route.necked):
        yield _station(
            f"neck-{i + 1}",
            f"Neck {i + 1} of {len(route.necked)}",
            SAY["neck"],
            [_metal(shape := neck_stage(route, stage)), _die(stage, float(shape.top()))],
            _numbers(stage, "", 99, ("diameter", "die_bore", "pilot", "wall", "reduction", "stress")),
        )
    yield _station(
        "flange",
        "Flange",
        SAY["flange"],
        [_metal(route.flanged.shape)],
        _numbers(route.flanged, "", 99, ("height", "flange_diameter", "edge_strain", "straight", "mass")),
    )


def neck_stage(route: Route, stage: NeckStage) -> Meridian:
    """The can after one neck stage, its metal that of the trimmed can."""
    case, last = route.case, route.ironed[-1]
    sizes = neck_sizes(case, plug=stage.diameter, wall=last.thick, neck_wall=stage.wall)
    below = body_below(case, route.domed, last, top=case.format.neck.shoulder_height) + neck_shape(sizes)
    left = route.trimmed.shape.metal() - below.metal()
    height = left / tube_section(inside_radius=stage.diameter / 2, wall=stage.wall)
    top = below.top()
    radius = stage.diameter / 2
    return below + Meridian((Line(radius, top, radius, top + height, stage.wall, stage.wall),))


def _station(
    ident: str, name: str, say: str, parts: Sequence[dict[str, Any]], numbers: Sequence[Sequence[str]]
) -> dict[str, Any]:
    return {"id": ident, "name": name, "say": say, "parts": list(parts), "numbers": list(numbers)}


def _numbers(station: Any, prefix: str, most: int, names: Sequence[str] = ()) -> list[list[str]]:
    rows = []
    for one in told(station, prefix):
        name = one.key.rpartition(".")[2]
        if not names or name in names:
            value = number(in_reader_unit(float(one.value), unit=one.unit, show=one.show))
            rows.append([one.words, value, unit_sign(one.show)])
    return rows[:most]


def _pairs(r: Any, z: Any) -> list[Point]:
    return [[round(float(a), 4), round(float(b), 4)] for a, b in zip(r, z, strict=True)]


def _metal(shape: Meridian) -> dict[str, Any]:
    inner, outer = shape.points(per_arc=9), shape.points(per_arc=9, outside=True)
    return {"role": "metal", "inner": _pairs(*inner), "outer": _pairs(*outer)}


def _disc(route: Route) -> dict[str, Any]:
    radius, gauge = route.case.format.blank.diameter / 2, route.case.format.stock.gauge
    r = np.array([0.0, radius])
    return {
        "role": "metal",
        "inner": _pairs(r, np.full(2, gauge)),
        "outer": _pairs(r, np.zeros(2)),
    }


def _box(role: str, r0: float, r1: float, z0: float, z1: float) -> dict[str, Any]:
    corners = [[r0, z0], [r1, z0], [r1, z1], [r0, z1]]
    return {"role": role, "outline": [[round(float(a), 4), round(float(b), 4)] for a, b in corners]}


def _cup_tools(route: Route) -> list[dict[str, Any]]:
    spec, gauge, height = route.case.format.cup, float(route.case.format.stock.gauge), float(route.cup.height)
    inside, outside = float(spec.punch_diameter) / 2, float(spec.die_bore) / 2
    top = height + 6.0
    return [
        _box("punch", 0.0, inside, gauge, top),
        _box("die", outside, outside + 14.0, max(height - 12.0, 2.0), height),
    ]


def _moment(now: MidStroke) -> str:
    """When the picture of a ring is drawn."""
    return (
        f"Drawn half way through the ring, {number(now.travel)} mm of ram travel past the redraw die: below "
        "the ring the wall is as the ring leaves it, above as it came. The numbers are of the wall when all "
        "of it has passed."
    )


def _punch(route: Route, shape: Meridian) -> dict[str, Any]:
    """The punch: the inside of the base that stands on it, then its two diameters and the step between."""
    tool = route.case.format.punch
    inside, neck = float(tool.wall_diameter) / 2, float(tool.neck_diameter) / 2
    start, top = float(tool.step_height), float(shape.top()) + PUNCH_BEYOND
    end = start + float(tool.step_length)
    side = [[inside, start], [neck, end], [neck, max(top, end)]] if top > start else [[inside, top]]
    outline = [*_pairs(*Meridian(shape.pieces[:BASE_PIECES]).points(per_arc=9)), *side]
    return {"role": "punch", "outline": [*outline, [0.0, outline[-1][1]]]}


def _ring(route: Route, index: int, height: float) -> dict[str, Any]:
    """A ring under load: its land, as far from the punch as the wall it leaves is thick, ends at `height`."""
    tools, ring = route.case.format.ironing, route.ironed[index]
    bore, land = float(tools.rings[index].bore) / 2 + float(ring.growth), float(tools.land)
    entry = 2.0
    out = bore + entry * float(np.tan(np.radians(float(tools.half_angle))))
    outline = [
        [bore, height - land],
        [bore, height],
        [out, height + entry],
        [bore + 12.0, height + entry],
        [bore + 12.0, height - land - 4.0],
        [bore + 0.6, height - land - 4.0],
    ]
    return {"role": "ring", "outline": [[round(a, 4), round(b, 4)] for a, b in outline]}


def _domer(route: Route) -> dict[str, Any]:
    """The domer is the outside of the panel it has made."""
    panel = Meridian(route.domed.base.pieces[:3])
    r, z = panel.points(per_arc=9, outside=True)
    outline = _pairs(r, z)
    return {"role": "domer", "outline": [*outline, [outline[-1][0], -8.0], [0.0, -8.0]]}


def _die(stage: NeckStage, rim: float) -> dict[str, Any]:
    """The land of the necking die, about the rim it has just passed."""
    bore = float(stage.die_bore) / 2
    return _box("die", bore, bore + 9.0, rim - 5.0, rim + 3.0)
