"""Findings on a book: each format judged stage by stage, then the book as a whole."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Collection, Sequence

from kb.book.finding import Finding
from kb.book.load import Book
from kb.checks.catalog import GEOMETRY, MECHANICS
from kb.checks.fix import fixes
from kb.checks.judge import Verdict, judge_case, judge_route
from kb.checks.report import Report, Skipped
from kb.checks.waivers import Desk
from kb.checks.whole_book import format_faults, limit_faults, review_faults, unused_faults
from kb.checks.wording import finding
from kb.route.assemble import Assembled, assemble

MOST_FIXED = 12
"""Findings of one format for which fixes are computed; past that the format wants more than a number."""


def check_book(
    book: Book,
    *,
    today: datetime.date,
    formats: Collection[str] | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Report:
    """Judge a loaded book.

    Args:
        book: the book, with the findings of its reading
        today: the day on which waivers and reviews are judged
        formats: ids to judge; all when left out
        progress: called with how many formats are done, and of how many

    Returns:
        The report: all findings in order, verdicts by format, what was not judged.
    """
    report = Report(findings=list(book.findings))
    report.skipped += [_broken(file, stage) for file, stage in sorted(book.broken.items())]
    faults = list(limit_faults(book))
    report.findings += faults
    desk = Desk(book, today)
    wanted = [ident for ident in sorted(book.of("size-format")) if formats is None or ident in formats]
    report.formats = tuple(wanted)
    for done, ident in enumerate(wanted):
        if progress is not None:
            progress(done, len(wanted))
        if faults or book.limits is None:
            report.skipped.append(Skipped(ident, ("geometry", "mechanics"), "limits.yaml has faults"))
        else:
            _check_format(book, ident, desk, report)
    if progress is not None:
        progress(len(wanted), len(wanted))
    judged = [ident for ident in wanted if ident in report.verdicts and not _skipped(report, ident)]
    report.findings += desk.faults(judged, complete=True)
    if formats is None:
        report.findings += [*review_faults(book, today), *format_faults(book), *unused_faults(book)]
    report.findings.sort(key=lambda one: one.order)
    return report


def _broken(file: str, stage: str) -> Skipped:
    stages = ("reading", "shape", "units", "records", "geometry", "mechanics")
    return Skipped(file, stages[stages.index(stage) + 1 :], f"it has faults of {stage}")


def _skipped(report: Report, ident: str) -> bool:
    return any(one.what == ident for one in report.skipped)


def _check_format(book: Book, ident: str, desk: Desk, report: Report) -> None:
    assembled = assemble(book, ident)
    if assembled is None:
        why = "a file it refers to is missing or has faults"
        report.skipped.append(Skipped(ident, ("geometry", "mechanics"), why))
        return
    limits = book.limits.limits if book.limits else {}
    verdicts = judge_case(assembled.case, GEOMETRY, limits)
    blocking = [one for one in verdicts if not one.passed and one.rule.severity == "error"]
    if blocking:
        report.skipped.append(Skipped(ident, ("mechanics",), "its geometry does not close"))
    else:
        verdicts += judge_route(assembled.study, MECHANICS, limits)
    report.verdicts[ident] = verdicts
    report.findings += desk.apply(_findings(assembled, verdicts, book))


def _findings(assembled: Assembled, verdicts: Sequence[Verdict], book: Book) -> list[Finding]:
    limits = book.limits.limits if book.limits else {}
    told = []
    for i, verdict in enumerate(_tightest([one for one in verdicts if not one.passed])):
        cures = fixes(assembled, verdict, verdicts, limits) if i < MOST_FIXED else ()
        texts = tuple(cure.text for cure in cures) or _in_words(verdict)
        told.append(finding(assembled, verdict, texts))
    return told


def _tightest(failed: Sequence[Verdict]) -> list[Verdict]:
    """The worst of the failures that one check has at one place: twelve equal neck stages are one finding."""
    worst: dict[tuple[str, str], Verdict] = {}
    for one in failed:
        key = (one.rule.name, one.at)
        if key not in worst or not one.margin >= worst[key].margin:
            worst[key] = one
    return list(worst.values())


def _in_words(verdict: Verdict) -> tuple[str, ...]:
    words = verdict.rule.sections.get("To fix", "")
    return (words,) if words else ()
