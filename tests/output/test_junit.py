"""A check as JUnit XML."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from kb.output.ci import check_junit
from kb.output.document import CheckedBook


def suites(outcome: CheckedBook, severity: str = "error") -> dict[str, ElementTree.Element]:
    """Suites by name."""
    top = ElementTree.fromstring(check_junit([outcome], severity=severity))  # type: ignore[arg-type]
    return {suite.get("name", ""): suite for suite in top}


def test_a_suite_for_each_format_and_a_case_for_each_check(passing: CheckedBook) -> None:
    """Each format is a suite whose cases are the checks that judged it, each once."""
    found = suites(passing)
    for ident, verdicts in passing.report.verdicts.items():
        cases = [case.get("name") for case in found[f"specs: {ident}"]]
        assert sorted(cases) == sorted({one.rule.name for one in verdicts})
    assert "specs: files" in found


def test_failures_carry_their_message(faulty: CheckedBook) -> None:
    """A check with an error is a failed case that carries place, message and fix; others pass."""
    suite = suites(faulty)["specs: b211-330"]
    failed = {case.get("name"): case.find("failure") for case in suite if case.find("failure") is not None}
    errors = {
        one.name for one in faulty.report.findings if one.subject == "b211-330" and one.severity == "error"
    }
    assert errors
    assert set(failed) == errors
    failure = failed["trim.allowance"]
    assert failure is not None
    assert "trim allowance" in (failure.get("message") or "")
    assert "fix: set blank.diameter" in (failure.text or "")


def test_faults_of_files_are_cases_too(faulty: CheckedBook) -> None:
    """A file that cannot be read fails a case under its own name."""
    suite = suites(faulty)["specs: files"]
    failed = {(case.get("classname"), case.get("name")) for case in suite if case.find("failure") is not None}
    assert ("specs/formats/b202-200.yaml", "reading.tab") in failed


def test_stages_not_run_are_skipped_cases(faulty: CheckedBook) -> None:
    """A stage that did not run is a skipped case with the reason."""
    suite = suites(faulty)["specs: b211-568-206"]
    (skipped,) = [case for case in suite if case.find("skipped") is not None]
    assert skipped.get("name") == "mechanics"


def test_waived_findings_are_skipped_cases(passing: CheckedBook) -> None:
    """A waived finding neither passes nor fails its case."""
    (waived,) = [one for one in passing.report.findings if one.waiver]
    suite = suites(passing, severity="note")[f"specs: {waived.subject}"]
    case = next(case for case in suite if case.get("name") == waived.name)
    assert case.find("failure") is None
    assert case.find("skipped") is not None


def test_severity_decides_what_fails(passing: CheckedBook) -> None:
    """Warnings fail their cases only at that severity; otherwise they are reported in a passing case."""

    def failures(severity: str) -> int:
        return sum(len(suite.findall("*/failure")) for suite in suites(passing, severity).values())

    warned = {
        (one.subject, one.name)
        for one in passing.report.findings
        if one.severity == "warning" and not one.waiver
    }
    assert failures("error") == 0
    assert failures("warning") == len(warned) > 0
    assert any(suite.findall("*/system-out") for suite in suites(passing).values())


@pytest.mark.parametrize("name", ["passing", "faulty", "hostile"])
def test_counts_are_those_of_the_cases(name: str, request: pytest.FixtureRequest) -> None:
    """The counts on every suite and on the whole are those of the cases in it."""
    top = ElementTree.fromstring(check_junit([request.getfixturevalue(name)]))
    for attribute, path in (
        ("tests", "testcase"),
        ("failures", "testcase/failure"),
        ("skipped", "testcase/skipped"),
    ):
        assert [int(suite.get(attribute, "")) for suite in top] == [len(suite.findall(path)) for suite in top]
        assert int(top.get(attribute, "")) == len(top.findall(f"testsuite/{path}"))


def test_hostile_text_is_well_formed(hostile: CheckedBook) -> None:
    """Text with tags, quotes and control characters is well-formed XML and keeps its words."""
    text = check_junit([hostile])
    assert "\x00" not in text
    assert "\x1b" not in text
    (failure,) = ElementTree.fromstring(text).findall("testsuite/testcase/failure")
    assert "<script>alert(1)</script>" in (failure.get("message") or "")
