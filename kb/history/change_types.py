"""Sorts of change: by the key that changed, and by how its value moved."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cache
from typing import Any, Literal

from kb.book.conversion import alike, factor_and_offset
from kb.book.quantity import Quantity
from kb.book.schema import shipped_schemas
from kb.book.structure import local_target
from kb.route.stations import STATIONS

Kind = Literal[
    "editorial",
    "document",
    "re-expressed",
    "target moved",
    "tightened",
    "widened",
    "tool",
    "material",
    "interface",
    "limit",
    "setting",
    "waiver",
    "line",
    "plant",
    "floor",
    "changeover",
]
"""What sort of change it is; several may hold. `re-expressed` is the same value in another unit, within the
rounding of the digits written; `interface` touches the end, the filler or the customer."""

RE_EXPRESSED = "rewritten within rounding of the digits, no tool change"

EDITORIAL = ("title", "why", "also_called", "owner", "source", "about", "review", "reason", "evidence")
"""Last steps of keys that hold words for people; nothing is computed from them."""

DOCUMENT = ("revision", "effective", "status", "approvals", "standard", "variant_of")

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


def kinds_of(kind: str, key: str, old: Quantity | None, new: Quantity | None) -> tuple[Kind, ...]:
    """The sorts of change that hold for one value, before and now, in the order of the model."""
    last = key.rpartition(".")[2]
    if last in EDITORIAL and kind != "waivers":
        return ("editorial",)
    if kind == "limits":
        return ("setting",) if key.startswith("settings.") else (*_bound(last, old, new), "limit")
    if key in DOCUMENT:
        return ("document",)
    found: list[Kind] = []
    if old is not None and new is not None:
        found += _kinds_of_move(old, new)
    if kind == "size-format":
        for sort, keys in (("tool", TOOL), ("material", MATERIAL), ("interface", INTERFACE)):
            if under(key, keys):
                found.append(sort)  # type: ignore[arg-type]
        return tuple(found) or ("target moved",)
    return (*found, OF_FILE.get(kind, "document"))


def under(key: str, keys: Sequence[str]) -> bool:
    """Whether a key is one of some keys, or is below one."""
    return any(key == one or key.startswith((f"{one}.", f"{one}[")) for one in keys)


def _bound(end: str, old: Quantity | None, new: Quantity | None) -> tuple[Kind, ...]:
    """A limit that lets less pass is tightened, one that lets more pass is widened."""
    if end not in {"least", "most"}:
        return ()
    if old is None or new is None:
        return ("widened",) if new is None else ("tightened",)
    return ("tightened",) if (new.nominal > old.nominal) == (end == "least") else ("widened",)


def _kinds_of_move(old: Quantity, new: Quantity) -> list[Kind]:
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


def re_expressed(old: Quantity, new: Quantity) -> bool:
    """Whether two quantities in different units round to one another.

    Target and both tolerances are then the same, rounded to the digits written in either unit.

    Example:
        >>> from kb.book.quantity import parse
        >>> re_expressed(parse("66.030 ±0.001 mm", "mm"), parse("2.59961 ±0.00004 in", "mm"))
        True
        >>> re_expressed(parse("66.030 ±0.001 mm", "mm"), parse("2.600 ±0.00004 in", "mm"))
        False
    """
    if old.canonical != new.canonical or old.unit == new.unit or old.toleranced != new.toleranced:
        return False
    fineness = min(_half_digit(one, one.decimals) for one in (old, new))
    if abs(old.nominal - new.nominal) > fineness:
        return False
    sides = (
        (old.nominal - old.low, new.nominal - new.low, 0),
        (old.high - old.nominal, new.high - new.nominal, 2),
    )
    return all(
        abs(before - after) <= min(_half_digit(one, _decimals(one.written[end])) for one in (old, new))
        for before, after, end in sides
    )


def _half_digit(one: Quantity, decimals: int) -> float:
    """Half of the last written digit, in the unit inside; a hair more for the rounding of floats."""
    factor, _ = factor_and_offset(one.unit, one.canonical)
    return float(Fraction(1, 2 * 10**decimals) * factor) * (1 + 1e-9)


def _decimals(text: str) -> int:
    return max(0, -int(Decimal(text).as_tuple().exponent))


Steps = tuple[str | int, ...]
Names = Mapping[str, str]
"""Limits and settings in process order, with the words that a reader knows them by."""
Order = tuple[tuple[int, str], ...]

IDENTITY = "Identity"
"""The station of what is at the top of a file and is no group."""


@dataclass(frozen=True, slots=True)
class Term:
    """What a key is called: the part of the file it is in, its name with its list member, its order."""

    station: str
    words: str
    order: Order


def term(kind: str, steps: Sequence[str | int], members: Sequence[str] = (), *, names: Names) -> Term:
    """The term of a key; a key that the schema lacks is called by itself.

    `members` is what the members of lists on the way are called, the outermost first.

    Example:
        >>> term("size-format", ("ironing", "rings", 2, "bore"), names={}).words
        'ring bore, ring 3'
        >>> term("limits", ("limits", "blank.web", "least"), names={}).words
        'least allowed, blank.web'
    """
    root: Any = _schema(kind)
    schema, words = root, ""
    order: list[tuple[int, str]] = []
    asides: list[str] = []
    named = list(members)
    for step in steps:
        if isinstance(step, int):
            schema = _target(root, schema.get("items", {}))
            words = str(schema.get("title", words))
            asides.append((named.pop(0) if named else "") or f"{words} {step + 1}")
            order.append((step, ""))
        elif step in schema.get("properties", {}):
            order.append((list(schema["properties"]).index(step), ""))
            schema = _target(root, schema["properties"][step])
            words = str(schema.get("title", step))
        else:
            inner = schema.get("additionalProperties")
            schema = _target(root, inner) if isinstance(inner, dict) else {}
            words = str(schema.get("title", ""))
            asides.append(names.get(step, step))
            order.append((list(names).index(step) if step in names else len(names), step))
    if asides and asides[-1].startswith(f"{words} "):
        words = ""  # a member of a list by its number needs no other name
    phrase = ", ".join(filter(None, [words, *reversed(asides)]))
    return Term(_station(kind, steps), phrase, tuple(order))


def _station(kind: str, steps: Sequence[str | int]) -> str:
    if not steps:
        return IDENTITY
    top = _schema(kind).get("properties", {}).get(steps[0], {})
    plain = top.get("type") not in {"object", "array"} and "reference" not in top
    title = IDENTITY if plain and kind == "size-format" else str(top.get("title", steps[0]))
    return title[:1].upper() + title[1:]


@cache
def _schema(kind: str) -> Any:
    schemas = shipped_schemas()
    return schemas.schema(kind) if kind in schemas.kinds else {}


def _target(root: Any, schema: Any) -> Any:
    return {**local_target(root, schema["$ref"]), **schema} if "$ref" in schema else schema
