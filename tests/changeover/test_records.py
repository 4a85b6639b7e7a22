"""What programs read: a changeover, a line's matrix and a week's order fit their shipped descriptions."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from copy import deepcopy
from dataclasses import fields
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from kb.book.load import Book
from kb.changeover.classes import LADDER
from kb.changeover.durations import Clock, Past
from kb.changeover.lever import levers
from kb.changeover.plan import Changeovers, Matrix, PlannedChangeover, Stop
from kb.changeover.sheet_model import ChangeSheet
from kb.changeover.week import (
    DuePrice,
    LeftOut,
    TooShort,
    TradeOff,
    WeekPlan,
    WeekTimes,
    open_time,
    order_of_week,
)
from kb.folders import shipped
from kb.output.json_reports import (
    CHANGEOVER,
    MATRIX,
    WEEK,
    change_json,
    matrix_json,
    no_changeover_json,
    week_json,
)
from kb.scheduling.critical_path import DurationStats
from tests.changeover.conftest import DIAMETER, DRAFT, LABEL, METAL, NECK
from tests.changeover.small import compared

FORMS = {CHANGEOVER: "changeover-report", MATRIX: "changeover-matrix", WEEK: "week-order"}
SHOWN = (LABEL, NECK, METAL, DIAMETER, DRAFT)


def form(name: str) -> Any:
    """The shipped description of a form."""
    return json.loads((shipped("schema") / f"output/{FORMS[name]}.json").read_text(encoding="utf-8"))


def faults(record: Any) -> list[str]:
    """What speaks against a record by the description of its form."""
    return [error.message for error in Draft202012Validator(form(record["schema"])).iter_errors(record)]


@pytest.fixture(scope="module")
def records(
    demo: Book, changed: Mapping[str, PlannedChangeover], change_sheets: Mapping[str, ChangeSheet]
) -> dict[str, Any]:
    """Records of all forms, by what they are of."""
    texts = {
        name: change_json(changed[name], change_sheets[name], levers(changed[name].plan, effort=0))
        for name in SHOWN
    }
    texts["stopped"] = no_changeover_json(compared(demo, "b211-330", "b204-330", "heron"))
    stops = Changeovers(demo, "plover", "plover-days", effort=0).matrix()
    texts["matrix"] = matrix_json(stops)
    week = demo.of("week")["plover-49"].record
    short = (TooShort(run=3, format="b204-330-200", lasts=600, after=2100, before=5820),)
    left = LeftOut(stops=42, not_proven=34, other_crews=("plover-nights",), given=short, found=short)
    plan = WeekPlan(
        week=week,
        open=open_time(week),
        order=order_of_week(week, WeekTimes(stops.seconds), effort=0),
        prices=(DuePrice(run=2, lost=-600, late=5, proven=False),),
        trade_offs=(TradeOff(late=0, lost=36000, proven=True),),
        records=5,
        chances={"given": {1: 0.5}, "found": {}},
        left_out=left,
    )
    texts["week"] = week_json(plan)
    return {name: json.loads(text) for name, text in texts.items()}


WHAT = (*SHOWN, "stopped", "matrix", "week")


@pytest.mark.parametrize("name", WHAT)
def test_a_record_fits_its_form(records: dict[str, Any], name: str) -> None:
    """What is written of several classes, of a stopped changeover, a line and a week fits its description."""
    assert faults(records[name]) == []


def test_records_are_of_different_kinds(records: dict[str, Any]) -> None:
    """Those looked at have levers, past ones, parts, settings, supplies, gauges, and marked sheets."""
    whole = [records[name] for name in SHOWN]
    assert {one["difference"]["class"] for one in whole} >= {"label", "end-neck", "metal", "diameter"}
    found = [c for one in whole for m in one["difference"]["machines"] for c in m["changes"]]
    assert {one["what"] for one in found} == {"part", "setting", "supply", "gauge"}
    assert {bool(one["past"]) for one in whole} == {True, False}
    assert {bool(one["sheet"]["mark"]) for one in whole} == {True, False}
    assert all(one["levers"] for one in whole)
    assert set(records["stopped"]) == {"schema", "difference"}
    assert records["stopped"]["difference"]["stopped_by"]


@pytest.mark.parametrize("name", [LABEL, "stopped", "matrix", "week"])
def test_no_key_may_be_missing_or_too_many(records: dict[str, Any], name: str) -> None:
    """Whichever key is taken out of a record, or put into one of its groups, it fits no more."""
    record = records[name]
    validator = Draft202012Validator(form(record["schema"]))
    tried = 0
    for path in shapes(record):
        for key in at(record, path):
            other = deepcopy(record)
            del at(other, path)[key]
            assert not validator.is_valid(other), (path, key)
            tried += 1
        other = deepcopy(record)
        at(other, path)["colour"] = "blue"
        assert not validator.is_valid(other), path
    assert tried >= 12


def shapes(record: Any) -> Iterator[tuple[str | int, ...]]:
    """Ways to the groups of a record, of each list to its first member alone."""
    if isinstance(record, dict):
        yield ()
        for key, inner in record.items():
            yield from ((key, *way) for way in shapes(inner))
    elif isinstance(record, list) and record:
        yield from ((0, *way) for way in shapes(record[0]))


def at(record: Any, way: tuple[str | int, ...]) -> Any:
    """What a way leads to."""
    for step in way:
        record = record[step]
    return record


@pytest.mark.parametrize(
    ("name", "way", "value"),
    [
        (LABEL, ("difference", "class"), "colour"),
        (LABEL, ("difference", "stopped_by"), ["necker takes no such can"]),
        (LABEL, ("schedules", "stop", "length"), "72 min"),
        (LABEL, ("schedules", "stop", "tasks", 0, "slack"), -1),
        (LABEL, ("spread", "median"), 71.5),
        (LABEL, ("levers", 0, "way"), "faster"),
        (LABEL, ("past",), {}),
        (LABEL, ("schema",), "sizebook-changeover/2"),
        ("stopped", ("difference", "stopped_by"), []),
        ("matrix", ("stops", 0, "seconds"), None),
        ("matrix", ("stops", 0, "why_not"), "the line cannot run it"),
        ("matrix", ("formats", 0), 330),
        ("week", ("start",), "Monday"),
        ("week", ("found", "runs", 0, "minutes_late"), -5),
        ("week", ("given", "runs"), []),
    ],
)
def test_a_mutilated_record_is_refused(
    records: dict[str, Any], name: str, way: tuple[str | int, ...], value: Any
) -> None:
    """A class, unit, sign or form that is none does not fit; nor does a stop with a time and a reason."""
    record = deepcopy(records[name])
    at(record, way[:-1])[way[-1]] = value
    shape = form(records[name]["schema"])
    assert list(Draft202012Validator(shape).iter_errors(record))


@pytest.mark.parametrize("name", FORMS)
def test_a_form_describes_all_its_keys(name: str) -> None:
    """Every description is a valid schema, its groups are closed, and each key says what it is."""
    shape = form(name)
    Draft202012Validator.check_schema(shape)
    assert shape["$id"].endswith(f"/output/{FORMS[name]}.json")
    assert "sizebook" in shape["description"]
    groups = [one for one in (shape, *shape["$defs"].values()) if "properties" in one]
    for group in groups:
        assert group["additionalProperties"] is False
        assert set(group["required"]) == set(group["properties"])
        assert all(len(one["description"]) > 5 for one in group["properties"].values())


def test_the_forms_are_in_step_with_the_model() -> None:
    """Classes are those of the ladder, and spread, past and clock have the model's fields."""
    ladder = [one.id for one in LADDER]
    change, stops = form(CHANGEOVER)["$defs"], form(MATRIX)["$defs"]
    assert change["class"]["enum"] == stops["stop"]["properties"]["class"]["enum"] == ladder
    for name, record in (("spread", DurationStats), ("past", Past), ("clock", Clock)):
        assert set(change[name]["properties"]) == {one.name for one in fields(record)}


def test_a_stop_that_cannot_be_has_no_time() -> None:
    """Where the line cannot change over so, the matrix says why, and seconds and bound are null."""
    cannot = Stop("diameter", "Body diameter", 0, 0, "nobody is there who can do it")
    pair = ("b204-330", "b202-250")
    record = json.loads(matrix_json(Matrix("plover", "plover-days", pair, {pair: cannot}, 0)))
    assert faults(record) == []
    assert (record["stops"][0]["seconds"], record["stops"][0]["bound"]) == (None, None)
