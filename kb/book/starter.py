"""The missing keys of a size format: in the order of the process, with values of its own book.

The examples in the schema are of no plant. What a new format needs is in this book: ids of lines, metals and
ends, owners, numbers of the machines. The tools' dimensions are on the drawings of the tools.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import PurePosixPath
from typing import TYPE_CHECKING, Any

from kb.book.finding import Finding
from kb.book.schema import shipped_schemas

if TYPE_CHECKING:
    from kb.book.load import Book

_SOURCES = {
    "stock": "the coil order",
    "seam": "the agreement with the filler",
    "fill": "the agreement with the filler",
    "targets": "the agreement with the customer",
    "pallet": "the pallet pattern",
}

MOST_DEEP, MOST_KEYS = 4, 100
"""Steps of a path to a key of a format, and keys of a block, at most."""

MOST_NAMED = 6
"""Ids that one fix names."""


def with_book_values(book: Book, findings: Iterable[Finding]) -> list[Finding]:
    """Findings in their one order; of size formats each missing key with what this book has for it."""
    properties = shipped_schemas().schema("size-format")["properties"]
    found = [_missing_key(book, properties, one) if _is_missing_key(one) else one for one in findings]
    return sorted(found, key=lambda one: one.order)


def _is_missing_key(one: Finding) -> bool:
    return one.name == "shape.missing-key" and PurePosixPath(one.place.file).parent.name == "formats"


def _missing_key(book: Book, properties: Mapping[str, Any], one: Finding) -> Finding:
    top, _, inner = one.place.key.partition(".")
    described = properties.get(top, {})
    name = inner or top
    own = _OWN.get(one.place.key)
    fixes = one.fixes
    if own is not None:
        values = own(book, PurePosixPath(one.place.file).stem)
        fixes = (_add(name, values),)
        if one.place.key == "body" and book.of("body-standard"):
            fixes += (f"{_add('standard', _standards(book))}; it gives the body and its tools",)
    elif not inner and described.get("required"):
        keys = ", ".join(_with_value(book, top, key) for key in described["required"])
        fixes = (f"add `{top}:` with {keys}, from {_SOURCES.get(top, 'the drawings of the tools')}",)
    elif one.place.key == "effective":
        fixes = ("add `effective:` with the first day of this revision, as year-month-day in quotes",)
    message = one.message.partition("; an example is ")[0]
    return replace(one, message=message, fixes=fixes, rank=_rank(properties, one.place.key))


def _rank(properties: Mapping[str, Any], key: str) -> int:
    """The place of a key among all keys of the schema, in its order."""
    rank, steps = 0, re.findall(r"[^.\[\]]+", key)
    for depth in range(MOST_DEEP):
        step = steps[depth] if depth < len(steps) else ""
        if step.isdigit():
            rank = rank * MOST_KEYS + int(step)
            continue
        names = list(properties)
        rank = rank * MOST_KEYS + (names.index(step) + 1 if step in names else 0)
        described = properties.get(step, {})
        properties = described.get("items", described).get("properties", {})
    return rank


def _with_value(book: Book, group: str, key: str) -> str:
    own = _OWN.get(f"{group}.{key}")
    values = own(book, "") if own else []
    return f"{key} ({', '.join(values[:MOST_NAMED])})" if values else key


def _add(name: str, values: Sequence[str]) -> str:
    """The sentence with the value to write; of several values of this book the first, then the others."""
    if not values:
        return f"add `{name}:`; this book has no value for it yet"
    more = ", ".join(values[1:MOST_NAMED])
    return f"add `{name}: {values[0]}`" + (f"; this book also has {more}" if more else "")


def _ids(kind: str, use: str = "") -> Callable[[Book, str], list[str]]:
    def found(book: Book, _ident: str) -> list[str]:
        specs = book.of(kind).values()
        return sorted(one.id for one in specs if not use or getattr(one.record, "use", use) == use)

    return found


def _standards(book: Book) -> list[str]:
    return sorted(f'"{one}"' for one in book.of("body-standard"))


def _machine_numbers(kind: str, key: str) -> Callable[[Book, str], list[str]]:
    """Numbers of the machines of a kind, with the line of each."""

    def found(book: Book, _ident: str) -> list[str]:
        numbers = [
            f"{getattr(machine, key)}"
            for line in book.of("line").values()
            for machine in line.record.machines
            if machine.kind == kind and getattr(machine, key, None) is not None
        ]
        return list(dict.fromkeys(numbers))

    return found


def _always(*values: str) -> Callable[[Book, str], list[str]]:
    return lambda _book, _ident: list(values)


_OWN: Mapping[str, Callable[[Book, str], list[str]]] = {
    "id": lambda _book, ident: [ident],
    "title": lambda _book, ident: [f'"{ident}"'],
    "revision": _always("1"),
    "status": _always("draft"),
    "why": _always("New format."),
    "body": lambda book, _ident: sorted({f'"{one.record.body}"' for one in book.of("size-format").values()}),
    "owner": lambda book, _ident: list(book.plant.owners) if book.plant else [],
    "lines": lambda book, _ident: [f"[{one}]" for one in sorted(book.of("line"))],
    "end": _ids("end"),
    "stock.material": _ids("material", "body"),
    "blank.across": _machine_numbers("cupper", "across"),
    "neck.stages": _machine_numbers("necker", "stages"),
}
"""What this book has for a key: a function of the book and the id of the format."""
