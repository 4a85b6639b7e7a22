"""The findings of a check or of a review, in one shape for every output format."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal, TypeAlias

from kb.book.finding import Finding, Severity, one_line
from kb.checks.report import RANK
from kb.output.outcome import Outcome, blocks, not_judged

if TYPE_CHECKING:  # a check does not load the review
    from kb.review.model import CheckMoved, CheckState, Review

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
    "cured": "absent",
    "gone with its format": "absent",
    "no longer judged": "absent",
}
"""State of a finding that moved; one that was there and is newly waived is `updated`."""

_SKIPPED = ("newly waived", "no longer judged")


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
        new: whether it was not there before and no waiver covers it.
        skipped: whether its test case counts as skipped: it is waived, or no longer judged.
    """

    finding: Finding
    words: str
    baseline: Baseline = ""
    state: CheckState | Literal[""] = ""
    before: str = ""
    reason: str = ""
    blocks: bool = False
    new: bool = False
    skipped: bool = False

    @property
    def gone(self) -> bool:
        """Whether the newer version does not have it; its place is then one of the older version."""
        return self.baseline == "absent"


@dataclass(frozen=True, slots=True)
class RunDocument:
    """The findings of one run, and how it ended.

    Attributes:
        entries: the findings, in their one order.
        exit_code: exit code of the command.
        not_judged: what could not be judged, and why.
        properties: what else a program may want to know of the run.
    """

    entries: tuple[FindingEntry, ...]
    exit_code: int
    not_judged: tuple[str, ...]
    properties: Mapping[str, str] = field(default_factory=dict)


def check_document(outcomes: Sequence[Outcome], severity: Severity = "error") -> RunDocument:
    """The findings of checked books.

    Args:
        outcomes: the books checked
        severity: severity from which a finding fails the check
    """
    found = [check_entry(outcome, one, severity) for outcome in outcomes for one in outcome.report.findings]
    found.sort(key=lambda one: one.finding.order)
    return RunDocument(tuple(found), int(blocks(outcomes, severity)), tuple(not_judged(outcomes)))


def review_document(review: Review, severity: Severity = "error") -> RunDocument:
    """The findings of a review, moved and unchanged.

    Args:
        review: the review
        severity: severity from which a new finding blocks
    """
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


def check_entry(outcome: Outcome, one: Finding, severity: Severity) -> FindingEntry:
    """A finding of a checked book.

    Args:
        outcome: the book, checked
        one: one of its findings
        severity: severity from which a finding fails the check
    """
    return FindingEntry(
        finding=one,
        words=one.message,
        reason=(outcome.reason(one) or one.waiver) if one.waiver else "",
        blocks=not one.waiver and RANK[one.severity] >= RANK[severity],
        skipped=bool(one.waiver),
    )


def review_entry(one: CheckMoved, severity: Severity = "error") -> FindingEntry:
    """A finding that moved between two versions.

    Args:
        one: the finding
        severity: severity from which a new finding blocks
    """
    from kb.review.findings import NEW  # noqa: PLC0415 - as above

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
        new=one.state in NEW,
        blocks=one.state in NEW and grave,
        skipped=one.state in _SKIPPED,
    )
