"""From a plan to what its sheet says, and to a sheet with its code and its day."""

from __future__ import annotations

import datetime
import hashlib
import json
from collections.abc import Iterator, Sequence
from dataclasses import fields, is_dataclass, replace
from functools import lru_cache
from typing import Any, NamedTuple

from kb.blocks import MISSING, Cell
from kb.book.load import Book
from kb.book.records import Line, SizeFormat
from kb.book.records_floor import Changeover, Crew, Floor
from kb.changeover.jobs import grid, hands, jobs, lock_notes, steps
from kb.changeover.model import Difference, Plan
from kb.changeover.sheet_model import (
    ChangeContent,
    ChangeSheet,
    Durations,
    FormatNote,
    Header,
    InspectionPoint,
    RampNote,
)
from kb.changeover.times import minutes
from kb.changeover.tools import excuses, gauge_notes, machine_notes, setting_notes, tools_in, tools_out
from kb.sheet.content import content as setup_content
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
    """What the changeover sheet of a plan says.

    Args:
        book: the book it is of, with sound floor and changeover files
        plan: who does what when
        crew: the crew of the plan
        durations: how long the line stands
        both: the setup sheets of the two formats

    Returns:
        The controlled content; values the book lacks say MISSING and are listed.
    """
    floor: Floor = _record(book, "floor")
    library: Changeover = _record(book, "changeover")
    difference = plan.difference
    line: Line = book.of("line")[difference.line].record
    out = list(steps(plan, crew, "isolate", "out"))
    fit = list(steps(plan, crew, "in", "set", "release"))
    every = [*out, *fit, *steps(plan, crew, "before", "clear", "verify", "first-off", "restart", "after")]
    dangers = dict.fromkeys(c for row in every for c in row.cautions if c.signal == "DANGER")
    kinds = {one.kind: one.title for one in reversed(line.machines)}
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
        first_offs=tuple(_first_offs(floor, line, difference, both.new.content.first_offs)),
        restart=library.restart,
        ramp=tuple(
            RampNote(f"{float(one.speed) * 100:g} %", minutes(float(one.time)), one.sample)
            for one in library.ramp
        ),
        release=tuple(SignatureRow(one.step, one.role) for one in floor.release[-1:]),
        after=tuple(steps(plan, crew, "after")),
        reasons=library.reasons,
        back_out=library.back_out,
        return_to=floor.return_to,
        missing=(),
    )
    rows = (name for field in fields(made) for name in _missing_in(getattr(made, field.name), field.name))
    return replace(made, missing=tuple(dict.fromkeys(rows)))


def _record(book: Book, kind: str) -> Any:
    spec = book.only(kind)
    if spec is None:
        raise ValueError(f"the book has no sound {kind} file")  # whoever made the plan had one
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
        one.status,  # of a draft copy, whatever the format's own is
        record.effective,
        sheet.code,
    )


def _first_offs(
    floor: Floor, line: Line, difference: Difference, rows: Sequence[FirstOff]
) -> Iterator[FirstOff]:
    """First-offs of the setup sheet that the touched machines can move, and those of paper alone."""
    kinds = {one.kind for one in line.machines}
    checks = [one for one in floor.first_offs if one.sample is None or one.sample.machine in kinds]
    touched = {one.kind for one in difference.stations if one.changes}
    reset = {also.name for one in difference.stations for gauge in one.gauges for also in gauge.also}
    for one, row in zip(checks, rows, strict=True):
        if one.sample is None or one.sample.machine in touched or one.name in reset:
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
    """The fingerprint of what a changeover sheet says; no setup sheet has the same.

    Returns:
        64 hexadecimal digits; equal contents have equal ones on every machine and day.
    """
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
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
    return value


def change_code(fingerprint: str, *, draft: bool = False) -> str:
    """The signs people compare: those of a setup sheet, grouped otherwise so that none is taken for one.

    Args:
        fingerprint: a digest
        draft: whether it is that of a draft

    Returns:
        Two signs, a hyphen, three signs; for a draft the sign of drafts and a hyphen before them.

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
    """Make a sheet of a content.

    Args:
        content: what is controlled
        both: the setup sheets of the two formats, made for the same copy
        made: when the copy is made
        problems: what else speaks against using it, such as findings of the check

    Returns:
        The sheet; marked when it must not, not yet, or only under supervision be used.
    """
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
    # the weaker of the two decides: a draft is for no machine, however sound the other format is
    marks = [one.mark for one in both if one.mark]
    for word in (DRAFT, "TRIAL"):
        if word in marks:
            return word
    return max(marks, default="")
