"""The end on the can before seaming, and the double seam: schematic where no spec has a size."""

from __future__ import annotations

from math import radians, tan

from kb.drawing.draft import Draft, Sizes, fitting
from kb.drawing.model import Bend, Drawing, Piece, Straight
from kb.drawing.outline import cut_at, looped, moved, polyline, rounded, section
from kb.process.meridian import Meridian

PANEL_SHOWN, NECK_SHOWN = 2.2, 9.0
"""How much of panel and neck the end on the can shows [mm]."""


def end(sizes: Sizes) -> Drawing:
    case = sizes.route.case
    curl = float(case.end.curl_diameter / 2)
    inner = float(case.end.panel_diameter / 2) - PANEL_SHOWN
    draft = Draft(sizes, "end", scale=fitting(curl - inner, 200))
    px = draft.px
    gauge, height = float(case.end.gauge), float(sizes.route.flanged.height)
    flange = cut_at(sizes.route.flanged.shape, bottom=height - NECK_SHOWN, top=height + 1.0)
    body = moved(section(flange), up=-height - gauge)
    draft.draw("metal", body, closed=True, words="flange and neck, cut")
    draft.metal(loose_end(sizes, inner), role="end", words="end, cut")
    _depths_of_end(draft)
    _sizes_of_curl(draft, curl)
    draft.tabulate(
        sizes.declared("end.gauge", "end gauge"),
        sizes.declared("end.panel_diameter", "panel", "Ø"),
        sizes.declared("end.panel_height", "panel over the groove"),
        sizes.declared("end.chuck_diameter", "seaming chuck", "Ø"),
        sizes.computed("flanged.flange_diameter", sizes.route.flanged.flange_diameter, "flange", "Ø"),
        sizes.computed(
            "flanged.curl_clearance", sizes.route.flanged.curl_clearance, "curl opening minus flange"
        ),
    )
    draft.draw("edge", polyline((inner, 0.0), (curl + px(20), 0.0)), words="top of the curl")
    draft.note("Schematic in its bends: the end's file gives no radii.")
    return draft.done(
        "End on the can",
        "The loose end as it is laid on the flange, before seaming, cut; the axis is far to the left. "
        "From left to right: the panel, the groove round it, the chuck wall inside the neck, "
        "and the curl that reaches over the flange.",
    )


def loose_end(sizes: Sizes, inner: float) -> Meridian:
    """An end from radius `inner` to the lip of its curl, its upper side the meridian, the curl's top at 0."""
    one, plug = sizes.route.case.end, float(sizes.route.case.format.neck.plug_diameter / 2)
    gauge, depth, panel = float(one.gauge), float(one.countersink), float(one.panel_diameter / 2)
    top = plug - gauge
    foot = top - depth * tan(radians(float(one.chuck_wall_angle)))
    curl, lip, reach = float(one.curl_diameter / 2), float(one.curl_opening / 2), float(one.curl_height)
    groove = max(0.42 * (foot - panel), gauge / 10)
    level = float(one.panel_height) - depth
    return rounded(
        [
            (inner, level),
            (panel, level),
            (panel, -depth),
            (foot, -depth),
            (top, 0.0),
            (curl, 0.0),
            (curl, -reach),
            (lip, -reach),
        ],
        [3 * gauge, groove, groove, 6 * gauge, 0.45 * reach, max(0.9 * (curl - lip), 1.2 * gauge)],
        gauge,
    )


def _depths_of_end(draft: Draft) -> None:
    sizes, px = draft.sizes, draft.px
    one, plug = sizes.route.case.end, float(sizes.route.case.format.neck.plug_diameter / 2)
    depth, top = float(one.countersink), plug - float(one.gauge)
    slope = float(one.chuck_wall_angle)
    groove = (float(one.panel_diameter / 2) + top - depth * tan(radians(slope))) / 2
    draft.upright_beside(
        sizes.declared("end.countersink", "countersink"),
        (groove, -depth),
        (groove, 0.0),
        at=groove,
        text_at=(groove + px(8), px(20)),
        anchor="end",
    )
    draft.angle(
        sizes.declared("end.chuck_wall_angle", "chuck wall"),
        (top, 0.0),
        first=90.0,
        second=90.0 - slope,
        reach=px(46),
        text_at=(top + px(34), px(38)),
    )


def _sizes_of_curl(draft: Draft, curl: float) -> None:
    sizes, px = draft.sizes, draft.px
    one = sizes.route.case.end
    reach, lip, gauge = float(one.curl_height), float(one.curl_opening / 2), float(one.gauge)
    column = curl + px(24)
    draft.label(
        sizes.declared("end.curl_diameter", "curl", "Ø"),
        at=(column, px(22)),
        tip=(curl - px(1), -reach * 0.4),
        arrow=True,
    )
    draft.upright_beside(
        sizes.declared("end.curl_height", "curl height"),
        (curl, -reach),
        (curl, 0.0),
        at=curl + px(13),
        text_at=(column, -reach / 2 - px(4)),
    )
    draft.label(
        sizes.declared("end.curl_opening", "curl opening", "Ø"),
        at=(column, -reach - px(36)),
        tip=(lip, -reach + gauge / 2),
        arrow=True,
    )


# --- seam -------------------------------------------------------------------------------------

BELOW_SEAM = 0.9
"""Chuck wall and neck shown below the seam [mm]."""


def seam(sizes: Sizes) -> Drawing:
    """The double seam, its five layers laid out from the declared sizes."""
    route = sizes.route
    spec, layers = route.case.format.seam, Layers(sizes)
    draft = Draft(sizes, "seam", scale=fitting(float(spec.length), 200))
    draft.draw("metal", layers.body(), closed=True, words="body wall and body hook, cut")
    draft.draw("end", layers.end(), closed=True, words="end, from chuck wall to end hook, cut")
    _sizes_of_seam(draft, layers)
    draft.tabulate(
        sizes.computed(
            "seam.overlap_share",
            100 * route.seam.overlap_share,
            "overlap ÷ maximum possible overlap",
            unit="%",
        ),
        sizes.computed("seam.free_space", route.seam.free_space, "free space"),
        sizes.computed("seam.butting", 100 * route.seam.butting, "body hook butting", unit="%"),
        sizes.declared("end.gauge", "end gauge"),
        sizes.computed("flanged.edge_wall", route.flanged.edge_wall, "flange edge"),
    )
    draft.note("Layers from the inside: chuck wall, body, end hook, body hook, seam wall.")
    draft.note("Schematic: laid out from the declared sizes, the free space shared evenly, bends round.")
    if float(route.seam.free_space) < 0:
        draft.note("The five layers do not fit into the declared thickness; they are drawn without room.")
    return draft.done(
        "Double seam",
        "The double seam, cut; the inside of the can is on the left. The end wraps over the top and hooks "
        "up from below behind the body, whose flange has become the body hook; where both hooks are "
        "behind each other they overlap.",
    )


class Layers:
    """Where the five layers of a seam are: the seam's top at height 0, radii from the axis."""

    def __init__(self, sizes: Sizes) -> None:
        route = sizes.route
        spec = route.case.format.seam
        self.length, self.thickness = float(spec.length), float(spec.thickness)
        self.body_hook, self.end_hook = float(spec.body_hook), float(spec.end_hook)
        self.gauge, self.wall = float(route.case.end.gauge), float(route.flanged.edge_wall)
        self.gap = max(float(route.seam.free_space), 0.0) / 4
        self.inside = float(route.case.format.neck.plug_diameter / 2)
        self.left = self.inside - self.gap - self.gauge
        self.right = self.left + 3 * self.gauge + 2 * self.wall + 4 * self.gap
        self.floor = -self.length - BELOW_SEAM

    def body(self) -> tuple[Piece, ...]:
        """The body wall, over into the body hook."""
        outer = self.wall + self.gauge / 2 + self.gap
        centre = self.inside + outer, -self.gauge - outer
        tip = -self.gauge - self.body_hook
        return looped(
            [
                Straight((self.inside, self.floor), (self.inside, centre[1])),
                Bend(centre, outer, 180.0, 0.0),
                *polyline(
                    (centre[0] + outer, centre[1]),
                    (centre[0] + outer, tip),
                    (centre[0] + outer - self.wall, tip),
                    (centre[0] + outer - self.wall, centre[1]),
                ),
                Bend(centre, outer - self.wall, 0.0, 180.0),
                *polyline((self.inside + self.wall, centre[1]), (self.inside + self.wall, self.floor)),
            ]
        )

    def end(self) -> tuple[Piece, ...]:
        """The end: chuck wall, over the top, down the seam wall, up into the end hook."""
        over, under = (self.right - self.left) / 2, self.gauge + self.wall / 2 + self.gap
        top = self.left + over, -over
        bottom = self.right - under, -self.length + under
        tip = -self.length + self.end_hook
        hook = self.right - 2 * under
        return looped(
            [
                Straight((self.left, self.floor), (self.left, top[1])),
                Bend(top, over, 180.0, 0.0),
                Straight((self.right, top[1]), (self.right, bottom[1])),
                Bend(bottom, under, 0.0, -180.0),
                *polyline(
                    (hook, bottom[1]), (hook, tip), (hook + self.gauge, tip), (hook + self.gauge, bottom[1])
                ),
                Bend(bottom, under - self.gauge, -180.0, 0.0),
                Straight((self.right - self.gauge, bottom[1]), (self.right - self.gauge, top[1])),
                Bend(top, over - self.gauge, 0.0, 180.0),
                Straight((self.left + self.gauge, top[1]), (self.left + self.gauge, self.floor)),
            ]
        )


def _sizes_of_seam(draft: Draft, at: Layers) -> None:
    sizes, px = draft.sizes, draft.px
    low, high = -at.gauge - at.body_hook, -at.length + at.end_hook
    hook = at.right - at.gauge - at.gap - at.wall / 2
    draft.across(
        sizes.declared("format.seam.thickness", "seam thickness"),
        (at.left, -at.length / 2),
        (at.right, -at.length / 2),
        at=px(18),
    )
    draft.upright(
        sizes.declared("format.seam.body_hook", "body hook"),
        (hook, low),
        (hook, -at.gauge),
        at=at.right + px(44),
        words="stack",
    )
    draft.upright(
        sizes.declared("format.seam.length", "seam length"),
        (hook, -at.length),
        ((at.left + at.right) / 2, 0.0),
        at=at.right + px(84),
        words="stack",
    )
    end_hook = hook - at.wall / 2 - at.gap - at.gauge / 2
    draft.upright(
        sizes.computed("seam.overlap", sizes.route.seam.overlap, "overlap"),
        (end_hook, low),
        (end_hook, high),
        at=at.left - px(16),
        words="stack",
    )
    draft.upright(
        sizes.declared("format.seam.end_hook", "end hook"),
        (hook, -at.length),
        (end_hook, high),
        at=at.left - px(56),
        words="stack",
    )
