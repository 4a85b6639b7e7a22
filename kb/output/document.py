"""A checked book, and the findings of a check or a review in one shape for every output format."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import PurePosixPath
from typing import TYPE_CHECKING, Literal, TypeAlias

from kb.book.finding import Finding, Severity, one_line
from kb.book.load import Book
from kb.checks.consistency.whole_book import lacks
from kb.checks.report import RANK, Report
from kb.checks.words import plural

if TYPE_CHECKING:  # a check does not load the review
    from kb.review.model import CheckMoved, CheckState, Review

LEVELS: tuple[Severity, ...] = ("error", "warning", "note")


@dataclass(frozen=True, slots=True)
class CheckedBook:
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


def findings(outcomes: Iterable[CheckedBook]) -> list[Finding]:
    """The findings of all books in one order."""
    return sorted((one for outcome in outcomes for one in outcome.report.findings), key=lambda f: f.order)


def blocks(outcomes: Iterable[CheckedBook], severity: Severity) -> bool:
    """Whether anything that is not waived is at or above a severity."""
    return any(RANK[one.severity] >= RANK[severity] for one in findings(outcomes) if not one.waiver)


def summary(outcomes: Sequence[CheckedBook]) -> str:
    """The outcome in one line of plain words."""
    all_findings = findings(outcomes)
    formats = sum(len(one.report.formats) for one in outcomes)
    values = sum(len(verdicts) for one in outcomes for verdicts in one.report.verdicts.values())
    waived = sum(bool(one.waiver) for one in all_findings)
    counts = [sum(one.severity == level and not one.waiver for one in all_findings) for level in LEVELS]
    words = ", ".join(plural(count, level) for count, level in zip(counts, LEVELS, strict=True))
    line = f"{plural(formats, 'format')}, {plural(values, 'value')} checked: {words}"
    return f"{line}; {waived} waived" if waived else line


MOST_NAMED = 6
"""Formats named in one line before the rest are counted."""


def not_judged(outcomes: Iterable[CheckedBook]) -> list[str]:
    """Which stages did not run, of what, and why."""
    grouped: dict[tuple[tuple[str, ...], str], list[str]] = {}
    for outcome in outcomes:
        for one in outcome.report.skipped:
            grouped.setdefault((one.stages, one.why), []).append(one.what)
    lines = []
    for (stages, why), names in grouped.items():
        more = len(names) - MOST_NAMED
        shown = [*names[:MOST_NAMED], *([f"{more} more"] if more > 0 else [])]
        lines.append(one_line(f"{_listed(stages)} of {_listed(shown)} ({why})"))
    return lines


def cannot_yet(outcomes: Sequence[CheckedBook]) -> list[str]:
    """What the books cannot do or have not confirmed yet, each as a line."""
    return [
        one_line(f"{outcome.shown}: {line}" if len(outcomes) > 1 else line)
        for outcome in outcomes
        for line in (*(one.line for one in lacks(outcome.book)), *_unconfirmed(outcome.book))
    ]


def _unconfirmed(book: Book) -> Iterator[str]:
    count = len(book.limits.unconfirmed) if book.limits else 0
    if count:
        what = "1 limit or setting" if count == 1 else f"{count} limits and settings"
        yield f"{what} not yet confirmed by this plant: `sizebook limits --unconfirmed`"


def _listed(words: Sequence[str]) -> str:
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


Baseline: TypeAlias = Literal["", "new", "unchanged", "updated", "absent"]
"""State of a finding against the older version; "" where there is no older version."""

BASELINE: dict[CheckState, Baseline] = {
    "needs approval": "new",
    "newly fails": "new",
    "newly warns": "new",
    "newly noted": "new",
    "newly waived": "new",
    "worsened": "updated",
    "eased": "updated",
    "fixed": "absent",
    "gone with its format": "absent",
    "no longer checked": "absent",
}
"""State of a finding that moved; one that was there and is newly waived is `updated`."""

_SKIPPED = ("newly waived", "no longer checked")


@dataclass(frozen=True, slots=True)
class FindingEntry:
    """A finding in a document.

    Attributes:
        finding: the finding; where it is gone, as it was.
        words: the finding in one line; in a review with what it was before.
        baseline: its state against the older version.
        state: the same in the words of a review; "" in a check and for an unchanged finding.
        before: the older message of an updated finding.
        reason: why a waiver covers it; "" where none does.
        blocks: whether it fails the document: no waiver covers it, it is new where there is an older
            version, and it is at or above the severity given or needs approval.
        loud: whether its state is printed in the colour of its severity: it is new or worse.
        skipped: whether its test case counts as skipped: it is waived, or no longer checked.
    """

    finding: Finding
    words: str
    baseline: Baseline = ""
    state: CheckState | Literal[""] = ""
    before: str = ""
    reason: str = ""
    blocks: bool = False
    loud: bool = False
    skipped: bool = False

    @property
    def gone(self) -> bool:
        """Whether the newer version does not have it; its place is then one of the older version."""
        return self.baseline == "absent"


@dataclass(frozen=True, slots=True)
class RunDocument:
    """The findings of one run, and how it ended.

    Attributes:
        not_judged: what could not be checked, and why.
        properties: what a program may want to know besides.
    """

    entries: tuple[FindingEntry, ...]
    exit_code: int
    not_judged: tuple[str, ...]
    properties: Mapping[str, str] = field(default_factory=dict)


def check_document(outcomes: Sequence[CheckedBook], severity: Severity = "error") -> RunDocument:
    """The findings of checked books."""
    found = [check_entry(outcome, one, severity) for outcome in outcomes for one in outcome.report.findings]
    found.sort(key=lambda one: one.finding.order)
    return RunDocument(tuple(found), int(blocks(outcomes, severity)), tuple(not_judged(outcomes)))


def review_document(review: Review, severity: Severity = "error") -> RunDocument:
    """The findings of a review, moved and unchanged."""
    found = [review_entry(one, severity) for one in review.checks]
    found += [
        FindingEntry(one, one.message, baseline="unchanged", reason=one.message if one.waiver else "")
        for one in review.unchanged
    ]
    found.sort(key=lambda one: one.finding.order)
    properties = {
        "verdict": review.verdict,
        "outcome": review.outcome,
        "base": one_line(review.base.words),
        "head": one_line(review.head.words),
        "severity": severity,
    }
    notes = tuple(one_line(words) for words in review.not_judged)
    return RunDocument(tuple(found), review.exit_code, notes, properties)


def check_entry(outcome: CheckedBook, one: Finding, severity: Severity) -> FindingEntry:
    """A finding of a checked book; one of a format at a place in another file names the format."""
    own = one.subject in {"", PurePosixPath(one.place.file).stem}
    return FindingEntry(
        finding=one,
        words=one.message if own else f"{one.subject}: {one.message}",
        reason=(outcome.reason(one) or one.waiver) if one.waiver else "",
        blocks=not one.waiver and RANK[one.severity] >= RANK[severity],
        skipped=bool(one.waiver),
    )


def review_entry(one: CheckMoved, severity: Severity = "error") -> FindingEntry:
    """A finding that moved between two versions."""
    finding, baseline = one.finding, BASELINE[one.state]
    if one.state == "newly waived" and one.was is not None:
        baseline = "updated"
    grave = one.state == "needs approval" or RANK[finding.severity] >= RANK[severity]
    return FindingEntry(
        finding=finding,
        words=one.words,
        baseline=baseline,
        state=one.state,
        before=one.was.message if one.was is not None and baseline == "updated" else "",
        reason=finding.message if finding.waiver else "",
        blocks=one.is_new and grave,
        loud=one.is_new or one.state == "worsened",
        skipped=one.state in _SKIPPED,
    )
