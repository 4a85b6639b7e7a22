"""The history of one format: revision by revision, why it was raised, what moved, the codes of its sheets."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from kb.book.records_floor import SheetCode
from kb.history.log import cut, values_of_revision
from kb.publish.edition import Edition, FormatEdition
from kb.sheet.issue import issues

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

    Returns:
        A record for each revision that anything tells of.
    """
    record = one.record
    found = {record.revision: RevisionTold(record.revision, record.effective, record.why)}
    for step in edition.past.of_format(record.id):
        if step.revision is not None:
            entry = found.setdefault(step.revision, RevisionTold(step.revision, step.effective, step.why))
            entry.day, entry.why = (
                entry.day or step.effective,
                entry.why or step.why,
            )
    for entry in found.values():
        entry.moved = values_of_revision(edition.past.of_format(record.id), entry.revision)
    for line, issue in _recorded(edition, record.id):
        entry = found.setdefault(issue.revision, RevisionTold(issue.revision, issue.in_force))
        entry.codes.append((issue.code, line, issue.in_force))
        known = {entry.why, *entry.moved}
        entry.moved += tuple(words for words in issue.changed if words not in known)
    for entry in found.values():
        entry.moved = cut(entry.moved, MOST_LINES)
    return sorted(found.values(), key=lambda entry: entry.revision, reverse=True)


def _recorded(edition: Edition, ident: str) -> Iterator[tuple[str, SheetCode]]:
    for line in edition.book.of("line"):
        yield from ((line, one) for one in issues(edition.book, ident, line))
