"""Two versions of a book compared: what changed, what it reaches, what it does there, and a verdict."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from pathlib import Path

from kb.book.finding import Finding, Severity
from kb.book.load import Book
from kb.checks import book_faults, check_book
from kb.checks.catalog import NAMES
from kb.checks.names import approval_names
from kb.checks.report import RANK, Report
from kb.history.value_diff import below, changed_files
from kb.history.versions import Files, Sides, matches, read_both
from kb.review.approvals import approvals
from kb.review.findings import Sorter, newly
from kb.review.former import former_fails, paired
from kb.review.known import with_known
from kb.review.loosened import loosened
from kb.review.minutes import THRESHOLD
from kb.review.model import ChangedFile, CheckMoved, Kind, Outcome, Review, SheetMoved, Touched
from kb.review.prompts import prompts
from kb.review.reach import Reached, reach
from kb.review.revision import revision_faults
from kb.review.thresholds import thresholds
from kb.review.touched import CheckedVersion, touched
from kb.review.unjudged import not_judged
from kb.review.used import lines, sheets
from kb.review.verdict import verdict
from kb.review.versions import sides


def review(
    base: str,
    head: str | None = None,
    *,
    book: Path | None = None,
    today: datetime.date,
    severity: Severity = "error",
    whole: bool = False,
    require_approval: bool = False,
) -> Review:
    """Compare two versions of a book.

    Args:
        base: the older version, a git revision or a folder
        head: the newer one; the work tree when left out
        book: where the book lies, if not around here
        today: day on which waivers and reviews are judged, in both versions
        severity: from which on a new finding blocks
        whole: read and judge all of both, not only what the change can reach; it says the same
        require_approval: whether the approvals that any change needs are required too

    Returns:
        The review.

    Raises:
        CannotRead: if a version cannot be had.
        SelectionError: if the book on disk cannot be.
    """
    with sides(base, head, book) as both:
        old, new = read_both(both, whole=whole)
        return _compared(
            both, old, new, today=today, severity=severity, whole=whole, require_approval=require_approval
        )


def _compared(
    both: Sides,
    old: Files,
    new: Files,
    *,
    today: datetime.date,
    severity: Severity,
    whole: bool,
    require_approval: bool,
) -> Review:
    found = matches(old, new)
    files = changed_files(found, old, new, NAMES)
    reached = reach(found, files, old.book, new.book)
    before = _version(old.book, reached, reached.was, today, whole=whole)
    after = _version(new.book, reached, reached.now, today, whole=whole)
    pairs = paired(found, old.book, new.book)
    former = former_fails(pairs, reached, after)
    faulty = bool(old.broken or new.broken)
    moved, unchanged = _sorter(old, new, reached, files, after.report).moved(
        _in_reach(before, reached, faulty),
        [
            *with_known(_in_reach(after, reached, faulty), found, old, new),
            *revision_faults(found, files),
            *loosened(pairs, files, former),
        ],
    )
    least = thresholds(old.book, new.book)
    formats = tuple(touched(reached, files, before, after, least))
    sheets_moved = tuple(sheets(reached, files, old.book, new.book))
    formats = tuple(one for one in formats if _tells(one, files, sheets_moved, moved))
    on_lines, not_compared = lines(reached, [one.id for one in formats], _faulty(files), old.book, new.book)
    fresh = list(newly(moved))
    approve = approvals(found, files, formats, new_findings=fresh, former=former, books=(old.book, new.book))
    outcome = _outcome(fresh, severity, bool(approve) and require_approval)
    return Review(
        verdict=verdict(
            outcome,
            files=files,
            moved=moved,
            former=former,
            lines=on_lines,
            sheets=sheets_moved,
            approvals=approve,
        ),
        outcome=outcome,
        blocked=outcome == "blocked",
        base=both.base.version,
        head=both.head.version,
        notes=both.notes,
        kinds=_kinds(files),
        files=files,
        touched=formats,
        thresholds=(*least.words, *([THRESHOLD] if any(one.compared for one in on_lines) else [])),
        checks=tuple(moved),
        former=former,
        revisions=tuple(one for one in fresh if one.name.startswith("revision.")),
        unchanged=tuple(unchanged),
        sheets=sheets_moved,
        lines=on_lines,
        prompts=tuple(prompts(files, _by_file(reached))),
        approvals=approve,
        not_judged=tuple(
            dict.fromkeys([*not_judged(both, (before, after), files, reached, sheets_moved), *not_compared])
        ),
    )


def _outcome(fresh: Sequence[Finding], severity: Severity, required: bool) -> Outcome:
    if any(RANK[one.severity] >= RANK[severity] for one in fresh):
        return "blocked"
    if required or any(one.name in approval_names() for one in fresh):
        return "needs approval"
    return "passes"


# --- checks -----------------------------------------------------------------------------------


def _version(
    book: Book, reached: Reached, names: dict[str, str], today: datetime.date, *, whole: bool
) -> CheckedVersion:
    """One version judged: its formats in reach, and the book as a whole."""
    if whole:
        return CheckedVersion(book, check_book(book, today=today), names)
    wanted = {names[one] for one in reached.judged if one in names}
    report = check_book(book, today=today, formats=wanted)
    report.findings += book_faults(book, today)
    report.findings.sort(key=lambda one: one.order)
    return CheckedVersion(book, report, names)


def _in_reach(version: CheckedVersion, reached: Reached, faulty: bool) -> list[Finding]:
    """Findings on formats in reach and on files; those of other formats are as they were.

    What nothing refers to is looked for in a book without faulty files alone, so with one it is left out.
    """
    here = {version.names[one] for one in reached.judged if one in version.names}
    return [
        one
        for one in version.report.findings
        if (not one.subject or one.subject in here) and not (faulty and one.name == "book.unused")
    ]


def _sorter(old: Files, new: Files, reached: Reached, files: Sequence[ChangedFile], report: Report) -> Sorter:
    faulty = {one.id for one in files if {"invalid", "unreadable", "moved"} & set(one.states)}
    gone = {was for one, was in reached.was.items() if one not in reached.now}
    skipped = {below(one.what, old, new) for one in report.skipped}
    was = {now: reached.was[one] for one, now in reached.now.items() if one in reached.was}
    return Sorter(
        lambda file: below(file, old, new), was, frozenset(gone - faulty), frozenset(skipped | faulty)
    )


# --- what is told -----------------------------------------------------------------------------


def _tells(
    one: Touched,
    files: Sequence[ChangedFile],
    sheets_moved: Sequence[SheetMoved],
    moved: Sequence[CheckMoved],
) -> bool:
    """Whether a format that is reached has anything to tell."""
    own = any((file.kind, file.id) == ("size-format", one.id) and not file.editorial for file in files)
    result = bool(one.effects or one.folded or one.margins)
    sheet = any(each.format == one.id for each in sheets_moved)
    return (
        own or result or sheet or any(each.finding.subject in {one.id, one.was or one.id} for each in moved)
    )


def _by_file(reached: Reached) -> dict[str, list[str]]:
    """Formats by the file that reaches them."""
    found: dict[str, list[str]] = {}
    for ident, because in reached.judged.items():
        for words in because:
            found.setdefault(words, []).append(ident)
    return found


def _kinds(files: Sequence[ChangedFile]) -> tuple[Kind, ...]:
    found: dict[Kind, None] = {kind: None for file in files for kind in file.kinds}
    return tuple(found)


def _faulty(files: Sequence[ChangedFile]) -> set[str]:
    """Ids of formats that cannot be read in one of the versions; they have not come or gone."""
    states = {"invalid", "unreadable", "moved", "readable again"}
    return {one.id for one in files if one.kind == "size-format" and states & set(one.states)}
