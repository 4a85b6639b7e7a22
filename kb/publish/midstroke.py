"""The can inside the ironing rings: what stands on the punch at a given travel of the ram.

Below a ring's land the wall is as that ring leaves it, above the land as it came; the metal is all there.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from kb.process.meridian import LineSegment, Meridian
from kb.process.profile import chime, flat_panel, tube_section
from kb.route.body import base_sizes, step_sizes
from kb.route.stations import Route

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
    """Ram travel half way between a ring's taking the wall and the wall's leaving it [mm]."""
    ring = route.ironed[index]
    return (float(ring.engaged_from) + float(ring.engaged_to)) / 2


def part_at(route: Route, travel: float) -> MidStroke:
    """The part when the ram has gone so far.

    Args:
        route: a route at nominal sizes
        travel: from the land of the redraw die to the stand, beyond where the first ring takes the wall [mm]

    Returns:
        The part, its metal that of the blank.
    """
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
        left -= 0.0 if pieces else _metal(below)
        on.append((i, lands[i]))
        before = route.ironed[i - 1].shape if i else route.redrawn.shape
        above = _entering(route, before, below[-1], left)
        pieces = [*below, *above]
        if i == 0 or above[-1].z1 <= lands[i - 1]:
            break
        kept = _up_to(above, lands[i - 1])
        pieces = [*below, *kept]
        left -= _metal(kept)
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


def _metal(pieces: list[LineSegment]) -> float:
    return float(sum(float(one.metal) for one in pieces))
