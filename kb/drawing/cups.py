"""The blanks in the coil, and the cups that they become."""

from __future__ import annotations

from math import cos, radians, sin

from kb.drawing.body import half_and_half, rim_radius
from kb.drawing.draft import Draft, Sizes, fitting
from kb.drawing.model import Bend, Drawing, Label, Role, Size, Text
from kb.drawing.outline import box, circle, joined, looped, mirrored, outside, polyline
from kb.process.blank import row_spacing
from kb.process.meridian import Arc, Meridian

STROKES_SHOWN = 4


def blank(sizes: Sizes) -> Drawing:
    """The coil from above with the blanks of a few strokes."""
    route = sizes.route
    spec = route.case.format.blank
    wide, pitch, across = float(route.blank.strip_width), float(route.blank.pitch), spec.across
    draft = Draft(sizes, "blank", scale=fitting(wide, 330))
    px, radius = draft.px, float(spec.diameter / 2)
    step = float(row_spacing(diameter=spec.diameter, web=spec.web))
    low, high = -0.65 * pitch, (STROKES_SHOWN - 0.35 + 0.5) * pitch
    draft.draw("strip", box(0.0, low, wide, high), closed=True, words="coil")
    for x in (0.0, wide):
        draft.draw("outline", polyline((x, low), (x, high)), words="edge of the coil")
    centres = [
        [(float(spec.edge) + radius + i * step, stroke * pitch + (i % 2) * pitch / 2) for i in range(across)]
        for stroke in range(STROKES_SHOWN)
    ]
    this = 1
    for stroke, row in enumerate(centres):
        for centre in row:
            role: Role = "blank" if stroke == this else "edge"
            draft.draw(role, circle(centre, radius), closed=True, words=f"blank of stroke {stroke + 1}")
    draft.across(
        sizes.computed("blank.strip_width", wide, "strip width"), (0.0, low), (wide, low), at=low - px(26)
    )
    draft.label(
        sizes.declared("format.blank.edge", "edge, each side"),
        at=(0.0, high + px(24)),
        tip=(float(spec.edge) / 2, high - px(8)),
    )
    first = centres[this][-1]
    draft.label(
        f"one stroke: {across} blanks" if across > 1 else "one stroke: 1 blank",
        at=(wide, high + px(50)),
        anchor="end",
        tip=first,
    )
    foot = low - px(72)
    arrow = (wide / 2 - px(60), foot), (wide / 2 - px(60), foot + px(30))
    words = Text((wide / 2 - px(50), foot + px(14)), ((("name", "rolling direction, feed"),),), "start")
    draft.labels.append(Label(words, arrow, arrow=True))
    draft.tabulate(
        sizes.declared("format.blank.diameter", "blank", "Ø"),
        sizes.declared("format.blank.web", "web"),
        sizes.computed("blank.pitch", pitch, "feed pitch"),
        sizes.computed("blank.utilisation", 100 * route.blank.utilisation, "coil used for blanks", unit="%"),
    )
    draft.note("Hatched: the blanks of one stroke. The coil is fed along its rolling direction.")
    return draft.done(
        "Blanks in the coil",
        f"The coil from above, running upward, with the blanks of {STROKES_SHOWN} strokes in staggered "
        f"rows; those of one stroke, {across} across, are hatched. What is left between them is skeleton "
        "scrap.",
    )


def web(sizes: Sizes) -> Drawing:
    """The metal left between three neighbouring blanks."""
    route = sizes.route
    spec = route.case.format.blank
    radius, pitch = float(spec.diameter / 2), float(route.blank.pitch)
    step = float(row_spacing(diameter=spec.diameter, web=spec.web))
    draft = Draft(sizes, "web", scale=fitting(radius, 315))
    px = draft.px
    roomy = radius > px(210)  # the number fits between the blanks
    lower, upper, beside = (0.0, 0.0), (0.0, pitch), (step, pitch / 2)
    arcs = [
        Bend(lower, radius, 96.0, 16.0),
        Bend(beside, radius, 224.0, 136.0),
        Bend(upper, radius, -16.0, -96.0),
    ]
    draft.draw("strip", looped(arcs), closed=True, words="skeleton")
    for arc in arcs:
        draft.draw("outline", [arc], words="edge of a blank")
    draft.upright_beside(
        sizes.declared("format.blank.web", "web"),
        (0.0, radius),
        (0.0, pitch - radius),
        at=0.0,
        text_at=((0.36 if roomy else -0.16) * radius, pitch / 2),
        anchor="start" if roomy else "end",
        leader=True,
    )
    tip = radius * cos(radians(60.0)), radius * sin(radians(60.0))
    draft.label(
        sizes.declared("format.blank.diameter", "blank", "Ø"),
        at=(tip[0] - px(10), tip[1] - px(84)),
        tip=tip,
        anchor="middle",
        arrow=True,
    )
    draft.label("blank above", at=(0.28 * radius, pitch - 0.6 * radius), anchor="middle")
    draft.label("blank beside", at=(step - radius + px(14), pitch / 2))
    draft.tabulate(
        sizes.declared("format.blank.edge", "edge, each side"),
        sizes.computed("blank.pitch", pitch, "feed pitch"),
        sizes.declared("format.blank.die_clearance", "cut-edge clearance, each side"),
    )
    return draft.done(
        "Web",
        "The metal left between three neighbouring blanks, two of one row and one of the next, from "
        "above. The web is the same between any two of them.",
    )


def cup(sizes: Sizes, exaggerate: float) -> Drawing:
    route = sizes.route
    spec, part = route.case.format.cup, route.cup.shape
    draft = Draft(sizes, "cup", scale=_cup_scale(sizes), exaggerate=exaggerate)
    half_and_half(draft, part, words="cup")
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
    draft.tabulate(
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
    half_and_half(draft, part, words="redrawn cup")
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
    draft.tabulate(
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
    wall, top, widest = rim_radius(part), float(part.top()), draft.extent()[2]
    draft.axis(0.0, top)
    draft.width(inside, wall, top, at=top + px(16))
    column = widest + px(44)
    draft.upright_beside(
        height,
        (wall, 0.0),
        (wall, top),
        at=widest + px(24),
        text_at=(column, max(top / 2, px(22))),
    )
    draft.label(rim, at=(column, max(top, px(56))), tip=(wall, top - px(3)))
    draft.radius(radius, at[:2], at[2], angle=-45.0, text_at=(column, -px(14)), anchor="start")
    draft.label(sizes.declared("format.stock.gauge", "gauge"), at=(column, -px(48)), tip=(at[0] * 0.6, px(1)))
