"""A changeover, the matrix of a line, the order of a week: as JSON, for programs; versioned.

`changeover-report.json`, `changeover-matrix.json` and `week-order.json` in schema/output/ describe them. The
same book and day give the same bytes. Times are whole seconds, lateness is in minutes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from kb.changeover.jobs import Locks, critical_path, locks
from kb.changeover.lever import Lever
from kb.changeover.model import Difference, DifferingValue, ItemChange
from kb.changeover.plan import Matrix, PlannedChangeover
from kb.changeover.sheet_model import ChangeSheet
from kb.changeover.week import WeekPlan
from kb.output.json_record import written
from kb.scheduling.activities import Schedule
from kb.scheduling.sequence import Order

CHANGEOVER = "sizebook-changeover/1"
MATRIX = "sizebook-changeover-matrix/1"
WEEK = "sizebook-week/1"


def change_json(one: PlannedChangeover, sheet: ChangeSheet, levers: Sequence[Lever]) -> str:
    """A changeover as JSON.

    Returns:
        One JSON object, keys sorted.
    """
    head = sheet.content.header
    return written(
        {
            "schema": CHANGEOVER,
            "sheet": {
                "code": sheet.code,
                "digest": sheet.digest,
                "mark": sheet.mark,
                "unfit": list(sheet.unfit),
                "good_until": sheet.good_until,
                "setup_old": head.old.code,
                "setup_new": head.new.code,
            },
            "crew": one.crew.id,
            "difference": _difference(one.difference),
            "schedules": {
                "before": _schedule(one.plan.before),
                "stop": _schedule(one.plan.stop),
                "after": _schedule(one.plan.after),
            },
            "locks": [_locks(found) for found in locks(one.plan)],
            "critical_path": [slot.id for slot in critical_path(one.plan)],
            "spread": asdict(one.stop),
            "past": asdict(one.past) if one.past else None,
            "levers": [_lever(lever) for lever in levers],
        }
    )


def stopped_json(difference: Difference) -> str:
    """A changeover that cannot be, with what stands against it, as JSON."""
    record = {"schema": CHANGEOVER, "difference": _difference(difference)}
    return written(record)


def _difference(one: Difference) -> dict[str, Any]:
    return {
        "line": one.line,
        "old": one.old,
        "new": one.new,
        "class": one.kind,
        "title": one.title,
        "moved": [_moved(value) for value in one.moved],
        "orphans": [_moved(value) for value in one.orphans],
        "stopped_by": list(one.stopped_by),
        "leave_alone": [station.id for station in one.alone],
        "machines": [
            {
                "id": station.id,
                "kind": station.kind,
                "title": station.title,
                "count": station.count,
                "changes": [_changed(change) for change in (*station.changes, *station.gauges)],
                "stays": list(station.stays),
            }
            for station in one.stations
        ],
    }


def _moved(one: DifferingValue) -> dict[str, str]:
    return {"key": one.key, "old": one.old, "new": one.new}


def _changed(one: ItemChange) -> dict[str, Any]:
    return {
        "id": one.id,
        "what": one.what,
        "name": one.name,
        "where": one.where,
        "old": [cell.text for cell in one.old],
        "new": [cell.text for cell in one.new],
        "places": [place + 1 for place in one.places],
        "pieces_out": one.pieces_out,
        "pieces_in": one.pieces,
        "because": list(one.because),
        "also": [{"name": also.name, "old": also.old.text, "new": also.new.text} for also in one.also],
    }


def _schedule(one: Schedule) -> dict[str, Any]:
    return {
        "length": one.length,
        "bound": one.bound,
        "proven": one.proven,
        "method": one.method,
        "tasks": [
            {
                "id": slot.id,
                "start": slot.start,
                "end": slot.end,
                "who": list(slot.who),
                "slack": slot.slack,
            }
            for slot in one.slots
        ],
    }


def _locks(one: Locks) -> dict[str, Any]:
    return {
        "machine": one.station if one.number is None else f"{one.station}#{one.number}",
        "isolates": list(one.isolates),
        "releases": list(one.releases),
        "own": list(one.own),
    }


def _lever(one: Lever) -> dict[str, Any]:
    return {
        "step": one.step.id,
        "way": one.way,
        "stop": one.stop,
        "then": one.then,
        "proven": one.proven,
        "waits_for": list(one.waits_for),
    }


def matrix_json(found: Matrix) -> str:
    """The stops of a line as JSON.

    Returns:
        One JSON object, keys sorted.
    """
    return written(
        {
            "schema": MATRIX,
            "line": found.line,
            "crew": found.crew,
            "formats": list(found.formats),
            "stops": [
                {
                    "old": old,
                    "new": new,
                    "class": stop.kind,
                    "title": stop.title,
                    "seconds": None if stop.why_not else stop.seconds,
                    "bound": None if stop.why_not else stop.bound,
                    "why_not": stop.why_not,
                }
                for (old, new), stop in found.stops.items()
            ],
        }
    )


def week_json(plan: WeekPlan) -> str:
    """The order of a week as JSON.

    Returns:
        One JSON object, keys sorted.
    """
    week, found, left = plan.week, plan.order, plan.left_out
    return written(
        {
            "schema": WEEK,
            "week": week.id,
            "line": week.line,
            "crew": week.crew,
            "start": week.start,
            "running": week.running,
            "given": _order(found.given),
            "found": _order(found.best),
            "saved": found.saved,
            "proven": found.proven,
            "proven_stops": left.not_proven == 0,
            "left_out": {
                "stops": left.stops,
                "stops_not_proven": left.not_proven,
                "other_crews": list(left.other_crews),
                "too_short": {
                    "given": [asdict(one) for one in left.given],
                    "found": [asdict(one) for one in left.found],
                },
            },
            "method": found.method,
        }
    )


def _order(one: Order) -> dict[str, Any]:
    return {
        "lost": one.lost,
        "minutes_late": one.lateness,
        "runs": [
            {
                "run": placed.batch.number,
                "format": placed.batch.product,
                "changeover": placed.changeover,
                "start": placed.start,
                "end": placed.end,
                "minutes_late": placed.late,
            }
            for placed in one.placed
        ],
    }
