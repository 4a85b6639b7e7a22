"""Sorts of change by key, and which owners answer for them; keys only, the roles stand in the book."""

from __future__ import annotations

from collections.abc import Sequence

from kb.book.quantity import Quantity
from kb.review.model import Kind
from kb.route.stations import STATIONS

EDITORIAL = ("title", "why", "also_called", "owner", "source", "about", "review", "reason", "evidence")
"""Last steps of keys that hold words for people; nothing is computed from them."""

DOCUMENT = ("revision", "effective", "status")

INTERFACE = ("body", "end", "label", *(key for one in STATIONS for key in one.interface))
"""What the end maker, the filler or the customer meets."""

MATERIAL = ("stock",)

TOOL = tuple(key for one in STATIONS for key in one.tools)
"""Sizes of tools, which are made of steel or carbide."""

OF_FILE: dict[str, Kind] = {
    "material": "material",
    "end": "interface",
    "line": "line",
    "plant": "plant",
    "waivers": "waiver",
    "floor": "floor",
    "changeover": "changeover",
}

APPROVED_BY: dict[Kind, tuple[str, ...]] = {
    "document": ("owner",),
    "target moved": ("owner",),
    "tightened": ("owner",),
    "widened": ("owner",),
    "tool": ("owner",),
    "material": ("owner", "stock.owner"),
    "interface": ("owner", "end.owner"),
    "limit": ("limits.*.owner",),
    "setting": ("settings.*.owner",),
    "waiver": ("waivers[].owner", "waivers[].approver"),
    "line": ("owner",),
    "plant": ("owners",),
    "floor": ("owner",),
    "changeover": ("owner",),
}
"""Owners who must approve each sort of change: keys of the changed file, or of one the format refers to.

Common practice, no source. Beside them stand the owners of limits that a format comes to fail or to near.
"""


def kinds_of(kind: str, key: str, old: Quantity | None, new: Quantity | None) -> tuple[Kind, ...]:
    """The sorts of change that hold for one value.

    Args:
        kind: kind of spec
        key: the value's key
        old: the quantity before, if it was one
        new: the quantity now

    Returns:
        One sort or several, in the order of the model.
    """
    last = key.rpartition(".")[2]
    if last in EDITORIAL and kind != "waivers":
        return ("editorial",)
    if kind == "limits":
        return ("setting",) if key.startswith("settings.") else (*_bound(last, old, new), "limit")
    if key in DOCUMENT:
        return ("document",)
    found: list[Kind] = []
    if old is not None and new is not None:
        found += _moved(old, new)
    if kind == "size-format":
        for sort, keys in (("tool", TOOL), ("material", MATERIAL), ("interface", INTERFACE)):
            if under(key, keys):
                found.append(sort)  # type: ignore[arg-type]
        return tuple(found) or ("target moved",)
    return (*found, OF_FILE.get(kind, "document"))


def under(key: str, keys: Sequence[str]) -> bool:
    """Whether a key is one of some keys, or lies below one."""
    return any(key == one or key.startswith((f"{one}.", f"{one}[")) for one in keys)


def _bound(end: str, old: Quantity | None, new: Quantity | None) -> tuple[Kind, ...]:
    """A limit that lets less pass is tightened, one that lets more pass is widened."""
    if end not in {"least", "most"}:
        return ()
    if old is None or new is None:
        return ("widened",) if new is None else ("tightened",)
    return ("tightened",) if (new.nominal > old.nominal) == (end == "least") else ("widened",)


def _moved(old: Quantity, new: Quantity) -> list[Kind]:
    found: list[Kind] = []
    if not alike(old.nominal, new.nominal):
        found.append("target moved")
    before, after = old.high - old.low, new.high - new.low
    if old.toleranced and not new.toleranced:
        found.append("widened")  # nothing says any more how far it may be off
    elif new.toleranced and not old.toleranced:
        found.append("tightened")
    elif not alike(before, after, scale=abs(old.nominal)):
        found.append("tightened" if after < before else "widened")
    return found


def alike(one: float, other: float, scale: float = 0.0) -> bool:
    """Whether two numbers are the same but for the rounding of doubles."""
    return abs(one - other) <= 1e-12 * max(abs(one), abs(other), scale)
