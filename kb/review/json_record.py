"""A review as JSON, for programs: versioned, described by schema/output/review-report.json.

The same two versions on the same day give the same bytes. Its keys are those of kb/review/model.py; a place
is told as in the report of a check.
"""

from __future__ import annotations

import datetime
from dataclasses import fields, is_dataclass
from typing import Any

from kb.book.finding import Place, one_line
from kb.report.json_record import rounded, written
from kb.review.model import Review

SCHEMA = "sizebook-review/1"


def as_json(review: Review, *, as_of: datetime.date) -> str:
    """A review as JSON.

    Args:
        review: the review
        as_of: day on which it was made

    Returns:
        One JSON object, keys sorted.
    """
    return written({"schema": SCHEMA, "as_of": as_of.isoformat(), **_record(review)})


def _record(value: Any) -> Any:
    """A record of the model as JSON has it; every text is one printable line."""
    if isinstance(value, Place):
        return _place(value)
    if is_dataclass(value):
        return {field.name: _record(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, tuple):
        return [_record(one) for one in value]
    if isinstance(value, str):
        return one_line(value)
    return rounded(value) if isinstance(value, float) else value


def _place(one: Place) -> dict[str, Any]:
    return {
        "file": one_line(one.file),
        "key": one_line(one.key),
        "line": one.span.line,
        "column": one.span.column,
        "end_line": one.span.end_line,
        "end_column": one.span.end_column,
    }
