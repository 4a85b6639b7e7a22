"""A review as SARIF 2.1.0: what `check` writes, with the state of each result against the older version.

Results that are as before are counted in a notification and not listed, since a review keeps only their
number; the log of a check lists them. Those that are gone are listed as absent, at their older place.

Source:
    OASIS, Static Analysis Results Interchange Format (SARIF) Version 2.1.0, 2020, 3.27.24 (baselineState).
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from kb.book.finding import Severity, one_line
from kb.book.load import Book
from kb.checks.report import Report
from kb.report.json_record import written
from kb.report.outcome import Outcome, plural
from kb.report.sarif import as_sarif as check_as_sarif
from kb.review.model import CheckMoved, CheckState, Review

BASELINE: dict[CheckState, str] = {
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


def as_sarif(review: Review, *, severity: Severity = "error") -> str:
    """A review as a SARIF log with one run.

    Args:
        review: the review
        severity: from which severity on it blocks, as the review was made with

    Returns:
        The log as JSON text. The exit code it records is that of the review.
    """
    moved = sorted(review.checks, key=lambda one: one.finding.order)
    report = Report(findings=[one.finding for one in moved])
    log = json.loads(check_as_sarif([Outcome(review.head.shown, Book(Path()), report)], severity=severity))
    (run,) = log["runs"]
    for result, one in zip(run["results"], moved, strict=True):
        _against(result, one)
    (invocation,) = run["invocations"]
    invocation["exitCode"] = int(review.blocked)
    told = [f"not judged: {one_line(words)}" for words in review.not_judged]
    if review.unchanged:
        told.append(f"{plural(review.unchanged, 'finding')} as before, not listed")
    invocation["toolExecutionNotifications"] = [
        {"level": "note", "message": {"text": words.replace("](", "] (")}} for words in told
    ]
    run["properties"] = {
        "verdict": review.verdict,
        "base": one_line(review.base.words),
        "head": one_line(review.head.words),
        "severity": severity,
    }
    return written(log)


def _against(result: dict[str, Any], one: CheckMoved) -> None:
    """Say of a result what became of it."""
    state = BASELINE[one.state]
    if one.state == "newly waived" and one.was is not None:
        state = "updated"
    result["baselineState"] = state
    result["properties"]["state"] = one.state
    if one.was is not None and state == "updated":
        result["properties"]["before"] = one.was.message
    for suppression in result.get("suppressions", ()):
        suppression["justification"] = one.finding.message.replace("](", "] (")
