"""What answers a value in which two formats of a line differ: the part, setting, supply or gauge behind it.

A value without an answer is an orphan: the two formats differ in it, and the crew has no step for it. Either
something on the line changes with it, or changeover.yaml says under `no_part` why nothing has to.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from difflib import get_close_matches
from typing import Literal, NamedTuple, TypeAlias

from kb.book.conversion import same_value
from kb.book.finding import Finding
from kb.book.keys import quantity_at, steps, values
from kb.book.load import Book, Spec
from kb.book.quantity import Quantity
from kb.book.records import Line, MachineKind
from kb.book.records_floor import (
    Changeover,
    ChangePart,
    Characteristic,
    Floor,
    MachineSetting,
    NoPart,
    Supply,
)
from kb.checks.consistency.fault import fault
from kb.checks.consistency.floor_keys import IDENTITY, covered, leaf, plain, sizes

What = Literal["part", "setting", "supply", "gauge"]

Said: TypeAlias = tuple[float, float, float] | str
"""What a format says of a value: least, target and most in the unit inside, or a text."""

ONE_LINE = frozenset({"machine", "line", "plant"})
"""Roots of the keys whose values are the same for every format of a line."""


# --- what a format says -----------------------------------------------------------------------


def said_by(spec: Spec) -> dict[str, Said]:
    """All values of a format that another format may have otherwise, by key with list positions filled in.

    The same size in another unit, or the same limits in another form, is the same value. What the file leaves
    out is as the record has it.
    """
    return {
        f"format.{key}": _said(value) for key, value in values(spec.record) if steps(key)[0] not in IDENTITY
    }


def _said(value: str | float) -> Said:
    if isinstance(value, str):
        return value
    number = float(value)
    return (value.low, number, value.high) if isinstance(value, Quantity) else (number, number, number)


def as_written(spec: Spec, key: str) -> str:
    """A value of a format as its file has it; "none" where it has none. The key begins with `format.`."""
    name = key.removeprefix("format.")
    quantity = quantity_at(spec.record, name)
    if quantity is not None:
        return quantity.text
    node = spec.document.node(name)
    return str(getattr(node, "text", "")) or "none"


# --- what answers -----------------------------------------------------------------------------


class Item(NamedTuple):
    """A part, setting or supply of the floor, or a gauge with the first-off that it measures.

    Attributes:
        id: its id in floor.yaml.
        what: which of the four it is.
        name: as the sheets name it.
        machine: kind of machine it belongs to.
        at: key of its row in floor.yaml.
        shown: keys of the values that the sheets print for it.
        driven_by: keys of the values it changes with.
        record: the row itself.
    """

    id: str
    what: What
    name: str
    machine: MachineKind
    at: str
    shown: tuple[str, ...]
    driven_by: tuple[str, ...]
    record: ChangePart | MachineSetting | Supply | Characteristic

    @property
    def keys(self) -> tuple[str, ...]:
        """All values it answers: it changes with what it shows as well."""
        return tuple(dict.fromkeys((*self.driven_by, *self.shown)))


def items(floor: Floor) -> Iterator[Item]:
    """Parts, settings and supplies in the order of the file."""
    for i, one in enumerate(floor.machines):
        at = f"machines[{i}]"
        for j, part in enumerate(one.parts):
            shown = (part.size, *(other.size for other in part.also))
            yield Item(
                part.id, "part", part.name, one.machine, f"{at}.parts[{j}]", shown, part.driven_by, part
            )
        for j, row in enumerate(one.settings):
            place = f"{at}.settings[{j}]"
            yield Item(row.id, "setting", row.name, one.machine, place, (row.value,), row.driven_by, row)
        for j, fed in enumerate(one.supplies):
            place = f"{at}.supplies[{j}]"
            yield Item(fed.id, "supply", fed.name, one.machine, place, (fed.value,), fed.driven_by, fed)


def gauged(floor: Floor) -> Iterator[Item]:
    """First-offs that are measured with a gauge, at the machine they are taken from: its master changes."""
    names = {one.id: one.name for one in floor.gauges}
    for i, one in enumerate(floor.first_offs):
        if one.value and one.gauge and one.sample is not None:
            name = names.get(one.gauge, one.gauge)
            at = f"first_offs[{i}]"
            yield Item(one.gauge, "gauge", name, one.sample.machine, at, (one.value,), (), one)


class FloorIndex:
    """What answers each value on one line: items at its machines, or why nothing has to (`no_part`)."""

    def __init__(self, floor: Floor, line: Line, changeover: Changeover | None) -> None:
        kinds = {one.kind for one in line.machines}
        self._items: dict[str, list[Item]] = {}
        for item in (*items(floor), *gauged(floor)):
            if item.machine in kinds:
                for key in item.keys:
                    self._items.setdefault(key, []).append(item)
        self._none: dict[str, NoPart] = {}
        for entry in changeover.no_part if changeover else ():
            for value in entry.values:
                for key in covered(value):
                    self._none.setdefault(key, entry)

    def of(self, key: str) -> tuple[Item, ...]:
        """The items that change with a value; one that is driven by a whole list answers each member."""
        whole = plain(key)
        found = self._items.get(key, [])
        return tuple(found if whole == key else [*found, *self._items.get(whole, [])])

    def no_part(self, key: str) -> NoPart | None:
        """Why a value needs nothing on the line, if the plant says so."""
        return self._none.get(key) or self._none.get(plain(key))

    def answered(self, key: str) -> bool:
        """Whether something changes with a value, or the plant says that nothing has to."""
        return bool(self.of(key)) or self.no_part(key) is not None


# --- faults -----------------------------------------------------------------------------------


def answer_faults(book: Book) -> Iterator[Finding]:
    """Values of the formats that nothing answers, and answers to nothing."""
    floor, changeover = book.only("floor"), book.only("changeover")
    if floor is None or changeover is None:
        return
    said = {ident: said_by(spec) for ident, spec in sorted(book.of("size-format").items())}
    lines = {
        ident: FloorIndex(floor.record, spec.record, changeover.record)
        for ident, spec in sorted(book.of("line").items())
    }
    for ident, answers in lines.items():
        yield from orphan_faults(book, ident, answers, said)
    known = {form for one in said.values() for key in one for form in (key, plain(key))}
    if said:
        yield from _idle_items(floor, known)
        yield from _no_part_faults(changeover, lines, known)


def orphan_faults(
    book: Book, line: str, answers: FloorIndex, said: Mapping[str, Mapping[str, Said]]
) -> Iterator[Finding]:
    """Values in which formats of a line differ and that nothing answers, each at the later format of a pair.

    Every format is held against the first, which finds each value that is not the same in all of them.
    """
    formats = book.of("size-format")
    here = [
        ident
        for ident in said
        if line in formats[ident].record.lines and formats[ident].record.status != "withdrawn"
    ]
    seen: set[str] = set()
    for key in dict.fromkeys(key for ident in here for key in said[ident]):
        if plain(key) in seen or answers.answered(key):
            continue
        first = said[here[0]].get(key)
        other = next((ident for ident in here[1:] if not same_value(said[ident].get(key), first)), None)
        if other is not None:
            seen.add(plain(key))
            yield _orphan(formats[here[0]], formats[other], key, line)


def _orphan(first: Spec, other: Spec, key: str, line: str) -> Finding:
    values = " and ".join(f"{as_written(one, key)} for {one.id}" for one in (first, other))
    message = f"{key} is {values}, and no part or setting on {line} changes it"
    fix = (
        f"add {plain(key)} to driven_by of a part or setting of floor.yaml, or to no_part of changeover.yaml"
    )
    return fault(other, key.removeprefix("format."), "changeover.orphan", message, fix)


def _idle_items(spec: Spec, known: set[str]) -> Iterator[Finding]:
    """Rows of the floor file whose every value is one that no format has."""
    for item in items(spec.record):
        keys = [key for key in item.keys if key.partition(".")[0] not in ONE_LINE and leaf(key)]
        if keys and all(key.startswith("format.") and key not in known for key in keys):
            message = f"no format has a value {' or '.join(keys)}: {item.id} never changes"
            fix = "name the values that change it, or remove it"
            yield fault(spec, f"{item.at}.driven_by", "changeover.answers-nothing", message, fix)


def _no_part_faults(spec: Spec, lines: Mapping[str, FloorIndex], known: set[str]) -> Iterator[Finding]:
    changeover: Changeover = spec.record
    seen: set[str] = set()
    for i, entry in enumerate(changeover.no_part):
        for k, value in enumerate(entry.values):
            at, keys = f"no_part[{i}].values[{k}]", covered(value)
            if not keys:
                yield fault(
                    spec, at, "changeover.unknown-value", f"no size format has a value {value}", _near(value)
                )
            elif value in seen:
                message = f"{value} is listed twice"
                yield fault(
                    spec, at, "changeover.answer-repeated", message, "take one out", severity="warning"
                )
            elif not any(key in known for key in keys):
                message = f"no format has a value {value}"
                yield fault(spec, at, "changeover.answers-nothing", message, "take it out")
            else:
                yield from _no_part_answered(spec, at, value, keys, lines)
            seen.add(value)


def _no_part_answered(
    spec: Spec, at: str, value: str, keys: tuple[str, ...], lines: Mapping[str, FloorIndex]
) -> Iterator[Finding]:
    """A value that needs nothing on the line, though on every line something changes with it."""
    found = [[_changed_ids(answers, key) for answers in lines.values()] for key in keys]
    if lines and all(all(of_line) for of_line in found):
        ids = ", ".join(dict.fromkeys(one for of_line in found for ids in of_line for one in ids))
        message = f"{value} is under no_part, but {ids} of floor.yaml changes it"
        fix = "remove it here, or from driven_by"
        yield fault(spec, at, "changeover.no-part-answered", message, fix, severity="warning")


def _changed_ids(answers: FloorIndex, key: str) -> list[str]:
    """Ids of parts, settings and supplies; a gauge that measures a value does not make it."""
    return [one.id for one in answers.of(key) if one.what != "gauge"]


def _near(value: str) -> str:
    blocks = {f"{key.rpartition('.')[0]}.*" for key in sizes()} - {"format.*"}
    near = get_close_matches(value, [*sizes(), *sorted(blocks)], n=1)
    return f"did you mean {near[0]}?" if near else "write a key of a size format, such as format.fill.*"
