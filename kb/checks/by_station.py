"""The results of a format by station, each with its limits: values, corners, scatter, drivers."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from kb.book.finding import Finding, one_line
from kb.book.load import Book
from kb.book.records import Setting, SizeFormat
from kb.book.tree import Override
from kb.checks.catalog import GEOMETRY
from kb.checks.judge import Verdict
from kb.checks.report import Report
from kb.checks.words import figures, in_reader_unit, plural
from kb.errors import SizebookError
from kb.route.assemble import Assembled, assemble
from kb.route.run import run
from kb.route.station import Result, Results, iter_results, with_basis
from kb.route.stations import DECLARED, STATIONS, TOOLS, Route
from kb.route.study import Spread, Study, pick

LINE = "line"
"""Key of the results that depend on the line: one section for the ram of each group of bodymakers."""

STAGES_IN_FULL = 4
"""Stations of one kind that are listed row by row; more become one line each."""

_RESULTS = tuple(one for station in (TOOLS, *STATIONS) for one in station.results)
"""What the stations give, in the order of the sections: the tools against one another first."""

_SECTION_OF = {check: one.key for one in _RESULTS for check in (one.key, *one.checks)}
"""Where a check's value is shown that is none of the results: by the first part of the check's name."""


@dataclass(frozen=True, slots=True)
class Scatter:
    """A result over a population of cans, in the unit inside."""

    mean: float
    deviation: float
    low: float
    high: float
    missing: int


@dataclass(frozen=True, slots=True)
class ResultRow:
    """One result, or one value that only a check measures (its key is then empty)."""

    key: str
    words: str
    unit: str
    show: str
    spread: Spread
    scatter: Scatter | None = None
    verdicts: tuple[Verdict, ...] = ()
    basis: str = ""

    @property
    def said(self) -> str:
        """The words with what the value rests on: `axial load, empty (estimate)`."""
        return with_basis(self.words, self.basis)


@dataclass(frozen=True, slots=True)
class Section:
    """The rows of one station, and what they say together."""

    station: str
    title: str
    rows: tuple[ResultRow, ...]
    says: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class RouteReport:
    """A route for a reader.

    Attributes:
        format: the size format.
        sections: rows by station, in process order.
        drivers: for each main result the inputs that drive it, with their share of the variance.
        cans: size of the population, 0 when none was drawn.
        seed: what the population was drawn from.
        uncalibrated: settings whose calibration the strength estimates lack.
        overrides: values of the format in place of those of its body standard.
    """

    format: SizeFormat
    sections: tuple[Section, ...]
    drivers: tuple[tuple[str, tuple[tuple[str, float], ...]], ...]
    cans: int
    seed: int
    uncalibrated: tuple[str, ...]
    overrides: tuple[Override, ...] = ()


def route_report(
    assembled: Assembled,
    verdicts: Sequence[Verdict],
    settings: Mapping[str, Setting],
    *,
    cans: int = 0,
    seed: int = 0,
) -> RouteReport:
    """Rows by station with the verdicts on them, and the drivers when cans are scattered.

    Args:
        assembled: a format whose geometry closes
        verdicts: what the checks judged of it
        settings: the plant's settings
        cans: how many cans to scatter; none when 0
        seed: the same seed gives the same cans
    """
    study = assembled.study
    with np.errstate(all="ignore"):
        rows = _result_rows(assembled)
        if cans:
            sigmas = float(settings["tolerance-sigmas"].value)
            population = _results(study.population(count=cans, sigmas=sigmas, seed=seed))
            rows = [
                replace(row, scatter=_scatter(one, cans)) for row, one in zip(rows, population, strict=True)
            ]
        drivers = tuple(_drivers(study)) if cans else ()
    by_key: dict[str, list[Verdict]] = {row.key: [] for row in rows}
    for one in verdicts:
        if one.result:
            by_key[one.result].append(one)
    rows = [replace(row, verdicts=tuple(by_key[row.key])) for row in rows]
    rows += [
        ResultRow("", one.what, one.rule.unit, one.rule.show, one.spread, verdicts=(one,), basis=one.basis)
        for one in verdicts
        if not one.result
    ]
    return RouteReport(
        format=assembled.spec.record,
        sections=tuple(_sections([(_station_of(row), row) for row in rows], assembled)),
        drivers=drivers,
        cans=cans,
        seed=seed,
        uncalibrated=tuple(
            name
            for name in sorted({name for one in DECLARED.values() for name in one.calibrated_by})
            if name not in assembled.calibrated
        ),
        overrides=tuple(assembled.spec.document.overrides),
    )


def stopping(ident: str, report: Report) -> list[Finding]:
    """Findings on the geometry of a format and on the files it needs, which stop its route."""
    if ident in report.verdicts and not any(one.what == ident for one in report.skipped):
        return []
    shapes = {rule.name for rule in GEOMETRY}
    return [
        one
        for one in report.findings
        if (one.name in shapes and one.subject == ident)
        or (not one.subject and one.severity == "error" and not one.name.startswith("waiver."))
    ]


class NoRoute(SizebookError):  # noqa: N818 - printed in one line
    """A format cannot be taken through the stations.

    Attributes:
        findings: the findings that stop it.
    """

    def __init__(self, ident: str, findings: Sequence[Finding]) -> None:
        count = plural(len(findings), "finding")
        super().__init__(f"{one_line(ident)} cannot be calculated: {count}")
        self.findings = tuple(findings)


def route_of(book: Book, ident: str, report: Report, *, cans: int = 0, seed: int = 0) -> RouteReport:
    """The route of a format of a book, by the report of its check; `cans` and `seed` as in `route_report`.

    Raises:
        NoRoute: if findings stop the calculation.
    """
    stops = stopping(ident, report)
    limits = book.limits
    assembled = assemble(book, ident) if not stops and limits is not None else None
    if assembled is None or limits is None:
        raise NoRoute(ident, stops)
    return route_report(assembled, report.verdicts[ident], limits.settings, cans=cans, seed=seed)


def shown(row: ResultRow, value: float) -> float:
    """A value of a row in the reader's unit."""
    return in_reader_unit(value, unit=row.unit, show=row.show)


def row_figures(row: ResultRow, *values: float) -> list[str]:
    """Values of a row as a reader sees them, without the unit: by default nominal, low and high."""
    spread = row.spread
    ends = values or (spread.nominal, spread.low, spread.high)
    return figures(ends, unit=row.unit, show=row.show, spread=spread, apart=False)


def stage_figures(rows: Sequence[ResultRow]) -> list[str]:
    """Nominal values of one result at many stages, with the same decimals: those of the finest."""
    finest = min(rows, key=lambda row: row.spread.high - row.spread.low)
    return row_figures(finest, *(row.spread.nominal for row in rows))


# --- the results ------------------------------------------------------------------------------


def _results(route: Route) -> list[Result]:
    """Every result of a route, then those of the ram of each group of bodymakers."""
    results = list(iter_results(route))
    for line in route.case.lines:
        for i, one in enumerate(run(route, line).rams):
            results += iter_results(one, f"{LINE}.{line.id}[{i}].")
    return results


def _result_rows(assembled: Assembled) -> list[ResultRow]:
    study = assembled.study
    names = _results(study.nominal)
    spreads = study.spreads(lambda route: [one.value for one in _results(route)])
    return [
        ResultRow(
            one.key,
            one.words,
            one.unit,
            one.show,
            spread,
            basis=one.declaration.basis(assembled.calibrated),
        )
        for one, spread in zip(names, spreads, strict=True)
    ]


def _scatter(one: Result, cans: int) -> Scatter:
    values = np.broadcast_to(np.asarray(one.value, dtype=float), (cans,))
    finite = values[np.isfinite(values)]
    if finite.size < 2:
        return Scatter(math.nan, math.nan, math.nan, math.nan, cans - int(finite.size))
    low, high = np.percentile(finite, [0.135, 99.865])
    return Scatter(
        mean=float(np.mean(finite)),
        deviation=float(np.std(finite, ddof=1)),
        low=float(low),
        high=float(high),
        missing=cans - int(finite.size),
    )


def _drivers(study: Study) -> Iterator[tuple[str, tuple[tuple[str, float], ...]]]:
    """What drives the main results; of a list, those of its last member."""
    for one in _RESULTS:
        for each in one.declared:
            if each.drivers:
                key = f"{one.key}{'[-1]' if one.member else ''}.{each.name}"
                yield each.drivers, tuple(study.drivers(pick(key)))


# --- the sections -----------------------------------------------------------------------------


def section_of(verdict: Verdict) -> str:
    """The section that shows a verdict, with its list position, such as `ironed[1]`."""
    if verdict.result:
        return verdict.result.split(".")[0]
    return "shape" if verdict.rule.reads == "case" else _SECTION_OF[verdict.rule.station]


def _station_of(row: ResultRow) -> str:
    """The section of a row."""
    return row.key.split(".")[0] if row.key else section_of(row.verdicts[0])


def _sections(rows: Sequence[tuple[str, ResultRow]], assembled: Assembled) -> Iterator[Section]:
    """Rows gathered by station; what the stations of a list share comes after its last member."""
    stations = dict.fromkeys(station for station, _ in rows)
    for results in _RESULTS:
        for station in sorted(
            (one for one in stations if one.split("[")[0] == results.key),
            key=lambda one: (one == results.key, _position(one)),
        ):
            here = [row for at, row in rows if at == station]
            if results.key == LINE:
                yield from _line_sections(here, results.title, assembled)
            else:
                says = results.says(assembled.study.nominal, assembled.calibrated) if results.says else ()
                yield Section(station, _title(results, station), tuple(here), tuple(says))


def _position(station: str) -> int:
    return int(station.partition("[")[2].rstrip("]") or 0)


def _title(results: Results, station: str) -> str:
    """Title of a section: of one member of a list, or of what its members share."""
    if "[" not in station:
        return results.title
    return f"{results.title}, {results.member.format(_position(station) + 1)}"


def _line_sections(rows: Sequence[ResultRow], title: str, assembled: Assembled) -> Iterator[Section]:
    """One section for the ram of each group of bodymakers, then what the lines were judged on."""
    for line in assembled.case.lines:
        makers = [one for one in line.machines if one.kind == "bodymaker"]
        for i, machine in enumerate(makers):
            prefix = f"{LINE}.{line.id}[{i}]."
            here = tuple(row for row in rows if row.key.startswith(prefix))
            yield Section(f"{LINE}.{line.id}/{machine.id}", f"Ram of {machine.title}, {line.title}", here)
    judged = tuple(row for row in rows if not row.key)
    if judged:
        yield Section(LINE, title, judged)
