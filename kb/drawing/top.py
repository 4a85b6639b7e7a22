"""The upper end of the can: every pass of the necker laid over the others, and the flange enlarged."""

from __future__ import annotations

from math import atan2, cos, degrees, pi, radians, sin, tan

from kb.drawing.body import rim_radius
from kb.drawing.draft import Draft, Sizes, fitting
from kb.drawing.model import Bend, Drawing, Piece, Straight
from kb.drawing.outline import cut_at, inside, looped, polyline
from kb.process.meridian import Arc, LineSegment, Meridian
from kb.process.profile import neck as neck_shape
from kb.process.profile import tube_section
from kb.route.body import body_below
from kb.route.stations import Route
from kb.route.stations.neck import NeckStage, neck_sizes

BODY_SHOWN = 3.0
"""Straight body shown below the shoulder [mm]."""


def neck(sizes: Sizes) -> Drawing:
    """The neck after every stage, first and last as cut metal."""
    route = sizes.route
    spec = route.case.format.neck
    low = float(spec.shoulder_height) - BODY_SHOWN
    body, plug = float(route.case.format.punch.neck_diameter / 2), float(spec.plug_diameter / 2)
    trimmed = float(route.case.format.trim.height)
    scale = min(fitting(trimmed - low, 480), fitting(body - plug, 140))
    draft = Draft(sizes, "neck", scale=scale)
    before = cut_at(route.trimmed.shape, bottom=low, top=trimmed + 1.0)
    draft.draw("phantom", inside(before), words="trimmed can")
    stages = [necked_to(route, stage) for stage in route.necked]
    for i, stage in enumerate(stages[1:-1], start=2):
        draft.draw("edge", inside(cut_at(stage, bottom=low, top=trimmed)), words=f"stage {i}")
    for i in sorted({1, len(stages)}):
        draft.metal(cut_at(stages[i - 1], bottom=low, top=trimmed), words=f"stage {i}")
    _name_stages(draft, stages, body)
    _sizes_of_neck(draft, stages[-1], body)
    for i, one in enumerate(route.necked, start=1):
        draft.tabulate(
            sizes.computed(f"necked[{i - 1}].diameter", one.diameter, f"inside after stage {i}", "Ø")
        )
    draft.tabulate(
        sizes.declared("format.neck.shoulder_height", "shoulder starts at"),
        sizes.declared("format.trim.height", "trimmed height"),
    )
    if len(stages) > 2:
        draft.note("First and last stage cut, between them the inside of each stage.")
    return draft.done(
        f"Neck, {len(stages)} stages" if len(stages) > 1 else "Neck, 1 stage",
        "The upper end of the can, cut, after each pass of the necker, laid over one another; the axis "
        "is far to the left. Dashed: the trimmed can before the first pass. Each pass pushes the edge a "
        "little further in, up to the plug diameter.",
    )


def necked_to(route: Route, stage: NeckStage) -> Meridian:
    """The can after one pass: its straight neck takes what metal the trimmed can has left."""
    case, thick = route.case, route.ironed[-1].thick
    lower = body_below(
        case, route.domed, route.ironed[-1], top=case.format.neck.shoulder_height
    ) + neck_shape(neck_sizes(case, plug=stage.diameter, wall=thick, neck_wall=stage.wall))
    radius, foot = stage.diameter / 2, lower.top()
    left = route.trimmed.shape.metal() - lower.metal()
    straight = left / tube_section(inside_radius=radius, wall=stage.wall)
    return lower + Meridian((LineSegment(radius, foot, radius, foot + straight, stage.wall, stage.wall),))


def _name_stages(draft: Draft, stages: list[Meridian], body: float) -> None:
    """Which line is which: over the tops of the first, the last and the can before."""
    px = draft.px
    top = draft.extent()[3]
    draft.label("trimmed", at=(body + px(14), top + px(4)), tip=(body, top - px(4)))
    over = {len(stages): 14, 1: 32}
    for i in sorted(over):
        radius, height = rim_radius(stages[i - 1]), float(stages[i - 1].top())
        at = radius - px(2), top + px(over[i])
        draft.label(f"stage {i}", at=at, tip=(radius, height), anchor="end")


def _sizes_of_neck(draft: Draft, last: Meridian, body: float) -> None:
    sizes, px = draft.sizes, draft.px
    spec = sizes.route.case.format.neck
    shoulder, cone, bend, straight = last.pieces[-4:]
    assert isinstance(shoulder, Arc)
    assert isinstance(cone, LineSegment)
    assert isinstance(bend, Arc)
    assert isinstance(straight, LineSegment)
    column = body + px(16)
    centre = float(shoulder.r), float(shoulder.z)
    turn = float(spec.angle)
    draft.radius(
        sizes.declared("format.neck.shoulder_radius", "shoulder", "R"),
        centre,
        float(shoulder.radius),
        angle=turn / 2,
        text_at=(column, centre[1] + px(2)),
    )
    plug = float(spec.plug_diameter / 2)
    left = plug - px(14)
    under = float(spec.neck_radius)
    draft.radius(
        sizes.declared("format.neck.neck_radius", "neck", "R"),
        (float(bend.r), float(bend.z)),
        under,
        angle=180.0 + turn / 2,
        text_at=(left, float(bend.z) - px(20)),
        anchor="end",
    )
    foot = float(cone.r1), float(cone.z1)
    reach = px(70)
    draft.angle(
        sizes.declared("format.neck.angle", "neck angle"),
        foot,
        first=-90.0,
        second=-90.0 + turn,
        reach=reach,
        text_at=(left, foot[1] - reach - px(14)),
        anchor="end",
    )
    draft.label(
        sizes.declared("format.neck.plug_diameter", "plug", "Ø"),
        at=(left, (float(straight.z0) + float(straight.z1)) / 2),
        tip=(plug, (float(straight.z0) + float(straight.z1)) / 2),
        anchor="end",
        arrow=True,
    )


# --- flange -----------------------------------------------------------------------------------

NECK_SHOWN = 1.2
"""Straight neck shown below the flange [mm]."""


def flange(sizes: Sizes) -> Drawing:
    """The flange, cut, on the end of the neck."""
    route = sizes.route
    spec = route.case.format.flange
    neck, bend, lip = route.flanged.shape.pieces[-3:]
    assert isinstance(neck, LineSegment)
    assert isinstance(bend, Arc)
    assert isinstance(lip, LineSegment)
    foot, plug, edge = float(bend.z), float(neck.r1), float(lip.r1)
    draft = Draft(sizes, "flange", scale=fitting(float(spec.width), 200))
    px = draft.px
    draft.metal(
        cut_at(Meridian((neck, bend, lip)), bottom=foot - NECK_SHOWN, top=foot + 9.0), words="flange, cut"
    )
    top = max(float(lip.z1), float(lip.z0))
    draft.across(
        sizes.declared("format.flange.width", "flange width"), (plug, foot), (edge, top), at=top + px(20)
    )
    left, wall = plug - px(12), float(neck.wall1)
    column = [
        (sizes.declared("format.neck.plug_diameter", "plug", "Ø"), (plug, foot - px(10))),
        (sizes.computed("flanged.neck_wall", wall, "neck wall"), (plug + wall / 2, foot - px(50))),
    ]
    draft.column(column, x=left, anchor="end")
    _sizes_under_lip(draft, bend, lip)
    draft.tabulate(
        sizes.computed("flanged.flange_diameter", route.flanged.flange_diameter, "flange", "Ø"),
        sizes.computed("flanged.straight", route.flanged.straight, "straight neck below the flange"),
        sizes.declared("format.flange.finished_height", "finished height"),
    )
    return draft.done(
        "Flange",
        "The lip of the can, cut; the axis is far to the left. The straight neck bends outward into the "
        "flange, which the seamer will fold into the body hook. The edge is thinner than the neck because "
        "it was stretched.",
    )


def _sizes_under_lip(draft: Draft, bend: Arc, lip: LineSegment) -> None:
    """Radius, angle and thickness, from the free side under the lip."""
    sizes, px = draft.sizes, draft.px
    spec = sizes.route.case.format.flange
    centre, under = (float(bend.r), float(bend.z)), float(spec.radius)
    draft.radius(
        sizes.declared("format.flange.radius", "under the flange", "R"),
        centre,
        under,
        angle=150.0,
        text_at=(centre[0] + px(8), centre[1] - px(34)),
    )
    slope = float(spec.angle)
    start = float(lip.r0), float(lip.z0)
    reach = float(lip.r1) - start[0] + px(26)
    draft.angle(
        sizes.declared("format.flange.angle", "flange angle"),
        start,
        first=0.0,
        second=slope,
        reach=reach,
        text_at=(start[0] + reach + px(10), start[1] - px(34)),
        anchor="end",
    )
    edge, rise = (float(lip.r1), float(lip.z1)), radians(slope)
    wall = float(lip.wall1)
    draft.label(
        sizes.computed("flanged.edge_wall", wall, "edge"),
        at=(centre[0] + px(8), centre[1] + px(8)),
        tip=(edge[0] - px(52) + wall / 2 * sin(rise), edge[1] - px(52) * tan(rise) - wall / 2 * cos(rise)),
    )


EARS = 4
"""Ears round the rim.

Source:
    Common practice, no source: can body stock mostly ears four times round.
"""

WALL_SHOWN = 14.0
"""Wall shown below the cut [px of paper]."""


def trim(sizes: Sizes) -> Drawing:
    """One ear of the untrimmed can, the cut, and what it leaves above."""
    route = sizes.route
    cut, valley, peak = (
        float(x) for x in (route.case.format.trim.height, route.domed.valley, route.domed.peak)
    )
    half = pi * float(route.case.format.punch.neck_diameter) / EARS / 2
    draft = Draft(sizes, "trim", scale=fitting(2 * half, 200))
    px = draft.px
    low = cut - px(WALL_SHOWN)
    rim = wave(half, valley, peak)
    draft.draw(
        "strip",
        looped([Straight((-half, low), (-half, valley)), *rim, Straight((half, valley), (half, low))]),
        closed=True,
        words="wall, rolled out",
    )
    draft.draw("outline", rim, words="rim before trimming")
    draft.draw("trim", polyline((-half - px(10), cut), (half + px(10), cut)), words="cut")
    _sizes_of_trim(draft, half, cut, valley, peak)
    draft.tabulate(
        sizes.computed("trimmed.mean_allowance", route.trimmed.mean_allowance, "trim allowance, mean"),
        sizes.computed("trimmed.peak_allowance", route.trimmed.peak_allowance, "trim allowance at the peaks"),
        sizes.computed("domed.height", route.domed.height, "untrimmed height, mean"),
    )
    draft.note(
        f"One of {EARS} ears, rolled out flat to one scale; the rim between peak and valley is schematic."
    )
    return draft.done(
        "Trim",
        "The rim of the can before it is trimmed, rolled out flat: one ear, from valley over peak to "
        "valley. The dashed line is the cut. What is above it is trimmed off, and at the valleys there "
        "must be something left to trim.",
    )


def _sizes_of_trim(draft: Draft, half: float, cut: float, valley: float, peak: float) -> None:
    sizes, route, px = draft.sizes, draft.sizes.route, draft.px
    draft.upright_beside(
        sizes.computed("domed.ear", route.domed.ear, "ear"),
        (half, valley),
        (0.0, peak),
        at=half + px(22),
        text_at=(half + px(34), max(peak, cut) + px(16)),
    )
    draft.upright_beside(
        sizes.computed("trimmed.allowance", route.trimmed.allowance, "left to trim"),
        (half, cut),
        (half, valley),
        at=half + px(22),
        text_at=(half + px(34), min(valley, cut) - px(16)),
    )
    draft.label(
        sizes.declared("format.trim.height", "trimmed height"),
        at=(-px(20), cut - px(WALL_SHOWN + 22)),
        tip=(-px(40), cut),
        arrow=True,
    )


def wave(half: float, low: float, high: float) -> list[Piece]:
    """From valley over peak to valley in four arcs, level at each of them [mm]."""
    rise = high - low
    if rise <= 0:
        return polyline((-half, low), (half, low))
    radius = (half**2 + rise**2) / (4 * rise)
    turn = degrees(2 * atan2(rise, half))
    return [
        Bend((-half, low + radius), radius, -90.0, -90.0 + turn),
        Bend((0.0, high - radius), radius, 90.0 + turn, 90.0 - turn),
        Bend((half, low + radius), radius, -90.0 - turn, -90.0),
    ]
