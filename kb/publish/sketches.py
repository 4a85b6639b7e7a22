"""Small drawings: a part, from the route of a format, and in red where a fault shows or a gauge measures.

A mark is placed in the part's own frame: across in half widths from its axis, up in heights from its foot.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from math import cos, pi, radians, sin
from typing import Any, TypeAlias

from kb.drawing.body import rim_radius
from kb.drawing.closing import Layers
from kb.drawing.draft import Sizes
from kb.drawing.model import Bend, Piece, Point
from kb.drawing.outline import circle, cut_at, joined, looped, mirrored, outside, polyline, section
from kb.output.svg import picture_svg
from kb.pictures import Circle, Curve, Picture, Shapes
from kb.process.meridian import Meridian
from kb.publish.edition import Routed
from kb.route.stations import Route

Points: TypeAlias = tuple[Point, ...]
Frame: TypeAlias = tuple[float, float, float, float]
"""Middle, foot, half width and height of the part [mm]."""

WIDTH, HEIGHT, EDGE = 200.0, 190.0, 22.0
"""Size of the picture, and of the room round the part [px]."""

BASE_SHOWN = 16.0
"""Height of the can's foot in the section of the base [mm]."""


def sketch(title: str, drawing: dict[str, Any], routed: Routed) -> str:
    """A view of a part with its marks as SVG.

    Args:
        title: what it shows, for those who do not see it
        drawing: the view and its marks, as in the fault guide
        routed: the format whose part is drawn
    """
    lines, (middle, foot, half, height) = VIEWS[drawing["view"]](routed)
    across = [x for _, points in lines for x, _ in points]
    upward = [y for _, points in lines for _, y in points]
    wide, high = max(across) - min(across), max(upward) - min(upward)
    scale = min((WIDTH - 2 * EDGE) / wide, (HEIGHT - 2 * EDGE) / high)
    left, top = (WIDTH - wide * scale) / 2, (HEIGHT - high * scale) / 2

    def placed(points: Iterable[Point]) -> Points:
        return tuple((left + (x - min(across)) * scale, top + (max(upward) - y) * scale) for x, y in points)

    shapes: list[Shapes] = [Curve(placed(points), look) for look, points in lines]
    for mark in drawing["marks"]:
        begin, end = ((middle + x * half, foot + y * height) for x, y in (mark["from"], mark["to"]))
        if mark["shape"] == "spot":
            ((x, y), (beside, _)) = placed((begin, end))
            shapes.append(Circle(x, y, max(abs(beside - x), 4.0), "fault"))
        else:
            shapes += [Curve(placed(points), "fault") for points in MARKS[mark["shape"]](begin, end)]
    return picture_svg(Picture("fault", WIDTH, HEIGHT, title, tuple(shapes)))


# --- the part ---------------------------------------------------------------------------------


def _along(pieces: Iterable[Piece]) -> Points:
    points: list[Point] = []
    for piece in pieces:
        if isinstance(piece, Bend):
            turn = piece.finish - piece.begin
            steps = max(3, round(abs(turn) / 12))
            points += [piece.at(piece.begin + turn * i / steps) for i in range(steps + 1)]
        else:
            points += [piece.start, piece.end]
    return tuple(points)


View: TypeAlias = tuple[list[tuple[str, Points]], Frame]


def _from_the_side(part: Meridian) -> View:
    """A part from outside, without what its base hides."""
    side = joined(outside(part))
    lowest = min(side, key=lambda piece: piece.end[1])
    seen = [*side[side.index(lowest) + 1 :]]
    foot, rim = seen[0].start, seen[-1].end
    left = _along(mirrored(seen))
    outline = (*_along(seen), *reversed(left), _along(seen)[0])
    half, height = max(x for x, _ in outline), float(part.top())
    lip = polyline((-rim_radius(part), height), (rim_radius(part), height))
    lines = [("metal", outline), ("line", _along(lip)), ("line", ((-foot[0], foot[1]), foot))]
    return lines, (0.0, foot[1], half, rim[1] - foot[1])


def _base(routed: Routed) -> View:
    """The foot of the can, cut through its axis."""
    route = routed.route
    loop = _along(section(cut_at(route.domed.shape, top=BASE_SHOWN)))
    half = max(x for x, _ in loop)
    lines = [("metal", loop), ("metal", tuple((-x, y) for x, y in loop))]
    return lines, (0.0, 0.0, half, BASE_SHOWN)


def _below(routed: Routed) -> View:
    """The base from below: body, stand, edge of the dome."""
    route = routed.route
    spec = route.case.format
    half = float(spec.punch.wall_diameter / 2 + route.ironed[-1].thin)
    stand = float(spec.dome.stand_diameter / 2)
    rings = [("metal", half), ("line", stand), ("line", 0.93 * stand)]
    return [(look, _along(circle((0.0, 0.0), radius))) for look, radius in rings], (0.0, 0.0, half, half)


def _strip(routed: Routed) -> View:
    """Two blanks of a row with the web between them."""
    route = routed.route
    radius, pitch = float(route.case.format.blank.diameter / 2), float(route.blank.pitch)
    lines = [("metal", _along(circle((x, 0.0), radius))) for x in (-pitch / 2, pitch / 2)]
    return lines, (0.0, 0.0, pitch / 2 + radius, 2 * radius)


def _flange(routed: Routed) -> View:
    """The flange and the end of the neck, cut."""
    shape = routed.route.flanged.shape
    top = float(shape.top())
    loop = _along(section(cut_at(shape, bottom=top - 5.0, top=top + 1.0)))
    left, right = min(x for x, _ in loop), max(x for x, _ in loop)
    foot = min(y for _, y in loop)
    return [("metal", loop)], ((left + right) / 2, foot, (right - left) / 2, max(y for _, y in loop) - foot)


def _seam(routed: Routed) -> View:
    """The double seam, cut; the inside of the can is on the left."""
    layers = Layers(Sizes(routed.assembled, routed.route))
    half = (layers.right - layers.left) / 2
    lines = [("metal", _along(looped(layers.body()))), ("end", _along(looped(layers.end())))]
    return lines, (layers.left + half, -layers.length, half, layers.length)


def _side(part: Callable[[Route], Meridian]) -> Callable[[Routed], View]:
    return lambda routed: _from_the_side(part(routed.route))


VIEWS: dict[str, Callable[[Routed], View]] = {
    "strip": _strip,
    "cup": _side(lambda route: route.cup.shape),
    "drawn": _side(lambda route: route.domed.shape),
    "trimmed": _side(lambda route: route.trimmed.shape),
    "can": _side(lambda route: route.flanged.shape),
    "below": _below,
    "base-section": _base,
    "flange": _flange,
    "seam": _seam,
}


# --- the marks --------------------------------------------------------------------------------


def _between(a: Point, b: Point, share: float, aside: float = 0.0) -> Point:
    """A point on the way from one to the other, moved aside by a share of its length."""
    across, up = b[0] - a[0], b[1] - a[1]
    return a[0] + share * across - aside * up, a[1] + share * up + aside * across


def _zigzag(a: Point, b: Point) -> list[Points]:
    return [tuple(_between(a, b, i / 12, 0.03 * (-1) ** i if 0 < i < 12 else 0.0) for i in range(13))]


def _wave(a: Point, b: Point, waves: int = 4, high: float = 0.025) -> list[Points]:
    return [tuple(_between(a, b, i / 48, high * sin(2 * pi * waves * i / 48)) for i in range(49))]


def _strokes(count: int) -> Callable[[Point, Point], list[Points]]:
    """Upright strokes, side by side between two corners."""
    return lambda a, b: [
        ((a[0] + (b[0] - a[0]) * i / (count - 1), a[1]), (a[0] + (b[0] - a[0]) * i / (count - 1), b[1]))
        for i in range(count)
    ]


def _box(a: Point, b: Point) -> list[Points]:
    return [((a[0], a[1]), (b[0], a[1]), (b[0], b[1]), (a[0], b[1]), (a[0], a[1]))]


def _arrow(a: Point, b: Point) -> list[Points]:
    """A line with a head at both ends."""
    heads = [(_between(p, q, 0.12, 0.06), p, _between(p, q, 0.12, -0.06)) for p, q in ((a, b), (b, a))]
    return [(a, b), *heads]


def _bulge(a: Point, b: Point) -> list[Points]:
    """An arc over the width, as high as the points are apart."""
    high = b[1] - a[1]
    across = [i / 24 for i in range(25)]
    return [tuple((a[0] + (b[0] - a[0]) * one, a[1] + high * sin(pi * one)) for one in across)]


def _curl(a: Point, b: Point) -> list[Points]:
    """A quarter turn, outward and then down."""
    ways = [pi / 2 * i / 12 for i in range(13)]
    return [tuple((a[0] + (b[0] - a[0]) * sin(way), a[1] + (b[1] - a[1]) * (1 - cos(way))) for way in ways)]


def _ears(a: Point, b: Point) -> list[Points]:
    """Four ears round the rim, two of them seen from the front."""
    across, up = b[0] - a[0], b[1] - a[1]
    shares = [i / 40 for i in range(41)]
    return [tuple((a[0] + across * one, a[1] + up * (1 - cos(4 * pi * one)) / 2) for one in shares)]


def _radial(a: Point, b: Point) -> list[Points]:
    """Short strokes round the axis, from one radius to the other."""
    ways: Sequence[float] = [radians(20 * i) for i in range(18)]
    return [tuple((radius[0] * cos(way), radius[0] * sin(way)) for radius in (a, b)) for way in ways]


def _ring(a: Point, b: Point) -> list[Points]:
    """A circle round the first point through the second."""
    return [_along(circle(a, b[0] - a[0]))]


def _buckle(a: Point, b: Point) -> list[Points]:
    """Two folds of a crushed wall."""
    low, high = min(a[1], b[1]), max(a[1], b[1])
    return [line for at in (low, high) for line in _wave((a[0], at), (b[0], at), waves=2, high=0.04)]


MARKS: dict[str, Callable[[Point, Point], list[Points]]] = {
    "crack": _zigzag,
    "burr": lambda a, b: _wave(a, b, waves=16, high=0.012),
    "folds": _strokes(9),
    "scores": _strokes(5),
    "ears": _ears,
    "band": _box,
    "line": lambda a, b: [(a, b)],
    "tilted": lambda a, b: [(a, b)],
    "cut": lambda a, b: [(a, b)],
    "wave": _wave,
    "radial": _radial,
    "ring": _ring,
    "height": _arrow,
    "width": _arrow,
    "bulge": _bulge,
    "curl": _curl,
    "buckle": _buckle,
}
