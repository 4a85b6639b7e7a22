"""Checks on floor.yaml: every key, gauge, plan and role it names is there, and each gauge is fine enough."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

import numpy as np

from kb.book.conversion import exact_number, in_unit, with_article
from kb.book.finding import Finding
from kb.book.keys import members, quantity_at
from kb.book.load import Book, Spec
from kb.book.quantity import Quantity
from kb.book.records import SizeFormat
from kb.book.records_floor import Characteristic, Floor
from kb.checks.catalog import RULES
from kb.checks.consistency import floor_keys
from kb.checks.consistency.fault import did_you_mean, fault, repeated
from kb.checks.consistency.floor_index import items
from kb.checks.words import quantity
from kb.route.assemble import Assembled

TENTH = 10
"""A gauge shows a tenth of the band it measures, or finer (AIAG, Measurement Systems Analysis)."""


def floor_faults(book: Book) -> Iterator[Finding]:
    """What is wrong with the floor file; nothing when the book has no valid one."""
    spec = book.only("floor")
    if spec is None:
        return
    floor: Floor = spec.record
    yield from _repeated(spec, floor)
    yield from _keys(spec, floor)
    yield from _names(spec, floor)
    yield from _gauges(book, spec, floor)
    yield from _machines(book, spec, floor)


# --- ids and numbers used twice ---------------------------------------------------------------


def _repeated(spec: Spec[Floor], floor: Floor) -> Iterator[Finding]:
    lists: list[tuple[str, list[tuple[str, str]]]] = [
        ("gauge", [(f"gauges[{i}].id", one.id) for i, one in enumerate(floor.gauges)]),
        ("machine", [(f"machines[{i}].machine", one.machine) for i, one in enumerate(floor.machines)]),
        ("first-off check", [(f"first_offs[{i}].id", one.id) for i, one in enumerate(floor.first_offs)]),
        (
            "reaction plan",
            [(f"reactions[{i}].number", str(one.number)) for i, one in enumerate(floor.reactions)],
        ),
        (
            "part, setting or supply",
            [(f"{one.at}.id", one.id) for one in items(floor)],
        ),
    ]
    for what, ids in lists:
        yield from repeated(spec, "floor.repeated", what, ids)


# --- keys that name values --------------------------------------------------------------------


class _Use(NamedTuple):
    """A key in the file: its place, the unit to show, whether a list or a text is allowed."""

    at: str
    key: str
    shown: str = ""
    many: bool = False
    text: bool = False
    within: str = ""


def _uses(floor: Floor) -> Iterator[_Use]:
    for i, machine in enumerate(floor.machines):
        for j, part in enumerate(machine.parts):
            at = f"machines[{i}].parts[{j}]"
            yield _Use(f"{at}.size", part.size, many=True, text=True, within=f"{at}.within")
            yield from (_Use(f"{at}.also[{k}].size", one.size, text=True) for k, one in enumerate(part.also))
        for j, setting in enumerate(machine.settings):
            at = f"machines[{i}].settings[{j}]"
            yield _Use(f"{at}.value", setting.value, shown=setting.shown, within=f"{at}.within")
        for j, supply in enumerate(machine.supplies):
            yield _Use(f"machines[{i}].supplies[{j}].value", supply.value, text=True)
    for one in items(floor):
        yield from (
            _Use(f"{one.at}.driven_by[{k}]", key, many=True, text=True) for k, key in enumerate(one.driven_by)
        )
    for i, check in enumerate(floor.first_offs):
        if check.value:
            yield _Use(f"first_offs[{i}].value", check.value, within=f"first_offs[{i}].within")
        if check.expected:
            yield _Use(f"first_offs[{i}].expected", check.expected)


def _keys(spec: Spec[Floor], floor: Floor) -> Iterator[Finding]:
    for use in _uses(floor):
        leaf = floor_keys.leaf(use.key)
        if leaf is None:
            near = floor_keys.near(use.key)
            fix = f"did you mean {near}?" if near else "write a key of a spec, or route. and a result"
            what = "value" if use.text else "number"
            yield fault(spec, use.at, "floor.unknown-key", f"no spec or route has a {what} {use.key}", fix)
            continue
        if leaf.unit == floor_keys.TEXT and not use.text:
            message = f"{use.key} is a text; a number is required"
            yield fault(spec, use.at, "floor.unknown-key", message, "name a number")
            continue
        if "[]" in use.key and not use.many:
            message, fix = (
                f"{use.key} is a whole list; one value is required",
                "write a position, as in [0]",
            )
            yield fault(spec, use.at, "floor.unknown-key", message, fix)
        if use.shown and leaf.dimension != use.shown:
            message = f"{use.key} is a {leaf.dimension}, to be shown as a {use.shown}"
            yield fault(spec, use.at, "floor.unit", message, f"write shown: {leaf.dimension}")
        within = quantity_at(spec.record, use.within)
        if within is not None and within.canonical != leaf.unit:
            text = leaf.unit == floor_keys.TEXT
            kind, fix = ("a text", "take it out") if text else (f"in {leaf.unit}", f"write it in {leaf.unit}")
            message = f"within {within.text} where {use.key} is {kind}"
            yield fault(spec, use.within, "floor.unit", message, fix)


def _number_leaf(key: str) -> floor_keys.Leaf | None:
    """The number a key names; none for a text, which has a finding of its own."""
    leaf = floor_keys.leaf(key)
    return None if leaf is None or leaf.unit == floor_keys.TEXT else leaf


# --- names of gauges, plans, roles, limits ----------------------------------------------------


def _names(spec: Spec[Floor], floor: Floor) -> Iterator[Finding]:
    gauges = {one.id for one in floor.gauges}
    plans = {str(one.number) for one in floor.reactions}
    for i, check in enumerate(floor.first_offs):
        at = f"first_offs[{i}]"
        if check.gauge and check.gauge not in gauges:
            fix = did_you_mean(check.gauge, gauges)
            yield fault(
                spec, f"{at}.gauge", "floor.unknown-gauge", f"gauge {check.gauge} does not exist", fix
            )
        if str(check.reaction) not in plans:
            fix = did_you_mean(str(check.reaction), plans)
            message = f"reaction plan {check.reaction} does not exist"
            yield fault(spec, f"{at}.reaction", "floor.unknown-reaction", message, fix)
        yield from _limit_faults(spec, check, at)
    signs = [(f"release[{i}].role", one.role) for i, one in enumerate(floor.release)]
    signs += [(f"reactions[{i}].release", one.release) for i, one in enumerate(floor.reactions)]
    for at, role in signs:
        if role not in floor.roles:
            fix = did_you_mean(role, floor.roles)
            yield fault(spec, at, "floor.unknown-role", f"role {role} is not in this file", fix)


def _limit_faults(spec: Spec[Floor], check: Characteristic, at: str) -> Iterator[Finding]:
    read, expected = _number_leaf(check.value), _number_leaf(check.expected)
    if read and expected and read.unit != expected.unit:
        message = f"{check.expected} is in {expected.unit}, the reading in {read.unit}"
        yield fault(spec, f"{at}.expected", "floor.unit", message, "name a result of the same quantity")
    if not check.limit:
        return
    rule = RULES.get(check.limit)
    if rule is None or rule.limit != "plant":
        plant = [name for name, one in RULES.items() if one.limit == "plant"]
        message = f"limits.yaml has no limit {check.limit}"
        fix = did_you_mean(check.limit, plant)
        yield fault(spec, f"{at}.limit", "floor.unknown-limit", message, fix)
        return
    leaf = _number_leaf(check.value)
    if leaf is not None and rule.limit_unit != leaf.unit:
        message = f"the limit of {check.limit} is in {rule.limit_unit}, {check.value} in {leaf.unit}"
        yield fault(spec, f"{at}.limit", "floor.unit", message, "name a limit of the same quantity")


# --- gauges fine enough -----------------------------------------------------------------------


def _gauges(book: Book, spec: Spec[Floor], floor: Floor) -> Iterator[Finding]:
    gauges = {one.id: one for one in floor.gauges}
    for i, check in enumerate(floor.first_offs):
        leaf = _number_leaf(check.value)
        if leaf is None or check.gauge not in gauges:
            continue
        shown = gauges[check.gauge].resolution
        at = f"first_offs[{i}].gauge"
        if shown.canonical != leaf.unit:
            message = f"{check.gauge} reads {shown.text} steps, {check.name} is in {leaf.unit}"
            yield fault(spec, at, "floor.unit", message, "name a gauge for this quantity")
            continue
        yield from too_coarse(spec, i, _bands(book, check))


def too_coarse(spec: Spec[Floor], first_off: int, bands: Iterable[tuple[float, str]]) -> Iterator[Finding]:
    """What the gauge of a first-off, named by its position, cannot judge.

    Args:
        spec: the floor file
        first_off: position of the first-off in it
        bands: the bands in which it is judged, in the unit inside, with where each comes from
    """
    floor: Floor = spec.record
    check = floor.first_offs[first_off]
    shown = next(one.resolution for one in floor.gauges if one.id == check.gauge)
    band, where = min(bands, default=(math.inf, ""))
    if shown * TENTH > band * (1 + 1e-9):
        unit = shown.unit or shown.canonical
        wide, tenth = (exact_number(in_unit(one, shown.canonical, unit)) for one in (band, band / TENTH))
        message = (
            f"{check.gauge} shows {shown.text}; the tolerance of {check.name} is {wide} {unit} ({where})"
        )
        fix = f"measure it with a gauge that shows {tenth} {unit} or finer"
        at = f"first_offs[{first_off}].gauge"
        yield fault(spec, at, "floor.gauge-resolution", message, fix, severity="warning")


def _bands(book: Book, check: Characteristic) -> Iterator[tuple[float, str]]:
    """The bands in which a characteristic is judged, with where they come from, in the unit inside.

    A band that only the corners of a route give is known with the sheet, and judged there.
    """
    if check.within is not None:
        yield 2 * check.within, "within, in this file"
    elif check.limit:
        limits = book.limits.limits if book.limits else {}
        limit = limits.get(check.limit)
        if limit and limit.least is not None and limit.most is not None:
            yield float(limit.most - limit.least), f"limit of {check.limit}"
    elif check.bound == "band":
        for one in book.of("size-format").values():
            found = _written_quantity(book, one, check.value)
            if found is not None and found.toleranced:
                yield found.high - found.low, one.id


def _written_quantity(book: Book, spec: Spec[SizeFormat], key: str) -> Quantity | None:
    """The quantity a key names in one format's specs."""
    root, _, rest = key.partition(".")
    end = book.of("end").get(spec.record.end)
    found = {
        "format": spec,
        "end": end,
        "stock": book.of("material").get(spec.record.stock.material),
        "end_stock": book.of("material").get(end.record.material) if end else None,
        "plant": book.only("plant"),
    }.get(root)
    return quantity_at(found.record, rest) if found else None


# --- machines ---------------------------------------------------------------------------------


def _machines(book: Book, spec: Spec[Floor], floor: Floor) -> Iterator[Finding]:
    cautioned = {one.machine for one in floor.machines if one.cautions}
    for line in book.of("line").values():
        kinds = list(dict.fromkeys(machine.kind for machine in line.record.machines))
        for kind in kinds:
            if kind not in cautioned:
                machine = with_article(kind)
                message = f"{line.id} has {machine}, for which no hazard is listed"
                fix = f"add the hazards of a changeover of {machine} from the machine maker's manual"
                yield fault(spec, "machines", "floor.no-caution", message, fix, severity="warning")
        yield from _not_on_line(spec, floor.first_offs, line.id, kinds)


def _not_on_line(
    spec: Spec[Floor], checks: Sequence[Characteristic], line: str, kinds: Iterable[str]
) -> Iterator[Finding]:
    for i, check in enumerate(checks):
        if check.sample is not None and check.sample.machine not in kinds:
            message = f"{line} has no {check.sample.machine}; its sheets do not print {check.name}"
            at = f"first_offs[{i}].sample.machine"
            fix = f"take it at a machine that {line} has"
            yield fault(spec, at, "floor.not-on-line", message, fix, severity="warning")


def within_faults(book: Book, assembled: Assembled) -> Iterator[Finding]:
    """Tolerances as great as the value itself: the sheet would print a least size of zero or below."""
    spec = book.only("floor")
    if spec is None:
        return
    for at, key, within in _banded(spec.record):
        value = None if within is None else _smallest_value(assembled, key)
        if within is not None and value is not None and 0 < value <= within:
            yield _within_finding(spec, at, key, value, within)


def _within_finding(spec: Spec[Floor], at: str, key: str, value: float, given: Quantity) -> Finding:
    unit = given.canonical
    shown = quantity(value, unit=unit, show=unit)
    message = f"within {given.text} where {key} is {shown}: the minimum would be below zero"
    return fault(spec, f"{at}.within", "floor.within", message)


def _banded(floor: Floor) -> Iterator[tuple[str, str, Quantity | None]]:
    """Where a tolerance may be written, the key of the value it is for, and the tolerance."""
    for i, machine in enumerate(floor.machines):
        for j, part in enumerate(machine.parts):
            yield f"machines[{i}].parts[{j}]", part.size, part.within
        for j, setting in enumerate(machine.settings):
            yield f"machines[{i}].settings[{j}]", setting.value, setting.within
    for i, check in enumerate(floor.first_offs):
        if check.value:
            yield f"first_offs[{i}]", check.value, check.within


def _smallest_value(assembled: Assembled, key: str) -> float | None:
    """The number under a key at nominal sizes; the smallest of a list's; None where there is none.

    The checks have made the screen of the tolerances already, whose first sample is nominal.
    """
    root, _, rest = key.partition(".")
    start = assembled.study.screen if root == "route" else getattr(assembled.case, root, None)
    numbers = [
        float(np.ravel(one)[0])
        for _, one in members(start, rest)
        if isinstance(one, int | float | np.ndarray)
    ]
    return min(numbers, default=None)
