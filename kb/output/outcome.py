"""A checked book, and what a check of several books found in one line."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from kb.book.finding import Finding, Severity, one_line
from kb.book.load import Book
from kb.checks.consistency.whole_book import lacks
from kb.checks.report import RANK, Report
from kb.checks.words import plural

LEVELS: tuple[Severity, ...] = ("error", "warning", "note")


@dataclass(frozen=True, slots=True)
class Outcome:
    """One book, checked.

    Attributes:
        shown: the book's folder as the reader sees it.
        book: the book.
        report: the findings and verdicts of the check.
    """

    shown: str
    book: Book
    report: Report

    def reason(self, finding: Finding) -> str:
        """Why a waived finding is waived, in the words of its waiver."""
        for i, waiver in enumerate(self.book.waivers.waivers):
            if finding.waiver == f"waivers[{i}]":
                return one_line(f"{waiver.reason} (approved by {waiver.approver}, until {waiver.expires})")
        return ""


def findings(outcomes: Iterable[Outcome]) -> list[Finding]:
    """The findings of all books in one order."""
    return sorted((one for outcome in outcomes for one in outcome.report.findings), key=lambda f: f.order)


def standing(all_findings: Iterable[Finding]) -> Iterator[Finding]:
    """The findings that no waiver covers."""
    return (one for one in all_findings if not one.waiver)


def blocks(outcomes: Iterable[Outcome], severity: Severity) -> bool:
    """Whether anything that is not waived is at or above a severity."""
    return any(RANK[one.severity] >= RANK[severity] for one in standing(findings(outcomes)))


def summary(outcomes: Sequence[Outcome]) -> str:
    """The outcome in one line of plain words."""
    all_findings = findings(outcomes)
    formats = sum(len(one.report.formats) for one in outcomes)
    values = sum(len(verdicts) for one in outcomes for verdicts in one.report.verdicts.values())
    counts = [sum(one.severity == level for one in standing(all_findings)) for level in LEVELS]
    waived = len(all_findings) - sum(counts)
    words = ", ".join(plural(count, level) for count, level in zip(counts, LEVELS, strict=True))
    line = f"{plural(formats, 'format')}, {plural(values, 'value')} checked: {words}"
    return f"{line}; {waived} waived" if waived else line


MOST_NAMED = 6
"""Formats named in one line before the rest are counted."""


def not_judged(outcomes: Iterable[Outcome]) -> list[str]:
    """Which stages did not run, of what, and why."""
    grouped: dict[tuple[tuple[str, ...], str], list[str]] = {}
    for outcome in outcomes:
        for one in outcome.report.skipped:
            grouped.setdefault((one.stages, one.why), []).append(one.what)
    return [
        one_line(f"{_listed(stages)} of {_listed(_shortened(names))} ({why})")
        for (stages, why), names in grouped.items()
    ]


def cannot_yet(outcomes: Sequence[Outcome]) -> list[str]:
    """What the books cannot do yet, each as a line; the book is named where there are several."""
    return [
        one_line(f"{outcome.shown}: {one.line}" if len(outcomes) > 1 else one.line)
        for outcome in outcomes
        for one in lacks(outcome.book)
    ]


def _shortened(names: Sequence[str]) -> list[str]:
    more = len(names) - MOST_NAMED
    return [*names[:MOST_NAMED], *([f"{more} more"] if more > 0 else [])]


def _listed(words: Sequence[str]) -> str:
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
