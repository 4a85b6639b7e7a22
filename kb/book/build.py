"""From a judged document to its record: the numbers of its quantities, the rest as written."""

from __future__ import annotations

import types
from collections.abc import Callable, Mapping
from dataclasses import MISSING, fields, is_dataclass
from functools import cache
from typing import Annotated, Any, Union, get_args, get_origin, get_type_hints

from kb.book.quantity import Quantity
from kb.book.records import (
    Band,
    End,
    Limits,
    Line,
    Material,
    Plant,
    SizeFormat,
    Waivers,
)
from kb.book.records_changeover import Changeover, Week
from kb.book.records_floor import Floor, SheetCodes

RECORDS: dict[str, type] = {
    "plant": Plant,
    "line": Line,
    "material": Material,
    "end": End,
    "size-format": SizeFormat,
    "limits": Limits,
    "waivers": Waivers,
    "floor": Floor,
    "sheet-codes": SheetCodes,
    "changeover": Changeover,
    "week": Week,
}
"""The record of each kind of file."""

Make = Callable[[Any, str, Mapping[str, Quantity]], Any]


def build(kind: str, data: Mapping[str, Any], quantities: Mapping[str, Quantity]) -> Any:
    """Make the record of a document whose shape and units were judged sound.

    Args:
        kind: the document's kind
        data: its plain data
        quantities: its quantities by key

    Returns:
        The frozen record.
    """
    return _maker(RECORDS[kind])(data, "", quantities)


@cache
def _maker(hint: Any) -> Make:
    """How a value of an annotated type is made; each type is looked at once."""
    origin = get_origin(hint)
    if origin in {Union, types.UnionType}:
        return _maker(next(one for one in get_args(hint) if one is not types.NoneType))
    if origin is tuple:
        return _list_maker(_maker(get_args(hint)[0]))
    if origin is dict:
        return _group_maker(_maker(get_args(hint)[1]))
    if is_dataclass(hint):
        return _band if hint is Band else _record_maker(hint)
    return _number if origin is Annotated else _as_written


def _as_written(data: Any, _key: str, _quantities: Mapping[str, Quantity]) -> Any:
    return data


def _list_maker(item: Make) -> Make:
    return lambda data, key, q: tuple(item(one, f"{key}[{i}]", q) for i, one in enumerate(data))


def _group_maker(value: Make) -> Make:
    return lambda data, key, q: {name: value(one, f"{key}.{name}", q) for name, one in data.items()}


def _record_maker(record: Any) -> Make:
    hints = get_type_hints(record, include_extras=True)
    plan = [(one.name, _maker(hints[one.name]), one.default is MISSING) for one in fields(record)]

    def make(data: Any, key: str, quantities: Mapping[str, Quantity]) -> Any:
        prefix = f"{key}." if key else ""
        given = {
            name: maker(data[name], prefix + name, quantities)
            for name, maker, required in plan
            if required or name in data
        }
        return record(**given)

    return make


def _number(data: Any, key: str, quantities: Mapping[str, Quantity]) -> float:
    found = quantities.get(key)
    return float(data) if found is None else found


def _band(_data: Any, key: str, quantities: Mapping[str, Quantity]) -> Band:
    found = quantities[key]
    return Band(found.low, found.high, found)
