"""A check as JSON, for programs: versioned, described by schema/output/check-report.json.

The same book and day give the same bytes. Numbers are in the unit beside them and have nine digits;
what cannot be computed is null.
"""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from typing import Any

from kb.book.finding import Finding, Measure, one_line
from kb.checks.judge import Verdict
from kb.checks.lacks import lacks
from kb.report.outcome import Outcome

SCHEMA = "sizebook-check/1"


def as_json(outcomes: Sequence[Outcome]) -> str:
    """A check as JSON.

    Args:
        outcomes: the books checked

    Returns:
        One JSON object, keys sorted.
    """
    record = {"schema": SCHEMA, "books": [_book(one) for one in outcomes]}
    return written(record)


def written(record: Any) -> str:
    """A record as JSON text that is the same for the same record."""
    return json.dumps(record, ensure_ascii=False, indent=2, sort_keys=True, allow_nan=False) + "\n"


def rounded(value: float | None) -> float | None:
    """A number with nine significant digits, none where there is no number.

    Example:
        >>> rounded(2 / 3), rounded(float("nan"))
        (0.666666667, None)
    """
    return None if value is None or not math.isfinite(value) else float(f"{value:.9g}")


def _book(outcome: Outcome) -> dict[str, Any]:
    report = outcome.report
    return {
        "book": one_line(outcome.shown),
        "formats": list(report.formats),
        "findings": [_finding(outcome, one) for one in report.findings],
        "verdicts": {ident: [_verdict(one) for one in each] for ident, each in report.verdicts.items()},
        "skipped": [
            {"what": one_line(one.what), "stages": list(one.stages), "why": one_line(one.why)}
            for one in report.skipped
        ],
        "cannot": [
            {"lacks": one_line(one.what), "why": one.why, "effect": one_line(one.effect)}
            for one in lacks(outcome.book)
        ],
    }


def _finding(outcome: Outcome, one: Finding) -> dict[str, Any]:
    span = one.place.span
    return {
        "name": one.name,
        "severity": one.severity,
        "file": one_line(one.place.file),
        "key": one_line(one.place.key),
        "line": span.line,
        "column": span.column,
        "end_line": span.end_line,
        "end_column": span.end_column,
        "message": one.message,
        "fixes": list(one.fixes),
        "source": one_line(one.source),
        "subject": one.subject,
        "waiver": {"entry": one.waiver, "reason": outcome.reason(one)} if one.waiver else None,
        "measure": _measure(one.measure) if one.measure else None,
    }


def _measure(one: Measure) -> dict[str, Any]:
    return {
        "what": one_line(one.what),
        "value": rounded(one.value),
        "unit": one.unit,
        "case": one.case,
        "limit": rounded(one.limit),
        "sense": one.sense,
        "margin": rounded(one.margin),
        "nominal": rounded(one.nominal),
    }


def _verdict(one: Verdict) -> dict[str, Any]:
    return {
        "check": one.rule.name,
        "at": one.at,
        "what": one_line(one.what),
        "unit": one.rule.unit,
        "reader_unit": one.rule.show,
        "nominal": rounded(one.spread.nominal),
        "low": rounded(one.spread.low),
        "high": rounded(one.spread.high),
        "least": rounded(one.least),
        "most": rounded(one.most),
        "margin": rounded(one.margin),
        "passed": bool(one.passed),
    }
