"""Drawings of a format: every view made from the route's meridians and the spec's own numbers.

A view is a function from a format's numbers to a `Drawing`, which knows no file format. `kb.output.svg` and
`kb.output.dxf` write it; `kb.drawing.body` is the outline that pages compare.
"""

from __future__ import annotations

from collections.abc import Callable

from kb.drawing import body, closing, cups, ironing, top
from kb.drawing.draft import Sizes
from kb.drawing.model import Drawing
from kb.route.assemble import Assembled
from kb.route.stations import Route

THICKENED: dict[str, Callable[[Sizes, float], Drawing]] = {
    "can": body.can,
    "cup": cups.cup,
    "redrawn": cups.redrawn,
    "dome": body.dome,
}
"""Views in which the metal may be drawn thicker than true."""

TRUE: dict[str, Callable[[Sizes], Drawing]] = {
    "blank": cups.blank,
    "web": cups.web,
    "pack": ironing.pack,
    "ring": ironing.ring,
    "stand": body.stand,
    "trim": top.trim,
    "neck": top.neck,
    "flange": top.flange,
    "end": closing.end,
    "seam": closing.seam,
}
"""Views at a scale that shows the metal's own thickness, or in which it does not show."""

VIEWS = (
    "can",
    "blank",
    "web",
    "cup",
    "redrawn",
    "pack",
    "ironing",
    "ring",
    "dome",
    "stand",
    "trim",
    "neck",
    "flange",
    "end",
    "seam",
)
"""Every view: the can first, then in process order."""


def draw(assembled: Assembled, route: Route, view: str, exaggerate: float | None = None) -> Drawing:
    """One view of a format, from its route at nominal sizes.

    `exaggerate` is how many times thicker than true the metal is drawn. By default it is true in all views
    but `ironing`.

    Raises:
        KeyError: if there is no such view.
        ValueError: if the view cannot be drawn with such a thickness, or the route is not of these specs.
    """
    sizes = Sizes(assembled, route)
    if exaggerate is not None and exaggerate < 1.0:
        raise ValueError(f"thickness is drawn true or thicker, not {exaggerate:g} times true")
    if view == "ironing":
        return ironing.ironing(sizes, exaggerate)
    if view in THICKENED:
        return THICKENED[view](sizes, exaggerate or 1.0)
    if exaggerate not in {None, 1.0}:
        raise ValueError(f"{view} is drawn with its own thickness")
    return TRUE[view](sizes)


def drawings(assembled: Assembled, route: Route, *, true: bool = False) -> dict[str, Drawing]:
    """Every view of a format; with `true`, `ironing` too has true thickness, as CAD needs it.

    Raises:
        ValueError: if the route is not of these specs.
    """
    return {view: draw(assembled, route, view, 1.0 if true else None) for view in VIEWS}
