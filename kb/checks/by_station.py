"""The results of a format by station, each with its limits: values, corners, scatter, drivers."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from kb.book.finding import Finding
from kb.book.records import Setting, SizeFormat
from kb.checks.catalog import GEOMETRY, MECHANICS
from kb.checks.judge import Verdict, measure
from kb.checks.report import Report
from kb.checks.words import in_reader_unit
from kb.route.assemble import Assembled
from kb.route.result import Told, told
from kb.route.run import run
from kb.route.stations import Route
from kb.route.study import Spread, Study, pick

ESTIMATE = " (estimate)"

STAGES_IN_FULL = 4
"""Stations of one kind that are told row by row; more become one line each."""

TITLES = {
    "shape": "Shape of the tools",
    "blank": "Blank",
    "cup": "Cup",
    "redrawn": "Redraw",
    "ironed": "Ironing, ring {}",
    "stroke": "Ironing stroke",
    "domed": "Dome, before trimming",
    "trimmed": "Trim",
    "necked": "Neck, stage {}",
    "flanged": "Flange, finished body",
    "seam": "Seam",
    "filled": "Filled can",
    "strength": "Strength",
    "pallet": "Pallet",
    "line": "On the line",
}
"""Sections in process order, by the first part of a result's key."""

_SECTION_OF = {
    "stock": "blank",
    "redraw": "redrawn",
    "ironing": "stroke",
    "punch": "stroke",
    "dome": "domed",
    "trim": "trimmed",
    "neck": "necked",
    "flange": "flanged",
    "end": "seam",
    "format": "filled",
    "can": "filled",
}
"""Where a check's value is shown that is none of the results: by the check's station."""

MAIN = (
    ("thin wall", "ironed[{last}].thin"),
    ("thick wall", "ironed[{last}].thick"),
    ("trim allowance", "trimmed.allowance"),
    ("finished height", "flanged.height"),
    ("body mass", "flanged.mass"),
    ("brimful capacity", "filled.brimful"),
    ("dome reversal", "strength.reversal"),
    ("axial load", "strength.axial_empty"),
    ("seam overlap", "seam.overlap"),
)
"""The results whose drivers are told."""


@dataclass(frozen=True, slots=True)
class Scatter:
    """A result over a population of cans, in the unit inside."""

    mean: float
    deviation: float
    low: float
    high: float
    missing: int


@dataclass(frozen=True, slots=True)
class Row:
    """One result, or one value that only a check measures (its key is then empty)."""

    key: str
    words: str
    unit: str
    show: str
    spread: Spread
    scatter: Scatter | None = None
    verdicts: tuple[Verdict, ...] = ()


@dataclass(frozen=True, slots=True)
class Section:
    """The rows of one station."""

    station: str
    title: str
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class RouteTold:
    """A route for a reader.

    Attributes:
        format: the size format.
        sections: rows by station, in process order.
        drivers: for each main result the inputs that drive it, with their share of the variance.
        cans: size of the population, 0 when none was drawn.
        seed: what the population was drawn from.
        uncalibrated: settings whose calibration the strength estimates lack.
    """

    format: SizeFormat
    sections: tuple[Section, ...]
    drivers: tuple[tuple[str, tuple[tuple[str, float], ...]], ...]
    cans: int
    seed: int
    uncalibrated: tuple[str, ...]


def route_told(
    assembled: Assembled,
    verdicts: Sequence[Verdict],
    settings: Mapping[str, Setting],
    *,
    cans: int = 0,
    seed: int = 0,
) -> RouteTold:
    """Gather what a route says.

    Args:
        assembled: a format whose geometry closes
        verdicts: what the checks judged of it
        settings: the plant's settings
        cans: how many cans to scatter; none when 0
        seed: the same seed gives the same cans

    Returns:
        Rows by station with the verdicts on them, and the drivers when cans were scattered.
    """
    study = assembled.study
    with np.errstate(all="ignore"):
        rows = _rows(study, settings)
        if cans:
            sigmas = float(settings["tolerance-sigmas"].value)
            population = _results(study.population(count=cans, sigmas=sigmas, seed=seed))
            rows = [
                replace(row, scatter=_scatter(one, cans)) for row, one in zip(rows, population, strict=True)
            ]
        drivers = tuple(_drivers(study)) if cans else ()
    rows, rest = _with_verdicts(rows, verdicts, study.nominal)
    rows += [_judged_row(one) for one in rest]
    return RouteTold(
        format=assembled.spec.record,
        sections=tuple(_sections([(_station(row), row) for row in rows], assembled)),
        drivers=drivers,
        cans=cans,
        seed=seed,
        uncalibrated=tuple(
            sorted(name for name in _calibrates("strength.") if not settings[name].calibrated)
        ),
    )


def stopping(ident: str, report: Report) -> list[Finding]:
    """What keeps a format from being taken through the stations.

    Args:
        ident: id of the format
        report: the check of this format

    Returns:
        The findings on its geometry and on the files it needs; none when the way is free.
    """
    if ident in report.verdicts and not any(one.what == ident for one in report.skipped):
        return []
    shapes = {rule.name for rule in GEOMETRY}
    return [
        one
        for one in report.findings
        if (one.name in shapes and one.subject == ident)
        or (not one.subject and one.severity == "error" and not one.name.startswith("waiver."))
    ]


def shown(row: Row, value: float) -> float:
    """A value of a row in the reader's unit."""
    return in_reader_unit(value, unit=row.unit, show=row.show)


# --- the results ------------------------------------------------------------------------------


def _results(route: Route) -> list[Told]:
    """Every result of a route, then those of the ram of each group of bodymakers."""
    results = list(told(route))
    for line in route.case.lines:
        for i, one in enumerate(run(route, line).rams):
            results += told(one, f"line.{line.id}[{i}].")
    return results


def _rows(study: Study, settings: Mapping[str, Setting]) -> list[Row]:
    names = _results(study.nominal)
    spreads = study.spreads(lambda route: [one.value for one in _results(route)])
    return [
        Row(one.key, _words(one, settings), one.unit, one.show, spread)
        for one, spread in zip(names, spreads, strict=True)
    ]


def _words(one: Told, settings: Mapping[str, Setting]) -> str:
    """The words of a result; an estimate whose settings are calibrated is one no longer."""
    by = _calibrates(one.key)
    if by and all(settings[name].calibrated for name in by):
        return one.words.replace(ESTIMATE, "")
    return one.words


def _calibrates(key: str) -> tuple[str, ...]:
    """The settings that make an estimate of strength the plant's own number."""
    reversal = ("dome-trial-gauge", "dome-trial-pressure", "dome-trial-stand", "dome-trial-yield")
    axial = ("axial-calibration",)
    if key == "strength.reversal":
        return reversal
    if key.startswith("strength.axial"):
        return axial
    return (*axial, *reversal) if key == "strength." else ()


def _scatter(one: Told, cans: int) -> Scatter:
    values = np.broadcast_to(np.asarray(one.value, dtype=float), (cans,))
    sound = values[np.isfinite(values)]
    if sound.size < 2:
        return Scatter(math.nan, math.nan, math.nan, math.nan, cans - int(sound.size))
    low, high = np.percentile(sound, [0.135, 99.865])
    return Scatter(
        mean=float(np.mean(sound)),
        deviation=float(np.std(sound, ddof=1)),
        low=float(low),
        high=float(high),
        missing=cans - int(sound.size),
    )


def _drivers(study: Study) -> Iterator[tuple[str, tuple[tuple[str, float], ...]]]:
    last = len(study.nominal.ironed) - 1
    for words, key in MAIN:
        yield words, tuple(study.drivers(pick(key.format(last=last))))


# --- the verdicts on them ---------------------------------------------------------------------


def _with_verdicts(
    rows: Sequence[Row], verdicts: Iterable[Verdict], route: Route
) -> tuple[list[Row], list[Verdict]]:
    """Rows with the verdicts on them, and the verdicts on values that are no row."""
    measures = _measured_results(route)
    places = {row.key: i for i, row in enumerate(rows)}
    by_row: dict[int, list[Verdict]] = {}
    rest = []
    for one in verdicts:
        key = measures.get((one.rule.name, one.what))
        if key in places:
            by_row.setdefault(places[key], []).append(one)
        else:
            rest.append(one)
    return [replace(row, verdicts=tuple(by_row.get(i, ()))) for i, row in enumerate(rows)], rest


def _measured_results(route: Route) -> dict[tuple[str, str], str]:
    """The result each check hands on as it is, by check and words: the very same number, not an equal one."""
    results = {id(one.value): one.key for one in told(route)}
    return {
        (rule.name, measured.what): results[id(measured.value)]
        for rule, measured in measure(route, MECHANICS)
        if id(measured.value) in results
    }


def _home(verdict: Verdict) -> str:
    if verdict.rule.reads == "case":
        return "shape"
    return _SECTION_OF.get(verdict.rule.station, verdict.rule.station)


def _judged_row(one: Verdict) -> Row:
    return Row("", one.what, one.rule.unit, one.rule.show, one.spread, verdicts=(one,))


def _station(row: Row) -> str:
    """First part of a row's key with its list position, such as `ironed[1]`."""
    return row.key.split(".")[0] if row.key else _home(row.verdicts[0])


# --- the sections -----------------------------------------------------------------------------


def _sections(rows: Sequence[tuple[str, Row]], assembled: Assembled) -> Iterator[Section]:
    """Rows gathered by station; what the stations of a list share comes after its last member."""
    stations = dict.fromkeys(station for station, _ in rows)
    for name in TITLES:
        for station in sorted(
            (one for one in stations if one.split("[")[0] == name),
            key=lambda one: (one == name, _number(one)),
        ):
            here = [row for at, row in rows if at == station]
            if name == "line":
                yield from _line_sections(here, assembled)
            else:
                yield Section(station, _title(station), tuple(here))


def _number(station: str) -> int:
    return int(station.partition("[")[2].rstrip("]") or 0)


def _title(station: str) -> str:
    name, _, position = station.partition("[")
    title = TITLES[name]
    return (
        title.format(_number(station) + 1) if position else title.partition(",")[0] if "{" in title else title
    )


def _line_sections(rows: Sequence[Row], assembled: Assembled) -> Iterator[Section]:
    """One section for the ram of each group of bodymakers, then what the lines were judged on."""
    for line in assembled.case.lines:
        makers = [one for one in line.machines if one.kind == "bodymaker"]
        for i, machine in enumerate(makers):
            prefix = f"line.{line.id}[{i}]."
            here = tuple(row for row in rows if row.key.startswith(prefix))
            yield Section(f"line.{line.id}/{machine.id}", f"Ram of {machine.title}, {line.title}", here)
    judged = tuple(row for row in rows if not row.key)
    if judged:
        yield Section("line", TITLES["line"], judged)
