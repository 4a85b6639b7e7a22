"""From a document without findings to its record: its quantities, and all other values as written."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields, is_dataclass
from functools import cache
from types import NoneType, UnionType
from typing import Annotated, Any, TypeAlias, Union, get_args, get_origin, get_type_hints

from kb.book.quantity import understood
from kb.book.records import (
    Band,
    End,
    Limits,
    Line,
    Material,
    Plant,
    Reference,
    SizeFormat,
    Waivers,
)
from kb.book.records_changeover import Changeover, Week
from kb.book.records_floor import Floor, SheetCodes
from kb.book.tree import Document, Node, entries, items, scalar, value

Record: TypeAlias = (
    Plant | Line | Material | End | SizeFormat | Limits | Waivers | Floor | SheetCodes | Changeover | Week
)
"""What a file can be."""

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

Make = Callable[[Node], Any]


def build(kind: str, document: Document) -> Record:
    """Make the record of a document without a finding of shape or units.

    Args:
        kind: the document's kind
        document: the spec as read

    Returns:
        The frozen record.
    """
    made: Record = _maker(RECORDS[kind])(document.root)
    return made


@cache
def _maker(hint: Any) -> Make:
    """How a value of an annotated type is made; each type is looked at once."""
    origin, arguments = get_origin(hint), get_args(hint)
    if origin in {Union, UnionType}:
        return _maker(next(one for one in arguments if one is not NoneType))
    if origin is tuple:
        return _list_maker(_maker(arguments[0]))
    if origin is dict:
        return _group_maker(_maker(arguments[1]))
    if is_dataclass(hint):
        return _band if hint is Band else _record_maker(hint)
    if origin is Annotated and not isinstance(arguments[-1], Reference):
        return _number_maker(arguments[-1])
    return _as_written


def _as_written(node: Node) -> Any:
    return value(scalar(node))


def _number_maker(unit: str) -> Make:
    return lambda node: understood(scalar(node).text, unit)


def _band(node: Node) -> Band:
    found = understood(scalar(node).text, "mm")
    return Band(found.low, found.high, found)


def _list_maker(item: Make) -> Make:
    return lambda node: tuple(item(one) for one in items(node))


def _group_maker(each: Make) -> Make:
    return lambda node: {name: each(one.node) for name, one in entries(node).items()}


def _record_maker(record: Any) -> Make:
    hints = get_type_hints(record, include_extras=True)
    makers = {one.name: _maker(hints[one.name]) for one in fields(record)}

    def make(node: Node) -> Any:
        given = entries(node)
        return record(**{name: maker(given[name].node) for name, maker in makers.items() if name in given})

    return make
