"""The finished can, and the cups it comes from: outside on the left, cut on the right."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import acos, cos, degrees, radians, sin, tan

from kb.drawing.draft import Draft, Sizes, fitting
from kb.drawing.model import Bend, Drawing, Shape
from kb.drawing.outline import back, cut_at, extent, inside, joined, looped, mirrored, outside, polyline
from kb.process.meridian import Arc, LineSegment, Meridian, Segment
from kb.process.profile import DomeLayout, DomeSizes, dome_layout
from kb.route.body import base_sizes
from kb.route.stations import Route


def can(sizes: Sizes, exaggerate: float) -> Drawing:
    route = sizes.route
    format_ = route.case.format
    shape, height = route.flanged.shape, float(route.flanged.height)
    body = float(format_.punch.wall_diameter / 2 + route.ironed[-1].thin)
    draft = Draft(sizes, "can", scale=fitting(2 * body, 268), exaggerate=exaggerate)
    half_and_half(draft, shape, words="body")
    draft.axis(0.0, height)
    _widths_of_can(draft, height, body)
    _heights_of_can(draft, height, body)
    _walls_of_can(draft, body)
    draft.tabulate(
        sizes.computed("domed.height", route.domed.height, "untrimmed height, mean"),
        sizes.declared("format.trim.height", "trimmed height"),
    )
    return draft.done(
        "Finished can",
        "The finished can, necked and flanged, before it is filled. The left half is seen from outside, "
        "the right half is cut through the axis: a domed base, a thin wall, a thick wall above the step, "
        "the neck and the flange.",
    )


def half_and_half(draft: Draft, part: Meridian, *, words: str) -> None:
    """A part seen from outside on the left, cut on the right."""
    left = joined(mirrored(outside(part)))
    lowest = min(left, key=lambda piece: piece.end[1])
    seen = left[left.index(lowest) + 1 :]
    stand, rim, height = lowest.end, left[-1].end, float(part.top())
    top = rim_radius(part), height
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


def rim_radius(part: Meridian) -> float:
    """Inside radius at the rim [mm]."""
    last = part.pieces[-1]
    assert isinstance(last, LineSegment)
    return float(last.r1)


def _widths_of_can(draft: Draft, height: float, body: float) -> None:
    sizes, route, px = draft.sizes, draft.sizes.route, draft.px
    plug = float(route.case.format.neck.plug_diameter / 2)
    edge = float(route.flanged.flange_diameter / 2)
    stand = float(route.case.format.dome.stand_diameter / 2)
    draft.width(sizes.declared("format.neck.plug_diameter", "plug", "Ø"), plug, height, at=height + px(16))
    draft.width(
        sizes.computed("flanged.flange_diameter", 2 * edge, "flange", "Ø"), edge, height, at=height + px(40)
    )
    draft.width(sizes.declared("format.dome.stand_diameter", "stand", "Ø"), stand, 0.0, at=-px(26))
    foot = _foot_of_wall(route.flanged.shape)
    draft.width(sizes.computed("body.diameter", 2 * body, "body", "Ø"), body, foot, at=-px(50))


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


@dataclass(frozen=True, slots=True)
class Silhouette:
    """A closed SVG path in a box of its own size, its foot at the bottom [px]."""

    path: str
    width: float
    height: float


def silhouette(route: Route, *, px_per_mm: float) -> Silhouette:
    """The silhouette of a finished can, at the scale that all cans of a table share [px/mm]."""
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


WALL_SHOWN = 3.0
"""Straight wall shown above the base [mm]."""


def dome(sizes: Sizes, exaggerate: float) -> Drawing:
    """Half of the base, from the axis to the wall."""
    route = sizes.route
    spec = route.case.format.dome
    inside = float(route.case.format.punch.wall_diameter / 2)
    draft = Draft(sizes, "dome", scale=fitting(inside, 262), exaggerate=exaggerate)
    px = draft.px
    foot = float(base_sizes(route.case, wall=route.ironed[-1].thin).wall_start)
    top = max(foot + px(30), float(spec.depth) + px(62))
    draft.metal(cut_at(route.domed.shape, top=top), words="base, cut")
    stand, depth, radius = float(spec.stand_diameter / 2), float(spec.depth), float(spec.radius)
    edge = 0.96 * float(route.domed.edge_angle)
    draft.draw("edge", polyline((0.0, 0.0), (stand, 0.0)), words="stand plane")
    draft.axis(0.0, top)
    draft.across_half(
        sizes.declared("format.punch.wall_diameter", "inside", "Ø"), (inside, top), at=top + px(14)
    )
    draft.upright_beside(
        sizes.declared("format.dome.depth", "dome depth"),
        (px(9), 0.0),
        (0.0, depth),
        at=px(12),
        text_at=(px(18), depth * 0.42),
    )
    draft.radius(
        sizes.declared("format.dome.radius", "dome radius", "R"),
        (0.0, depth - radius),
        radius,
        angle=90.0 - edge,
        text_at=(stand - px(6), -px(24)),
        anchor="end",
    )
    draft.across_half(sizes.declared("format.dome.stand_diameter", "stand", "Ø"), (stand, 0.0), at=-px(62))
    cap = route.domed.shape.pieces[0]
    assert isinstance(cap, Arc)
    r, z = cap.points(3)
    draft.label(
        sizes.computed("domed.wall", route.domed.wall, "dome thickness"),
        at=(px(14), depth + px(26)),
        tip=(float(r[1]), float(z[1])),
    )
    draft.tabulate(
        sizes.computed("domed.edge_angle", route.domed.edge_angle, "slope at the dome edge", unit="deg"),
        sizes.computed("domed.leg_length", route.domed.leg_length, "straight inner leg"),
    )
    return draft.done(
        "Base",
        "Half of the base, cut through the axis, which is on the left. The dome rises from the inner leg; "
        "outside the ring the can stands on, the chime leads up to the wall.",
    )


def stand(sizes: Sizes) -> Drawing:
    """The ring the can stands on, between dome and wall."""
    route = sizes.route
    case = route.case
    base = base_sizes(case, wall=route.ironed[-1].thin)
    spec, gauge = case.format.dome, float(case.format.stock.gauge)
    layout = dome_layout(
        base, DomeSizes(spec.depth, spec.radius, spec.corner_radius, spec.leg_angle), wall=route.domed.wall
    )
    inside = float(base.inside_radius)
    inner = float(layout.cap_radius) - 2.0
    draft = Draft(sizes, "stand", scale=fitting(inside - inner, 290))
    top = float(base.wall_start) + WALL_SHOWN
    draft.metal(_from_radius(route.domed.shape, inner, top), words="base, cut")
    draft.draw("edge", polyline((inner, 0.0), (inside + gauge, 0.0)), words="stand plane")
    _dome_edge(draft, layout)
    _nose_and_chime(draft, float(base.wall_start))
    draft.tabulate(sizes.declared("format.dome.stand_diameter", "stand", "Ø"))
    return draft.done(
        "Stand",
        "The ring the can stands on, cut: the edge of the dome and its inner leg on the left, the nose on "
        "the stand plane, the chime and the foot of the wall on the right. The axis is further to the "
        "left.",
    )


def _from_radius(part: Meridian, inner: float, top: float) -> list[Segment]:
    """A base from some radius outward, up to some height; its first piece is the cap of the dome."""
    cap, *rest = part.pieces
    assert isinstance(cap, Arc)
    start = degrees(acos(inner / float(cap.radius)))
    shown = Arc(cap.r, cap.z, cap.radius, start, cap.end, cap.wall0, cap.wall1)
    return [shown, *cut_at(Meridian(tuple(rest)), top=top)]


def _dome_edge(draft: Draft, layout: DomeLayout) -> None:
    """Corner radius and leg angle, which the domer leaves on the underside."""
    sizes, px = draft.sizes, draft.px
    dome = sizes.route.case.format.dome
    edge = radians(float(layout.edge_angle))
    reach = float(layout.inside_radius - layout.corner_radius)
    corner = reach * sin(edge), float(layout.centre_height) + reach * cos(edge)
    slope = float(dome.leg_angle)
    draft.radius(
        sizes.declared("format.dome.corner_radius", "dome corner", "R"),
        corner,
        float(dome.corner_radius),
        angle=(slope + 90.0 - float(layout.edge_angle)) / 2 + 10.0,
        text_at=(corner[0] - px(4), corner[1] - px(34)),
        anchor="end",
    )
    leg = outside([next(one for one in sizes.route.domed.shape if isinstance(one, LineSegment))])[0]
    draft.angle(
        sizes.declared("format.dome.leg_angle", "leg angle"),
        leg.start,
        first=-90.0,
        second=-90.0 + slope,
        reach=leg.start[1] + px(18),
        text_at=(leg.start[0] - px(30), -px(26)),
        anchor="end",
    )


def _nose_and_chime(draft: Draft, foot: float) -> None:
    sizes, px = draft.sizes, draft.px
    case = sizes.route.case
    punch, stand = case.format.punch, float(case.format.dome.stand_diameter / 2)
    gauge, nose, slope = float(case.format.stock.gauge), float(punch.nose_radius), float(punch.chime_angle)
    centre = stand, gauge + nose
    draft.radius(
        sizes.declared("format.punch.nose_radius", "nose, inside", "R"),
        centre,
        nose,
        angle=-105.0,
        text_at=(stand + px(10), gauge + nose + px(38)),
    )
    inside, chime = float(punch.wall_diameter / 2), float(punch.chime_radius)
    draft.radius(
        sizes.declared("format.punch.chime_radius", "chime, inside", "R"),
        (inside - chime, foot),
        chime,
        angle=-slope,
        text_at=(inside - chime - px(6), foot),
        anchor="end",
    )
    # the chime's underside meets the stand plane where the angle is measured
    rise = radians(slope)
    meets = stand + (gauge + nose) * tan(rise / 2)
    draft.angle(
        sizes.declared("format.punch.chime_angle", "chime angle"),
        (meets, 0.0),
        first=0.0,
        second=slope,
        reach=px(62),
        text_at=(meets + px(78), px(20)),
    )
    draft.label(
        sizes.declared("format.stock.gauge", "gauge"),
        at=(meets + px(20), -px(26)),
        tip=(meets + px(24) * cos(rise) - gauge / 2 * sin(rise), px(24) * sin(rise) + gauge / 2 * cos(rise)),
    )
