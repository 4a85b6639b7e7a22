"""Checks on the book as a whole: limits that fit the checks, formats beside one another."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import fields
from difflib import get_close_matches

from kb.book.finding import Finding, Severity
from kb.book.load import Book, Spec
from kb.book.quantity import in_unit
from kb.book.records import SizeFormat
from kb.checks.catalog import RULES
from kb.route.settings import OPTIONAL, PLAUSIBLE, SETTINGS


def limit_faults(book: Book) -> Iterator[Finding]:
    """Limits and settings that are missing, unknown, or of another unit than their check's.

    Args:
        book: a book whose limits file is sound

    Yields:
        A finding each; with any of them no format can be judged.
    """
    spec, limits = book.only("limits"), book.limits
    if spec is None or limits is None:
        return
    wanted = {name: rule.limit_unit for name, rule in RULES.items() if rule.limit == "plant"}
    for group, known, given in (
        ("limits", wanted, limits.limits),
        ("settings", {name: unit for name, (unit, _) in SETTINGS.items()}, limits.settings),
    ):
        for name in known:
            if name not in given and name not in OPTIONAL:
                fix = f"add {name} under {group}; it is {_unit(known[name])}"
                yield _at(spec, group, "limits.missing", f"{group} lack {name}", fix)
        for name in given:
            if name in known:
                yield from _unit_faults(spec, f"{group}.{name}", known[name])
                yield from _band_faults(spec, group, name, known[name])
            else:
                near = get_close_matches(name, known, n=1)
                fix = f"did you mean {near[0]}?" if near else "take it out"
                yield _at(spec, f"{group}.{name}", "limits.unknown", f"no check or formula reads {name}", fix)


def _unit(unit: str) -> str:
    return "a share, such as 0.42 or 42 %" if unit == "-" else f"a value in {unit}"


def _unit_faults(spec: Spec, key: str, unit: str) -> Iterator[Finding]:
    for end in ("least", "most", "value"):
        quantity = spec.quantities.get(f"{key}.{end}")
        if quantity is not None and quantity.canonical != unit:
            message = f"{quantity.text} where {_unit(unit)} is wanted"
            yield _at(spec, f"{key}.{end}", "limits.unit", message, f"write it as {_unit(unit)}")
    least, most = (spec.quantities.get(f"{key}.{end}") for end in ("least", "most"))
    if least is not None and most is not None and least.nominal > most.nominal:
        message = f"the least, {least.text}, is above the most, {most.text}"
        yield _at(spec, f"{key}.least", "limits.order", message, "exchange the two")


def _band_faults(spec: Spec, group: str, name: str, unit: str) -> Iterator[Finding]:
    quantity = spec.quantities.get(f"{group}.{name}.value")
    if quantity is None or quantity.canonical != unit:
        return
    low, high = PLAUSIBLE[name]
    if not low <= quantity.nominal <= high:
        shown = quantity.unit or unit
        ends = " to ".join(f"{in_unit(end, unit, shown):.6g}" for end in (low, high))
        message = f"{name} {quantity.text} is outside the plausible {ends} {quantity.unit}".rstrip()
        yield _at(spec, f"{group}.{name}.value", "units.band", message)


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
                message = f"{name} was to be looked at again by {one.review}; its owner is {one.owner}"
                fix = "confirm or change the value, then set a new review date"
                yield _at(spec, f"{group}.{name}.review", "limits.review", message, fix, severity="warning")


_NAMES = frozenset(("id", "title", "also_called", "revision", "status", "effective", "owner", "why", "lines"))
"""Keys of a format that say which it is, and not what it is."""


def format_faults(book: Book) -> Iterator[Finding]:
    """Formats that look alike, or that are released on something that is not."""
    formats = book.of("size-format")
    for spec in formats.values():
        end = book.of("end").get(spec.record.end)
        if spec.record.status == "released" and end is not None and end.record.status != "released":
            message = f"a released format on end {end.id}, which is {end.record.status}"
            yield _at(spec, "end", "book.unreleased-end", message, "release the end, or choose another")
    yield from _look_alikes(list(formats.values()))


def _look_alikes(formats: list[Spec]) -> Iterator[Finding]:
    """Two formats that are told apart only by their ids: the next wrong part is pulled from there."""
    titles: dict[str, Spec] = {}
    tools: dict[tuple[object, ...], Spec] = {}
    for spec in formats:
        one = spec.record
        first = titles.setdefault(one.title.casefold().strip(), spec)
        if first is not spec:
            fix = "say in the title what differs"
            yield _at(
                spec, "title", "book.same-title", f"the same title as {first.id}", fix, severity="warning"
            )
        first = tools.setdefault(_made_of(one), spec)
        if first is not spec:
            message = f"label and every value as in {first.id}: one format written twice"
            yield _at(spec, "id", "book.same-tools", message, "make it one format", severity="warning")


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
                yield _at(spec, "id", "book.unused", message, "take the file out, or use it", severity="note")
