"""A review as SARIF 2.1.0: what `check` writes, with the state of each result against the older version.

Results that are as before are listed as unchanged, those that are gone as absent, at their older place.

Source:
    OASIS, Static Analysis Results Interchange Format (SARIF) Version 2.1.0, 2020, 3.27.24 (baselineState).
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from kb.book.finding import Finding, Severity, one_line
from kb.book.load import Book
from kb.checks.report import Report
from kb.report.json_record import written
from kb.report.outcome import Outcome
from kb.report.sarif import as_sarif as check_as_sarif
from kb.review.model import CheckMoved, CheckState, Review

BASELINE: dict[CheckState, str] = {
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


def as_sarif(review: Review, *, severity: Severity = "error") -> str:
    """A review as a SARIF log with one run.

    Args:
        review: the review
        severity: from which severity on it blocks, as the review was made with

    Returns:
        The log as JSON text. The exit code it records is that of the review.
    """
    told: list[tuple[Finding, CheckMoved | None]] = [(one.finding, one) for one in review.checks]
    told += [(one, None) for one in review.unchanged]
    told.sort(key=lambda pair: pair[0].order)
    report = Report(findings=[finding for finding, _ in told])
    log = json.loads(check_as_sarif([Outcome(review.head.shown, Book(Path()), report)], severity=severity))
    (run,) = log["runs"]
    for result, (finding, moved) in zip(run["results"], told, strict=True):
        _against(result, finding, moved)
    (invocation,) = run["invocations"]
    invocation["exitCode"] = review.exit_code
    invocation["toolExecutionNotifications"] = [
        {"level": "note", "message": {"text": f"not judged: {one_line(words)}".replace("](", "] (")}}
        for words in review.not_judged
    ]
    run["properties"] = {
        "verdict": review.verdict,
        "outcome": review.outcome,
        "base": one_line(review.base.words),
        "head": one_line(review.head.words),
        "severity": severity,
    }
    return written(log)


def _against(result: dict[str, Any], finding: Finding, moved: CheckMoved | None) -> None:
    """Say of a result what became of it."""
    state = "unchanged" if moved is None else BASELINE[moved.state]
    if moved is not None:
        if moved.state == "newly waived" and moved.was is not None:
            state = "updated"
        result["properties"]["state"] = moved.state
        if moved.was is not None and state == "updated":
            result["properties"]["before"] = moved.was.message
    result["baselineState"] = state
    for suppression in result.get("suppressions", ()):
        suppression["justification"] = finding.message.replace("](", "] (")
