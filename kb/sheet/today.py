"""The codes in force on a line: the one page that is posted, and the only paper that must be swapped."""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterator

from kb.book.load import Book
from kb.sheet.code import issues
from kb.sheet.content import NoSheet, content
from kb.sheet.issue import issue
from kb.sheet.model import DRAFT, NOT_FOR_USE, CodeList, CodeRow

MOST_OLD = 3
"""Codes no longer in force that are shown of each sheet."""

NOT_RECORDED = "not recorded"


def code_list(
    book: Book,
    line: str,
    *,
    made: datetime.datetime,
    failing: Collection[str] = (),
    draft: str | None = None,
) -> CodeList:
    """The codes in force on a line.

    Args:
        book: a loaded book
        line: id of one of its lines
        made: when the list is made
        failing: formats that fail their check, which are not for use
        draft: label of the draft it is of; none for a list that is in force

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
