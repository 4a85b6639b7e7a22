"""A check that measures a station result names it; the route shows the limit in the row of this result."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

import pytest

from kb.book.load import Book
from kb.book.records import Limit
from kb.checks.by_station import ResultRow, route_report
from kb.checks.catalog import MECHANICS
from kb.checks.judge import Verdict, judge_route, measure
from kb.checks.report import Report
from kb.checks.rule import Measured, Rule, rule
from kb.checks.words import finding
from kb.route.assemble import Assembled
from kb.route.station import iter_results
from kb.route.stations import Route

IDENT = "b211-330"


def made(name: str, result: str, factor: float | None = None) -> Rule:
    """A check of the trim allowance that computes its value and names a result."""

    @rule(name, "mm", least=1.0, source="Common practice, no source")
    def check(route: Route) -> Iterator[Measured]:
        value = route.trimmed.allowance
        value = value if factor is None else factor * value
        yield Measured("format.trim.height", "allowance", value, result=result)

    return check


def row_of(formats: Mapping[str, Assembled], demo: Book, one: Rule) -> tuple[ResultRow, list[ResultRow]]:
    """The row of the trim allowance on a route judged by one check, and the rows that are no result."""
    assert demo.limits is not None
    verdicts = judge_route(formats[IDENT].study, [one], {})
    report = route_report(formats[IDENT], verdicts, demo.limits.settings)
    rows = [row for section in report.sections for row in section.rows]
    return next(row for row in rows if row.key == "trimmed.allowance"), [row for row in rows if not row.key]


@pytest.mark.parametrize("factor", [None, 1.0])
def test_a_computed_value_keeps_the_limit_of_its_row(
    formats: Mapping[str, Assembled], demo: Book, factor: float | None
) -> None:
    """A check that multiplies its value by one still puts its limit in the row of the named result."""
    row, others = row_of(formats, demo, made("trim.for-tests", "trimmed.allowance", factor))
    assert [one.least for one in row.verdicts] == [1.0]
    assert others == []


def test_a_value_that_is_no_result_is_a_row_of_its_own(formats: Mapping[str, Assembled], demo: Book) -> None:
    """A check that names no result puts its limit in a row of its own, even if the number is a result."""
    row, others = row_of(formats, demo, made("trim.for-tests", ""))
    assert row.verdicts == ()
    assert [one.words for one in others] == ["allowance"]


@pytest.mark.parametrize("wrong", ["trimmed.alowance", "trimmed", "ironed.thin", "allowance"])
def test_a_wrong_name_of_a_result_fails(formats: Mapping[str, Assembled], wrong: str) -> None:
    """A name that no station result has is an error, with the check and the name in its text."""
    with pytest.raises(ValueError, match=rf"trim\.for-tests names {wrong}"):
        judge_route(formats[IDENT].study, [made("trim.for-tests", wrong)], {})


def test_a_position_beyond_the_list_fails(formats: Mapping[str, Assembled], demo: Book) -> None:
    """A ring that the route does not have is an error as well."""
    with pytest.raises(KeyError, match=r"ironed\[9\]\.thin"):
        row_of(formats, demo, made("trim.for-tests", "ironed[9].thin"))


def same(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    """Whether numbers are equal to 1e-9; what cannot be computed equals itself."""
    return all(
        math.isclose(a, b, rel_tol=1e-9, abs_tol=1e-12) or (math.isnan(a) and math.isnan(b))
        for a, b in zip(one, other, strict=True)
    )


def test_the_measured_value_is_the_result_that_is_named(
    formats: Mapping[str, Assembled], limits: Mapping[str, Limit]
) -> None:
    """Each check that names a result measures it, at nominal and at the worst corners of every format."""
    named: set[str] = set()
    for one in formats.values():
        verdicts: list[Verdict] = judge_route(one.study, MECHANICS, limits)
        for verdict in verdicts:
            if verdict.result:
                named.add(verdict.rule.name)
                _, spread = one.study.results[verdict.result]
                assert same(verdict.spread, spread), (one.spec.id, verdict.rule.name, verdict.what)
    assert len(named) > 40


def test_each_check_that_hands_on_a_result_names_it(formats: Mapping[str, Assembled]) -> None:
    """No check forgets the name of a result that it hands on unchanged."""
    route = formats[IDENT].study.nominal
    results = {id(one.value): one.key for one in iter_results(route)}
    for one, measured in measure(route, MECHANICS):
        if id(measured.value) in results:
            assert measured.result == results[id(measured.value)], (one.name, measured.what)


def test_row_verdict_and_finding_say_what_an_estimate_rests_on(
    formats: Mapping[str, Assembled], demo: Book, demo_report: Report
) -> None:
    """All three agree: calibrated inside the range of the trials, otherwise an estimate or nothing."""
    assert demo.limits is not None
    seen = set()
    for ident, assembled in formats.items():
        verdicts = demo_report.verdicts[ident]
        report = route_report(assembled, verdicts, demo.limits.settings)
        for row in (row for section in report.sections for row in section.rows):
            for verdict in row.verdicts:
                assert verdict.basis == row.basis
                assert finding(assembled, verdict, ()).message.startswith(f"{verdict.said} ")
                seen.add((verdict.rule.name, verdict.basis))
    assert {basis for name, basis in seen if name == "dome.reversal"} == {
        "calibrated on 8 trials",
        "estimate",
    }
    assert ("can.axial-load", "estimate") in seen
    assert {basis for name, basis in seen if name == "seam.overlap"} == {""}
