"""Records: made from a document, then read and changed by key.

The key `ironing.rings[1].bore` names the same value in a record and in the file that it was read from.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import fields, is_dataclass, replace
from functools import cache
from types import NoneType, UnionType
from typing import Annotated, Any, TypeAlias, TypeVar, Union, get_args, get_origin, get_type_hints

from kb.book import tree
from kb.book.quantity import Quantity, understood
from kb.book.records import (
    Band,
    BodyStandard,
    End,
    Limits,
    Line,
    Material,
    Plant,
    Reference,
    SizeFormat,
    Trial,
    Waivers,
)
from kb.book.records_floor import Changeover, Floor, SheetCodes, Week
from kb.book.tree import Document, Node, entries, items, scalar

R = TypeVar("R")

_LONGEST = 9
"""Digits of a position in a list; a longer number is no position."""


def at(record: object, key: str) -> Any:
    """The value under a key, such as `flange.width`, `rings[1].bore` or `limits.seam.overlap.least`.

    Raises:
        LookupError: if the record has no such key.
    """
    found: Any = record
    todo: Sequence[str | int] = steps(key)
    while todo:
        if isinstance(found, Mapping):
            name, todo = _longest_name(found, todo)
            found = found[name]
            continue
        step, *todo = todo
        if isinstance(step, int) and isinstance(found, tuple):
            found = found[step]
        elif step in getattr(found, "__dataclass_fields__", ()):
            found = getattr(found, str(step))
        else:
            raise KeyError(key)
    return found


def quantity_at(record: object, key: str) -> Quantity | None:
    """The quantity under a key; None if the record has no such key, or no quantity there."""
    try:
        return _quantity(at(record, key))
    except LookupError:
        return None


def quantities(record: object, prefix: str = "") -> Iterator[tuple[str, Quantity]]:
    """Every quantity of a record with its key, in the order of the record's fields."""
    for key, value in values(record, prefix):
        found = _quantity(value)
        if found is not None:
            yield key, found


def values(record: object, prefix: str = "") -> Iterator[tuple[str, Any]]:
    """Every value of a record with its key, in the order of the record's fields; what is left out is skipped.

    Example:
        >>> from kb.book.records import RedrawTools
        >>> list(values(RedrawTools(die_bore=66.4, die_radius=2.0), "redraw"))
        [('redraw.die_bore', 66.4), ('redraw.die_radius', 2.0)]
    """
    kind: type = type(record)
    names = _names(kind)
    if names:
        start = f"{prefix}." if prefix else ""
        for name in names:
            yield from values(getattr(record, name), start + name)
    elif isinstance(record, tuple):
        for i, item in enumerate(record):
            yield from values(item, f"{prefix}[{i}]")
    elif isinstance(record, Mapping):
        start = f"{prefix}." if prefix else ""
        for name, item in record.items():
            yield from values(item, start + name)
    elif record is not None:
        yield prefix, record


def references(record: object) -> Iterator[tuple[str, str, str]]:
    """Every id of another file in a record: its key, the kind of the file, the id."""
    kind: type = type(record)
    for pattern, of in _references(kind):
        for key, ident in members(record, pattern):
            if ident:
                yield key, of, ident


def members(record: object, pattern: str) -> Iterator[tuple[str, Any]]:
    """The values under a key in which `[]` means each position of a list; none if there is no such key.

    Example:
        >>> from kb.book.records import PalletSpec
        >>> list(members(PalletSpec(per_layer=389, layers=21), "layers"))
        [('layers', 21)]
    """
    head, bracket, rest = pattern.partition("[]")
    try:
        found = at(record, head)
    except LookupError:
        return
    if not bracket:
        yield pattern, found
        return
    for i, item in enumerate(found if isinstance(found, tuple) else ()):
        if not rest:
            yield f"{head}[{i}]", item
        for key, value in members(item, rest.removeprefix(".")) if rest else ():
            yield f"{head}[{i}].{key}", value


@cache
def _references(kind: type) -> tuple[tuple[str, str], ...]:
    """The keys of a record that hold ids of other files, with the kind of file."""
    found: list[tuple[str, str]] = []
    for name, hint in get_type_hints(kind, include_extras=True).items() if _names(kind) else ():
        key, inner = name, hint
        if get_origin(inner) in {Union, UnionType}:
            inner = next(one for one in get_args(inner) if one is not NoneType)
        if get_origin(inner) is tuple:
            key, inner = f"{name}[]", get_args(inner)[0]
        note = get_args(inner)[-1] if get_origin(inner) is Annotated else None
        if isinstance(note, Reference):
            found.append((key, note.kind))
        elif isinstance(inner, type):
            found += [(f"{key}.{rest}", of) for rest, of in _references(inner)]
    return tuple(found)


def put(record: R, changes: Mapping[str, object]) -> R:
    """A record with other values under some of its keys; what does not change is shared with the old one."""
    tree: dict[str | int, Any] = {}
    for key, value in changes.items():
        branch = tree
        *way, leaf = steps(key)
        for step in way:
            branch = branch.setdefault(step, {})
        branch[leaf] = value
    return _put(record, tree) if tree else record


def _put(into: Any, tree: dict[str | int, Any]) -> Any:
    if isinstance(into, tuple):
        return tuple(_changed(item, tree[i]) if i in tree else item for i, item in enumerate(into))
    if isinstance(into, Mapping):
        return {**into, **tree}
    changes = {str(name): _changed(getattr(into, str(name)), branch) for name, branch in tree.items()}
    return replace(into, **changes)


def _changed(old: Any, new: Any) -> Any:
    return _put(old, new) if isinstance(new, dict) else new


@cache
def steps(key: str) -> tuple[str | int, ...]:
    """A key as its steps: names, and positions in lists.

    Example:
        >>> steps("format.ironing.rings[1].bore")
        ('format', 'ironing', 'rings', 1, 'bore')
    """
    found: list[str | int] = []
    for part in key.split("."):
        name, *indexes = part.replace("]", "").split("[")
        found += [name, *(int(one) if one.isdecimal() and len(one) < _LONGEST else one for one in indexes)]
    return tuple(found)


def _longest_name(found: Mapping[str, Any], todo: Sequence[str | int]) -> tuple[str, Sequence[str | int]]:
    """The name of a mapping that a key goes on with, which may hold dots, and what follows it."""
    for end in range(len(todo), 0, -1):
        name = ".".join(map(str, todo[:end]))
        if name in found:
            return name, todo[end:]
    raise KeyError(todo[0])


def _quantity(value: object) -> Quantity | None:
    if isinstance(value, Band):
        return value.written
    return value if isinstance(value, Quantity) else None


@cache
def _names(kind: type) -> tuple[str, ...]:
    """The fields of a record; none of what is a value, such as a range."""
    return tuple(one.name for one in fields(kind)) if is_dataclass(kind) and kind is not Band else ()


Record: TypeAlias = (
    Plant
    | Line
    | Material
    | End
    | SizeFormat
    | Limits
    | Waivers
    | Floor
    | SheetCodes
    | Changeover
    | Week
    | Trial
)
"""What a file can be."""

RECORDS: dict[str, type] = {
    "plant": Plant,
    "line": Line,
    "material": Material,
    "end": End,
    "size-format": SizeFormat,
    "body-standard": BodyStandard,
    "limits": Limits,
    "waivers": Waivers,
    "floor": Floor,
    "sheet-codes": SheetCodes,
    "changeover": Changeover,
    "week": Week,
    "trial": Trial,
}
"""The record of each kind of file."""

Make = Callable[[Node], Any]


def build(kind: str, document: Document) -> Record:
    """The frozen record of a document that has no finding of shape or units."""
    made: Record = _maker(RECORDS[kind])(document.root)
    return made


@cache
def _maker(hint: Any) -> Make:
    """How a value of an annotated type is made; each type is looked at once."""
    origin, arguments = get_origin(hint), get_args(hint)
    if origin in {Union, UnionType}:
        return _maker(next(one for one in arguments if one is not NoneType))
    if origin is tuple:
        item = _maker(arguments[0])
        return lambda node: tuple(item(one) for one in items(node))
    if origin is dict:
        each = _maker(arguments[1])
        return lambda node: {name: each(one.node) for name, one in entries(node).items()}
    if is_dataclass(hint):
        return _band if hint is Band else _record_maker(hint)
    if origin is Annotated and not isinstance(arguments[-1], Reference):
        return lambda node: understood(scalar(node).text, arguments[-1])
    return lambda node: tree.value(scalar(node))


def _band(node: Node) -> Band:
    found = understood(scalar(node).text, "mm")
    return Band(found.low, found.high, found)


def _record_maker(record: Any) -> Make:
    hints = get_type_hints(record, include_extras=True)
    makers = {one.name: _maker(hints[one.name]) for one in fields(record)}

    def make(node: Node) -> Any:
        given = entries(node)
        return record(**{name: maker(given[name].node) for name, maker in makers.items() if name in given})

    return make
