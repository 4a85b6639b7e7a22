"""The finished can, and the cups it comes from: outside on the left, cut on the right."""

from __future__ import annotations

from itertools import pairwise

from kb.drawing.draft import Draft, fitting
from kb.drawing.model import Bend, Drawing, Size
from kb.drawing.outline import joined, mirrored, outside, polyline
from kb.drawing.sizes import Sizes
from kb.process.meridian import Arc, LineSegment, Meridian


def can(sizes: Sizes, exaggerate: float) -> Drawing:
    """The finished can, necked and flanged."""
    route = sizes.route
    format_ = route.case.format
    shape, height = route.flanged.shape, float(route.flanged.height)
    body = float(format_.punch.wall_diameter / 2 + route.ironed[-1].thin)
    draft = Draft(sizes, "can", scale=fitting(2 * body, 268), exaggerate=exaggerate)
    _half_and_half(draft, shape, words="body")
    draft.axis(0.0, height)
    _widths_of_can(draft, height, body)
    _heights_of_can(draft, height, body)
    _walls_of_can(draft, body)
    draft.tell(
        sizes.computed("domed.height", route.domed.height, "untrimmed height, mean"),
        sizes.declared("format.trim.height", "trimmed height"),
    )
    return draft.done(
        "Finished can",
        "The finished can, necked and flanged, before it is filled. The left half is seen from outside, "
        "the right half is cut through the axis: a domed base, a thin wall, a thick wall above the step, "
        "the neck and the flange.",
    )


def _half_and_half(draft: Draft, part: Meridian, *, words: str) -> None:
    """A part seen from outside on the left, cut on the right."""
    left = joined(mirrored(outside(part)))
    lowest = min(left, key=lambda piece: piece.end[1])
    seen = left[left.index(lowest) + 1 :]
    stand, rim, height = lowest.end, left[-1].end, float(part.top())
    top = _rim(part), height
    draft.draw(
        "outline",
        [*polyline((0.0, stand[1]), stand), *seen, *polyline(rim, (-top[0], height), (0.0, height))],
        words=f"{words} from outside",
    )
    for one, other in pairwise(seen):
        if isinstance(one, Bend) != isinstance(other, Bend) and one.end[1] < height - 1.0:
            draft.draw("edge", polyline(one.end, (0.0, one.end[1])))
    draft.draw("edge", polyline((0.0, stand[1]), (-stand[0], stand[1])))
    draft.draw("edge", polyline((0.0, height), top))
    draft.metal(part, words=f"{words}, cut")


def _rim(part: Meridian) -> float:
    """Inside radius at the rim [mm]."""
    last = part.pieces[-1]
    assert isinstance(last, LineSegment)
    return float(last.r1)


def _widths_of_can(draft: Draft, height: float, body: float) -> None:
    sizes, route, px = draft.sizes, draft.sizes.route, draft.px
    plug = float(route.case.format.neck.plug_diameter / 2)
    edge = float(route.flanged.flange_diameter / 2)
    stand = float(route.case.format.dome.stand_diameter / 2)
    draft.across(
        sizes.declared("format.neck.plug_diameter", "plug", "Ø"),
        (-plug, height),
        (plug, height),
        at=height + px(16),
    )
    draft.across(
        sizes.computed("flanged.flange_diameter", 2 * edge, "flange", "Ø"),
        (-edge, height),
        (edge, height),
        at=height + px(40),
    )
    draft.across(
        sizes.declared("format.dome.stand_diameter", "stand", "Ø"),
        (-stand, 0.0),
        (stand, 0.0),
        at=-px(26),
    )
    foot = _foot_of_wall(route.flanged.shape)
    draft.across(
        sizes.computed("body.diameter", 2 * body, "body", "Ø"), (-body, foot), (body, foot), at=-px(50)
    )


def _foot_of_wall(shape: Meridian) -> float:
    """Height at which the straight wall starts [mm]."""
    return min(
        float(piece.z0)
        for piece in shape
        if isinstance(piece, LineSegment) and float(piece.r0) == float(piece.r1)
    )


def _heights_of_can(draft: Draft, height: float, body: float) -> None:
    sizes, px = draft.sizes, draft.px
    edge = float(sizes.route.flanged.flange_diameter / 2)
    shoulder = float(sizes.route.case.format.neck.shoulder_height)
    stand = float(sizes.route.case.format.dome.stand_diameter / 2)
    draft.upright(
        sizes.declared("format.flange.finished_height", "finished height"),
        (stand, 0.0),
        (edge, height),
        at=body + px(26),
    )
    draft.upright(
        sizes.declared("format.punch.step_height", "step starts at"),
        (-stand, 0.0),
        (-body, float(sizes.route.case.format.punch.step_height)),
        at=-body - px(12),
    )
    draft.upright(
        sizes.declared("format.neck.shoulder_height", "shoulder starts at"),
        (-stand, 0.0),
        (-body, shoulder),
        at=-body - px(36),
    )


def _walls_of_can(draft: Draft, body: float) -> None:
    sizes, route, px = draft.sizes, draft.sizes.route, draft.px
    punch = route.case.format.punch
    thin = float(punch.wall_diameter / 2), float(punch.step_height) * 0.5
    thick = (
        float(punch.neck_diameter / 2),
        float(punch.step_height + punch.step_length + route.case.format.neck.shoulder_height) / 2,
    )
    x = px(10)
    for name, key, value, tip in (
        ("thick wall", "ironed[-1].thick", route.ironed[-1].thick, thick),
        ("thin wall", "ironed[-1].thin", route.ironed[-1].thin, thin),
    ):
        draft.label(sizes.computed(key, value, name), at=(x, tip[1]), tip=tip)
    cap = route.flanged.shape.pieces[0]
    assert isinstance(cap, Arc)
    r, z = cap.points(3)
    draft.label(
        sizes.computed("domed.wall", route.domed.wall, "dome"),
        at=(x, float(z[0]) + px(34)),
        tip=(float(r[1]), float(z[1])),
    )


# --- cups -------------------------------------------------------------------------------------


def cup(sizes: Sizes, exaggerate: float) -> Drawing:
    """The drawn cup."""
    route = sizes.route
    spec, part = route.case.format.cup, route.cup.shape
    draft = Draft(sizes, "cup", scale=_cup_scale(sizes), exaggerate=exaggerate)
    _half_and_half(draft, part, words="cup")
    corner = part.pieces[1]
    assert isinstance(corner, Arc)
    _sizes_of_cup(
        draft,
        part,
        inside=sizes.declared("format.cup.punch_diameter", "punch", "Ø"),
        height=sizes.computed("cup.height", route.cup.height, "height, mean"),
        rim=sizes.computed("cup.rim", route.cup.rim, "rim"),
        radius=sizes.declared("format.cup.punch_radius", "inside corner", "R"),
        at=(float(corner.r), float(corner.z), float(spec.punch_radius)),
    )
    draft.tell(
        sizes.computed("cup.ear", route.cup.ear, "ears, peak to valley"),
        sizes.declared("format.cup.die_bore", "draw die bore", "Ø"),
        sizes.declared("format.cup.die_radius", "draw die radius", "R"),
    )
    return draft.done(
        "Cup",
        "The cup as the cupper draws it from the blank. The left half is seen from outside, the right "
        "half is cut. The bottom keeps the gauge of the coil, the wall thickens toward the rim. The rim "
        "is drawn level; in truth it has ears.",
    )


def redrawn(sizes: Sizes, exaggerate: float) -> Drawing:
    """The cup drawn to the punch of the bodymaker, the cup it was behind it."""
    route = sizes.route
    punch, part = route.case.format.punch, route.redrawn.shape
    draft = Draft(sizes, "redrawn", scale=_cup_scale(sizes), exaggerate=exaggerate)
    before = joined(outside(route.cup.shape))
    draft.draw("phantom", [*before, *mirrored(before)], words="cup before")
    _half_and_half(draft, part, words="redrawn cup")
    corner = next(piece for piece in part.pieces[2:] if isinstance(piece, Arc))
    _sizes_of_cup(
        draft,
        part,
        inside=sizes.declared("format.punch.wall_diameter", "punch", "Ø"),
        height=sizes.computed("redrawn.height", route.redrawn.height, "height, mean"),
        rim=sizes.computed("redrawn.rim", route.redrawn.rim, "rim"),
        radius=sizes.declared("format.punch.chime_radius", "inside chime", "R"),
        at=(float(corner.r), float(corner.z), float(punch.chime_radius)),
    )
    draft.tell(
        sizes.declared("format.redraw.die_bore", "redraw die bore", "Ø"),
        sizes.declared("format.redraw.die_radius", "redraw die radius", "R"),
    )
    draft.note("Dashed and dotted: the cup it is drawn from.")
    return draft.done(
        "Redrawn cup",
        "The cup drawn again, to the diameter of the bodymaker's punch, before the first ironing ring; "
        "around it in dashes the wider cup it comes from. The left half is seen from outside, the right "
        "half is cut.",
    )


def _cup_scale(sizes: Sizes) -> float:
    return fitting(float(sizes.route.case.format.cup.punch_diameter), 180)


def _sizes_of_cup(
    draft: Draft,
    part: Meridian,
    *,
    inside: Size,
    height: Size,
    rim: Size,
    radius: Size,
    at: tuple[float, float, float],
) -> None:
    """Dimensions that both cups have: `at` is the corner's centre and radius."""
    sizes, px = draft.sizes, draft.px
    wall, top, widest = _rim(part), float(part.top()), draft.extent()[2]
    draft.axis(0.0, top)
    draft.across(inside, (-wall, top), (wall, top), at=top + px(16))
    column = widest + px(44)
    draft.upright_beside(
        height,
        (wall, 0.0),
        (wall, top),
        at=widest + px(24),
        text_at=(column, max(top / 2, px(22))),
        anchor="start",
        leader=False,
    )
    draft.label(rim, at=(column, max(top, px(56))), tip=(wall, top - px(3)))
    draft.radius(radius, at[:2], at[2], angle=-45.0, text_at=(column, -px(14)), anchor="start")
    draft.label(sizes.declared("format.stock.gauge", "gauge"), at=(column, -px(48)), tip=(at[0] * 0.6, px(1)))
