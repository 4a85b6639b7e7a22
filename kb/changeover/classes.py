"""The class of a changeover: how far it reaches into the line, read from the values that moved.

Classes are a ladder, from what one machine feels to what all of them do; a changeover is of the highest one
that a moved value reaches. Which value reaches where is common practice, no source: each station declares
what is changed when a value of its blocks differs, and the table here has the rest. Nothing here is the
plant's own.

    nothing       nothing moved
    settings      values without tools: fill, targets, seam, pallet, or a tolerance alone
    label         the printers' plates and inks
    end-neck      necker and flanger: another end, or another way to it
    height        the trimmers, and every guide after them
    height-neck   both
    bodymaker     tool packs and domers: punch, rings, redraw die, dome
    metal         coil, blank and cup tools, at one body diameter
    diameter      body diameter: everything
"""

from __future__ import annotations

from collections.abc import Collection
from functools import cache
from typing import NamedTuple

from kb.checks.consistency.floor_keys import plain
from kb.route.station import ChangedWith
from kb.route.stations import STATIONS

HEIGHT = "format.trim.height"
"""The value whose move makes the can another height."""


class BlockFacet(NamedTuple):
    """Which facet the values of a block belong to; `with_height` where they go along with another height."""

    block: str
    facet: ChangedWith
    with_height: ChangedWith | None = None


REACH: tuple[BlockFacet, ...] = (
    BlockFacet("format.body", "diameter"),
    BlockFacet("format.punch.step_height", "bodymaker", "height"),
    BlockFacet("format.neck.shoulder_height", "neck", "height"),
    BlockFacet("format.flange.finished_height", "neck", "height"),
    BlockFacet("format.end", "neck"),
    BlockFacet("format.label", "label"),
    *(BlockFacet(f"format.{block}.", one.changed_with) for one in STATIONS for block in one.blocks),
)
"""The first block that a key begins with gives its facet."""


class Kind(NamedTuple):
    """A class of changeover; `rung` counts from 0, the higher the further it reaches."""

    id: str
    title: str
    rung: int


_TITLES = {
    "nothing": "Nothing changes",
    "settings": "Settings and targets only",
    "label": "Label only",
    "end-neck": "End and neck",
    "height": "Height",
    "height-neck": "Height and neck",
    "bodymaker": "Bodymaker tools",
    "metal": "Metal: coil, blank or cup tools",
    "diameter": "Body diameter",
}
LADDER: tuple[Kind, ...] = tuple(Kind(ident, title, i) for i, (ident, title) in enumerate(_TITLES.items()))
"""All classes, the least first."""

_BY_ID = {one.id: one for one in LADDER}

_ALONG: dict[str, tuple[ChangedWith, ...]] = {
    "metal": ("bodymaker", "height", "neck"),
    "bodymaker": ("height", "neck"),
}
"""What a title names beside its class; another body diameter changes everything."""

_WORDS: dict[ChangedWith, str] = {"bodymaker": "bodymaker tools", "height": "height", "neck": "end and neck"}


@cache
def _reach(key: str) -> BlockFacet:
    return next(one for one in REACH if key.startswith(one.block))


def facet(key: str, *, with_height: bool = False) -> ChangedWith:
    """What a value of a format is made by.

    Example:
        >>> facet("format.neck.plug_diameter"), facet("format.punch.step_height", with_height=True)
        ('neck', 'height')
    """
    found = _reach(plain(key))
    return found.with_height if with_height and found.with_height else found.facet


def class_of(targets: Collection[str], limits: Collection[str] = ()) -> Kind:
    """The class of a changeover, its title, and the other changes.

    Example:
        >>> class_of(["format.label"]).title, class_of(["format.stock.gauge", "format.trim.height"]).title
        ('Label only', 'Metal: coil, blank or cup tools; with height')
    """
    height = HEIGHT in targets
    facets = {facet(key, with_height=height) for key in targets} | ({"settings"} if limits else set())
    found = _BY_ID[_rung(facets)]
    along = [_WORDS[one] for one in _ALONG.get(found.id, ()) if one in facets]
    return found._replace(title=f"{found.title}; with {', '.join(along)}") if along else found


def _rung(facets: Collection[str]) -> str:
    for name in ("diameter", "metal", "bodymaker"):
        if name in facets:
            return name
    if "height" in facets:
        return "height-neck" if "neck" in facets else "height"
    if "neck" in facets:
        return "end-neck"
    return next((name for name in ("label", "settings") if name in facets), "nothing")
