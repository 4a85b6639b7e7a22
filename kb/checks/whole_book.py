"""Checks on the book as a whole: review dates, formats beside one another, what is unused."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import fields

from kb.book.finding import Finding, Severity
from kb.book.load import Book, Spec
from kb.book.records import SizeFormat


def _at(spec: Spec, key: str, name: str, message: str, *fixes: str, severity: Severity = "error") -> Finding:
    return Finding(name, severity, spec.place(key), message, fixes)


def review_faults(book: Book, today: datetime.date) -> Iterator[Finding]:
    """Limits and settings whose review date has passed."""
    spec, limits = book.only("limits"), book.limits
    if spec is None or limits is None:
        return
    for group, given in (("limits", limits.limits), ("settings", limits.settings)):
        for name, one in given.items():
            if one.review < today.isoformat():
                message = f"{name} passed its review date {one.review}; owner {one.owner}"
                fix = "confirm or change the value, then set a new review date"
                yield _at(spec, f"{group}.{name}.review", "limits.review", message, fix, severity="warning")


_NAMES = frozenset(("id", "title", "also_called", "revision", "status", "effective", "owner", "why", "lines"))
"""Keys of a format that say which it is, and not what it is."""


def format_faults(book: Book) -> Iterator[Finding]:
    """Formats that look alike, unreleased ends, stock of the wrong use, machines that are in a line twice."""
    formats = book.of("size-format")
    for spec in formats.values():
        end = book.of("end").get(spec.record.end)
        if spec.record.status == "released" and end is not None and end.record.status != "released":
            message = f"a released format on end {end.id}, which is {end.record.status}"
            yield _at(spec, "end", "book.unreleased-end", message, "release the end, or choose another")
    yield from _look_alikes(list(formats.values()))
    yield from _stock_faults(book)
    for line in book.of("line").values():
        yield from _machines_twice(line)


def _stock_faults(book: Book) -> Iterator[Finding]:
    """Bodies of end stock, and ends of body stock."""
    named = [(spec, "stock.material", spec.record.stock.material) for spec in book.of("size-format").values()]
    named += [(spec, "material", spec.record.material) for spec in book.of("end").values()]
    for spec, key, ident in named:
        use = "end" if spec.kind == "end" else "body"
        metal = book.of("material").get(ident)
        if metal is not None and metal.record.use != use:
            message = f"{ident} is {metal.record.use} stock; {use} stock is required here"
            right = [name for name, one in book.of("material").items() if one.record.use == use]
            fixes = (f"name one of {', '.join(sorted(right)[:12])}",) if right else ()
            yield _at(spec, key, "book.wrong-stock", message, *fixes)


def _machines_twice(line: Spec) -> Iterator[Finding]:
    seen: set[str] = set()
    for i, machine in enumerate(line.record.machines):
        if machine.id in seen:
            message = f"machine {machine.id} is in the line twice"
            fix = "give one of them another id, or remove it"
            yield _at(line, f"machines[{i}].id", "book.machine-twice", message, fix)
        seen.add(machine.id)


def _look_alikes(formats: list[Spec]) -> Iterator[Finding]:
    """Two formats that are told apart only by their ids: the next wrong part is pulled from there."""
    titles: dict[str, Spec] = {}
    tools: dict[tuple[object, ...], Spec] = {}
    for spec in formats:
        one = spec.record
        first = titles.setdefault(one.title.casefold().strip(), spec)
        if first is not spec:
            fix = "name the difference in the title"
            yield _at(
                spec, "title", "book.same-title", f"the same title as {first.id}", fix, severity="warning"
            )
        first = tools.setdefault(_made_of(one), spec)
        if first is not spec:
            message = f"label and every value as in {first.id}: the same format twice"
            yield _at(spec, "id", "book.same-tools", message, "keep one format", severity="warning")


def _made_of(one: SizeFormat) -> tuple[object, ...]:
    """What a format is, whatever it is called; one that only fills or palletizes otherwise is another."""
    return tuple(getattr(one, item.name) for item in fields(one) if item.name not in _NAMES)


def unused_faults(book: Book) -> Iterator[Finding]:
    """Materials, ends and lines that nothing refers to; not while a faulty file may refer to them."""
    if book.broken:
        return
    used = {
        (kind, ident)
        for group in book.specs.values()
        for one in group.values()
        for _, kind, ident in one.references
    }
    for kind in ("material", "end", "line"):
        for ident, spec in book.of(kind).items():
            if (kind, ident) not in used:
                message = f"nothing refers to {kind} {ident}"
                yield _at(spec, "id", "book.unused", message, "remove the file, or use it", severity="note")
