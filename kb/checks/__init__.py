"""Findings on a book: each format judged stage by stage, then the book as a whole."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Collection, Iterator

from kb.book.finding import Finding, Place
from kb.book.load import Book
from kb.checks.catalog import MECHANICS
from kb.checks.consistency.floor import floor_faults
from kb.checks.consistency.floor_index import answer_faults
from kb.checks.consistency.limits import yardstick
from kb.checks.consistency.trials import trial_faults
from kb.checks.consistency.whole_book import format_faults, review_faults, unused_faults, withdrawn_faults
from kb.checks.one_format import Also, FormatResult, check_formats
from kb.checks.report import Report, Skipped
from kb.checks.waivers import Desk
from kb.errors import installed

STAGES = ("reading", "shape", "units", "references", "geometry", "mechanics")
"""The stages in order; each is run to its end, and the next only on what passed."""


def check_book(
    book: Book,
    *,
    today: datetime.date,
    formats: Collection[str] | None = None,
    progress: Callable[[int, int], None] | None = None,
    also: Also | None = None,
) -> Report:
    """Check a loaded book.

    Args:
        book: the book, with the findings of its reading
        today: the day on which waivers and reviews are judged
        formats: ids to check; all when left out
        progress: called with how many formats are done, and of how many
        also: work to do on each format whose geometry closes; its answers are in the report
    """
    report = Report(findings=list(book.findings))
    report.skipped += [
        Skipped(file, STAGES[STAGES.index(stage) + 1 :], f"it has errors in {stage}")
        for file, stage in sorted(book.broken.items())
    ]
    wanted = [ident for ident in sorted(book.of("size-format")) if formats is None or ident in formats]
    report.formats = tuple(wanted)
    desk = Desk(book, today)
    by = yardstick(book)
    report.findings += by.findings
    if book.limits is None:
        why = "limits.yaml is missing or has errors"
        report.skipped += [Skipped(ident, STAGES[4:], why) for ident in wanted]
    else:
        report.skipped += [
            Skipped(name, STAGES[5:], "limits.yaml has no limit for it") for name in by.unjudged
        ]
        report.skipped += [
            Skipped(f"{one.name}{one.without}", STAGES[5:], f"sizebook[{one.needs}] is not installed")
            for one in MECHANICS
            if one.needs is not None and not installed(one.needs)
        ]
        listed: set[tuple[str, Place]] = set()
        for done, outcome in enumerate(check_formats(book, wanted, by, also=also), start=1):
            _take(outcome, desk, report, listed)
            if progress is not None:
                progress(done, len(wanted))
    judged = set(report.verdicts) - {one.what for one in report.skipped}
    report.findings += desk.faults(judged)
    if formats is None:
        report.findings += book_faults(book, today)
    report.findings.sort(key=lambda one: one.order)
    return report


def book_faults(book: Book, today: datetime.date) -> Iterator[Finding]:
    """Findings on the book as a whole, whichever of its formats are checked."""
    from kb.checks.consistency.changeover import changeover_faults  # noqa: PLC0415 - not for one format

    yield from (*review_faults(book, today), *format_faults(book), *unused_faults(book))
    yield from (*floor_faults(book), *changeover_faults(book), *answer_faults(book))
    yield from (*withdrawn_faults(book), *trial_faults(book))


def _take(outcome: FormatResult, desk: Desk, report: Report, listed: set[tuple[str, Place]]) -> None:
    """Put the outcome of one format into the report; what concerns the whole book is listed once."""
    if outcome.skipped is not None:
        report.skipped.append(outcome.skipped)
    report.verdicts[outcome.ident] = outcome.verdicts
    report.also[outcome.ident] = outcome.also
    about_book = [one for one in outcome.findings if not one.subject]
    report.findings += desk.apply([one for one in outcome.findings if one.subject])
    report.findings += [one for one in about_book if (one.name, one.place) not in listed]
    listed.update((one.name, one.place) for one in about_book)
