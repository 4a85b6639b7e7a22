"""The base: the dome as a half section, and the ring the can stands on, enlarged."""

from __future__ import annotations

from math import acos, cos, degrees, radians, sin, tan

from kb.drawing.draft import Draft, fitting
from kb.drawing.model import Drawing
from kb.drawing.outline import cut_at, outside, polyline
from kb.drawing.sizes import Sizes
from kb.process.meridian import Arc, LineSegment, Meridian, Segment
from kb.process.profile import DomeLayout, DomeSizes, dome_layout
from kb.route.body import base_sizes

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
        anchor="start",
        leader=False,
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
    draft.tell(
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
    draft.tell(sizes.declared("format.dome.stand_diameter", "stand", "Ø"))
    return draft.done(
        "Stand",
        "The ring the can stands on, cut: the edge of the dome and its inner leg on the left, the nose on "
        "the stand plane, the chime and the foot of the wall on the right. The axis lies further to the "
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
        text_at=(corner[0] - px(18), corner[1] - px(34)),
        anchor="end",
    )
    leg = outside([_leg(sizes.route.domed.shape)])[0]
    draft.angle(
        sizes.declared("format.dome.leg_angle", "leg angle"),
        leg.start,
        first=-90.0,
        second=-90.0 + slope,
        reach=leg.start[1] + px(18),
        text_at=(leg.start[0] - px(30), -px(26)),
        anchor="end",
    )


def _leg(part: Meridian) -> LineSegment:
    """The straight inner leg: the first line of a domed base."""
    return next(piece for piece in part if isinstance(piece, LineSegment))


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
        anchor="start",
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
        anchor="start",
    )
    draft.label(
        sizes.declared("format.stock.gauge", "gauge"),
        at=(meets + px(20), -px(26)),
        tip=(meets + px(24) * cos(rise) - gauge / 2 * sin(rise), px(24) * sin(rise) + gauge / 2 * cos(rise)),
    )
