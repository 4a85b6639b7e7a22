"""Sheet codes, a content with its code and its day, and the list of the current codes of a line.

A code is five signs of a fingerprint of everything the sheet says, and of nothing beside it. The signs are
C D F H J K M R T W X Y 3 4 7 9: no two of them look alike on a bad copy, and no vowel makes a word.
"""

from __future__ import annotations

import datetime
import hashlib
import json
import os
from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

from kb.book.keys import steps
from kb.book.load import Book, Spec
from kb.book.records import SizeFormat
from kb.book.records_floor import SheetCode, SheetCodes
from kb.history.change_types import term
from kb.history.log import cut
from kb.sheet.content import NoSheet, content
from kb.sheet.model import DRAFT, NOT_FOR_USE, CodeList, CodeRow, Content, Sheet, keys_of

SIGNS = "CDFHJKMRTWXY3479"

TEMPLATE = "1"
"""Raised when the sheet's fixed words or its layout come to mean something else."""

_LENGTH, _DASH = 5, 3

DRAFT_SIGN = "Z"
"""First sign of the code of a draft; no released code has it."""


def digest(content: Content) -> str:
    """The fingerprint of what a sheet says.

    Returns:
        64 hexadecimal digits; equal contents have equal ones on every machine and day.
    """
    said = json.dumps(
        {"template": TEMPLATE, "content": content},
        default=keys_of,
        ensure_ascii=True,
        sort_keys=True,
        separators=(",", ":"),
    )
    return hashlib.sha256(said.encode("ascii")).hexdigest()


def draft_digest(fingerprint: str) -> str:
    """The fingerprint of a draft: another one, so that a draft's code is not that of its release.

    Returns:
        64 hexadecimal digits.
    """
    return hashlib.sha256(f"draft {fingerprint}".encode("ascii")).hexdigest()


def code(fingerprint: str, *, draft: bool = False) -> str:
    """The signs people compare.

    Returns:
        Three signs, a hyphen, two signs; for a draft its own sign and a hyphen before them.

    Example:
        >>> code("0123f" + 59 * "0")
        'CDF-H9'
        >>> code("0123f" + 59 * "0", draft=True)
        'Z-CDF-H9'
    """
    signs = "".join(SIGNS[int(digit, 16)] for digit in fingerprint[:_LENGTH])
    return f"{DRAFT_SIGN}-" * draft + f"{signs[:_DASH]}-{signs[_DASH:]}"


def plans_code(content: Content) -> str:
    """The code of the reaction plans alone: one sign, a hyphen, four signs, so that none is a sheet's."""
    plans = json.dumps([content.out_of_limits, content.reactions], default=keys_of, sort_keys=True)
    signs = code(hashlib.sha256(plans.encode("ascii")).hexdigest()).replace("-", "")
    return f"{signs[:1]}-{signs[1:]}"


# --- the register of codes --------------------------------------------------------------------


def codes(book: Book) -> SheetCodes:
    """The register; empty when the book has none."""
    spec = book.only("sheet-codes")
    return spec.record if spec else SheetCodes(codes=())


def issues(book: Book, ident: str, line: str) -> tuple[SheetCode, ...]:
    """All issues of one sheet, the oldest first."""
    return tuple(one for one in codes(book).codes if one.format == ident and one.line == line)


# --- a sheet to print -------------------------------------------------------------------------

_MANY = 6


def issue(
    content: Content,
    book: Book,
    *,
    made: datetime.datetime,
    problems: Sequence[str] = (),
    draft: str | None = None,
) -> Sheet:
    """A sheet of a content on the day `made`; `problems` are reasons against using it.

    `draft` is the label of the draft it is of, "" for one without a label; none for a sheet that is no draft.

    Returns:
        The sheet; marked when it must not, not yet, or only under supervision be used.
    """
    sheet = _issue(content, book, made, problems)
    return sheet if draft is None else _as_draft(sheet, draft)


def _as_draft(sheet: Sheet, label: str) -> Sheet:
    """A sheet that can be taken for no other: its word, status, code and fingerprint are a draft's."""
    fingerprint = draft_digest(sheet.digest)
    signs = code(fingerprint, draft=True)
    named = f"draft {label}: not current" if label else "a draft: not current"
    content = sheet.content
    return replace(
        sheet,
        content=replace(content, identity=replace(content.identity, status="draft")),
        code=signs,
        digest=fingerprint,
        current=f"Draft. {signs} is on no list. Do not set a machine from this copy.",
        issued="",
        recorded=False,
        mark=DRAFT,
        unfit=(named, *sheet.unfit),
    )


def _issue(content: Content, book: Book, made: datetime.datetime, problems: Sequence[str]) -> Sheet:
    fingerprint = digest(content)
    signs, one = code(fingerprint), content.identity
    past = issues(book, one.format, one.line)
    known = next((i for i in reversed(range(len(past))) if past[i].digest == fingerprint), None)
    before = past if known is None else past[:known]
    unfit = (*_unfit(content, made.date()), *problems)
    spec = book.of("size-format").get(one.format)
    return Sheet(
        content=content,
        code=signs,
        digest=fingerprint,
        current=f"Compare {signs} with the posted list or the tablet. "
        "If it differs, stop and get a new sheet.",
        changed=tuple(line for line in past[known].changed if line != one.why) if known is not None else (),
        issued=past[known].in_force if known is not None else "",
        supersedes=f"{before[-1].code} (rev {before[-1].revision})" if before else "",
        recorded=known is not None,
        mark=_mark(content, unfit, made.date()),
        unfit=unfit,
        made=made.strftime("%Y-%m-%d %H:%M"),
        good_until=_good_until(content, made.date()).isoformat(),
        built_on=_built_on(spec) if spec else "",
        own_values=_own_values(spec) if spec else (),
        approved=tuple(
            " ".join(filter(None, (each.role, each.name, each.day)))
            for each in (spec.record.approved_by if spec else ())
        ),
    )


def _built_on(spec: Spec[SizeFormat]) -> str:
    record = spec.record
    standard = f"body standard {record.standard}" if record.standard else ""
    base = f"base format {record.variant_of}" if record.variant_of else ""
    return ", ".join(filter(None, (standard, base)))


def _own_values(spec: Spec[SizeFormat]) -> tuple[str, ...]:
    """The values in place of those of the standard in words; many are cut short."""
    found = [
        f"{term(spec.kind, steps(own.key), names={}).words} {own.text}, not {own.other}"
        for own in spec.document.overrides
    ]
    return cut(found, _MANY)


def now() -> datetime.datetime:
    """The time a copy is made: SOURCE_DATE_EPOCH for a repeatable build, otherwise the clock."""
    fixed = os.environ.get("SOURCE_DATE_EPOCH", "")
    if fixed.isdecimal():
        return datetime.datetime.fromtimestamp(int(fixed), tz=datetime.UTC).replace(tzinfo=None)
    return datetime.datetime.now()


def _unfit(content: Content, day: datetime.date) -> list[str]:
    reasons = []
    if content.missing:
        named = ", ".join(content.missing[:_MANY])
        more = f" and {len(content.missing) - _MANY} more" if len(content.missing) > _MANY else ""
        reasons.append(f"missing: {named}{more}")
    reasons += [
        f"the waiver of {one.check} ended on {one.expires}"
        for one in content.waivers
        if one.expires < day.isoformat()
    ]
    if content.identity.status == "withdrawn":
        reasons.append("the format is withdrawn")
    return reasons


def _mark(content: Content, unfit: Sequence[str], day: datetime.date) -> str:
    one = content.identity
    if unfit:
        return NOT_FOR_USE
    if one.status in {"draft", "trial"}:
        return one.status.upper()
    return f"NOT BEFORE {one.effective}" if one.effective > day.isoformat() else ""


def _good_until(content: Content, day: datetime.date) -> datetime.date:
    """The last day of a copy: so many days from now, and no longer than any waiver it rests on."""
    last = day + datetime.timedelta(days=content.good_for)
    ends = [datetime.date.fromisoformat(one.expires) for one in content.waivers]
    return max(day, min([last, *ends]))


# --- the current codes of a line --------------------------------------------------------------

MOST_OLD = 3
"""Former codes that are shown of each sheet."""

NOT_RECORDED = "not recorded"


def code_list(
    book: Book,
    line: str,
    *,
    made: datetime.datetime,
    failing: Collection[str] = (),
    draft: str | None = None,
) -> CodeList:
    """The current codes of a line; formats that are `failing` their check are not for use.

    Returns:
        Released formats of the line first, then those on trial, each with its code.
    """
    plant = book.plant
    return CodeList(
        line=line,
        line_title=book.of("line")[line].record.title,
        plant=plant.title if plant else "",
        made=made.strftime("%Y-%m-%d %H:%M"),
        rows=tuple(
            sorted(
                _rows(book, line, made, failing, draft), key=lambda row: (row.status != "released", row.title)
            )
        ),
        mark=DRAFT if draft is not None else "",
    )


def _rows(
    book: Book, line: str, made: datetime.datetime, failing: Collection[str], draft: str | None
) -> Iterator[CodeRow]:
    for ident, spec in book.of("size-format").items():
        one = spec.record
        if line not in one.lines or one.status not in {"released", "trial"}:
            continue
        past = issues(book, ident, line)
        try:
            sheet = issue(content(book, ident, line), book, made=made, draft=draft)
        except NoSheet:
            old = tuple(entry.code for entry in past[-MOST_OLD:])
            yield CodeRow(one.title, ident, one.revision, one.status, "–", "–", old, NOT_FOR_USE)
            continue
        since = past[-1].in_force if past and past[-1].digest == sheet.digest else NOT_RECORDED
        codes = dict.fromkeys(entry.code for entry in past if entry.code != sheet.code)
        yield CodeRow(
            title=one.title,
            format=ident,
            revision=one.revision,
            status=one.status,
            code=sheet.code,
            in_force=since,
            no_longer=tuple(codes)[-MOST_OLD:],
            unfit=NOT_FOR_USE if sheet.mark == NOT_FOR_USE or ident in failing else "",
        )
