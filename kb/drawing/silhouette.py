"""The outside of the finished can as one path, for tables that show formats side by side to one scale."""

from __future__ import annotations

from dataclasses import dataclass

from kb.drawing.model import Bend, Shape
from kb.drawing.outline import back, extent, inside, joined, looped, mirrored, outside, polyline
from kb.route.stations import Route


@dataclass(frozen=True, slots=True)
class Silhouette:
    """A closed SVG path in a box of its own size, its foot at the bottom [px]."""

    path: str
    width: float
    height: float


def silhouette(route: Route, *, px_per_mm: float) -> Silhouette:
    """The silhouette of a finished can.

    Args:
        route: at nominal sizes
        px_per_mm: the scale that all cans of the table share [px/mm]

    Returns:
        Path, width and height.
    """
    side = joined(outside(route.flanged.shape))
    lowest = min(side, key=lambda piece: piece.end[1])
    seen = side[side.index(lowest) + 1 :]
    rim = inside(route.flanged.shape)[-1].end
    right_side = [*seen, *polyline(seen[-1].end, rim)]
    pieces = looped([*right_side, *back(mirrored(right_side))])
    left, bottom, right, top = extent([Shape("outline", pieces)])

    def at(x: float, y: float) -> str:
        return f"{_n((x - left) * px_per_mm)} {_n((top - y) * px_per_mm)}"

    steps = [f"M{at(*pieces[0].start)}"]
    for piece in pieces:
        if isinstance(piece, Bend):
            radius = _n(piece.radius * px_per_mm)
            steps.append(f"A{radius} {radius} 0 0 {int(piece.finish < piece.begin)} {at(*piece.end)}")
        else:
            steps.append(f"L{at(*piece.end)}")
    return Silhouette("".join(steps) + "Z", (right - left) * px_per_mm, (top - bottom) * px_per_mm)


def _n(number: float) -> str:
    return f"{round(number, 3) + 0.0:.3f}".rstrip("0").rstrip(".")
