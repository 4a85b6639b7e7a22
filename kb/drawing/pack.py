"""The bodymaker's tools: the pack, and its last ring at work."""

from __future__ import annotations

from math import radians, tan

from kb.drawing.draft import Draft, fitting
from kb.drawing.model import Drawing, Piece
from kb.drawing.outline import back, inside, joined, looped, mirrored, moved, polyline
from kb.drawing.sizes import Sizes
from kb.route.body import base_sizes

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
    draft.across(
        sizes.declared("format.punch.neck_diameter", "punch above its step", "Ø"),
        (-neck, top),
        (neck, top),
        at=top + px(18),
    )
    foot = nose + float(base_sizes(route.case, wall=0.0).wall_start)
    draft.across(
        sizes.declared("format.punch.wall_diameter", "punch", "Ø"),
        (-wall, foot),
        (wall, foot),
        at=nose - px(46),
        under=True,
    )
    draft.label(
        sizes.declared("format.ironing.outside_diameter", "rings, outside", "Ø"),
        at=(outer + px(16), -last - px(36)),
        tip=(outer, -last - px(2)),
        arrow=True,
    )
    draft.tell(
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
        anchor="start",
        leader=False,
    )
    draft.angle(
        sizes.declared("format.ironing.half_angle", "half-angle"),
        (after, land),
        first=90.0,
        second=90.0 - slope,
        reach=high - land + px(30),
        text_at=(before + px(30), high + px(14)),
        anchor="start",
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
    draft.tell(
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
