"""The keys by which the floor names a value: `format.dome.depth`, `route.blank.pitch`, `machine.speed`.

    format  stock  end  end_stock  plant    a number of these specs, with its written tolerance
    line  machine                           a number of the line, or of the machine the row is for
    route                                   a computed result (kb/route/stations.py)

List positions count from 0; `[]` stands for every member of a list.
"""

from __future__ import annotations

import re
from dataclasses import fields, is_dataclass
from difflib import get_close_matches
from functools import cache
from types import NoneType, UnionType
from typing import Annotated, Any, NamedTuple, Union, get_args, get_origin, get_type_hints

from kb.book.conversion import CANONICAL
from kb.book.records import Band, End, Line, Machine, Material, Plant, SizeFormat
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

_POSITION = re.compile(r"\[[0-9]*\]")


class Leaf(NamedTuple):
    """A number that a key can name: the unit inside, "count" for a whole number."""

    unit: str

    @property
    def dimension(self) -> str:
        """What is measured, by the name displays have for it."""
        if self.unit == COUNT:
            return COUNT
        return next((name for name, unit in CANONICAL.items() if unit == self.unit), self.unit)


def leaf(key: str) -> Leaf | None:
    """The number a key names, in whatever format.

    Args:
        key: a key; any list position will do

    Returns:
        Its leaf; nothing when no spec and no route has such a number.

    Example:
        >>> leaf("format.ironing.rings[2].bore"), leaf("route.necked[].pilot"), leaf("format.title")
        (Leaf(unit='mm'), Leaf(unit='mm'), None)
    """
    return _leaves().get(_POSITION.sub("[]", key))


def near(key: str) -> str | None:
    """The key that a wrong one was probably meant to be."""
    found = get_close_matches(_POSITION.sub("[]", key), _leaves(), n=1)
    return found[0] if found else None


@cache
def _leaves() -> dict[str, Leaf]:
    found: dict[str, Leaf] = {}
    for root, record in ROOTS.items():
        _walk(record, root, found)
    return found


def _walk(record: Any, prefix: str, found: dict[str, Leaf]) -> None:
    hints = get_type_hints(record, include_extras=True)
    computed = prefix.startswith("route")
    for one in fields(record):
        hint = hints[one.name]
        key = f"{prefix}.{one.name}"
        if get_origin(hint) in {Union, UnionType}:
            hint = next(inner for inner in get_args(hint) if inner is not NoneType)
        if get_origin(hint) is tuple:
            hint, key = get_args(hint)[0], f"{key}[]"
        if get_origin(hint) is Annotated:
            if not computed or "words" in one.metadata:
                found[key] = Leaf(get_args(hint)[-1])
        elif hint is int:
            found[key] = Leaf(COUNT)
        elif is_dataclass(hint) and hint is not Band and one.name not in {"case", "machines"}:
            _walk(hint, key, found)
