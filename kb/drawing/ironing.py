"""The wall on the punch, ring after ring."""

from __future__ import annotations

from math import radians, tan

from kb.drawing.draft import PAPER_WIDTH, Draft, fitting
from kb.drawing.model import Drawing, Label, Piece, Point, Size, Text
from kb.drawing.outline import back, inside, looped, outside, polyline
from kb.drawing.sizes import Sizes
from kb.process.meridian import LineSegment, Meridian
from kb.route.body import base_sizes

NICE = (1.0, 2.0, 5.0, 10.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 80.0, 100.0)
"""Exaggerations worth writing down."""


def ironing(sizes: Sizes, exaggerate: float | None) -> Drawing:
    """The wall on the punch after the redraw and after each ring; only across the wall is it exaggerated."""
    route = sizes.route
    parts = [route.redrawn.shape, *(ring.shape for ring in route.ironed)]
    scale = fitting(max(float(part.top()) for part in parts), 400)
    thickest = max(float(piece.wall1) for piece in route.redrawn.shape)
    draft = Draft(sizes, "ironing", scale=scale)
    if exaggerate is None:
        exaggerate = max(k for k in NICE if k * thickest <= draft.px(24))
    draft.exaggerate = exaggerate
    columns = len(parts)
    apart = draft.px((PAPER_WIDTH - 20) / columns)
    foot = float(base_sizes(route.case, wall=route.case.format.stock.gauge).wall_start)
    top = max(float(part.top()) for part in parts) + draft.px(12)
    for i, part in enumerate(parts):
        words = f"ring {i}" if i else "redraw die"
        column = Column(sizes, exaggerate, right=i * apart)
        draft.draw("tool", column.punch(foot, top, draft.px(24)), closed=True, words="punch")
        if i:
            draft.draw("phantom", column.wall(parts[i - 1]), words="wall before")
        draft.draw("metal", column.wall(part), closed=True, words="wall")
        draft.draw("tool", column.ring(part, draft.px(20), i), closed=True, words=words)
        draft.label(words, at=(i * apart + draft.px(10), top + draft.px(12)), anchor="middle")
    _table_of_walls(draft, parts, apart, foot)
    if exaggerate != 1.0:
        draft.note("So are gap and punch step; heights are to scale.")
    draft.note("Dashed: the wall before.")
    return draft.done(
        "Ironing",
        "The wall of the cup on the punch as it leaves the redraw die and each ironing ring in turn: "
        "every ring makes it thinner and taller. The punch is on the left of each wall, the ring at its "
        "rim. Where the punch is stepped back the wall stays thicker, for neck and flange. The base below "
        "is left out.",
    )


class Column:
    """One wall on its punch, all that lies across exaggerated about the punch's surface."""

    def __init__(self, sizes: Sizes, exaggerate: float, *, right: float) -> None:
        self.case = sizes.route.case
        self.exaggerate, self.right = exaggerate, right
        self.surface = float(self.case.format.punch.wall_diameter / 2)

    def at(self, point: Point) -> Point:
        """Where a point of the part is drawn."""
        return self.right + (point[0] - self.surface) * self.exaggerate, point[1]

    def punch(self, foot: float, top: float, depth: float) -> list[Piece]:
        """The punch's surface with its step, and some of its body."""
        tool = self.case.format.punch
        start, neck = float(tool.step_height), float(tool.neck_diameter / 2)
        above = start + float(tool.step_length)
        back_face = self.right - depth
        corners = [
            (back_face, foot),
            self.at((self.surface, foot)),
            self.at((self.surface, min(start, top))),
            *([self.at((neck, above)), self.at((neck, top))] if above < top else []),
            (back_face, top),
            (back_face, foot),
        ]
        return polyline(*corners)

    def wall(self, part: Meridian) -> tuple[Piece, ...]:
        """The straight wall of a part."""
        lines = _wall(part)
        way = looped([*inside(lines), *back(outside(lines))])
        return tuple(piece for a in way for piece in polyline(self.at(a.start), self.at(a.end)))

    def ring(self, part: Meridian, depth: float, number: int) -> list[Piece]:
        """The ring whose land the rim is just leaving; the redraw die is number 0."""
        rim = outside(_wall(part))[-1].end
        face, height = self.at(rim)
        tools = self.case.format.ironing
        land = float(tools.land) if number else float(self.case.format.redraw.die_radius)
        rise = depth / (self.exaggerate * tan(radians(float(tools.half_angle)))) if number else 0.0
        low = height - land - depth * 0.4
        return polyline(
            (face, height - land),
            (face, height),
            (face + depth, height + rise),
            (face + depth, low),
            (face + depth * 0.3, low),
            (face, height - land),
        )


def _wall(part: Meridian) -> list[LineSegment]:
    """The straight pieces from the foot of the wall to the rim, those of no length left out."""
    lines: list[LineSegment] = []
    for piece in reversed(part.pieces):
        if not isinstance(piece, LineSegment):
            break
        if float(piece.length()) > 0:
            lines.insert(0, piece)
    return lines


def _table_of_walls(draft: Draft, parts: list[Meridian], apart: float, foot: float) -> None:
    """Numbers under each column, row by row."""
    sizes, px = draft.sizes, draft.px
    after = ["redraw", *(f"ring {i}" for i in range(1, len(parts)))]
    rings = sizes.route.ironed
    walls = [(float(_wall(part)[0].wall0), float(_wall(part)[-1].wall1)) for part in parts]
    rows: list[tuple[str, list[Size | None]]] = [
        ("thin wall", [_after(sizes, "thin wall", one, walls[i][0]) for i, one in enumerate(after)]),
        (
            "reduction of the thin wall",
            [
                None,
                *(
                    sizes.computed(
                        f"ironed[{i}].reduction", 100 * ring.reduction, f"reduction by ring {i + 1}", unit="%"
                    )
                    for i, ring in enumerate(rings)
                ),
            ],
        ),
        (
            "wall at the rim",
            [_after(sizes, "wall at the rim", one, walls[i][1]) for i, one in enumerate(after)],
        ),
        (
            "height, mean",
            [_after(sizes, "height", one, float(parts[i].top())) for i, one in enumerate(after)],
        ),
    ]
    y = foot - px(18)
    for name, cells in rows:
        draft.labels.append(Label(Text((-px(24), y), ((("name", f"{name}, calc."),),), "start")))
        for i, size in enumerate(cells):
            if size:
                at = i * apart + px(10), y - px(15)
                draft.labels.append(Label(Text(at, ((("value", size.shown),),), "middle"), size=size))
        y -= px(36)


def _after(sizes: Sizes, name: str, after: str, value: float) -> Size:
    return sizes.computed(f"{name} after {after}", value, f"{name} after {after}")
