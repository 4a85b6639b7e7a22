"""From a meridian to the lines and arcs that bound its metal."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise
from math import atan2, ceil, cos, degrees, floor, hypot, radians, sin

from kb.drawing.model import Bend, Piece, Point, Shape, Straight
from kb.process.meridian import Arc, LineSegment, Meridian, Segment

NOTHING = 1e-9
"""Pieces shorter than this are left out [mm]."""

TAPER_PIECES = 4
"""Arcs in place of the outside of an arc whose thickness changes: within some 2e-6 mm on a can."""


# --- pieces -----------------------------------------------------------------------------------


def back(pieces: Sequence[Piece]) -> list[Piece]:
    """The same way in the other direction."""
    return [_turned(piece) for piece in reversed(pieces)]


def _turned(piece: Piece) -> Piece:
    if isinstance(piece, Straight):
        return Straight(piece.end, piece.start)
    return Bend(piece.centre, piece.radius, piece.finish, piece.begin)


def mirrored(pieces: Iterable[Piece]) -> list[Piece]:
    """The same on the other side of the axis."""
    return [
        Straight(_flip(piece.start), _flip(piece.end))
        if isinstance(piece, Straight)
        else Bend(_flip(piece.centre), piece.radius, 180.0 - piece.begin, 180.0 - piece.finish)
        for piece in pieces
    ]


def _flip(point: Point) -> Point:
    return -point[0], point[1]


def moved(pieces: Iterable[Piece], *, right: float = 0.0, up: float = 0.0) -> list[Piece]:
    """The same in another place."""

    def put(point: Point) -> Point:
        return point[0] + right, point[1] + up

    return [
        Straight(put(piece.start), put(piece.end))
        if isinstance(piece, Straight)
        else Bend(put(piece.centre), piece.radius, piece.begin, piece.finish)
        for piece in pieces
    ]


def polyline(*points: Point) -> list[Piece]:
    """Straight pieces from point to point."""
    return [Straight(a, b) for a, b in pairwise(points) if _apart(a, b)]


def box(left: float, bottom: float, right: float, top: float) -> list[Piece]:
    return polyline((left, bottom), (right, bottom), (right, top), (left, top), (left, bottom))


def circle(centre: Point, radius: float) -> list[Piece]:
    return [Bend(centre, radius, 0.0, 180.0), Bend(centre, radius, 180.0, 360.0)]


def joined(pieces: Iterable[Piece]) -> list[Piece]:
    """Pieces with a straight one put in wherever the next does not start where the last ended."""
    way: list[Piece] = []
    for piece in pieces:
        if way and _apart(way[-1].end, piece.start):
            way.append(Straight(way[-1].end, piece.start))
        way.append(piece)
    return way


def looped(pieces: Iterable[Piece]) -> tuple[Piece, ...]:
    """Pieces joined and closed."""
    way = joined(pieces)
    return tuple(joined([*way, *polyline(way[-1].end, way[0].start)]))


def _apart(a: Point, b: Point) -> bool:
    return hypot(a[0] - b[0], a[1] - b[1]) > NOTHING


def rounded(points: Sequence[Point], radii: Sequence[float], wall: float) -> Meridian:
    """A bent sheet from corner to corner, its metal on the right, each corner rounded [mm]."""
    pieces: list[Segment] = []
    here = points[0]
    for (a, corner, b), radius in zip(zip(points, points[1:], points[2:], strict=False), radii, strict=True):
        arriving = atan2(corner[1] - a[1], corner[0] - a[0])
        leaving = atan2(b[1] - corner[1], b[0] - corner[0])
        turn = (degrees(leaving - arriving) + 180.0) % 360.0 - 180.0
        side = 1.0 if turn > 0 else -1.0
        cut = radius * abs(sin(radians(turn) / 2) / cos(radians(turn) / 2))
        start = corner[0] - cut * cos(arriving), corner[1] - cut * sin(arriving)
        centre = start[0] - side * radius * sin(arriving), start[1] + side * radius * cos(arriving)
        begin = degrees(arriving) - side * 90.0
        pieces.append(LineSegment(*here, *start, wall, wall))
        pieces.append(Arc(*centre, radius, begin, begin + turn, wall, wall))
        here = corner[0] + cut * cos(leaving), corner[1] + cut * sin(leaving)
    return Meridian((*pieces, LineSegment(*here, *points[-1], wall, wall)))


# --- meridians --------------------------------------------------------------------------------


def inside(part: Meridian | Iterable[Segment]) -> list[Piece]:
    """The inside of a part, from the axis to the rim."""
    return [piece for segment in part for piece in _inside(segment)]


def outside(part: Meridian | Iterable[Segment], exaggerate: float = 1.0) -> list[Piece]:
    """The outside of a part, joined, from the axis to the rim, its thickness drawn so many times true.

    Raises:
        ValueError: if a bend has no room for so much thickness.
    """
    return joined(piece for segment in part for piece in _outside(segment, exaggerate))


def section(part: Meridian | Iterable[Segment], exaggerate: float = 1.0) -> tuple[Piece, ...]:
    """The cut metal of a part on one side of the axis, as one closed loop."""
    segments = list(part)
    return looped([*inside(segments), *back(outside(segments, exaggerate))])


def cut_at(part: Meridian, *, top: float, bottom: float = float("-inf")) -> list[Segment]:
    """What of a part's straight pieces and whole arcs is between two heights.

    Lines are cut where they cross a height; arcs are kept when their middle is between.
    """
    kept: list[Segment] = []
    for piece in part:
        if isinstance(piece, Arc):
            middle = piece.z + piece.radius * sin(radians((piece.start + piece.end) / 2))
            if bottom < middle < top:
                kept.append(piece)
        elif (cut := _cut_line(piece, bottom, top)) is not None:
            kept.append(cut)
    return kept


def _cut_line(line: LineSegment, bottom: float, top: float) -> LineSegment | None:
    r0, z0, r1, z1 = float(line.r0), float(line.z0), float(line.r1), float(line.z1)
    wall0, wall1 = float(line.wall0), float(line.wall1)
    if z0 == z1:
        return line if bottom < z0 < top else None
    shares = sorted((height - z0) / (z1 - z0) for height in (bottom, top))
    first, last = max(0.0, shares[0]), min(1.0, shares[1])
    if last - first < NOTHING:
        return None

    def at(share: float) -> tuple[float, float, float]:
        return r0 + (r1 - r0) * share, z0 + (z1 - z0) * share, wall0 + (wall1 - wall0) * share

    (left, low, thickness), (right, high, other) = at(first), at(last)
    return LineSegment(left, low, right, high, thickness, other)


def _inside(segment: Segment) -> list[Piece]:
    if isinstance(segment, LineSegment):
        return polyline(
            (float(segment.r0), float(segment.z0)),
            (float(segment.r1), float(segment.z1)),
        )
    arc = Bend(
        (float(segment.r), float(segment.z)), float(segment.radius), float(segment.start), float(segment.end)
    )
    return _if_any(arc)


def _outside(segment: Segment, exaggerate: float) -> list[Piece]:
    if isinstance(segment, LineSegment):
        r0, z0, r1, z1 = (float(n) for n in (segment.r0, segment.z0, segment.r1, segment.z1))
        length = hypot(r1 - r0, z1 - z0)
        if length <= NOTHING:
            return []
        out, down = (z1 - z0) / length * exaggerate, -(r1 - r0) / length * exaggerate
        wall0, wall1 = float(segment.wall0), float(segment.wall1)
        return polyline((r0 + out * wall0, z0 + down * wall0), (r1 + out * wall1, z1 + down * wall1))
    return _outside_arc(segment, exaggerate)


def _outside_arc(arc: Arc, exaggerate: float) -> list[Piece]:
    centre, radius = (float(arc.r), float(arc.z)), float(arc.radius)
    begin, finish = float(arc.start), float(arc.end)
    side = exaggerate if finish >= begin else -exaggerate
    wall0, wall1 = float(arc.wall0), float(arc.wall1)
    if min(radius + side * wall0, radius + side * wall1) <= 0:
        most = radius / max(wall0, wall1)
        raise ValueError(
            f"thickness can be drawn less than {floor(most * 10) / 10:g} times true, not {exaggerate:g}"
        )
    if wall0 == wall1:
        return _if_any(Bend(centre, radius + side * wall0, begin, finish))

    def at(share: float) -> Point:
        rho = radius + side * (wall0 + (wall1 - wall0) * share)
        angle = radians(begin + (finish - begin) * share)
        return centre[0] + rho * cos(angle), centre[1] + rho * sin(angle)

    if abs(radians(finish - begin)) * radius <= NOTHING:
        return polyline(at(0.0), at(1.0))
    step = 1 / TAPER_PIECES
    return [through(at(i * step), at((i + 0.5) * step), at((i + 1) * step)) for i in range(TAPER_PIECES)]


def _if_any(arc: Bend) -> list[Piece]:
    return [arc] if abs(radians(arc.finish - arc.begin)) * arc.radius > NOTHING else []


def through(a: Point, b: Point, c: Point) -> Piece:
    """The arc from `a` through `b` to `c`; straight where they are in line."""
    ux, uy, vx, vy = b[0] - a[0], b[1] - a[1], c[0] - a[0], c[1] - a[1]
    cross = 2 * (ux * vy - uy * vx)
    if abs(cross) < NOTHING * hypot(vx, vy):
        return Straight(a, c)
    u2, v2 = ux * ux + uy * uy, vx * vx + vy * vy
    x, y = (vy * u2 - uy * v2) / cross, (ux * v2 - vx * u2) / cross
    centre = a[0] + x, a[1] + y
    begin = degrees(atan2(-y, -x))
    finish = degrees(atan2(c[1] - centre[1], c[0] - centre[0]))
    turn = (finish - begin) % 360.0
    return Bend(centre, hypot(x, y), begin, begin + (turn if cross > 0 else turn - 360.0))


# --- extent -----------------------------------------------------------------------------------


def extent(shapes: Iterable[Shape]) -> tuple[float, float, float, float]:
    """Left, bottom, right and top of some shapes."""
    points = [point for shape in shapes for piece in shape.pieces for point in outermost(piece)]
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def outermost(piece: Piece) -> list[Point]:
    """The ends of a piece and where it turns back."""
    if isinstance(piece, Straight):
        return [piece.start, piece.end]
    low, high = sorted((piece.begin, piece.finish))
    quarters = range(ceil(low / 90.0), floor(high / 90.0) + 1)
    return [piece.start, piece.end, *(piece.at(90.0 * quarter) for quarter in quarters)]
