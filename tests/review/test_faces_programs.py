"""A review as JSON, SARIF and JUnit, each held against what describes it."""

from __future__ import annotations

import json
from dataclasses import fields, is_dataclass, replace
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from jsonschema import Draft4Validator, Draft202012Validator

from kb.book.finding import Finding, Measure, Severity
from kb.checks.catalog import RULES
from kb.checks.names import finding_names
from kb.folders import shipped
from kb.history import value_diff, versions
from kb.output.ci import review_junit, review_sarif
from kb.output.document import BASELINE
from kb.output.json_reports import review_json
from kb.review import model
from kb.review.model import CheckMoved, Review
from tests.conftest import TODAY
from tests.review.story import Story
from tests.review.test_story import EXPECTED, reviewed

SARIF = json.loads((Path(__file__).parents[1] / "output/sarif-schema-2.1.0.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def schema() -> Any:
    """The shipped description of the JSON review."""
    return json.loads((shipped("schema") / "output/review-report.json").read_text(encoding="utf-8"))


def run(made: Review, severity: Severity = "error") -> Any:
    """The one run of a SARIF log."""
    (only,) = json.loads(review_sarif(made, severity=severity))["runs"]
    return only


def suites(made: Review, severity: Severity = "error") -> dict[str, ElementTree.Element]:
    """Suites of the JUnit report by what they are about."""
    top = ElementTree.fromstring(review_junit(made, severity=severity))
    return {suite.get("name", "").rpartition(": ")[2]: suite for suite in top}


# --- JSON -------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", EXPECTED)
def test_the_record_fits_its_schema(story: Story, schema: Any, name: str) -> None:
    """What is written of each commit of the story fits the shipped schema."""
    record = json.loads(review_json(reviewed(story, name), as_of=TODAY))
    assert [error.message for error in Draft202012Validator(schema).iter_errors(record)] == []


def test_the_schema_describes_the_model(schema: Any) -> None:
    """Each record of the model has a definition with the same keys, all required, each described."""
    Draft202012Validator.check_schema(schema)
    records = [one for one in vars(model).values() if isinstance(one, type) and is_dataclass(one)]
    records = [one for one in records if one.__module__ == model.__name__]
    own = {*records, value_diff.Spanned, value_diff.ValueChange, value_diff.ChangedFile, versions.Version}
    wanted = own - {Review} | {Finding, Measure}
    names = {"".join(f"-{c.lower()}" if c.isupper() else c for c in one.__name__)[1:]: one for one in wanted}
    assert set(schema["$defs"]) == {*names, "place", "kind", "number", "fix", "change", "consequence"}
    for name, record in [*names.items(), ("", Review)]:
        shape = schema["$defs"][name] if name else schema
        extra = set() if name else {"schema", "as_of"}
        keys = {one.name for one in fields(record)} - {"edits", "rank"} | extra  # edits are in the fixes
        assert set(shape["properties"]) == set(shape["required"]) == keys
        assert shape["additionalProperties"] is False
        assert all(len(one["description"]) > 5 for one in shape["properties"].values())


def test_the_schema_refuses_what_is_no_review(story: Story, schema: Any) -> None:
    """A record that lacks a key, or has another state, does not fit, so the tests above test something."""
    record = json.loads(review_json(reviewed(story, "gauge-down"), as_of=TODAY))
    del record["verdict"]
    record["checks"][0]["state"] = "fails again"
    listed = {error.message for error in Draft202012Validator(schema).iter_errors(record)}
    assert len(listed) == 2


def test_the_record_says_what_the_review_says(story: Story) -> None:
    """Verdict, versions, changes and findings stand in the record with their places and numbers."""
    made = reviewed(story, "gauge-down")
    record = json.loads(review_json(made, as_of=TODAY))
    assert (record["verdict"], record["blocked"]) == (made.verdict, True)
    assert (record["schema"], record["as_of"]) == ("sizebook-review/4", TODAY.isoformat())
    assert record["head"]["commit"] == made.head.commit
    (gauge,) = [one for one in record["files"][0]["changes"] if one["key"] == "stock.gauge"]
    assert gauge["share"] == pytest.approx(-1.0)
    assert (gauge["new_place"]["line"], gauge["new_place"]["column"]) == (16, 10)
    measured = {one["finding"]["name"]: one["finding"]["measure"]["limit"] for one in record["checks"]}
    assert measured == {"trim.allowance": 1.5, "dome.reversal": pytest.approx(0.62)}  # in mm and MPa


# --- SARIF ------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", EXPECTED)
def test_the_log_fits_the_published_schema(story: Story, name: str) -> None:
    """The log of each commit is valid SARIF 2.1.0, and each result in it has a state."""
    made = reviewed(story, name)
    log = json.loads(review_sarif(made))
    assert [error.message for error in Draft4Validator(SARIF).iter_errors(log)] == []
    results = log["runs"][0]["results"]
    assert len(results) == len(made.checks) + len(made.unchanged)
    assert all(one["baselineState"] in {"new", "updated", "absent", "unchanged"} for one in results)


def test_every_state_has_its_baseline() -> None:
    """Each state that a finding can have is one of those SARIF knows."""
    assert set(BASELINE) == set(model.CheckState.__args__)  # type: ignore[attr-defined]
    assert set(BASELINE.values()) == {"new", "updated", "absent"}


@pytest.mark.parametrize(
    ("name", "check", "state"),
    [
        ("gauge-down", "trim.allowance", "new"),
        ("gauge-back", "trim.allowance", "absent"),
        ("waiver-added", "trim.allowance", "updated"),
        ("waiver-lapsed", "waiver.lapsed", "new"),
        ("repaired", "reading.tab", "absent"),
    ],
)
def test_a_result_says_what_became_of_it(story: Story, name: str, check: str, state: str) -> None:
    """New, fixed and changed findings can be distinguished."""
    (result,) = [one for one in run(reviewed(story, name))["results"] if one["ruleId"] == check]
    assert result["baselineState"] == state


def test_what_is_as_before_is_listed_as_unchanged(story: Story) -> None:
    """Each finding that the change left as it was has a result that says so, at its place."""
    seen = 0
    for name in ("broken", "waiver-lapsed", "repaired"):
        review = reviewed(story, name)
        listed = [one for one in run(review)["results"] if one["baselineState"] == "unchanged"]
        assert sorted(one["ruleId"] for one in listed) == sorted(one.name for one in review.unchanged)
        seen += len(listed)
    assert seen


def test_all_rules_are_declared(story: Story) -> None:
    """A review in which nothing moved still declares every check."""
    log = run(reviewed(story, "comment"))
    assert {one["id"] for one in log["tool"]["driver"]["rules"]} == {*RULES, *finding_names()}
    assert {one["baselineState"] for one in log["results"]} <= {"unchanged"}


def test_a_waived_result_is_suppressed_with_its_reason(story: Story) -> None:
    """A finding that is newly waived is reported with the reason of its waiver."""
    results = run(reviewed(story, "waiver-added"))["results"]
    (result,) = [one for one in results if one["baselineState"] == "updated"]
    (suppression,) = result["suppressions"]
    assert "One coil to use up." in suppression["justification"]


def test_the_log_records_the_exit_code(story: Story) -> None:
    """The exit code is that of the review; what is not checked is reported."""
    (blocked,) = run(reviewed(story, "gauge-down"))["invocations"]
    (passes,) = run(reviewed(story, "gauge-back"))["invocations"]
    assert (blocked["exitCode"], passes["exitCode"]) == (1, 0)
    broken = reviewed(story, "broken")
    listed = [one["message"]["text"] for one in run(broken)["invocations"][0]["toolExecutionNotifications"]]
    assert [one for one in listed if one.startswith("skipped: ")] == [
        f"skipped: {words}" for words in broken.not_judged
    ]


# --- JUnit ------------------------------------------------------------------------------------


def test_what_newly_fails_fails_its_case(story: Story) -> None:
    """Each new error is a failed case in its format's suite, with place, limit and fix."""
    suite = suites(reviewed(story, "gauge-down"))["b211-330"]
    failed = {case.get("name"): case.find("failure") for case in suite}
    assert set(failed) == {"trim.allowance", "dome.reversal"}
    failure = failed["trim.allowance"]
    assert failure is not None
    assert "specs/formats/b211-330.yaml:55:11: error: " in (failure.text or "")
    assert "fix: set blank.diameter" in (failure.text or "")


def test_what_is_fixed_passes(story: Story) -> None:
    """A finding that is gone is a passing case that says so."""
    suite = suites(reviewed(story, "gauge-back"))["b211-330"]
    listed = [case.findtext("system-out") or "" for case in suite]
    assert len(listed) == 2
    assert all(one.startswith("fixed: ") for one in listed)
    assert suite.get("failures") == "0"


def test_waived_and_not_judged_are_skipped(story: Story) -> None:
    """What is waived, or could not be judged, neither passes nor fails."""
    (case,) = suites(reviewed(story, "waiver-added"))["b211-330"]
    assert case.get("name") == "trim.allowance"
    assert case.find("skipped") is not None
    broken = reviewed(story, "broken")
    assert len(suites(broken)["not checked"].findall("testcase/skipped")) == len(broken.not_judged) > 0


def test_severity_decides_what_fails_its_case(story: Story) -> None:
    """A new note fails its case only when notes count."""
    made = reviewed(story, "metal-back")
    assert suites(made)["files"].get("failures") == "0"
    assert suites(made, "note")["files"].get("failures") == "1"


@pytest.mark.parametrize("name", EXPECTED)
def test_counts_are_those_of_the_cases(story: Story, name: str) -> None:
    """The report fails unless the review passes, and its counts are those of its cases."""
    made = reviewed(story, name)
    top = ElementTree.fromstring(review_junit(made))
    assert (int(top.get("failures", "")) > 0) is (made.outcome != "passes")
    assert int(top.get("tests", "")) == len(top.findall("testsuite/testcase")) > 0
    assert int(top.get("failures", "")) == len(top.findall("testsuite/testcase/failure"))
    assert int(top.get("skipped", "")) == len(top.findall("testsuite/testcase/skipped"))


def test_several_findings_of_a_check_are_one_case(story: Story) -> None:
    """Two findings of one check on one format are one case; the one that blocks fails it."""
    made = reviewed(story, "gauge-down")
    (trim, _) = made.checks
    fixed = CheckMoved("fixed", trim.finding, trim.finding, "another place")
    (case,) = suites(replace(made, checks=(trim, fixed)))["b211-330"]
    assert case.find("failure") is not None
    assert "fixed: " in (case.findtext("system-out") or "")
