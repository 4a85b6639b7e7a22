"""The stations of a format's page: pictures, declared values, margins thinnest first, computed values."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from kb.checks.by_station import ResultRow, Section, shown
from kb.checks.judge import Verdict
from kb.checks.words import number
from kb.publish.edition import FormatEdition, Routed
from kb.publish.typeset import unit_sign
from kb.publish.words import declared, judged, slug
from kb.route.stations import STATIONS, TOOLS

SHOWN = (*STATIONS, TOOLS)
"""The stations of a page, in order: the tools against one another come last."""

FEW_STAGES = 4
"""Stations of one kind that stand side by side, a column each; more stand below one another, a row each."""

FEW_MARGINS = 4
"""Margins of a station that are shown at once, those outside their limits apart."""


def stations(one: FormatEdition, routed: Routed, pictures: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    """Every station of a format as the template shows it.

    Args:
        one: the format
        routed: what its route says
        pictures: drawings and plots by name
    """
    for station in SHOWN:
        keys = {results.key for results in station.results}
        sections = [part for part in routed.report.sections if _first(part) in keys]
        stages = [part for part in sections if "[" in part.station]
        verdicts = sorted(
            (verdict for part in sections for row in part.rows for verdict in row.verdicts),
            key=_nearness,
        )
        thin = [verdict for i, verdict in enumerate(verdicts) if i < FEW_MARGINS or not verdict.passed]
        yield {
            "id": station.id,
            "title": station.title,
            "short": station.short or station.title,
            "say": station.description,
            "pictures": [pictures[name] for name in (*station.views, *station.plots) if pictures.get(name)],
            "declared": [row for block in station.blocks for row in declared(one.spec, block)],
            "thin": [judged(verdict) for verdict in thin],
            "rest": [judged(verdict) for verdict in verdicts[len(thin) :]],
            "tables": [*_staged(stages), *(_plain(part) for part in sections if part not in stages)],
        }


def _nearness(verdict: Verdict) -> tuple[bool, float]:
    """Those with a margin first, the nearest to its limit before all."""
    return not verdict.has_margin, round(verdict.margin, 9)


def station_of(routed: Routed) -> dict[int, str]:
    """The station at which each verdict is shown, by the verdict's identity."""
    homes = {results.key: station.id for station in SHOWN for results in station.results}
    return {
        id(verdict): homes[_first(part)]
        for part in routed.report.sections
        for row in part.rows
        for verdict in row.verdicts
    }


def tightest(verdicts: Sequence[Verdict], homes: Mapping[int, str]) -> list[dict[str, Any]]:
    """The verdicts nearest to their limits, each with the station where its values stand."""
    titles = {station.id: station.title for station in SHOWN}
    return [
        judged(verdict, station=homes.get(id(verdict), ""), at=titles.get(homes.get(id(verdict), ""), ""))
        for verdict in verdicts
    ]


def _first(part: Section) -> str:
    """First part of a section's key, without the number of its stage."""
    return part.station.partition("[")[0].partition(".")[0]


# --- tables of computed values ----------------------------------------------------------------


def _plain(part: Section) -> dict[str, Any]:
    heads = ["value", "nominal", "low", "high", "unit"]
    rows = [
        [row.words, *(number(shown(row, value)) for value in _ends(row)), unit_sign(row.show)]
        for row in part.rows
    ]
    return {"id": slug(part.station), "title": part.title, "heads": heads, "rows": rows}


def _ends(row: ResultRow) -> tuple[float, float, float]:
    return row.spread.nominal, row.spread.low, row.spread.high


def _staged(stages: Sequence[Section]) -> Iterator[dict[str, Any]]:
    """Stages of one kind in one table: few as columns with their corners, many as rows, nominal alone."""
    if not stages:
        return
    title = stages[0].title.partition(",")[0]
    names = [part.title.rpartition(", ")[2] for part in stages]
    if len(stages) > FEW_STAGES:
        heads = ["stage", *(_with_unit(row) for row in stages[0].rows)]
        rows = [
            [name, *(number(shown(row, row.spread.nominal)) for row in part.rows)]
            for name, part in zip(names, stages, strict=True)
        ]
    else:
        heads = ["value", *(f"{name} {end}" for name in names for end in ("", "low", "high")), "unit"]
        rows = [
            [
                row.words,
                *(number(shown(part.rows[i], end)) for part in stages for end in _ends(part.rows[i])),
                unit_sign(row.show),
            ]
            for i, row in enumerate(stages[0].rows)
        ]
    yield {"id": slug(stages[0].station), "title": title, "heads": heads, "rows": rows}


def _with_unit(row: ResultRow) -> str:
    unit = unit_sign(row.show)
    return f"{row.words}, {unit}" if unit else row.words
