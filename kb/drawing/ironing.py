"""The wall on the punch, ring after ring."""

from __future__ import annotations

from math import radians, tan

from kb.drawing.draft import PAPER_WIDTH, Draft, Sizes, fitting
from kb.drawing.model import Drawing, Label, Piece, Point, Size, Text
from kb.drawing.outline import back, inside, joined, looped, mirrored, moved, outside, polyline
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
    """One wall on its punch, all that is across exaggerated about the punch's surface."""

    def __init__(self, sizes: Sizes, exaggerate: float, *, right: float) -> None:
        self.case = sizes.route.case
        self.exaggerate, self.right = exaggerate, right
        self.surface = float(self.case.format.punch.wall_diameter / 2)

    def at(self, point: Point) -> Point:
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


TOOL_HEIGHT = 16.0
"""Height at which rings and redraw die are drawn, which no spec declares [mm]."""


def pack(sizes: Sizes) -> Drawing:
    """Redraw die and rings at their distances, the punch where the last ring takes the wall."""
    route = sizes.route
    spec, punch = route.case.format.ironing, route.case.format.punch
    last = float(spec.rings[-1].distance)
    nose = -float(route.ironed[-1].engaged_from)
    draft = Draft(sizes, "pack", scale=fitting(-nose + TOOL_HEIGHT, 330))
    px, outer = draft.px, float(spec.outside_diameter / 2)
    top = TOOL_HEIGHT + px(14)
    _punch(draft, nose, top)
    tools = [("redraw die", 0.0, float(route.case.format.redraw.die_bore / 2), "format.redraw.die_bore")]
    tools += [
        (f"ring {i + 1}", float(ring.distance), float(ring.bore / 2), f"format.ironing.rings[{i}].bore")
        for i, ring in enumerate(spec.rings)
    ]
    for name, distance, bore, key in tools:
        tool = _ring(bore, outer, -distance, float(spec.land), float(spec.half_angle))
        draft.draw("tool", tool, closed=True, words=name)
        draft.draw("tool", mirrored(tool), closed=True, words=name)
        draft.label(
            sizes.declared(key, f"{name}, bore", "Ø"),
            at=(outer + px(16), -distance + px(6)),
            tip=(outer - px(4), -distance + px(3)),
        )
    draft.axis(nose, top)
    for i, ring in enumerate(spec.rings):
        draft.upright(
            sizes.declared(f"format.ironing.rings[{i}].distance", f"ring {i + 1} from the redraw die"),
            (-outer, -float(ring.distance)),
            (-outer, 0.0),
            at=-outer - px(16 + 22 * i),
            words="value",
        )
    wall, neck = float(punch.wall_diameter / 2), float(punch.neck_diameter / 2)
    draft.width(
        sizes.declared("format.punch.neck_diameter", "punch above its step", "Ø"), neck, top, at=top + px(18)
    )
    foot = nose + float(base_sizes(route.case, wall=0.0).wall_start)
    draft.width(
        sizes.declared("format.punch.wall_diameter", "punch", "Ø"), wall, foot, at=nose - px(46), under=True
    )
    draft.label(
        sizes.declared("format.ironing.outside_diameter", "rings, outside", "Ø"),
        at=(outer + px(16), -last - px(36)),
        tip=(outer, -last - px(2)),
        arrow=True,
    )
    draft.tabulate(
        sizes.declared("format.ironing.half_angle", "entry half-angle"),
        sizes.declared("format.ironing.land", "land"),
    )
    draft.note(
        "Distances from land to land. Heights of rings and die, and the die's outside, are not in the spec."
    )
    return draft.done(
        "Tool pack",
        "The bodymaker's tools, cut: the redraw die at the top, below it the ironing rings at their "
        "distances along the ram's travel, and the punch, which travels downward, where the last ring "
        "takes the wall.",
    )


def _punch(draft: Draft, nose: float, top: float) -> None:
    """The punch from its nose up to a cut, which is the inside of the can on it."""
    tool = draft.sizes.route.case.format.punch
    gauge = float(draft.sizes.route.case.format.stock.gauge)
    start, above = float(tool.step_height) + nose, float(tool.step_height + tool.step_length) + nose
    wall, neck = float(tool.wall_diameter / 2), float(tool.neck_diameter / 2)
    base = inside(draft.sizes.route.redrawn.shape)[:-1]
    half = joined(
        [*moved(base, up=nose - gauge), *polyline((wall, start), (neck, above), (neck, top), (0.0, top))]
    )
    draft.draw("tool", looped([*half, *back(mirrored(half))]), closed=True, words="punch")


def _ring(bore: float, outer: float, land_at: float, land: float, half_angle: float) -> list[Piece]:
    """A ring's right half: its land, the entry cone above, the relief below."""
    up, down = 0.45 * TOOL_HEIGHT, 0.55 * TOOL_HEIGHT
    entry = bore + (up - land / 2) * tan(radians(half_angle))
    return polyline(
        (bore, land_at - land / 2),
        (bore, land_at + land / 2),
        (entry, land_at + up),
        (outer, land_at + up),
        (outer, land_at - down),
        (bore + 0.3 * (outer - bore), land_at - down),
        (bore, land_at - land / 2),
    )


# --- the last ring at work --------------------------------------------------------------------

ABOVE_AND_BELOW = 0.35
"""Wall shown beyond cone and land [mm]."""


def ring(sizes: Sizes) -> Drawing:
    """The last ring, its land and cone on the wall."""
    route = sizes.route
    spec, rings = route.case.format.ironing, route.ironed
    number = len(rings)
    before = float(rings[-2].thin) if number > 1 else float(route.case.format.stock.gauge)
    after, land, slope = float(rings[-1].thin), float(spec.land), float(spec.half_angle)
    cone = (before - after) / tan(radians(slope))
    low, high = -ABOVE_AND_BELOW, land + cone + ABOVE_AND_BELOW
    draft = Draft(sizes, "ring", scale=fitting(high - low, 330))
    px = draft.px
    reach = before + px(62)
    punch = polyline((-px(40), low), (0.0, low), (0.0, high), (-px(40), high), (-px(40), low))
    draft.draw("tool", punch, closed=True, words="punch")
    tool = polyline(
        (after, 0.0),
        (after, land),
        (before + (high - land - cone - px(20)) * tan(radians(slope)), high - px(20)),
        (reach, high - px(20)),
        (reach, low + px(16)),
        (after + px(50), low + px(16)),
        (after, 0.0),
    )
    draft.draw("tool", tool, closed=True, words=f"ring {number}")
    wall = polyline(
        (0.0, low),
        (after, low),
        (after, land),
        (before, land + cone),
        (before, high),
        (0.0, high),
        (0.0, low),
    )
    draft.draw("metal", wall, closed=True, words="wall")
    left = -px(52)
    draft.across_beside(
        sizes.computed(f"ironed[{number - 2}].thin", before, "wall before"),
        (0.0, high),
        (before, high),
        at=high + px(12),
        text_at=(left, high + px(4)),
        anchor="end",
    )
    draft.across_beside(
        sizes.computed(f"ironed[{number - 1}].thin", after, "wall after"),
        (0.0, low),
        (after, low),
        at=low - px(12),
        text_at=(left, low - px(4)),
        anchor="end",
    )
    draft.upright_beside(
        sizes.declared("format.ironing.land", "land"),
        (after, 0.0),
        (after, land),
        at=reach + px(14),
        text_at=(reach + px(22), land / 2),
    )
    draft.angle(
        sizes.declared("format.ironing.half_angle", "half-angle"),
        (after, land),
        first=90.0,
        second=90.0 - slope,
        reach=high - land + px(30),
        text_at=(before + px(30), high + px(14)),
    )
    draft.label(
        sizes.declared(f"format.ironing.rings[{number - 1}].bore", f"ring {number}, bore", "Ø"),
        at=(after + px(14), low - px(50)),
        tip=(reach - px(8), low + px(22)),
    )
    draft.label(
        sizes.declared("format.punch.wall_diameter", "punch", "Ø"),
        at=(px(2), low - px(50)),
        anchor="end",
        tip=(-px(20), low + px(6)),
    )
    draft.tabulate(
        sizes.computed(f"ironed[{number - 1}].gap", rings[-1].gap, "gap, cold"),
        sizes.computed(f"ironed[{number - 1}].growth", rings[-1].growth, "growth of the gap at work"),
        sizes.computed(f"ironed[{number - 1}].reduction", 100 * rings[-1].reduction, "reduction", unit="%"),
    )
    draft.note("The land is drawn on the wall it leaves: at work the gap is a little wider than cold.")
    return draft.done(
        f"Ring {number} at work",
        f"The last ironing ring, number {number}, on the thin wall, cut: the punch on the left, the ring "
        "on the right. The punch carries the wall downward; the entry cone thins it, the land gives it "
        "its size.",
    )
