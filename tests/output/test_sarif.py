"""A check as SARIF, held against the published schema (tests/output/README.md says where it is from)."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft4Validator

from kb.book.finding import Span
from kb.checks.catalog import RULES
from kb.checks.names import finding_names
from kb.checks.report import Report
from kb.output.ci import check_sarif
from kb.output.document import CheckedBook

SCHEMA = json.loads((Path(__file__).parent / "sarif-schema-2.1.0.json").read_text(encoding="utf-8"))


def log(outcome: CheckedBook) -> Any:
    """The one run of a log."""
    (run,) = json.loads(check_sarif([outcome]))["runs"]
    return run


@pytest.mark.parametrize("name", ["passing", "faulty", "hostile"])
def test_log_fits_the_published_schema(name: str, request: pytest.FixtureRequest) -> None:
    """The log is valid SARIF 2.1.0, for every book."""
    record = json.loads(check_sarif([request.getfixturevalue(name)]))
    errors = [error.message for error in Draft4Validator(SCHEMA).iter_errors(record)]
    assert errors == []


def test_schema_refuses_what_is_no_log() -> None:
    """The published schema refuses a result without a message, so the test above tests something."""
    wrong = {"version": "2.1.0", "runs": [{"tool": {"driver": {"name": "x"}}, "results": [{}]}]}
    assert any("message" in error.message for error in Draft4Validator(SCHEMA).iter_errors(wrong))


def test_all_checks_are_declared(passing: CheckedBook) -> None:
    """Every check and every other name is a rule with title, reason, help and level, found or not."""
    rules = log(passing)["tool"]["driver"]["rules"]
    assert {one["id"] for one in rules} == {*RULES, *finding_names()}
    assert len(rules) == len(RULES) + len(finding_names())
    for one in rules:
        texts = (one["shortDescription"]["text"], one["fullDescription"]["text"], one["help"]["text"])
        assert all(len(text) > 10 for text in texts), one["id"]
    levels = {one["id"]: one["defaultConfiguration"]["level"] for one in rules}
    assert levels["ironing.ring-reduction"] == "error"
    assert levels["book.same-title"] == "warning"


def test_results_point_at_their_rule_and_place(faulty: CheckedBook) -> None:
    """Each result points at its rule by index and at the finding's region, columns in characters from 1."""
    run = log(faulty)
    rules = run["tool"]["driver"]["rules"]
    assert run["columnKind"] == "unicodeCodePoints"
    assert len(run["results"]) == len(faulty.report.findings)
    for one, finding in zip(run["results"], faulty.report.findings, strict=True):
        assert rules[one["ruleIndex"]]["id"] == one["ruleId"] == finding.name
        place = one["locations"][0]["physicalLocation"]
        span = finding.place.span
        assert place["artifactLocation"]["uri"] == finding.place.file
        region = place["region"]
        assert (region["startLine"], region["startColumn"]) == (span.line, span.column)
        assert (region["endLine"], region["endColumn"]) == (span.end_line, span.end_column)
        assert one["level"] == finding.severity
        assert one["message"]["text"].startswith(finding.message)


def test_waived_finding_is_suppressed_with_its_reason(passing: CheckedBook) -> None:
    """A waived finding is a result with an external suppression that carries the waiver's reason."""
    (waived,) = [one for one in log(passing)["results"] if "suppressions" in one]
    (suppression,) = waived["suppressions"]
    assert suppression["kind"] == "external"
    assert passing.book.waivers.waivers[0].reason in suppression["justification"]


def test_invocation_shows_exit_code_and_stages_not_run(passing: CheckedBook, faulty: CheckedBook) -> None:
    """The run says whether it failed, and which stages it did not reach."""
    (clean,), (failed,) = log(passing)["invocations"], log(faulty)["invocations"]
    assert (clean["exitCode"], clean["toolExecutionNotifications"]) == (0, [])
    assert failed["exitCode"] == 1
    listed = [one["message"]["text"] for one in failed["toolExecutionNotifications"]]
    assert any("mechanics of b211-568-206" in text for text in listed)


def test_fingerprints_survive_moving_lines(faulty: CheckedBook) -> None:
    """A finding keeps its fingerprint when its line moves, and no two findings share one."""

    def prints(outcome: CheckedBook) -> list[str]:
        return [one["partialFingerprints"]["findingPlace/v1"] for one in log(outcome)["results"]]

    moved = [
        replace(one, place=replace(one.place, span=Span(900, 1, 900, 2))) for one in faulty.report.findings
    ]
    there = CheckedBook("specs", faulty.book, Report(findings=moved))
    assert sorted(prints(there)) == sorted(prints(faulty))
    assert len(set(prints(faulty))) == len(prints(faulty))


def test_addresses_are_valid_and_no_link_is_made(hostile: CheckedBook) -> None:
    """File names become URI references, and bracketed words in a spec do not become links."""
    for one in log(hostile)["results"]:
        uri = one["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]
        assert re.fullmatch(r"[A-Za-z0-9/._~%-]+", uri)
        assert not re.search(r"\]\(", one["message"]["text"])


def test_absolute_path_is_a_file_address(hostile: CheckedBook) -> None:
    """A book outside the current folder is addressed in full."""
    first = hostile.report.findings[0]
    there = replace(first, place=replace(first.place, file="/books/a b/plant.yaml"))
    (result,) = log(CheckedBook("x", hostile.book, Report(findings=[there])))["results"]
    address = result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]
    assert address == "file:///books/a%20b/plant.yaml"
