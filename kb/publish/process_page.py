"""The process, station by station: the real sections of a format as data for the page.

Inside the ironing rings the part is drawn at a given travel of the ram. Below a ring's land the wall is as
that ring leaves it, above the land as it came; the metal is all there.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from typing import Any, NamedTuple, TypeAlias

import numpy as np

from kb.checks.words import figures, number
from kb.process.meridian import LineSegment, Meridian
from kb.process.profile import chime, flat_panel, tube_section
from kb.process.profile import neck as neck_shape
from kb.publish.page import Context, Pages, Rendered, page
from kb.publish.terms import terms_for
from kb.publish.words import unit_sign
from kb.route.body import base_sizes, body_below, step_sizes
from kb.route.station import Results, Station
from kb.route.stations import STATIONS, Route
from kb.route.stations.neck import NeckStage, neck_sizes

Point = list[float]

Picture: TypeAlias = tuple[list[dict[str, Any]], str]
"""The parts of a picture, and a sentence on the moment that it shows."""

BASE_PIECES = 5
"""Pieces of the flat base with its chime, before the wall."""

PUNCH_BEYOND = 6.0
"""How far the punch is drawn beyond the rim of the part on it [mm]."""


def process_data(route: Route, title: str) -> str:
    """The script of a format's process page, which sets `window.sizebookProcess`; lengths in mm."""
    stations = list(_stations(route))
    heights = [point[1] for one in stations for part in one["parts"] for point in _points(part)]
    data = {
        "id": route.case.format.id,
        "title": title,
        "scale_mm": round(max(heights), 3),
        "stations": stations,
        "terms": terms_for(words for one in stations for words, _, _ in one["numbers"]),
    }
    return f"window.sizebookProcess = {json.dumps(data, ensure_ascii=True, separators=(',', ':'))};\n"


def _points(part: dict[str, Any]) -> list[Point]:
    points: list[Point] = part.get("outer") or part["outline"]
    return points


def _stations(route: Route) -> Iterator[dict[str, Any]]:
    for station in STATIONS:
        for results in station.results:
            if results.key in _PICTURES:
                record = getattr(route, results.key)
                for index in range(len(record) if results.member else 1):
                    yield _station(route, station, results, index)


def _station(route: Route, station: Station, results: Results, index: int) -> dict[str, Any]:
    """A station as the page shows it, or one member of a list of like ones."""
    record, ident, name = getattr(route, results.key), station.id, station.title
    if results.member:
        name = results.step.format(index + 1, len(record))
        ident = f"{name.split()[0].lower()}-{index + 1}"
        record = record[index]
    parts, moment = _PICTURES[results.key](route, index)
    return {
        "id": ident,
        "name": name,
        "say": f"{station.description} {moment}".strip(),
        "parts": parts,
        "numbers": _numbers(results, record),
    }


def neck_stage(route: Route, stage: NeckStage) -> Meridian:
    """The can after one neck stage, its metal that of the trimmed can."""
    case, last = route.case, route.ironed[-1]
    sizes = neck_sizes(case, plug=stage.diameter, wall=last.thick, neck_wall=stage.wall)
    below = body_below(case, route.domed, last, top=case.format.neck.shoulder_height) + neck_shape(sizes)
    left = route.trimmed.shape.metal() - below.metal()
    height = left / tube_section(inside_radius=stage.diameter / 2, wall=stage.wall)
    top = below.top()
    radius = stage.diameter / 2
    return below + Meridian((LineSegment(radius, top, radius, top + height, stage.wall, stage.wall),))


def _numbers(results: Results, record: Any) -> list[list[str]]:
    return [
        [
            one.words,
            *figures([float(getattr(record, one.name))], unit=one.unit, show=one.show),
            unit_sign(one.show),
        ]
        for one in results.declared
        if one.walk
    ]


def _pairs(r: Any, z: Any) -> list[Point]:
    """Points to a thousandth of a millimetre, which no screen shows."""
    return [[round(float(a), 3), round(float(b), 3)] for a, b in zip(r, z, strict=True)]


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
    return {"role": role, "outline": _pairs((r0, r1, r1, r0), (z0, z0, z1, z1))}


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
    """The punch: the inside of the base on it, then its two diameters and the step between."""
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
    return {"role": "ring", "outline": _pairs(*zip(*outline, strict=True))}


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


# --- the picture of each station --------------------------------------------------------------


def _blank(route: Route, _: int) -> Picture:
    return [_disc(route)], ""


def _cup(route: Route, _: int) -> Picture:
    return [_metal(route.cup.shape), *_cup_tools(route)], ""


def _redrawn(route: Route, _: int) -> Picture:
    return [_metal(route.redrawn.shape), _punch(route, route.redrawn.shape)], ""


def _ironed(route: Route, index: int) -> Picture:
    now = part_at(route, middle_of(route, index))
    rings = [_ring(route, *one) for one in now.rings]
    return [_metal(now.shape), _punch(route, now.shape), *rings], _moment(now)


def _domed(route: Route, _: int) -> Picture:
    return [_metal(route.domed.shape), _domer(route)], ""


def _trimmed(route: Route, _: int) -> Picture:
    return [_metal(route.trimmed.shape)], ""


def _necked(route: Route, index: int) -> Picture:
    stage = route.necked[index]
    shape = neck_stage(route, stage)
    return [_metal(shape), _die(stage, float(shape.top()))], ""


def _flanged(route: Route, _: int) -> Picture:
    return [_metal(route.flanged.shape)], ""


_PICTURES: dict[str, Callable[[Route, int], Picture]] = {
    "blank": _blank,
    "cup": _cup,
    "redrawn": _redrawn,
    "ironed": _ironed,
    "domed": _domed,
    "trimmed": _trimmed,
    "necked": _necked,
    "flanged": _flanged,
}
"""How the part and its tools are drawn, by the key of the results; the page shows no others."""


# --- the can inside the ironing rings ---------------------------------------------------------

_TURNS = 12
"""Steps of Newton's method for a cut by volume; the metal of a wall is nearly straight in its length."""


class MidStroke(NamedTuple):
    """The part with the ram somewhere in its stroke.

    Attributes:
        travel: from the land of the redraw die to the stand [mm].
        shape: the part.
        rings: position of each ring that is on the wall, with the height of its land's upper edge [mm].
    """

    travel: float
    shape: Meridian
    rings: tuple[tuple[int, float], ...]


def middle_of(route: Route, index: int) -> float:
    """Ram travel half way between the start and the end of ironing in a ring [mm]."""
    ring = route.ironed[index]
    return (float(ring.engaged_from) + float(ring.engaged_to)) / 2


def part_at(route: Route, travel: float) -> MidStroke:
    """The part at a ram travel [mm] beyond the start of ironing; it has all the metal of the blank."""
    begun = [i for i, ring in enumerate(route.ironed) if float(ring.engaged_from) < travel]
    lands = {i: travel - float(route.case.format.ironing.rings[i].distance) for i in begun}
    last = route.ironed[begun[-1]]
    base = base_sizes(route.case, wall=last.thin)
    bottom = flat_panel(base) + chime(base)
    left = float(route.blank.volume - bottom.metal())
    pieces: list[LineSegment] = []
    on = []
    if lands[begun[-1]] >= float(last.shape.top()):
        return MidStroke(travel, last.shape, ())
    for i in reversed(begun):
        below = pieces or _on_punch(route, begun[-1], foot=float(base.wall_start), top=lands[i])
        left -= 0.0 if pieces else _metal_of(below)
        on.append((i, lands[i]))
        before = route.ironed[i - 1].shape if i else route.redrawn.shape
        above = _entering(route, before, below[-1], left)
        pieces = [*below, *above]
        if i == 0 or above[-1].z1 <= lands[i - 1]:
            break
        kept = _up_to(above, lands[i - 1])
        pieces = [*below, *kept]
        left -= _metal_of(kept)
    return MidStroke(travel, bottom + Meridian(tuple(pieces)), tuple(on))


def _on_punch(route: Route, index: int, *, foot: float, top: float) -> list[LineSegment]:
    """The wall a ring leaves on the punch, from its foot to the ring."""
    ring = route.ironed[index]
    step = step_sizes(route.case, thin=ring.thin, thick=ring.thick)
    inside, neck, end = float(step.inside_radius), float(step.neck_radius), float(step.start + step.length)
    thin, thick, start = float(step.thin), float(step.thick), float(step.start)
    whole = [
        LineSegment(inside, foot, inside, start, thin, thin),
        LineSegment(inside, start, neck, end, thin, thick),
        LineSegment(neck, end, neck, max(top, end), thick, thick),
    ]
    return _up_to(whole, top)


def _entering(route: Route, before: Meridian, below: LineSegment, left: float) -> list[LineSegment]:
    """The wall above a land: the ring's entry, then the upper end of the part that is still to pass it."""
    slope = np.tan(np.radians(float(route.case.format.ironing.half_angle)))
    wall, cone = _top_of(before, left), LineSegment(0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    for _ in range(_TURNS):
        first = wall[0]
        run = max(float(first.wall0 - below.wall1), 0.0) / slope
        cone = LineSegment(below.r1, below.z1, first.r0, below.z1 + run, below.wall1, first.wall0)
        if float(cone.metal) >= left:  # the rim is already inside the ring
            return [_cut(cone, 0.0, 1.0 - _share_of(_turned(cone), left))]
        wall = _top_of(before, left - float(cone.metal))
    up = cone.z1 - wall[0].z0
    moved = [LineSegment(one.r0, one.z0 + up, one.r1, one.z1 + up, one.wall0, one.wall1) for one in wall]
    return [cone, *moved]


def _top_of(part: Meridian, volume: float) -> list[LineSegment]:
    """The straight pieces at the top of a part that hold so much metal, the lowest cut through."""
    kept: list[LineSegment] = []
    for piece in reversed(part.pieces):
        if not isinstance(piece, LineSegment):
            break
        metal = float(piece.metal)
        if metal == 0:  # a step that the wall does not reach
            continue
        if metal >= volume:
            return [_cut(piece, _share_of(piece, volume), 1.0), *kept]
        kept.insert(0, piece)
        volume -= metal
    foot = kept[0]  # the bend below gives the rest
    radius, wall = float(foot.r0), float(foot.wall0)
    more = volume / float(tube_section(inside_radius=radius, wall=wall))
    return [LineSegment(radius, float(foot.z0) - more, radius, float(foot.z0), wall, wall), *kept]


def _share_of(piece: LineSegment, volume: float) -> float:
    """Where to cut a piece so that its upper end holds so much metal."""
    share = 1 - volume / float(piece.metal)
    for _ in range(_TURNS):
        share += (float(_cut(piece, share, 1.0).metal) - volume) / float(piece.metal)
    return share


def _turned(piece: LineSegment) -> LineSegment:
    """A piece upside down, its metal the same."""
    return LineSegment(piece.r1, -piece.z1, piece.r0, -piece.z0, piece.wall1, piece.wall0)


def _up_to(wall: list[LineSegment], top: float) -> list[LineSegment]:
    """The pieces of a wall below a height."""
    return [
        one if one.z1 <= top else _cut(one, 0.0, float((top - one.z0) / (one.z1 - one.z0)))
        for one in wall
        if one.z0 < top and one.z1 > one.z0
    ]


def _cut(piece: LineSegment, start: float, end: float) -> LineSegment:
    """A stretch of a piece, by shares of its length."""

    def at(share: float, first: float, last: float) -> float:
        return float(first + (last - first) * share)

    ends = [(piece.r0, piece.r1), (piece.z0, piece.z1), (piece.wall0, piece.wall1)]
    (r0, r1), (z0, z1), (wall0, wall1) = ((at(start, *one), at(end, *one)) for one in ends)  # type: ignore[arg-type]
    return LineSegment(r0, z0, r1, z1, wall0, wall1)


def _metal_of(pieces: list[LineSegment]) -> float:
    return float(sum(float(one.metal) for one in pieces))


# --- the pages --------------------------------------------------------------------------------


def process_pages(context: Context) -> Rendered:
    """An index, and for each format that has a route its page with the data."""
    found = {
        one.record.id: (one.record.title, one.routed.route)
        for one in context.edition.formats.values()
        if one.routed is not None
    }
    yield (
        "process/index.md",
        page(
            "list.md",
            title="Process, station by station",
            say="The section of a format from blank to flanged can, to scale, with punch, rings and dies.",
            heads=["format", "id"],
            rows=[[{"href": f"{ident}.html", "text": title}, ident] for ident, (title, _) in found.items()],
        ),
    )
    for ident, (title, route) in found.items():
        yield f"process/{ident}.data.js", process_data(route, title)
        scripts = (f"{ident}.data.js",)
        yield (
            f"process/{ident}.md",
            page("process.md", title=f"Process: {title}", scripts=scripts, ident=ident, name=title),
        )


PAGES = (Pages("Process", "process/index.md", process_pages),)
