"""Checks on the book as a whole: review dates, formats beside one another, what is unused."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import fields
from typing import NamedTuple

from kb.book.finding import Finding
from kb.book.load import FOLDERS, TOP_FILES, Book, Spec
from kb.book.records import Line, SizeFormat
from kb.checks.consistency.fault import fault
from kb.checks.consistency.floor_keys import IDENTITY


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
                yield fault(spec, f"{group}.{name}.review", "limits.review", message, fix, severity="warning")


def format_faults(book: Book) -> Iterator[Finding]:
    """Formats alike or unapproved, unreleased ends, stock of the wrong use, machines twice in a line."""
    formats = book.of("size-format")
    for spec in formats.values():
        end = book.of("end").get(spec.record.end)
        if spec.record.status == "released" and end is not None and end.record.status != "released":
            message = f"a released format on end {end.id}, which is {end.record.status}"
            yield fault(spec, "end", "book.unreleased-end", message, "release the end, or choose another")
    yield from _unapproved(book)
    yield from _look_alikes(list(formats.values()))
    yield from _stock_faults(book)
    for line in book.of("line").values():
        yield from _machines_twice(line)


def _unapproved(book: Book) -> Iterator[Finding]:
    """Released formats whose revision lacks an approval that the plant requires."""
    required = book.plant.approvals if book.plant else ()
    for spec in book.of("size-format").values():
        if spec.record.status != "released":
            continue
        has = {one.role for one in spec.record.approved_by}
        if lacks := [role for role in required if role not in has]:
            message = f"revision {spec.record.revision} is released without approval by {', '.join(lacks)}"
            fix = "add each approval with role, revision and day under approvals, or set status: draft"
            yield fault(spec, "status", "book.unapproved", message, fix)


def _stock_faults(book: Book) -> Iterator[Finding]:
    """Bodies of end stock, and ends of body stock."""
    named: list[tuple[Spec, str, str]] = [
        (spec, "stock.material", spec.record.stock.material) for spec in book.of("size-format").values()
    ]
    named += [(spec, "material", spec.record.material) for spec in book.of("end").values()]
    for spec, key, ident in named:
        use = "end" if spec.kind == "end" else "body"
        metal = book.of("material").get(ident)
        if metal is not None and metal.record.use != use:
            message = f"{ident} is {metal.record.use} stock; {use} stock is required here"
            right = [name for name, one in book.of("material").items() if one.record.use == use]
            fixes = (f"name one of {', '.join(sorted(right)[:12])}",) if right else ()
            yield fault(spec, key, "book.wrong-stock", message, *fixes)


def _machines_twice(line: Spec[Line]) -> Iterator[Finding]:
    seen: set[str] = set()
    for i, machine in enumerate(line.record.machines):
        if machine.id in seen:
            message = f"machine {machine.id} is in the line twice"
            fix = "give one of them another id, or remove it"
            yield fault(line, f"machines[{i}].id", "book.machine-twice", message, fix)
        seen.add(machine.id)


def _look_alikes(formats: list[Spec[SizeFormat]]) -> Iterator[Finding]:
    """Two formats that differ only in their ids: the next wrong part is pulled from there."""
    titles: dict[str, Spec] = {}
    tools: dict[tuple[object, ...], Spec] = {}
    for spec in formats:
        one = spec.record
        first = titles.setdefault(one.title.casefold().strip(), spec)
        if first is not spec:
            fix = "name the difference in the title"
            yield fault(
                spec, "title", "book.same-title", f"the same title as {first.id}", fix, severity="warning"
            )
        first = tools.setdefault(_made_of(one), spec)
        if first is not spec:
            message = f"label and every value as in {first.id}: the same format twice"
            yield fault(spec, "id", "book.same-tools", message, "keep one format", severity="warning")


def _made_of(one: SizeFormat) -> tuple[object, ...]:
    """All values of a format but its names; another fill or pallet makes another format."""
    return tuple(getattr(one, item.name) for item in fields(one) if item.name not in IDENTITY)


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
                yield fault(spec, "id", "book.unused", message, "remove the file, or use it", severity="note")


_KEEPS_HISTORY = ("sheet-codes", "trial")
"""Kinds of file that name what is past on purpose."""


def withdrawn_faults(book: Book) -> Iterator[Finding]:
    """References to what is withdrawn, where no other check reports the same reference."""
    for kind in book.specs.values():
        for spec in kind.values():
            if spec.kind in _KEEPS_HISTORY or _withdrawn(spec):
                continue
            for key, other, ident in spec.references:
                target = book.of(other).get(ident)
                if target is not None and _withdrawn(target) and not _judged_elsewhere(spec, key):
                    message, fix = f"{other} {ident} is withdrawn", "name another one, or remove this"
                    subject = spec.id if spec.kind == "size-format" else ""
                    yield Finding(
                        "revision.withdrawn-used", "error", spec.place(key), message, (fix,), subject=subject
                    )


def _withdrawn(spec: Spec) -> bool:
    return getattr(spec.record, "status", "") == "withdrawn"


def _judged_elsewhere(spec: Spec, key: str) -> bool:
    """Whether another check judges the reference, with what a week runs and what an end fits."""
    if spec.kind == "week":
        return True
    return spec.kind == "size-format" and key == "end" and spec.record.status == "released"


class Lack(NamedTuple):
    """One thing a book lacks.

    Attributes:
        what: the file or entry, such as `floor.yaml`.
        why: what is wrong with it: it is missing, or has faults.
        effect: what cannot be done for the lack of it.
    """

    what: str
    why: str
    effect: str

    @property
    def line(self) -> str:
        """The lack as one line."""
        return (
            f"{self.why} {self.what}: {self.effect}"
            if self.why == "no"
            else f"{self.what} {self.why}: {self.effect}"
        )


_EFFECTS = {
    "plant": "nothing can be checked, printed or published",
    "limits": "nothing can be checked or printed",
    "floor": "no setup sheet can be printed for use, and no changeover planned",
    "changeover": "no changeover can be planned",
    "sheet-codes": "no setup sheet has a recorded code; `sizebook sheet --record` creates the register",
}
_KINDS = {"size-format": "size formats", "line": "lines"}
_KIND_EFFECTS = {
    "size-format": "there is nothing to check",
    "line": "no setup sheet can be printed, and no changeover planned",
}


def lacks(book: Book) -> tuple[Lack, ...]:
    """What a book lacks to do all that it could, those first that stop most."""
    return tuple(_lacks(book))


def _lacks(book: Book) -> Iterator[Lack]:
    for kind in ("plant", "limits"):
        yield from _file(book, kind)
    for kind, words in _KINDS.items():
        if not book.ids(kind):
            yield Lack(f"{words} in {FOLDERS[kind]}/", "no", _KIND_EFFECTS[kind])
    yield from _file(book, "floor")
    yield from _file(book, "changeover")
    changeover = book.only("changeover")
    if changeover is not None and not changeover.record.past:
        what = "past changeovers in changeover.yaml"
        yield Lack(what, "no", "planned times are not compared with recorded ones")
    released = any(one.record.status == "released" for one in book.of("size-format").values())
    if book.only("floor") is not None and released:
        yield from _file(book, "sheet-codes")


def _file(book: Book, kind: str) -> Iterator[Lack]:
    if book.only(kind) is None:
        name = TOP_FILES[kind]
        there = any(file == name or file.endswith(f"/{name}") for file in book.broken)
        faulty = there and (book.root / name).exists()
        yield Lack(name, "has errors" if faulty else "no", _EFFECTS[kind])
