"""The keys by which the floor names a value: `format.dome.depth`, `route.blank.pitch`, `machine.speed`.

    format  stock  end  end_stock  plant    a number of these specs, with its written tolerance
    format                                  also its label, body code, end and material, as text
    line  machine                           a number of the line, or of the machine the row is for
    route                                   a computed result (kb/route/stations)

List positions count from 0; `[]` means every member of a list. Where a file lists many keys, `.*`
after a block means all below it, at any depth: `format.fill.*`.
"""

from __future__ import annotations

import re
from dataclasses import fields, is_dataclass
from difflib import get_close_matches
from functools import cache
from types import NoneType, UnionType
from typing import Annotated, Any, NamedTuple, Union, get_args, get_origin, get_type_hints

from kb.book.conversion import CANONICAL
from kb.book.records import Band, End, Line, Machine, Material, Plant, Reference, SizeFormat
from kb.route.station import declared
from kb.route.stations import Route

ROOTS: dict[str, Any] = {
    "format": SizeFormat,
    "stock": Material,
    "end": End,
    "end_stock": Material,
    "plant": Plant,
    "line": Line,
    "machine": Machine,
    "route": Route,
}
COUNT = "count"
"""What a whole number is shown as, which has no unit."""
TEXT = "text"
"""The same for a text, which is no number at all."""

IDENTITY = frozenset(
    {
        "id",
        "title",
        "revision",
        "status",
        "effective",
        "owner",
        "why",
        "lines",
        "also_called",
        "standard",
        "variant_of",
        "approvals",
    }
)
"""Keys of a size format that identify it; they do not change the can."""

_POSITION = re.compile(r"\[[0-9]*\]")


class Leaf(NamedTuple):
    """What a key can name: a number with the unit inside, "count" for a whole number; or "text"."""

    unit: str

    @property
    def dimension(self) -> str:
        """What is measured, by the name displays have for it."""
        if self.unit == COUNT:
            return COUNT
        return next((name for name, unit in CANONICAL.items() if unit == self.unit), self.unit)


def plain(key: str) -> str:
    """A key with `[]` for every list position.

    Example:
        >>> plain("format.ironing.rings[2].bore")
        'format.ironing.rings[].bore'
    """
    return _POSITION.sub("[]", key)


def leaf(key: str) -> Leaf | None:
    """The number or text that a key names, in any format; any list position is accepted.

    Example:
        >>> leaf("format.ironing.rings[2].bore"), leaf("route.necked[].pilot"), leaf("format.title")
        (Leaf(unit='mm'), Leaf(unit='mm'), None)
        >>> leaf("format.label")
        Leaf(unit='text')
    """
    return _leaves().get(plain(key))


def near(key: str) -> str | None:
    """The key that a wrong one was probably meant to be."""
    found = get_close_matches(plain(key), _leaves(), n=1)
    return found[0] if found else None


@cache
def sizes() -> tuple[str, ...]:
    """Every value of a size format in which two formats may differ, as keys with `[]`, in process order."""
    format_keys = [key for key in _leaves() if key.startswith("format.")]
    return tuple(key for key in format_keys if key.split(".")[1].removesuffix("[]") not in IDENTITY)


@cache
def _rank() -> dict[str, int]:
    return {key: i for i, key in enumerate(sizes())}


@cache
def order(key: str) -> tuple[int, tuple[int, ...], int]:
    """Where a value of a size format is in process order, list members one after the other.

    Example:
        >>> sorted(["format.ironing.rings[1].bore", "format.ironing.rings[0].distance"], key=order)
        ['format.ironing.rings[0].distance', 'format.ironing.rings[1].bore']
    """
    pattern = plain(key)
    head, bracket, _ = pattern.partition("[]")
    ranks = _rank()
    first = min(i for one, i in ranks.items() if one.startswith(f"{head}[]")) if bracket else ranks[pattern]
    return first, tuple(int(one[1:-1]) for one in _POSITION.findall(key)), ranks[pattern]


def covered(pattern: str) -> tuple[str, ...]:
    """The values of a size format that a key of a list names: itself, or all of a block for `.*`.

    A list position is left as it is; `format.*` is no block, and names nothing.

    Example:
        >>> covered("format.redraw.*"), covered("format.ironing.rings[0].bore"), covered("format.*")
        (('format.redraw.die_bore', 'format.redraw.die_radius'), ('format.ironing.rings[0].bore',), ())
    """
    if not pattern.endswith(".*"):
        return (pattern,) if plain(pattern) in _rank() else ()
    block = plain(pattern.removesuffix("*"))
    return tuple(key for key in sizes() if key.startswith(block)) if block != "format." else ()


@cache
def _leaves() -> dict[str, Leaf]:
    found: dict[str, Leaf] = {}
    for root, record in ROOTS.items():
        _walk(record, root, found)
    return found


def _walk(record: Any, prefix: str, found: dict[str, Leaf]) -> None:
    hints = get_type_hints(record, include_extras=True)
    computed = prefix.startswith("route")
    if computed:
        found.update({f"{prefix}.{one.name}": Leaf(one.unit) for one in declared(record)})
    for one in fields(record):
        hint = hints[one.name]
        key = f"{prefix}.{one.name}"
        if get_origin(hint) in {Union, UnionType}:
            hint = next(inner for inner in get_args(hint) if inner is not NoneType)
        if get_origin(hint) is tuple:
            hint, key = get_args(hint)[0], f"{key}[]"
        if get_origin(hint) is Annotated and isinstance(get_args(hint)[-1], Reference):
            hint = get_args(hint)[0]
        if get_origin(hint) is Annotated:
            if not computed:
                found[key] = Leaf(get_args(hint)[-1])
        elif hint is int:
            found[key] = Leaf(COUNT)
        elif hint is str and prefix.startswith("format") and one.name not in IDENTITY:
            found[key] = Leaf(TEXT)
        elif is_dataclass(hint) and hint is not Band and one.name not in {"case", "machines"}:
            _walk(hint, key, found)
