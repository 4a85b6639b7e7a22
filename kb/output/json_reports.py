"""Every JSON output. Each form has its version here and its schema in schema/output.

The same books on the same day give the same bytes. Numbers are in the unit beside them and have nine digits;
what cannot be computed is null. Times of changeovers are whole seconds, lateness is in minutes.
"""

from __future__ import annotations

import datetime
import json
import math
from collections.abc import Sequence
from dataclasses import fields, is_dataclass
from typing import TYPE_CHECKING, Any

from kb.book.finding import LONGEST_LINE, Edit, Finding, NewValue, Place, one_line, place_words
from kb.checks.by_station import ResultRow, RouteReport, shown
from kb.checks.consistency.whole_book import lacks
from kb.checks.judge import Verdict
from kb.output.document import CheckedBook

if TYPE_CHECKING:  # a check loads neither changeovers nor reviews
    from kb.changeover.jobs import Locks
    from kb.changeover.lever import Lever
    from kb.changeover.model import Difference, ItemChange
    from kb.changeover.plan import Matrix, PlannedChangeover
    from kb.changeover.sheet_model import ChangeSheet
    from kb.changeover.week import WeekPlan
    from kb.review.model import Review
    from kb.scheduling.activities import Schedule
    from kb.scheduling.sequence import Order
    from kb.sheet.model import Sheet

CHECK = "sizebook-check/3"
REVIEW = "sizebook-review/4"
ROUTE = "sizebook-route/1"
CHANGEOVER = "sizebook-changeover/1"
MATRIX = "sizebook-changeover-matrix/1"
WEEK = "sizebook-week/1"
SHEET = "sizebook-sheet/1"

LONGEST_OF_SHEET = 10_000
"""Characters of one text of a sheet: a caution is never cut."""

Record = dict[str, Any]


def json_text(record: Any) -> str:
    """A record as JSON text that is the same for the same record."""
    return json.dumps(record, ensure_ascii=False, indent=2, sort_keys=True, allow_nan=False) + "\n"


def rounded(value: float | None) -> float | None:
    """A number with nine significant digits, none where there is no number.

    Example:
        >>> rounded(2 / 3), rounded(float("nan"))
        (0.666666667, None)
    """
    return None if value is None or not math.isfinite(value) else float(f"{value:.9g}")


def _report(schema: str, record: Record, longest: int = LONGEST_LINE) -> str:
    return json_text(_plain({"schema": schema, **record}, longest))


def _plain(value: Any, longest: int = LONGEST_LINE) -> Any:
    """Records and numbers as JSON has them; every text is one printable line."""
    if isinstance(value, str):
        return one_line(value, longest)
    if isinstance(value, float):
        return rounded(value)
    if isinstance(value, dict):
        return {key: _plain(one, longest) for key, one in value.items()}
    if isinstance(value, tuple | list):
        return [_plain(one, longest) for one in value]
    if is_dataclass(value):
        return _place(value) if isinstance(value, Place) else _plain(_fields(value), longest)
    return value


def _fields(value: Any) -> Record:
    record = {field.name: getattr(value, field.name) for field in fields(value)}
    if isinstance(value, Finding):
        del record["edits"], record["rank"]
        record["fixes"] = _fixes(value)
    return record


def _pick(one: Any, *names: str) -> Record:
    """Some fields of a record, under their own names."""
    return {name: getattr(one, name) for name in names}


def _place(one: Place) -> Record:
    span = one.span
    return {
        "file": one_line(one.file),
        "key": one_line(one.key),
        "line": span.line,
        "column": span.column,
        "end_line": span.end_line,
        "end_column": span.end_column,
    }


# --- check and review -------------------------------------------------------------------------


def check_json(outcomes: Sequence[CheckedBook]) -> str:
    """A check as JSON."""
    return _report(CHECK, {"books": [_book(one) for one in outcomes]})


def review_json(review: Review, *, as_of: datetime.date) -> str:
    """A review as JSON; its keys are those of kb/review/model.py."""
    return _report(REVIEW, {"as_of": as_of.isoformat(), **_fields(review)})


def _book(outcome: CheckedBook) -> Record:
    report = outcome.report
    return {
        "book": outcome.shown,
        "formats": report.formats,
        "findings": [_finding(outcome, one) for one in report.findings],
        "verdicts": {ident: [_verdict(one) for one in each] for ident, each in report.verdicts.items()},
        "skipped": [_pick(one, "what", "stages", "why") for one in report.skipped],
        "cannot": [{"lacks": one.what, "why": one.why, "effect": one.effect} for one in lacks(outcome.book)],
    }


def _finding(outcome: CheckedBook, one: Finding) -> Record:
    record = _fields(one)
    del record["place"]
    waiver = {"entry": one.waiver, "reason": outcome.reason(one)} if one.waiver else None
    return {**record, **_place(one.place), "waiver": waiver}


def _fixes(one: Finding) -> list[Record]:
    """The fixes of a finding; those that are advice in words have no changes."""
    edits = {one_line(edit.text): edit for edit in one.edits}
    return [_fix(text, edits.get(text)) for text in one.fixes]


def _fix(text: str, edit: Edit | None) -> Record:
    if edit is None:
        return {"text": text, "changes": [], "effects": [], "breaks": []}
    return {**_fields(edit), "text": text, "changes": [_change(one) for one in edit.changes]}


def _change(one: NewValue) -> Record:
    record, place = _fields(one), _place(one.place)
    del record["place"]
    return {**{key: place[key] for key in ("key", "file", "line", "column")}, **record}


def _verdict(one: Verdict) -> Record:
    return {
        "check": one.rule.name,
        "unit": one.rule.unit,
        "reader_unit": one.rule.show,
        **_pick(one, "at", "what", "least", "most", "margin"),
        **_pick(one.spread, "nominal", "low", "high"),
        "passed": bool(one.passed),
    }


# --- route ------------------------------------------------------------------------------------


def route_json(route: RouteReport) -> str:
    """A route as JSON; its values are in the reader's unit."""
    spec, scatter = route.format, None
    if route.cans:
        drivers = {
            words: [{"input": key, "share": share} for key, share in shares]
            for words, shares in route.drivers
        }
        scatter = {"cans": route.cans, "seed": route.seed, "drivers": drivers}
    record = {
        "format": spec.id,
        **_pick(spec, "title", "revision", "status"),
        "uncalibrated": route.uncalibrated,
        "overrides": [
            {
                "key": one.key,
                "value": one.text,
                "place": place_words(one.place),
                "standard": one.other,
                "standard_place": place_words(one.other_place),
            }
            for one in route.overrides
        ],
        "sections": [
            {**_pick(one, "station", "title", "says"), "rows": [_row(row) for row in one.rows]}
            for one in route.sections
        ],
        "scatter": scatter,
        "stopped_by": [],
    }
    return _report(ROUTE, record)


def no_route_json(ident: str, stops: Sequence[Finding]) -> str:
    """Why there is no route, in the same form: no sections, and the findings that prevent it."""
    findings = [
        {
            "name": one.name,
            "file": one.place.file,
            "line": one.place.span.line,
            "column": one.place.span.column,
            "message": one.message,
        }
        for one in stops
    ]
    return _report(ROUTE, {"format": ident, "sections": [], "stopped_by": findings})


def _row(row: ResultRow) -> Record:
    record: Record = {
        "key": row.key,
        "words": row.words,
        "basis": row.basis,
        "unit": row.show,
        "nominal": shown(row, row.spread.nominal),
        "low": shown(row, row.spread.low),
        "high": shown(row, row.spread.high),
        "judged": [
            {
                "check": one.rule.name,
                "least": None if one.least is None else shown(row, one.least),
                "most": None if one.most is None else shown(row, one.most),
                "margin": one.margin,
                "passed": bool(one.passed),
            }
            for one in row.verdicts
        ],
    }
    if row.scatter is not None:
        one = row.scatter
        record["scatter"] = {
            "mean": shown(row, one.mean),
            "standard_deviation": shown(row, one.deviation) - shown(row, 0.0),
            "low_0_135_percent": shown(row, one.low),
            "high_99_865_percent": shown(row, one.high),
            "missing": one.missing,
        }
    return record


# --- sheet, changeover, week ------------------------------------------------------------------


def sheet_json(sheet: Sheet) -> str:
    """A setup sheet as JSON; its keys are those of kb/sheet/model.py, its values text as printed."""
    return _report(SHEET, _fields(sheet), LONGEST_OF_SHEET)


def change_json(one: PlannedChangeover, sheet: ChangeSheet, levers: Sequence[Lever]) -> str:
    """A changeover as JSON."""
    from kb.changeover.jobs import critical_path, locks  # noqa: PLC0415 - only this report needs it

    head = sheet.content.header
    record = {
        "sheet": {
            **_pick(sheet, "code", "digest", "mark", "unfit", "good_until"),
            "setup_old": head.old.code,
            "setup_new": head.new.code,
        },
        "crew": one.crew.id,
        "difference": _difference(one.difference),
        "schedules": {part: _schedule(getattr(one.plan, part)) for part in ("before", "stop", "after")},
        "locks": [_locks(found) for found in locks(one.plan)],
        "critical_path": [slot.id for slot in critical_path(one.plan)],
        "spread": one.stop,
        "past": one.past,
        "levers": [_lever(lever) for lever in levers],
    }
    return _report(CHANGEOVER, record)


def no_changeover_json(difference: Difference) -> str:
    """A changeover that cannot be, with what is against it, as JSON."""
    return _report(CHANGEOVER, {"difference": _difference(difference)})


def _difference(one: Difference) -> Record:
    return {
        **_pick(one, "line", "old", "new", "title", "stopped_by"),
        "class": one.kind,
        "moved": [_pick(value, "key", "old", "new") for value in one.moved],
        "orphans": [_pick(value, "key", "old", "new") for value in one.orphans],
        "leave_alone": [station.id for station in one.alone],
        "machines": [
            {
                **_pick(station, "id", "kind", "title", "count", "stays"),
                "changes": [_item_change(change) for change in (*station.changes, *station.gauges)],
            }
            for station in one.stations
        ],
    }


def _item_change(one: ItemChange) -> Record:
    return {
        **_pick(one, "id", "what", "name", "where", "pieces_out", "because"),
        "old": [cell.text for cell in one.old],
        "new": [cell.text for cell in one.new],
        "places": [place + 1 for place in one.places],
        "pieces_in": one.pieces,
        "also": [{"name": also.name, "old": also.old.text, "new": also.new.text} for also in one.also],
    }


def _schedule(one: Schedule) -> Record:
    tasks = [_pick(slot, "id", "start", "end", "who", "slack") for slot in one.slots]
    return {**_pick(one, "length", "bound", "proven", "method"), "tasks": tasks}


def _locks(one: Locks) -> Record:
    machine = one.station if one.number is None else f"{one.station}#{one.number}"
    return {"machine": machine, **_pick(one, "isolates", "releases", "own")}


def _lever(one: Lever) -> Record:
    return {"step": one.step.id, **_pick(one, "way", "stop", "then", "proven", "waits_for")}


def matrix_json(found: Matrix) -> str:
    """The stops of a line as JSON."""
    stops = [
        {
            "old": old,
            "new": new,
            "class": stop.kind,
            **_pick(stop, "title", "why_not"),
            **(dict.fromkeys(("seconds", "bound")) if stop.why_not else _pick(stop, "seconds", "bound")),
        }
        for (old, new), stop in found.stops.items()
    ]
    return _report(MATRIX, {"line": found.line, "crew": found.crew, "formats": found.formats, "stops": stops})


def week_json(plan: WeekPlan) -> str:
    """The order of a week as JSON."""
    week, found, left = plan.week, plan.order, plan.left_out
    record = {
        "week": week.id,
        **_pick(week, "line", "crew", "start", "running"),
        **_pick(found, "saved", "proven", "method"),
        "given": _order(plan, "given", found.given),
        "found": _order(plan, "found", found.best),
        "closed": [_pick(one, "begins", "ends", "why") for one in week.closed],
        "shifts": [_pick(one, "crew", "begins", "ends") for one in week.shifts],
        "ramp_lost": plan.ramp,
        "prices": [_pick(one, "run", "lost", "late", "proven") for one in plan.prices],
        "trade_offs": [_pick(one, "late", "lost", "proven") for one in plan.trade_offs],
        "records": plan.records,
        "proven_stops": left.not_proven == 0,
        "left_out": {
            "stops": left.stops,
            "stops_not_proven": left.not_proven,
            "other_crews": left.other_crews,
            "too_short": {"given": left.given, "found": left.found},
        },
    }
    return _report(WEEK, record)


def _order(plan: WeekPlan, name: str, one: Order) -> Record:
    chances = plan.chances.get(name, {})

    def clock(seconds: int, *, begins: bool = False) -> int:
        return round((plan.open.moment(seconds, begins=begins) - plan.open.begin).total_seconds())

    runs = [
        {
            "run": placed.batch.number,
            "format": placed.batch.product,
            "crew": plan.crew_at(placed) or None,
            **_pick(placed, "changeover", "held", "wait"),
            "start": clock(placed.start, begins=True),
            "end": clock(placed.end),
            "minutes_late": placed.late,
            "on_time": chances.get(placed.batch.number),
        }
        for placed in one.placed
    ]
    return {"lost": one.lost, "minutes_late": one.lateness, "runs": runs}
