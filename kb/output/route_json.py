"""A route as JSON, for programs: versioned, numbers in the reader's unit with nine digits."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from kb.book.finding import Finding, one_line
from kb.checks.by_station import ResultRow, RouteReport, shown
from kb.checks.judge import Verdict
from kb.output.json_record import rounded, written

SCHEMA = "sizebook-route/1"


def as_json(route: RouteReport) -> str:
    """A route as JSON."""
    spec = route.format
    record: dict[str, Any] = {
        "schema": SCHEMA,
        "format": spec.id,
        "title": one_line(spec.title),
        "revision": spec.revision,
        "status": spec.status,
        "uncalibrated": list(route.uncalibrated),
        "sections": [
            {
                "station": one_line(one.station),
                "title": one_line(one.title),
                "rows": [_row(row) for row in one.rows],
            }
            for one in route.sections
        ],
        "scatter": None,
        "stopped_by": [],
    }
    if route.cans:
        drivers = {
            words: [{"input": key, "share": rounded(share)} for key, share in shares]
            for words, shares in route.drivers
        }
        record["scatter"] = {"cans": route.cans, "seed": route.seed, "drivers": drivers}
    return written(record)


def stopped(ident: str, stops: Sequence[Finding]) -> str:
    """Why there is no route, in the same form: no sections, and the findings in the way."""
    findings = [
        {
            "name": one.name,
            "file": one_line(one.place.file),
            "line": one.place.span.line,
            "column": one.place.span.column,
            "message": one.message,
        }
        for one in stops
    ]
    return written({"schema": SCHEMA, "format": one_line(ident), "sections": [], "stopped_by": findings})


def _row(row: ResultRow) -> dict[str, Any]:
    row_data: dict[str, Any] = {
        "key": one_line(row.key),
        "words": one_line(row.words),
        "unit": row.show,
        "nominal": _value(row, row.spread.nominal),
        "low": _value(row, row.spread.low),
        "high": _value(row, row.spread.high),
        "judged": [_judged(row, one) for one in row.verdicts],
    }
    if row.scatter is not None:
        one = row.scatter
        row_data["scatter"] = {
            "mean": _value(row, one.mean),
            "standard_deviation": rounded(shown(row, one.deviation) - shown(row, 0.0)),
            "low_0_135_percent": _value(row, one.low),
            "high_99_865_percent": _value(row, one.high),
            "missing": one.missing,
        }
    return row_data


def _judged(row: ResultRow, one: Verdict) -> dict[str, Any]:
    return {
        "check": one.rule.name,
        "least": None if one.least is None else _value(row, one.least),
        "most": None if one.most is None else _value(row, one.most),
        "margin": rounded(one.margin),
        "passed": bool(one.passed),
    }


def _value(row: ResultRow, value: float) -> float | None:
    return rounded(shown(row, value))
