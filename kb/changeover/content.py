"""From a plan to what its sheet says, and to a sheet with its code and its day."""

from __future__ import annotations

import datetime
import hashlib
import json
from collections.abc import Iterator, Sequence
from dataclasses import fields, is_dataclass, replace
from functools import cache, lru_cache
from typing import Any, NamedTuple

from kb.blocks import MISSING, Cell
from kb.book.load import Book
from kb.book.records import SizeFormat
from kb.book.records_floor import Changeover, Crew, Floor
from kb.changeover.jobs import at_machine, grid, hands, jobs, lock_notes, steps
from kb.changeover.model import Difference, ItemChange, Plan, StationChanges, What
from kb.changeover.sheet_model import (
    ChangeContent,
    ChangeSheet,
    Durations,
    Excuse,
    FormatNote,
    GaugeNote,
    Header,
    InspectionPoint,
    MachineNote,
    NamedValue,
    RampNote,
    SettingNote,
    StepNote,
    ToolNote,
    ToolsAt,
)
from kb.changeover.times import minutes
from kb.checks.consistency.floor_keys import covered, plain
from kb.sheet.content import content as setup_content
from kb.sheet.figures import number_of
from kb.sheet.issue import DRAFT_SIGN, SIGNS, code, draft_digest, issue
from kb.sheet.model import DRAFT, NOT_FOR_USE, FirstOff, Sheet, SignatureRow

TEMPLATE = "1"
"""Raised when the sheet's fixed words or its layout come to mean something else."""

_MANY = 6
_DASH = 2


class Setups(NamedTuple):
    """The setup sheets a changeover leads from and to."""

    old: Sheet
    new: Sheet


def setups(book: Book, difference: Difference, made: datetime.datetime) -> Setups:
    """The setup sheets of both formats on the line.

    Raises:
        NoSheet: if a format is not made on the line, or there is no sheet of it.
    """
    old, new = (
        issue(setup_content(book, ident, difference.line), book, made=made)
        for ident in (difference.old, difference.new)
    )
    return Setups(old, new)


def change_content(book: Book, plan: Plan, crew: Crew, durations: Durations, both: Setups) -> ChangeContent:
    """What the changeover sheet of a plan says."""
    floor: Floor = _record(book, "floor")
    library: Changeover = _record(book, "changeover")
    difference = plan.difference
    out = list(steps(plan, crew, "isolate", "out"))
    fit = list(steps(plan, crew, "in", "set", "release"))
    every = [*out, *fit, *steps(plan, crew, "before", "clear", "verify", "first-off", "restart", "after")]
    dangers = dict.fromkeys(c for row in every for c in row.cautions if c.signal == "DANGER")
    stops = bool(plan.stop.slots)
    cleared = [one for one in difference.stations if stops and one.number >= difference.first]
    kinds = {one.kind: one.title for one in reversed(cleared)}
    made = ChangeContent(
        header=_header(book, difference, crew, library, both),
        good_for=floor.good_for,
        durations=durations,
        safety=floor.safety,
        dangers=tuple(dangers),
        machines=tuple(machine_notes(difference)),
        excuses=tuple(excuses(difference, library)),
        ready=tuple(steps(plan, crew, "before")),
        run_out=tuple(steps(plan, crew, "clear")),
        clear_points=tuple(
            InspectionPoint(kinds[one.machine], one.look)
            for one in library.clear_points
            if one.machine in kinds
        ),
        locks=lock_notes(plan, crew),
        out=tuple(tools_out(difference, out)),
        fit=tuple(tools_in(difference, fit)),
        settings=tuple(setting_notes(difference)),
        gauges=tuple(gauge_notes(difference, floor)),
        crew=hands(plan, crew),
        grid=grid(plan),
        jobs=jobs(plan),
        verification=tuple(steps(plan, crew, "verify")),
        proof=tuple(steps(plan, crew, "first-off")),
        first_offs=tuple(_first_offs(floor, plan, both.new.content.first_offs)),
        restart=library.restart if stops else (),
        ramp=tuple(
            RampNote(f"{float(one.speed) * 100:g} %", minutes(float(one.time)), one.sample)
            for one in library.ramp
            if stops
        ),
        release=tuple(SignatureRow(one.step, one.role) for one in floor.release[-1:] if stops),
        after=tuple(steps(plan, crew, "after")),
        reasons=library.reasons,
        back_out=library.back_out if stops else (),
        return_to=floor.return_to,
        missing=(),
    )
    once = [field.name for field in fields(made) if field.name != "jobs"]  # jobs repeat sizes of parts
    rows = (row for name in once for row in _missing_in(getattr(made, name), name))
    return replace(made, missing=tuple(dict.fromkeys(rows)))


def _record(book: Book, kind: str) -> Any:
    spec = book.only(kind)
    if spec is None:
        raise ValueError(f"the book has no valid {kind} file")  # the plan was made with one
    return spec.record


def _header(book: Book, difference: Difference, crew: Crew, library: Changeover, both: Setups) -> Header:
    one = both.new.content.identity
    return Header(
        sheet=f"{difference.old} > {difference.new} / {difference.line}",
        plant=one.plant,
        line=one.line,
        line_title=one.line_title,
        old=_format_note(book, both.old),
        new=_format_note(book, both.new),
        kind=difference.kind,
        title=difference.title,
        crew=crew.id,
        crew_title=crew.title,
        owner=library.owner,
    )


def _format_note(book: Book, sheet: Sheet) -> FormatNote:
    one = sheet.content.identity
    record: SizeFormat = book.of("size-format")[one.format].record
    return FormatNote(
        one.format,
        one.title,
        one.body,
        one.end,
        one.contents,
        record.revision,
        one.status,  # of a draft copy, not the format's own
        record.effective,
        sheet.code,
    )


def _first_offs(floor: Floor, plan: Plan, rows: Sequence[FirstOff]) -> Iterator[FirstOff]:
    """Rows of the setup sheet of the first-offs that a task of the plan makes."""
    kinds = {one.kind for one in plan.difference.stations}
    made = {name for task in plan.tasks.values() for name in task.step.proves}
    checks = [one for one in floor.first_offs if one.sample is None or one.sample.machine in kinds]
    for one, row in zip(checks, rows, strict=True):
        if one.id in made and one.id in plan.difference.first_offs:
            yield row


# --- what is missing --------------------------------------------------------------------------


@lru_cache(maxsize=512, typed=True)
def _missing_in(value: Any, name: str) -> tuple[str, ...]:
    """Names of the rows of one field; many changeovers have some fields in common."""
    return (name,) if value == MISSING else tuple(_missing(value, ""))


def _missing(record: Any, name: str) -> Iterator[str]:
    """Names of the rows in which something is missing."""
    if isinstance(record, Cell):
        if record.missing:
            yield name
    elif isinstance(record, tuple):
        for one in record:
            yield from _missing(one, name)
    elif is_dataclass(record) and not isinstance(record, type):
        inner = str(getattr(record, "name", "") or getattr(record, "title", "") or name)
        for field in fields(record):
            value = getattr(record, field.name)
            if value == MISSING:
                yield inner or field.name
            else:
                yield from _missing(value, inner)


# --- the sheet --------------------------------------------------------------------------------


def change_digest(content: ChangeContent) -> str:
    """The fingerprint of what a changeover sheet says; no setup sheet has the same."""
    fields_said = ",".join(
        f'"{field.name}":{_as_json(getattr(content, field.name))}'
        for field in sorted(fields(content), key=lambda one: one.name)
    )
    said = f'{{"content":{{{fields_said}}},"kind":"changeover","template":"{TEMPLATE}"}}'
    return hashlib.sha256(said.encode("ascii")).hexdigest()


@lru_cache(maxsize=512, typed=True)
def _as_json(value: Any) -> str:
    """A value of a content as JSON; many changeovers have some values in common."""
    return json.dumps(_plain(value), ensure_ascii=True, sort_keys=True, separators=(",", ":"))


def _plain(value: Any) -> Any:
    if isinstance(value, tuple):
        return [_plain(one) for one in value]
    kind: Any = type(value)
    keys = _keys(kind)
    return {key: _plain(getattr(value, key)) for key in keys} if keys else value


@cache
def _keys(kind: Any) -> tuple[str, ...]:
    """Keys of a record's class; none for all else."""
    return tuple(one.name for one in fields(kind)) if is_dataclass(kind) else ()


def change_code(fingerprint: str, *, draft: bool = False) -> str:
    """The signs people compare: those of a setup sheet, grouped otherwise so that none is taken for one.

    Example:
        >>> change_code("0123f" + 59 * "0")
        'CD-FH9'
    """
    signs = [one for one in code(fingerprint) if one in SIGNS]
    return f"{DRAFT_SIGN}-" * draft + f"{''.join(signs[:_DASH])}-{''.join(signs[_DASH:])}"


def change_sheet(
    content: ChangeContent,
    both: Setups,
    *,
    made: datetime.datetime,
    problems: Sequence[str] = (),
) -> ChangeSheet:
    """Make a sheet of a content."""
    fingerprint = change_digest(content)
    draft = any(one.code.startswith(DRAFT_SIGN) for one in both)
    if draft:
        fingerprint = draft_digest(fingerprint)
    unfit = (*_unfit(content, both), *problems)
    last = (made.date() + datetime.timedelta(days=content.good_for)).isoformat()
    return ChangeSheet(
        content=content,
        code=change_code(fingerprint, draft=draft),
        digest=fingerprint,
        mark=DRAFT if draft else _mark(both, unfit),
        unfit=unfit,
        made=made.strftime("%Y-%m-%d %H:%M"),
        good_until=min(last, both.old.good_until, both.new.good_until),
    )


def _unfit(content: ChangeContent, both: Setups) -> Iterator[str]:
    if content.missing:
        named = ", ".join(content.missing[:_MANY])
        more = f" and {len(content.missing) - _MANY} more" if len(content.missing) > _MANY else ""
        yield f"missing: {named}{more}"
    alike = [reason for reason in both.old.unfit if reason in both.new.unfit]
    yield from (f"both setup sheets: {reason}" for reason in alike)
    for one in both:
        for reason in one.unfit:
            if reason not in alike:
                yield f"setup sheet of {one.content.identity.format}: {reason}"


def _mark(both: Setups, unfit: Sequence[str]) -> str:
    if unfit:
        return NOT_FOR_USE
    # the weaker of the two decides: a draft is for no machine, even if the other format is released
    marks = [one.mark for one in both if one.mark]
    for word in (DRAFT, "TRIAL"):
        if word in marks:
            return word
    return max(marks, default="")


# --- tools, settings and gauges --------------------------------------------------------------------


ALIKE = 3
"""Tools whose sizes agree in so many leading digits are taken for each other."""


def machine_notes(difference: Difference) -> Iterator[MachineNote]:
    """What changes at each group of machines and what does not, by name."""
    for one in difference.stations:
        yield MachineNote(
            number=one.number,
            title=one.title,
            count=one.count,
            parts=_names(one.changes, "part"),
            settings=_names(one.changes, "setting"),
            supplies=_names(one.changes, "supply"),
            gauges=_names(one.gauges, "gauge"),
            stays=tuple(dict.fromkeys(short(name) for name in one.stays)),
        )


def _names(changes: Sequence[ItemChange], what: What) -> tuple[str, ...]:
    return tuple(dict.fromkeys(short(one.name) for one in changes if one.what == what))


def short(name: str) -> str:
    """A name without what follows its comma: `Redraw die` of `Redraw die, bore`."""
    return name.partition(",")[0]


# --- tools ------------------------------------------------------------------------------------


def tools_out(difference: Difference, steps: Sequence[StepNote]) -> Iterator[ToolsAt]:
    """Tools that come out, machine by machine."""
    for station, parts in _with_parts(difference):
        rows = [row for one in parts for row in _rows(one, one.old, station, new=False)]
        yield ToolsAt(station.number, station.title, station.count, at_machine(station, steps), tuple(rows))


def tools_in(difference: Difference, steps: Sequence[StepNote]) -> Iterator[ToolsAt]:
    """The same for tools that go in, with the mark that differs from the tool each replaces."""
    for station, parts in _with_parts(difference):
        rows = [row for one in parts for row in _rows(one, one.new, station, new=True)]
        yield ToolsAt(station.number, station.title, station.count, at_machine(station, steps), tuple(rows))


def _with_parts(difference: Difference) -> Iterator[tuple[StationChanges, list[ItemChange]]]:
    for station in difference.stations:
        parts = [one for one in station.changes if one.what == "part"]
        if parts:
            yield station, parts


def _rows(
    change: ItemChange, cells: Sequence[Cell], station: StationChanges, *, new: bool
) -> Iterator[ToolNote]:
    many = max(len(change.old), len(change.new)) > 1
    here = [place for place in change.places if place < len(cells)]
    for place in here:
        first = place == here[0]
        yield ToolNote(
            id=change.id,
            part=change.name,
            name=numbered(change.name, place + 1) if many else change.name,
            place=place + 1 if many else 0,
            pieces=change.per_machine * station.count,
            value=cells[place],
            also=tuple(NamedValue(one.name, one.new if new else one.old) for one in change.also)
            if first
            else (),
            look_alike=_look_alike(change, place) if new else "",
        )


def numbered(name: str, place: int) -> str:
    """A name with its place: `Ironing ring 2, bore`."""
    head, comma, tail = name.partition(",")
    return f"{head} {place}{comma}{tail}"


def _look_alike(change: ItemChange, place: int) -> str:
    """How a tool differs from the one it replaces, if the two look alike."""
    if place >= len(change.old):
        return ""
    old, new = change.old[place], change.new[place]
    differing = [] if same_target(old, new) else [f"{old.target} → {new.target}"]
    differing += [
        f"{one.name} {one.old.target} → {one.new.target}"
        for one in change.also
        if not same_target(one.old, one.new)
    ]
    if not differing:
        return "same size marking as the old one: read the serial"
    if not alike(old, new):
        return ""
    return "; ".join(differing)


def same_target(old: Cell, new: Cell) -> bool:
    """Whether two targets are the same size, however many decimals are written.

    Example:
        >>> same_target(Cell("", target="88.59", unit="mm"), Cell("", target="88.590", unit="mm"))
        True
        >>> same_target(Cell("", target="88.59", unit="mm"), Cell("", target="88.60", unit="mm"))
        False
    """
    if old.unit and old.unit == new.unit and old.target and new.target:
        return number_of(old.target) == number_of(new.target)
    return (old.target, old.unit) == (new.target, new.unit)


def alike(old: Cell, new: Cell) -> bool:
    """Whether two sizes are easily taken for each other: their leading digits agree.

    Example:
        >>> alike(Cell("", target="66.43", unit="mm"), Cell("", target="66.44", unit="mm"))
        True
        >>> alike(Cell("", target="88.59", unit="mm"), Cell("", target="92.60", unit="mm"))
        False
    """
    if not old.unit or old.unit != new.unit or MISSING in (old.text, new.text):
        return False
    wholes = [one.target.partition(".")[0] for one in (old, new)]
    digits = [one.target.replace(".", "")[:ALIKE] for one in (old, new)]
    return len(wholes[0]) == len(wholes[1]) and digits[0] == digits[1]


# --- settings, supplies, gauges ---------------------------------------------------------------


def setting_notes(difference: Difference) -> Iterator[SettingNote]:
    """Settings and supplies that differ, machine by machine, settings first."""
    for station in difference.stations:
        for what in ("setting", "supply"):
            for one in station.changes:
                if one.what == what:
                    yield _setting(one, station)


def _setting(change: ItemChange, station: StationChanges) -> SettingNote:
    old, new = change.old[0], change.new[0]
    return SettingNote(
        id=change.id,
        what=change.what,
        number=station.number,
        machine=station.title,
        name=change.name,
        where=change.where,
        old=old,
        new=new,
        direct=change.what == "setting" and not same_target(old, new),
    )


def gauge_notes(difference: Difference, floor: Floor) -> Iterator[GaugeNote]:
    """Gauges whose master changes, each once, with the first-offs that use them."""
    masters = {one.id: one.master for one in floor.gauges}
    found: dict[str, list[tuple[StationChanges, ItemChange]]] = {}
    for station in difference.stations:
        for one in station.gauges:
            found.setdefault(one.id, []).append((station, one))
    for ident, rows in found.items():
        yield GaugeNote(
            id=ident,
            name=rows[0][1].name,
            machine=", ".join(dict.fromkeys(station.title for station, _ in rows)),
            master=masters.get(ident, MISSING),
            checks=tuple(dict.fromkeys(also.name for _, one in rows for also in one.also)),
        )


def excuses(difference: Difference, library: Changeover) -> Iterator[Excuse]:
    """Values that moved and of which the plant says that nothing on the line changes for them."""
    moved = [one.key for one in difference.moved]
    for entry in library.no_part:
        keys = {key for value in entry.values for key in covered(value)}
        here = [key for key in moved if key in keys or plain(key) in keys]
        if here:
            yield Excuse(tuple(dict.fromkeys(key.removeprefix("format.") for key in here)), entry.why)
