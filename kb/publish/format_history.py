"""The history of one format: revision by revision, why it was raised, what moved, the codes of its sheets."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from kb.book.load import Book
from kb.book.records_floor import SheetCode
from kb.publish.edition import Edition, FormatEdition
from kb.publish.past import Past, cut
from kb.review.recorded import since_recorded
from kb.sheet.history import MOST_ROWS, issues
from kb.sheet.model import Sheet

MOST_LINES = 12
"""Lines told of one revision."""


@dataclass(slots=True)
class RevisionTold:
    """One revision of a format.

    Attributes:
        revision: its number.
        day: first day in force, "" where nothing tells it.
        why: its reason, "" likewise.
        moved: what moved, old and new.
        codes: code, line and first day of each sheet of it that was recorded.
    """

    revision: int
    day: str = ""
    why: str = ""
    moved: tuple[str, ...] = ()
    codes: list[tuple[str, str, str]] = field(default_factory=list)


def history(edition: Edition, one: FormatEdition) -> list[RevisionTold]:
    """The revisions of a format as book, repository and register tell them, the newest first.

    Args:
        edition: the edition
        one: the format

    Returns:
        A record for each revision that anything tells of.
    """
    record = one.record
    found = {record.revision: RevisionTold(record.revision, record.effective, record.why)}
    for step in edition.past.of_format(record.id):
        if step.revision is not None:
            told = found.setdefault(step.revision, RevisionTold(step.revision, step.effective, step.why))
            told.day, told.why = told.day or step.effective, told.why or step.why
    for told in found.values():
        told.moved = moved(edition.past, record.id, told.revision)
    for line, issue in _recorded(edition, record.id):
        told = found.setdefault(issue.revision, RevisionTold(issue.revision, issue.in_force))
        told.codes.append((issue.code, line, issue.in_force))
        known = {told.why, *told.moved}
        told.moved += tuple(words for words in issue.changed if words not in known)
    for told in found.values():
        told.moved = cut(told.moved, MOST_LINES)
    return sorted(found.values(), key=lambda told: told.revision, reverse=True)


def _recorded(edition: Edition, ident: str) -> Iterator[tuple[str, SheetCode]]:
    for line in edition.book.of("line"):
        yield from ((line, one) for one in issues(edition.book, ident, line))


def moved(past: Past, ident: str, revision: int) -> tuple[str, ...]:
    """What moved under a revision of a format, by the commits that made it, the oldest first."""
    steps = [one for one in past.of_format(ident) if one.revision == revision]
    return tuple(dict.fromkeys(line for one in reversed(steps) for line in one.values))


def with_meaning(sheet: Sheet, past: Past, most: int) -> Sheet:
    """A sheet with what moved under its revision, where the register has no words for it.

    Args:
        sheet: the sheet; its code and its content stay as they are
        past: what the book's repository tells
        most: rows there is room for

    Returns:
        The sheet.
    """
    one = sheet.content.identity
    found: Sequence[str] = () if sheet.changed else moved(past, one.format, one.revision)
    return replace(sheet, changed=cut(found, most)) if found else sheet


def with_changes(sheet: Sheet, book: Book, past: Past) -> Sheet:
    """A sheet with what changed since the one before, for paper and screen alike.

    The register speaks first; then the repository's sheet that was recorded last; then what moved under
    the revision.

    Args:
        sheet: the sheet; its code and its content stay as they are
        book: the book it is of
        past: what the book's repository tells

    Returns:
        The sheet.
    """
    if sheet.changed:
        return sheet
    rows = since_recorded(book, sheet.content)
    return replace(sheet, changed=rows) if rows else with_meaning(sheet, past, MOST_ROWS)
