"""A check as JSON."""

from __future__ import annotations

import json
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from kb.folders import shipped
from kb.output.document import CheckedBook
from kb.output.json_reports import check_json


@pytest.fixture(scope="module")
def schema() -> Any:
    """The shipped description of the JSON report."""
    return json.loads((shipped("schema") / "output/check-report.json").read_text(encoding="utf-8"))


@pytest.mark.slow
@pytest.mark.parametrize("name", ["passing", "faulty", "hostile"])
def test_report_fits_its_schema(name: str, schema: Any, request: pytest.FixtureRequest) -> None:
    """What is written fits the shipped schema, for every book."""
    Draft202012Validator.check_schema(schema)
    record = json.loads(check_json([request.getfixturevalue(name)]))
    assert [error.message for error in Draft202012Validator(schema).iter_errors(record)] == []


def test_all_keys_are_required(schema: Any) -> None:
    """The schema refuses a finding that lacks any of its keys, so the test above tests something."""
    validator = Draft202012Validator({"$ref": "#/$defs/finding", "$defs": schema["$defs"]})
    keys = schema["$defs"]["finding"]["properties"]
    lacking = {error.message.split("'")[1] for error in validator.iter_errors({})}
    assert lacking == set(keys)


def test_findings_keep_all_their_fields(faulty: CheckedBook) -> None:
    """Each finding is in the record with name, place, message, fixes and the numbers compared."""
    (book,) = json.loads(check_json([faulty]))["books"]
    listed = {(one["name"], one["file"], one["line"], one["column"]): one for one in book["findings"]}
    for one in faulty.report.findings:
        span = one.place.span
        record = listed[one.name, one.place.file, span.line, span.column]
        assert (record["message"], [fix["text"] for fix in record["fixes"]]) == (one.message, list(one.fixes))
        if one.measure is not None:
            assert record["measure"]["value"] == pytest.approx(one.measure.value, rel=1e-8)
            assert record["measure"]["limit"] == pytest.approx(one.measure.limit, rel=1e-8)


def test_verdicts_hold_passing_values_too(passing: CheckedBook) -> None:
    """Every value checked is there, passed or not, with its corners and its margin."""
    (book,) = json.loads(check_json([passing]))["books"]
    for ident, verdicts in passing.report.verdicts.items():
        records = book["verdicts"][ident]
        assert len(records) == len(verdicts)
        for record, verdict in zip(records, verdicts, strict=True):
            assert record["check"] == verdict.rule.name
            assert record["passed"] is (verdict.margin >= -1e-9)
            assert record["low"] == pytest.approx(verdict.spread.low, rel=1e-8)


def test_same_input_same_bytes(passing: CheckedBook) -> None:
    """Two reports of the same check are the same bytes, with keys in order and no time in them."""
    text = check_json([passing])
    assert text == check_json([passing])
    record = json.loads(text)
    assert text == json.dumps(record, ensure_ascii=False, indent=2, sort_keys=True) + "\n"


def test_waiver_is_reported_with_its_reason(passing: CheckedBook) -> None:
    """A waived finding names its entry in waivers.yaml and the reason written there."""
    (book,) = json.loads(check_json([passing]))["books"]
    (waived,) = [one for one in book["findings"] if one["waiver"]]
    assert waived["waiver"]["entry"] == "waivers[0]"
    assert passing.book.waivers.waivers[0].reason in waived["waiver"]["reason"]


def test_what_cannot_be_computed_is_null(hostile: CheckedBook) -> None:
    """Not-a-number and infinity are null, since JSON has neither."""
    (book,) = json.loads(check_json([hostile]))["books"]
    measure = book["findings"][0]["measure"]
    assert (measure["value"], measure["nominal"]) == (None, None)
