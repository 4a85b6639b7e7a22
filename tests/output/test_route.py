"""A route reported: rows, limits on them, scatter, drivers; as a table and as JSON."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest
from jsonschema import Draft202012Validator

from kb.book.load import Book
from kb.book.records import Setting
from kb.checks.by_station import ResultRow, RouteReport, route_report, stopping
from kb.checks.report import Report
from kb.folders import shipped
from kb.output.document import CheckedBook
from kb.output.json_reports import no_route_json, route_json
from kb.output.route_text import as_table
from kb.route.assemble import Assembled
from kb.route.station import iter_results
from kb.route.stations import STATIONS

IDENT = "b211-330"
CANS = 4000

DRIVEN = {
    each.drivers: (one.key, each.name)
    for station in STATIONS
    for one in station.results
    for each in one.declared
    if each.drivers
}
"""Results whose drivers are listed, by their short names: the key of the results and the name."""


@pytest.fixture(scope="module")
def settings(demo: Book) -> Mapping[str, Setting]:
    """The demo plant's settings."""
    assert demo.limits is not None
    return demo.limits.settings


@pytest.fixture(scope="module")
def plain(
    demo_report: Report, formats: Mapping[str, Assembled], settings: Mapping[str, Setting]
) -> RouteReport:
    """A format's route without scatter."""
    return route_report(formats[IDENT], demo_report.verdicts[IDENT], settings)


@pytest.fixture(scope="module")
def scattered(
    demo_report: Report, formats: Mapping[str, Assembled], settings: Mapping[str, Setting]
) -> RouteReport:
    """The same with a population of cans."""
    return route_report(formats[IDENT], demo_report.verdicts[IDENT], settings, cans=CANS, seed=7)


def rows(route: RouteReport) -> dict[str, ResultRow]:
    """The results of a route by key."""
    return {row.key: row for section in route.sections for row in section.rows if row.key}


def test_every_result_is_a_row(plain: RouteReport, formats: Mapping[str, Assembled]) -> None:
    """Each number of the route and of the ram is one row, its nominal value between its corners."""
    keys = [row.key for section in plain.sections for row in section.rows if row.key]
    assert len(keys) == len(set(keys))
    nominal = {one.key: float(one.value) for one in iter_results(formats[IDENT].study.nominal)}
    assert set(nominal) <= set(keys)
    assert any(key.startswith("line.") for key in keys)
    for key, value in nominal.items():
        spread = rows(plain)[key].spread
        assert spread.nominal == pytest.approx(value, rel=1e-12)
        assert spread.low <= value * (1 + 1e-12) + 1e-12
        assert spread.high >= value * (1 - 1e-12) - 1e-12


def test_every_verdict_is_on_one_row(plain: RouteReport, demo_report: Report) -> None:
    """Each value checked is reported once, on the row of the result it judges or on one of its own."""
    judged = [one for section in plain.sections for row in section.rows for one in row.verdicts]
    assert len(judged) == len(demo_report.verdicts[IDENT])
    assert {id(one) for one in judged} == {id(one) for one in demo_report.verdicts[IDENT]}


@pytest.mark.parametrize(
    ("key", "check"),
    [
        ("ironed[0].reduction", "ironing.ring-reduction"),
        ("ironed[2].thin", "ironing.thin-wall"),
        ("trimmed.allowance", "trim.allowance"),
        ("flanged.mass", "can.body-mass"),
        ("seam.overlap", "seam.overlap"),
        ("strength.reversal", "dome.reversal"),
        ("necked[11].reduction", "neck.stage-reduction"),
    ],
)
def test_limit_is_on_the_result_it_judges(plain: RouteReport, key: str, check: str) -> None:
    """A check of a result is found on that result's row."""
    assert check in {one.rule.name for one in rows(plain)[key].verdicts}


def test_scatter_is_within_the_corners(scattered: RouteReport) -> None:
    """A population's mean is at the nominal value and its outer points within the worst corners."""
    for key in ("ironed[2].thin", "trimmed.allowance", "flanged.mass", "seam.overlap"):
        row = rows(scattered)[key]
        assert row.scatter is not None
        width = row.spread.high - row.spread.low
        assert row.scatter.mean == pytest.approx(row.spread.nominal, abs=0.05 * width)
        assert row.spread.low <= row.scatter.low < row.scatter.mean < row.scatter.high <= row.spread.high
        assert 0 < row.scatter.deviation < width / 2
        assert row.scatter.missing == 0


def test_scatter_is_that_of_the_population(
    scattered: RouteReport, formats: Mapping[str, Assembled], settings: Mapping[str, Setting]
) -> None:
    """Mean, deviation and outer points are those of the seeded population itself."""
    sigmas = float(settings["tolerance-sigmas"].value)
    cans = formats[IDENT].study.population(count=CANS, sigmas=sigmas, seed=7)
    values = np.asarray(cans.trimmed.allowance)
    scatter = rows(scattered)["trimmed.allowance"].scatter
    assert scatter is not None
    assert scatter.mean == pytest.approx(values.mean())
    assert scatter.deviation == pytest.approx(values.std(ddof=1))
    assert (scatter.low, scatter.high) == pytest.approx(tuple(np.quantile(values, [0.00135, 0.99865])))


def test_drivers_are_ranked_and_complete(scattered: RouteReport) -> None:
    """Each main result names its inputs, the strongest first, with shares that add up to nearly all."""
    drivers = dict(scattered.drivers)
    assert list(drivers) == list(DRIVEN)
    assert {"thin wall", "body weight", "seam overlap"} <= set(drivers)
    for words, shares in drivers.items():
        values = [share for _, share in shares]
        assert values == sorted(values, reverse=True), words
        assert sum(values) == pytest.approx(1, abs=0.02), words
    assert drivers["trim allowance"][0][0] == "format.stock.gauge"


def test_main_results_exist(formats: Mapping[str, Assembled]) -> None:
    """Every main result can be picked from a route, that of a list from its last member."""
    route = formats[IDENT].study.nominal
    for key, name in DRIVEN.values():
        record = getattr(route, key)
        assert float(getattr(record[-1] if isinstance(record, tuple) else record, name)) > 0


def test_estimates_are_called_so_until_calibrated(
    plain: RouteReport,
    demo_report: Report,
    formats: Mapping[str, Assembled],
    settings: Mapping[str, Setting],
) -> None:
    """Strength is called an estimate, with the settings that lack calibration, until those are calibrated."""
    assert "(estimate)" in rows(plain)["strength.axial_empty"].said
    assert "not calibrated" in " ".join(as_table(plain, width=100).split())
    assert "axial-calibration" in plain.uncalibrated
    done = replace(formats[IDENT], calibrated=dict.fromkeys(settings, 4))
    route = route_report(done, demo_report.verdicts[IDENT], settings)
    assert route.uncalibrated == ()
    assert "(estimate)" not in rows(route)["strength.axial_empty"].said
    assert "(estimate)" not in rows(route)["strength.reversal"].said
    assert "(estimate)" in rows(route)["strength.growth_warmest"].said
    assert "not calibrated" not in " ".join(as_table(route, width=100).split())


@pytest.mark.parametrize("width", [80, 100, 160])
@pytest.mark.parametrize("name", ["plain", "scattered"])
def test_table_keeps_to_its_width(name: str, width: int, request: pytest.FixtureRequest) -> None:
    """No line is wider than the terminal, whether narrow or wide."""
    table = as_table(request.getfixturevalue(name), width=width)
    assert [line for line in table.split("\n") if len(line) > width] == []


@pytest.mark.parametrize("width", [80, 160])
def test_table_shows_limits_margins_and_stages(plain: RouteReport, width: int) -> None:
    """Narrow or wide, the table has values, units, limits, margins, checks and all stages."""
    table = as_table(plain, width=width)
    row = rows(plain)["trimmed.allowance"]
    assert re.search(rf"trim allowance at the ear valleys +{row.spread.nominal:.1f} .* mm", table)
    assert re.search(r"≥ [\d.]+,? +(margin )?[\d.]+ % [█·]{10} \[trim\.allowance\]", table)
    assert re.search(r"Neck, \d+ stages", table)
    stages = sum(section.station.startswith("necked[") for section in plain.sections)
    assert len(re.findall(r"(?m)^ +\d+( +[\d.]+){8}$", table)) == stages
    assert "Nearest their limits" in table


@pytest.mark.parametrize("width", [80, 160])
def test_bar_is_as_long_as_the_margin(plain: RouteReport, width: int) -> None:
    """Each bar has one filled cell for every ten percent of margin, ten at most."""
    bars = re.findall(r"([\d.]+) % (█*)·*", as_table(plain, width=width))
    iter_results = [(float(margin), len(filled)) for margin, filled in bars if filled]
    assert len(iter_results) > 30
    assert [(m, cells) for m, cells in iter_results if abs(min(m, 100.0) / 10 - cells) > 0.5001] == []


def test_table_shows_scatter_and_drivers(scattered: RouteReport) -> None:
    """With cans scattered the table shows mean, deviation, outer points and what drives results."""
    table = as_table(scattered, width=80)
    assert re.search(r"mean [\d.]+, std dev [\d.]+, 0\.135 % [\d.]+, 99\.865 % [\d.]+", table)
    assert f"({CANS} cans, seed 7)" in table
    assert re.search(r"trim allowance: stock\.gauge \d+ %", table)


def test_failed_limit_says_outside_without_colour(
    demo_report: Report, formats: Mapping[str, Assembled], settings: Mapping[str, Setting]
) -> None:
    """A value outside its limit says OUTSIDE, so no meaning depends on colour; colour changes no word."""
    ident = "b211-440-light"
    verdicts = demo_report.verdicts[ident]
    failed = {one.rule.name for one in verdicts if not one.passed}
    assert failed
    route = route_report(formats[ident], verdicts, settings)
    table = as_table(route, width=80)
    assert set(re.findall(r"OUTSIDE +\[(.+)\]", table)) == failed
    coloured = as_table(route, width=80, coloured=True)
    assert "\x1b[" in coloured
    bare = re.sub(r"\x1b\[[0-9;]*m", "", coloured)
    assert [line.split() for line in bare.split("\n")] == [line.split() for line in table.split("\n")]


def test_hostile_title_is_guarded(plain: RouteReport) -> None:
    """A title with control characters is shown by their codes."""
    spec = replace(plain.format, title="a\x1b[2Jb\nc")
    route = replace(plain, format=spec)
    assert (
        as_table(route, width=80).split("\n")[0].startswith(r"b211-330 a\u001b[2Jb\u000ac".replace(" ", "  "))
    )
    assert json.loads(route_json(route))["title"] == r"a\u001b[2Jb\u000ac"


def test_json_holds_rows_limits_and_scatter(scattered: RouteReport) -> None:
    """The JSON has every row in the reader's unit with limits and scatter, the same bytes each time."""
    text = route_json(scattered)
    assert text == route_json(scattered)
    record = json.loads(text)
    assert record["schema"] == "sizebook-route/1"
    found = {row["key"]: row for section in record["sections"] for row in section["rows"]}
    row = found["strength.reversal"]
    assert row["unit"] == "kPa"
    assert row["nominal"] == pytest.approx(1000 * rows(scattered)["strength.reversal"].spread.nominal)
    (judged,) = row["judged"]
    assert judged["check"] == "dome.reversal"
    assert judged["passed"] is (judged["margin"] >= 0)
    assert (
        row["scatter"]["low_0_135_percent"] < row["scatter"]["mean"] < row["scatter"]["high_99_865_percent"]
    )
    assert record["scatter"]["cans"] == CANS
    assert record["scatter"]["drivers"]["trim allowance"][0]["input"] == "format.stock.gauge"


def test_the_record_fits_its_schema(plain: RouteReport, scattered: RouteReport, faulty: CheckedBook) -> None:
    """A route, with and without scatter, and one that is stopped fit the shipped schema; a part does not."""
    schema = json.loads((shipped("schema") / "output/route-report.json").read_text(encoding="utf-8"))
    Draft202012Validator.check_schema(schema)
    validator = Draft202012Validator(schema)
    stopped = no_route_json("b211-568-206", stopping("b211-568-206", faulty.report))
    for text in (route_json(plain), route_json(scattered), stopped):
        assert [error.message for error in validator.iter_errors(json.loads(text))] == []
    record = json.loads(route_json(scattered))
    del record["title"], record["sections"][0]["rows"][0]["judged"]
    assert len(list(validator.iter_errors(record))) == 2


def test_nothing_stops_a_valid_format(demo_report: Report) -> None:
    """A format that was judged to the end has nothing in its way, also when some check failed."""
    assert stopping("b211-440-light", demo_report) == []


def test_geometry_and_broken_files_stop_a_route(faulty: CheckedBook) -> None:
    """What stops a format is its own geometry, or a file with faults; other formats' findings do not."""
    stops = stopping("b211-568-206", faulty.report)
    assert "cup.punch-below-blank" in {one.name for one in stops}
    assert {one.subject for one in stops} == {"b211-568-206", ""}
    assert "reading.tab" in {one.name for one in stopping("b202-200", faulty.report)}
    record = json.loads(no_route_json("b211-568-206", stops))
    assert record["sections"] == []
    assert len(record["stopped_by"]) == len(stops)
