"""A content with its code, its history and its day: a sheet to print."""

from __future__ import annotations

import datetime
import os
from collections.abc import Sequence
from dataclasses import replace

from kb.book.load import Book
from kb.book.records_floor import SheetCode
from kb.sheet.code import code, digest, draft_digest, issues
from kb.sheet.model import DRAFT, NOT_FOR_USE, Content, Sheet

_MANY = 6


def issue(
    content: Content,
    book: Book,
    *,
    made: datetime.datetime,
    problems: Sequence[str] = (),
    draft: str | None = None,
) -> Sheet:
    """Make a sheet of a content.

    Args:
        content: what is controlled
        book: the book, for the register of codes
        made: when the copy is made; waivers and the day of effect are judged on it
        problems: what else speaks against using it, such as findings of the check
        draft: label of the draft it is of, which may be empty; none for a sheet that is in force

    Returns:
        The sheet; marked when it must not, not yet, or only under supervision be used.
    """
    sheet = _issue(content, book, made, problems)
    return sheet if draft is None else _as_draft(sheet, draft)


def _as_draft(sheet: Sheet, label: str) -> Sheet:
    """A sheet that can be taken for no other: its word, status, code and fingerprint are a draft's."""
    fingerprint = draft_digest(sheet.digest)
    signs = code(fingerprint, draft=True)
    named = f"draft {label}: not in force" if label else "a draft: not in force"
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
    return Sheet(
        content=content,
        code=signs,
        digest=fingerprint,
        current=f"Compare {signs} with the posted list or the tablet. "
        "If it differs, stop and get a new sheet.",
        changed=tuple(line for line in past[known].changed if line != one.why) if known is not None else (),
        issued=past[known].in_force if known is not None else "",
        supersedes=_superseded(before),
        recorded=known is not None,
        mark=_mark(content, unfit, made.date()),
        unfit=unfit,
        made=made.strftime("%Y-%m-%d %H:%M"),
        good_until=_good_until(content, made.date()).isoformat(),
    )


def now() -> datetime.datetime:
    """The time a copy is made: SOURCE_DATE_EPOCH where a build must be repeatable, else the clock."""
    fixed = os.environ.get("SOURCE_DATE_EPOCH", "")
    if fixed.isdecimal():
        return datetime.datetime.fromtimestamp(int(fixed), tz=datetime.UTC).replace(tzinfo=None)
    return datetime.datetime.now()


def _superseded(before: Sequence[SheetCode]) -> str:
    return f"{before[-1].code} (rev {before[-1].revision})" if before else ""


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
