"""Keeping the register of codes: new codes are appended, recorded ones never change."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import Any, TypeAlias

from kb.blocks import Cell
from kb.book.conversion import factor_and_offset, names, reader_unit
from kb.book.finding import Finding, Place
from kb.book.load import TOP_FILES, Book
from kb.book.records_floor import Characteristic, Floor, SheetCode
from kb.book.tree import Document, Entry, Node, Scalar
from kb.book.tree import Mapping as Group
from kb.book.tree import Sequence as List
from kb.checks import check_book
from kb.checks.consistency.floor import too_coarse
from kb.checks.consistency.floor_keys import leaf
from kb.checks.report import Report
from kb.errors import SizebookError
from kb.route.assemble import Assembled
from kb.sheet.content import NoSheet, contents, contents_of
from kb.sheet.issue import code, codes, digest, issues
from kb.sheet.model import Content, Identity

HEAD = """\
# yaml-language-server: $schema=../schema/sheet-codes.json
# Codes of the setup sheets, past and present. `sizebook sheet --record` adds to it; nothing is taken out.
kind: sheet-codes
codes:
"""


Bands: TypeAlias = Mapping[int, tuple[float, str]]
"""By position of the first-off: width of its band in the unit inside, and where the band comes from."""


class CannotRecord(SizebookError):  # noqa: N818 - said to the reader in one line
    """The register cannot be added to."""


@dataclass(frozen=True, slots=True)
class Recording:
    """What a recording comes to: the register's new text, what was added, what was left out and why."""

    text: str
    added: tuple[SheetCode, ...]
    left_out: tuple[str, ...]


# --- the sheets of a book ---------------------------------------------------------------------


def released(book: Book) -> Iterator[tuple[str, Content | NoSheet]]:
    """The sheets of all released formats on all their lines, or why there is none."""
    for ident, spec in sorted(book.of("size-format").items()):
        if spec.record.status == "released":
            try:
                for one in contents(book, ident, spec.record.lines):
                    yield ident, one
            except NoSheet as error:
                yield ident, error


def known_sheets(book: Book, day: datetime.date) -> list[dict[str, Any]]:
    """The register as the pages look it up: every issue, and whether it is the current one.

    Returns:
        Plain data, one entry for each issue, the oldest first. An issue is current when it is the last
        of its sheet that began by that day and its format is still released on that line.
    """
    formats = book.of("size-format")
    last = {(one.format, one.line): one for one in codes(book).codes if one.in_force <= day.isoformat()}
    messages = []
    for one in codes(book).codes:
        spec = formats.get(one.format)
        alive = spec is not None and spec.record.status == "released" and one.line in spec.record.lines
        current = alive and last.get((one.format, one.line)) is one
        messages.append(
            {
                "sheet": spec.record.title if spec else one.format,
                "format": one.format,
                "line": one.line,
                "revision": one.revision,
                "code": one.code,
                "digest": one.digest,
                "state": "current" if current else "superseded",
                "since": one.in_force,
                "changed": list(one.changed),
                "href": f"sheets/{one.format}-{one.line}.html",
            }
        )
    return messages


# --- recording --------------------------------------------------------------------------------


def recording(book: Book, *, today: datetime.date, before: Book | None = None) -> Recording:
    """What the register becomes with today's codes; changes are listed against the book `before`.

    Returns:
        The recording; nothing is written yet.

    Raises:
        CannotRecord: if the register has faults or is not written as a list of entries.
    """
    added, left_out = [], []
    for ident, one in released(book):
        if isinstance(one, NoSheet):
            left_out.append(str(one))
        elif one.missing:
            left_out.append(f"{one.identity.sheet}: missing {', '.join(one.missing[:3])}")
        else:
            past = issues(book, ident, one.identity.line)
            if not past or past[-1].digest != digest(one) or past[-1].revision != one.identity.revision:
                added.append(_entry(one, past, today, before))
    spec = book.only("sheet-codes")
    if spec is None and any(file.endswith(TOP_FILES["sheet-codes"]) for file in book.broken):
        raise CannotRecord(f"{TOP_FILES['sheet-codes']} has errors; `sizebook check` lists them")
    text, where = _open_end(spec.document) if spec else (HEAD, len(HEAD.splitlines()))
    if not added:
        text = spec.document.text if spec else ""
    return Recording(_with(text, where, added), tuple(added), tuple(left_out))


def _entry(
    content: Content, past: Sequence[SheetCode], today: datetime.date, before: Book | None
) -> SheetCode:
    one, fingerprint = content.identity, digest(content)
    return SheetCode(
        format=one.format,
        line=one.line,
        revision=one.revision,
        code=code(fingerprint),
        digest=fingerprint,
        in_force=max(today.isoformat(), one.effective),
        changed=_changed(content, past, before),
    )


def _changed(content: Content, past: Sequence[SheetCode], before: Book | None) -> tuple[str, ...]:
    one = content.identity
    new = not past or past[-1].revision != one.revision
    lines: tuple[str, ...] = (one.why,) if new else ()
    if before is not None:
        from kb.sheet.last_recorded_sheet import changes  # noqa: PLC0415 - a check does not load it

        try:
            lines += changes(contents(before, one.format, [one.line])[0], content)
        except NoSheet:
            lines += ("The book before had no such sheet.",)
    return lines or ("Changed within the revision, in what it shares with other sheets.",)


# --- the file ---------------------------------------------------------------------------------


def _open_end(document: Document) -> tuple[str, int]:
    """The register's text, and the line after which an entry can be added."""
    found = document.node("codes")
    if not isinstance(found, List):
        raise CannotRecord("the register has no list of codes")  # its schema requires one
    lines = document.text.splitlines(keepends=True)
    begin, end = found.span.line - 1, found.span.end_line - 1
    in_brackets = lines[begin][found.span.column - 1 :].startswith("[")
    if in_brackets and not found.items:
        head, tail = lines[begin][: found.span.column - 1], lines[end][found.span.end_column - 1 :]
        lines[begin : end + 1] = [f"{head.rstrip()}{tail}"] if (head + tail).strip() else []
        return "".join(lines), begin + bool((head + tail).strip())
    if in_brackets or len({one.span.line for one in found.items}) < len(found.items):
        raise CannotRecord("write one code per line, each after a hyphen")
    return document.text, max(_last_line(one) for one in found.items)


def _last_line(node: Node) -> int:
    if isinstance(node, Scalar):
        return node.span.end_line
    inner: list[Node] = (
        [entry.node for entry in node.entries.values() if isinstance(entry, Entry)]
        if isinstance(node, Group)
        else list(node.items)
    )
    return max([node.span.line, *map(_last_line, inner)])


def _with(text: str, where: int, added: Sequence[SheetCode]) -> str:
    lines = text.splitlines(keepends=True)
    if added and not lines[where - 1].endswith("\n"):
        lines[where - 1] += "\n"
    return "".join([*lines[:where], *map(_written, added), *lines[where:]])


def _written(one: SheetCode) -> str:
    """An entry as the file has it."""
    keys: Mapping[str, str] = {
        "format": one.format,
        "line": one.line,
        "revision": str(one.revision),
        "code": one.code,
        "digest": f'"{one.digest}"',
        "in_force": f'"{one.in_force}"',
    }
    body = "\n    ".join(f"{key}: {value}" for key, value in keys.items())
    changed = "".join(f"\n      - {_quoted(line)}" for line in one.changed)
    return f"  - {body}\n    changed:{changed}\n"


def _quoted(text: str) -> str:
    """Text in single quotes, in which YAML leaves all signs alone."""
    return "'" + text.replace("'", "''") + "'"


# --- findings ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class SheetMark:
    """What the check needs of one sheet; small, so that a worker can hand it to another process.

    Attributes:
        identity: what the sheet is for.
        digest: its fingerprint.
        missing: what it lacks.
        bands: bands of first-offs that only the sheet has.
    """

    identity: Identity
    digest: str
    missing: tuple[str, ...]
    bands: Bands


def check_with_codes(
    book: Book,
    *,
    today: datetime.date,
    formats: Collection[str] | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Report:
    """Check a loaded book, and the codes of its setup sheets if it keeps a register of them.

    Returns:
        The report of the check, with the findings on the codes.
    """
    if book.only("sheet-codes") is None:
        return check_book(book, today=today, formats=formats, progress=progress)
    report = check_book(book, today=today, formats=formats, progress=progress, also=marks)
    failing = {one.subject for one in report.findings if one.severity == "error"}
    found = [*report.findings, *sheet_faults(book, failing, report.also)]
    report.findings = sorted(found, key=lambda one: one.order)
    return report


def marks(book: Book, assembled: Assembled) -> tuple[SheetMark, ...]:
    """The marks of the sheets of one format.

    Returns:
        A mark for each of its lines; none when it is not released.
    """
    spec = assembled.spec
    if spec.record.status != "released":
        return ()
    return tuple(_mark(book, one) for one in contents_of(book, assembled, spec.record.lines))


def _mark(book: Book, made: Content) -> SheetMark:
    return SheetMark(made.identity, digest(made), made.missing, bands(book, made))


def sheet_faults(
    book: Book, failing: Collection[str] = (), known: Mapping[str, Sequence[SheetMark] | None] | None = None
) -> Iterator[Finding]:
    """Sheets whose code is not the one in the register, or that cannot be used as they are.

    Yields:
        A finding each; none when the book keeps no register.
    """
    register = book.only("sheet-codes")
    if register is None:
        return
    for i, one in enumerate(codes(book).codes):
        if code(one.digest) != one.code:
            message = f"the code {one.code} is not that of its digest, {code(one.digest)}"
            place = register.place(f"codes[{i}].code")
            fix = "remove the entry and record the code with `sizebook sheet --record`"
            yield Finding("sheet.digest", "error", place, message, (fix,))
    if known is None:
        made_now = [(ident, one) for ident, one in released(book) if not isinstance(one, NoSheet)]
        found = [(ident, _mark(book, one)) for ident, one in made_now]
    else:
        found = [(ident, one) for ident, each in sorted(known.items()) for one in each or ()]
    found = [(ident, one) for ident, one in found if ident not in failing]
    for ident, made in found:
        spec = book.of("size-format")[ident]
        if made.missing:
            message = f"the setup sheet for {made.identity.line} lacks {', '.join(made.missing[:4])}"
            fix = "complete floor.yaml, or the key it names"
            yield Finding("sheet.missing", "warning", spec.place("id"), message, (fix,), subject=ident)
        yield from _unrecorded(book, made, spec.place("revision"))
    yield from coarse_gauges(book, [one.bands for _, one in found])


def _unrecorded(book: Book, made: SheetMark, place: Place) -> Iterator[Finding]:
    one, fingerprint = made.identity, made.digest
    past = issues(book, one.format, one.line)
    same = [(i, entry) for i, entry in enumerate(codes(book).codes) if entry.digest == fingerprint]
    wrong = [i for i, entry in same if entry.revision != one.revision or entry not in past]
    register = book.only("sheet-codes")
    for i in wrong if register else ():
        entry = codes(book).codes[i]
        message = (
            f"code {entry.code} is that of {one.sheet} revision {one.revision}, "
            f"recorded as {entry.format}/{entry.line} revision {entry.revision}"
        )
        fix = "remove the entry and record the code with `sizebook sheet --record`"
        at = register.place(f"codes[{i}].revision") if register else place
        yield Finding("sheet.other-revision", "error", at, message, (fix,), subject=one.format)
    if not past or past[-1].digest != fingerprint:
        was = f"; the register has {past[-1].code}" if past else ""
        message = f"the setup sheet for {one.line} has code {code(fingerprint)}, not recorded{was}"
        fix = "record it with `sizebook sheet --record`; post the new list of codes, collect the old sheets"
        yield Finding("sheet.unrecorded", "warning", place, message, (fix,), subject=one.format)


# --- gauges against the bands that only a sheet has ------------------------------------------

ROOTS = ("route.", "line.", "machine.")
"""Values whose limits are in no spec of the format."""


def bands(book: Book, sheet: Content) -> Bands:
    """The bands of first-offs that only a sheet has.

    Returns:
        The bands; none when the book has no floor file.
    """
    spec = book.only("floor")
    if spec is None:
        return {}
    floor: Floor = spec.record
    reads = {one.id: one.resolution.canonical for one in floor.gauges}
    cells = {(one.group, one.name, one.where): one.value for one in sheet.first_offs}
    found = {}
    for i, check in enumerate(floor.first_offs):
        if _only_here(check, reads.get(check.gauge, "")):
            band = _band(cells.get((check.group, check.name, check.where)), check)
            if band is not None:
                found[i] = (band, f"computed for {sheet.identity.sheet}")
    return found


def coarse_gauges(book: Book, sheets: Iterable[Bands]) -> Iterator[Finding]:
    """First-offs whose gauge is too coarse for the band that a sheet prints.

    Yields:
        A finding for each such first-off, of the sheet with the narrowest band.
    """
    spec = book.only("floor")
    if spec is None:
        return
    of: dict[int, list[tuple[float, str]]] = {}
    for sheet in sheets:
        for i, band in sheet.items():
            of.setdefault(i, []).append(band)
    for i, found in sorted(of.items()):
        yield from too_coarse(spec, i, found)


def _only_here(check: Characteristic, reads: str) -> bool:
    """Whether a first-off's limits are on the sheet alone, and its gauge measures that quantity."""
    known = leaf(check.value) if check.value.startswith(ROOTS) else None
    banded = check.bound == "band" and check.within is None and not check.limit
    return banded and known is not None and known.unit == reads


def _band(cell: Cell | None, check: Characteristic) -> float | None:
    """Width of a printed band in the unit inside; nothing where a side is open."""
    known = leaf(check.value)
    if cell is None or known is None or not (cell.least and cell.most):
        return None
    unit = _unit_of(cell.unit, known.unit)
    factor, _ = factor_and_offset(unit, known.unit)
    return float((Fraction(cell.most) - Fraction(cell.least)) * factor)


@cache
def _unit_of(shown: str, inside: str) -> str:
    """The unit that a reader's unit was written for."""
    return next(one for one in (inside, *sorted(names())) if reader_unit(one) == shown)
