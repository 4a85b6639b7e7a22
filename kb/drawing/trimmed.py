"""The rim before it is trimmed: one ear, rolled out flat, and the cut below it."""

from __future__ import annotations

from math import atan2, degrees, pi

from kb.drawing.draft import Draft, fitting
from kb.drawing.model import Bend, Drawing, Piece, Straight
from kb.drawing.outline import looped, polyline
from kb.drawing.sizes import Sizes

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
    draft.tell(
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
        "valley. The dashed line is the cut. What lies above it is trimmed off, and at the valleys there "
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
        anchor="start",
        leader=False,
    )
    draft.upright_beside(
        sizes.computed("trimmed.allowance", route.trimmed.allowance, "left to trim"),
        (half, cut),
        (half, valley),
        at=half + px(22),
        text_at=(half + px(34), min(valley, cut) - px(16)),
        anchor="start",
        leader=False,
    )
    draft.label(
        sizes.declared("format.trim.height", "trimmed height"),
        at=(-px(20), cut - px(WALL_SHOWN + 22)),
        tip=(-px(40), cut),
        arrow=True,
    )


def wave(half: float, low: float, high: float) -> list[Piece]:
    """From valley over peak to valley in four arcs, level at each of them.

    Args:
        half: from a valley to the peak [mm]
        low: height of the valleys [mm]
        high: height of the peak [mm]
    """
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
