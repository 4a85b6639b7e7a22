"""A book's size formats as a table: one row for each, numbers in the unit of their column."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from decimal import Decimal
from pathlib import PurePosixPath

from kb.book import conversion, keys
from kb.book.compose import BUILT_ON, Written, described, leaves, values_of
from kb.book.finding import Place, one_line
from kb.book.load import Book, Spec
from kb.book.quantity import Quantity
from kb.book.records import SizeFormat
from kb.table.grid import Value

_POSITION = re.compile(r"\[[0-9]+\]")


def table_of(
    book: Book, formats: Collection[str] | None = None
) -> tuple[Sequence[str], Sequence[Sequence[Value]]]:
    """The names of the columns, and a row for each format.

    A quantity has its target value under its key with the unit, and where formats give a tolerance two more
    columns: how far the limits are below and above. `kb.table.drafts` reads this table without a map.
    """
    rows = [
        _row(spec.record)
        for ident, spec in sorted(book.of("size-format").items())
        if formats is None or ident in formats
    ]
    order = {key: i for i, key in enumerate(leaves())}
    columns = sorted(
        {name for row in rows for name in row},
        key=lambda name: (
            order[_POSITION.sub("[]", name.split(" ")[0])],
            keys.steps(name.split(" ")[0]),
            (" - " in name) + 2 * (" + " in name),
        ),
    )
    return columns, [[row.get(name) for name in columns] for row in rows]


def with_places(spec: Spec[SizeFormat]) -> dict[str, Written]:
    """The values of a format in full, with the place of each that another file gives or would give."""
    document = spec.document
    found = values_of(spec.record)
    for key, one in found.items():
        if document.inherits(key):
            found[key] = one._replace(note=f"from {_in_book(spec.place(key))}")
    for own in document.overrides:
        if own.key in found and not document.inherits(own.key):
            found[own.key] = found[own.key]._replace(note=f"in place of {_in_book(own.other_place)}")
    return found


def _in_book(place: Place) -> str:
    """Line and file of a place, the file from the folder of the book."""
    file = PurePosixPath(place.file)
    return one_line(f"{file.parent.name}/{file.name}:{place.span.line}")


def _row(record: SizeFormat) -> dict[str, Value]:
    found: dict[str, Value] = {}
    lists: dict[str, list[str]] = {}
    for key, value in keys.values(record):
        if isinstance(value, Quantity):
            found |= _numbers(key, value)
        elif key.endswith("]"):
            lists.setdefault(key.rpartition("[")[0], []).append(str(value))
        elif isinstance(value, int):
            found[key] = Decimal(value)
        elif isinstance(value, str) and value and key not in BUILT_ON:
            found[key] = value
    return {**found, **{f"{key}[]": "; ".join(items) for key, items in lists.items()}}


def _numbers(key: str, value: Quantity) -> dict[str, Value]:
    schema = described(key)
    assert schema is not None
    unit = conversion.written(schema["quantity"].get("show") or schema["quantity"]["unit"])
    low, target, high = _in_unit(value, unit)
    name = f"[{unit}]" if unit else "[]"
    found: dict[str, Value] = {f"{key} {name}": target}
    if value.toleranced:
        found |= {f"{key} - {name}": target - low, f"{key} + {name}": high - target}
    return found


def _in_unit(value: Quantity, unit: str) -> tuple[Decimal, Decimal, Decimal]:
    if conversion.written(value.unit) == unit:
        low, target, high = map(Decimal, value.written)
        return low, target, high
    factor = [
        Decimal(f"{conversion.in_unit(one, value.canonical, unit):.12g}")
        for one in (value.low, float(value), value.high)
    ]
    return factor[0], factor[1], factor[2]
