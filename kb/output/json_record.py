"""A check or a review as JSON, for programs.

Each form has a version and a schema: schema/output/check-report.json and schema/output/review-report.json.
The same books on the same day give the same bytes. Numbers are in the unit beside them and have nine digits;
what cannot be computed is null.
"""

from __future__ import annotations

import datetime
import json
import math
from collections.abc import Sequence
from dataclasses import fields, is_dataclass
from typing import Any

from kb.book.finding import Edit, Finding, Measure, Place, one_line
from kb.checks.consistency.whole_book import lacks
from kb.checks.judge import Verdict
from kb.output.outcome import Outcome
from kb.review.model import Review

CHECK = "sizebook-check/2"
REVIEW = "sizebook-review/2"


def check_json(outcomes: Sequence[Outcome]) -> str:
    """A check as JSON."""
    record = {"schema": CHECK, "books": [_book(one) for one in outcomes]}
    return written(record)


def review_json(review: Review, *, as_of: datetime.date) -> str:
    """A review as JSON; its keys are those of kb/review/model.py."""
    return written({"schema": REVIEW, "as_of": as_of.isoformat(), **_record(review)})


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
    return {
        "name": one.name,
        "severity": one.severity,
        **_place(one.place),
        "message": one.message,
        "fixes": _fixes(one),
        "source": one_line(one.source),
        "subject": one.subject,
        "waiver": {"entry": one.waiver, "reason": outcome.reason(one)} if one.waiver else None,
        "measure": _measure(one.measure) if one.measure else None,
    }


def _fixes(one: Finding) -> list[dict[str, Any]]:
    """The fixes of a finding; those that are advice in words have null in place of numbers."""
    edits = {one_line(edit.text): edit for edit in one.edits}
    return [_fix(text, edits.get(text)) for text in one.fixes]


def _fix(text: str, edit: Edit | None) -> dict[str, Any]:
    if edit is None:
        nothing = dict.fromkeys(
            ("key", "old", "new", "unit", "old_text", "new_text", "file", "line", "column")
        )
        return {"text": text, **nothing, "effects": [], "breaks": []}
    place = _place(edit.place)
    return {
        "text": text,
        **{key: place[key] for key in ("key", "file", "line", "column")},
        "old": rounded(edit.old),
        "new": rounded(edit.new),
        "unit": one_line(edit.unit),
        "old_text": one_line(edit.old_text),
        "new_text": one_line(edit.new_text),
        "effects": [
            {
                "what": one_line(each.what),
                "unit": one_line(each.unit),
                "old": rounded(each.old),
                "new": rounded(each.new),
            }
            for each in edit.effects
        ],
        "breaks": [one_line(each) for each in edit.breaks],
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


def _place(one: Place) -> dict[str, Any]:
    return {
        "file": one_line(one.file),
        "key": one_line(one.key),
        "line": one.span.line,
        "column": one.span.column,
        "end_line": one.span.end_line,
        "end_column": one.span.end_column,
    }


def _record(value: Any) -> Any:
    """A record of the review's model as JSON has it; every text is one printable line."""
    if isinstance(value, Place):
        return _place(value)
    if isinstance(value, Finding):
        record = {each.name: _record(getattr(value, each.name)) for each in fields(value)}
        del record["edits"]
        return record | {"fixes": _fixes(value)}
    if is_dataclass(value):
        return {field.name: _record(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, tuple):
        return [_record(one) for one in value]
    if isinstance(value, str):
        return one_line(value)
    return rounded(value) if isinstance(value, float) else value
