"""The page of one format: sheets, tightest margins, station by station, metal, lines, findings."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np
from markupsafe import Markup

from kb.book.finding import place_words
from kb.book.quantity import as_quantity
from kb.checks.by_station import ResultRow, Section, row_figures, section_of, stage_figures
from kb.checks.judge import Verdict
from kb.checks.words import number, value_and_limit
from kb.output.svg import picture_svg
from kb.output.svg import svg as drawn
from kb.pictures import Caption, Circle, Curve, Picture, Shapes
from kb.publish.changeover_pages import changeovers_of
from kb.publish.changes import history
from kb.publish.edition import Edition, FormatEdition, Routed
from kb.publish.facts import facts
from kb.publish.fields import declared, field
from kb.publish.lookup import formats_table
from kb.publish.page import Context, Pages, Rendered, page, svg
from kb.publish.words import bar, judged, slug, unit_sign
from kb.route.body import masses
from kb.route.effects import base_effects
from kb.route.stations import STATIONS, TOOLS, Route
from kb.route.stations.filled import TEMPERATURES, pressure_at

ESTIMATE = (
    "Strength values are estimates until the plant has tested the format. The machine maker's manual, the "
    "site's isolation procedure and authorised people overrule this page."
)

TIGHTEST = 8

SHOWN = (*STATIONS, TOOLS)
"""The stations of a page, in order; the tools against one another come last."""

FEW_STAGES = 4
"""So many stages of one kind are columns of one table; more are rows."""

FEW_MARGINS = 4
"""Margins of a station that are shown at once, those outside their limits apart."""


WIDTH, HEIGHT = 360, 220
_LEFT, _RIGHT, _TOP, _BOTTOM = 52, 14, 14, 44


def format_page(edition: Edition, one: FormatEdition, at: Mapping[tuple[str, str], str]) -> str:
    """The page's source text; `at` has the addresses of changeovers."""
    routed = one.routed
    pictures = _pictures(routed) if routed else {}
    return page(
        "format.md",
        title=f"Format: {one.record.title} ({one.record.id})",
        hide=("toc",),
        it=_identity(edition, one),
        routed=routed is not None,
        estimate=ESTIMATE,
        can=pictures.get("can"),
        tightest=tightest(one.tightest[:TIGHTEST]) if routed else [],
        stations=list(stations(one, routed, pictures)) if routed else [],
        facts=facts(edition, one, routed.route) if routed else [],
        zones=_zones(routed) if routed else [],
        lines=_lines(edition, one, routed) if routed else [],
        changes=changeovers_of(edition, one.record.id, at),
        history=history(edition, one),
        waivers=_waivers(edition, one),
        found=one.findings,
    )


def _identity(edition: Edition, one: FormatEdition) -> dict[str, Any]:
    record = one.record
    end = edition.book.of("end").get(record.end)
    return {
        **{
            key: getattr(record, key)
            for key in ("id", "title", "status", "revision", "effective", "owner", "why")
        },
        "body": record.body,
        "end": {"id": record.end, "code": end.record.code if end else "?"},
        "stock": {"id": record.stock.material},
        "contents": as_quantity(record.fill.contents).text,
        "gauge": as_quantity(record.stock.gauge).text,
        "also_called": ", ".join(record.also_called),
        "approved_by": ", ".join(
            " ".join(filter(None, (each.role, each.name, each.day))) for each in record.approved_by
        ),
        "standard": record.standard,
        "variant_of": record.variant_of,
        "overrides": [
            f"{own.key}: {own.text} ({place_words(own.place)}), "
            f"not {own.other} ({place_words(own.other_place)})"
            for own in one.spec.document.overrides
        ],
        "file": one.spec.document.file,
    }


def _pictures(routed: Routed) -> dict[str, Any]:
    """Drawings and plots by name, each with what is written below it."""
    drawings = {
        name: {"svg": svg(drawn(one, styled=False)), "below": ""} for name, one in routed.drawings.items()
    }
    return {**drawings, **_plots(routed)}


def _zones(routed: Routed) -> list[dict[str, Any]]:
    weighed = masses(routed.route)
    total = float(sum(weighed.values()))
    return [
        {"name": name, "mass": number(float(mass)), "margin": bar(float(mass) / total)}
        for name, mass in weighed.items()
    ]


def _lines(edition: Edition, one: FormatEdition, routed: Routed) -> list[dict[str, Any]]:
    return [
        {
            "id": line.id,
            "title": line.record.title,
            "declared": line.id in one.record.lines,
            "sheet": f"../sheets/{one.record.id}-{line.id}.html" if one.record.status != "withdrawn" else "",
            "stops": [value_and_limit(stop) for stop in routed.stoppers(line.id)],
        }
        for line in edition.book.of("line").values()
    ]


def _waivers(edition: Edition, one: FormatEdition) -> list[dict[str, Any]]:
    return [
        {
            "check": waiver.check,
            "expires": waiver.expires,
            "ceiling": waiver.ceiling.text,
            "reason": waiver.reason,
            "approver": waiver.approver,
            "evidence": waiver.evidence,
        }
        for waiver in edition.book.waivers.waivers
        if waiver.format == one.record.id
    ]


# --- stations ---------------------------------------------------------------------------------


def stations(one: FormatEdition, routed: Routed, pictures: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    """Every station of a format as the template shows it, with its drawings and plots by name."""
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
            "says": [sentence for part in sections for sentence in part.says],
            "declared": [row for block in station.blocks for row in declared(one.spec, block)],
            "thin": [judged(verdict) for verdict in thin],
            "rest": [judged(verdict) for verdict in verdicts[len(thin) :]],
            "tables": [
                *_staged(stages),
                *(_plain(part) for part in sections if part not in stages),
                *_effects(routed, station.id),
            ],
        }


def _nearness(verdict: Verdict) -> tuple[bool, float]:
    """Those with a margin first, the nearest to its limit before all."""
    return not verdict.has_margin, round(verdict.margin, 9)


def tightest(verdicts: Sequence[Verdict]) -> list[dict[str, Any]]:
    """The verdicts nearest to their limits, each with the station that shows its values."""
    stations = {results.key: station for station in SHOWN for results in station.results}
    found = []
    for verdict in verdicts:
        station = stations.get(section_of(verdict).partition("[")[0])
        at = {"station": station.id, "at": station.title} if station else {"station": "", "at": ""}
        found.append(judged(verdict, **at))
    return found


def _first(part: Section) -> str:
    """First part of a section's key, without the number of its stage."""
    return part.station.partition("[")[0].partition(".")[0]


# --- tables of computed values ----------------------------------------------------------------


def _plain(part: Section) -> dict[str, Any]:
    heads = ["value", "nominal", "low", "high", "unit"]
    rows = [[row.said, *row_figures(row), unit_sign(row.show)] for row in part.rows]
    return {"id": slug(part.station), "title": part.title, "heads": heads, "rows": rows}


def _staged(stages: Sequence[Section]) -> Iterator[dict[str, Any]]:
    """Stages of one kind in one table: few as columns with their corners, many as rows, nominal alone."""
    if not stages:
        return
    title = stages[0].title.partition(",")[0]
    names = [part.title.rpartition(", ")[2] for part in stages]
    if len(stages) > FEW_STAGES:
        heads = ["stage", *(_with_unit(row) for row in stages[0].rows)]
        columns = [stage_figures(column) for column in zip(*(part.rows for part in stages), strict=True)]
        rows = [[name, *texts] for name, *texts in zip(names, *columns, strict=True)]
    else:
        heads = ["value", *(f"{name} {end}" for name in names for end in ("", "low", "high")), "unit"]
        rows = [
            [
                row.said,
                *(text for part in stages for text in row_figures(part.rows[i])),
                unit_sign(row.show),
            ]
            for i, row in enumerate(stages[0].rows)
        ]
    yield {"id": slug(stages[0].station), "title": title, "heads": heads, "rows": rows}


def _with_unit(row: ResultRow) -> str:
    unit = unit_sign(row.show)
    return f"{row.said}, {unit}" if unit else row.said


# --- plots ------------------------------------------------------------------------------------


class Axis(NamedTuple):
    """An axis with its words and the range it shows."""

    words: str
    low: float
    high: float

    def ticks(self) -> list[float]:
        """About five round values from low to high."""
        span = self.high - self.low
        step = 10 ** math.floor(math.log10(span / 4))
        step *= next(k for k in (1, 2, 2.5, 5, 10) if span / (step * k) <= 5)
        first = math.ceil(self.low / step - 1e-9)
        return [n * step for n in range(first, math.floor(self.high / step + 1e-9) + 1)]


def _plots(routed: Routed) -> dict[str, Any]:
    route = routed.route
    headspace = route.filled.headspace_volume
    temperatures = np.linspace(TEMPERATURES[0], TEMPERATURES[-1], 29)
    pressures = [
        (float(t), 1000 * float(pressure_at(route.case, headspace, temperature=float(t))))
        for t in temperatures
    ]
    design = 1000 * float(route.case.plant.design_pressure)
    most = max(design, pressures[-1][1]) * 1.08
    r, z = route.flanged.shape.points(per_arc=17)
    room = np.concatenate(
        [[0.0], np.cumsum(np.pi * np.diff(z) * (r[1:] ** 2 + r[1:] * r[:-1] + r[:-1] ** 2) / 3)]
    )
    rising = int(np.argmin(z))
    contents = float(route.case.format.fill.contents) / 1000
    levels = [(float(h), float(v) / 1000) for h, v in zip(z[rising:], room[rising:], strict=True) if v >= 0]
    return {
        "pressure": {
            "svg": line_plot(
                pressures,
                x=Axis("temperature, °C", 0.0, TEMPERATURES[-1]),
                y=Axis("pressure in the can, kPa", 0.0, most),
                title="Pressure in the can over temperature",
                marks=[("design pressure", design)],
            ),
            "below": "Pressure in the can over temperature, all gas in balance with the liquid.",
        },
        "capacity": {
            "svg": line_plot(
                levels,
                x=Axis("height above the stand, mm", 0.0, float(z[-1])),
                y=Axis("contents, ml", 0.0, levels[-1][1] * 1.05),
                title="Contents over height",
                marks=[("nominal contents", contents)],
            ),
            "below": "Contents over height of the liquid above the stand.",
        },
        **_growth(route, design),
    }


def _growth(route: Route, design: float) -> dict[str, Any]:
    """Pressure over the growth of the base, where it is computed."""
    base = route.strength.base
    points = [(grown, 1000 * pressure) for grown, pressure in base.curve()] if base else []
    if not all(math.isfinite(one) for point in points for one in point) or not points:
        return {}
    warmest = 1000 * float(route.strength.warmest_pressure)
    return {
        "growth": {
            "svg": line_plot(
                points,
                x=Axis("base lower than without pressure, mm", 0.0, points[-1][0]),
                y=Axis("pressure in the can, kPa", 0.0, max(design, points[-1][1]) * 1.08),
                title="Pressure over base growth",
                marks=[("design pressure", design), ("warmest", warmest)],
            ),
            "below": "Pressure over growth of the base, up to dome reversal. Shell solver, not calibrated.",
        }
    }


def _effects(routed: Routed, station: str) -> list[dict[str, Any]]:
    """What each size of the base does to its strength, as a table of the station that computes it."""
    effects = base_effects(routed.route.case) if station == "strength" else ()
    if not effects:
        return []
    rows = []
    for one in effects:
        entry = field("size-format", one.key.partition(".")[2])
        moves = (1000 * one.reversal, one.growth, one.load)
        rows.append(
            [
                entry.title,
                f"+{one.change:g} {unit_sign(entry.show)}",
                *(_signed(float(move)) for move in moves),
            ]
        )
    heads = [
        "size",
        "change",
        "dome reversal, kPa",
        "base growth at design pressure, mm",
        "axial load, base, N",
    ]
    return [{"id": "base-effects", "title": "What each size of the base does", "heads": heads, "rows": rows}]


def _signed(value: float) -> str:
    text = number(value, figures=2)
    return f"+{text}" if value > 0 else text


def line_plot(
    points: Sequence[tuple[float, float]],
    *,
    x: Axis,
    y: Axis,
    title: str,
    marks: Sequence[tuple[str, float]] = (),
    joined: bool = True,
) -> Markup:
    """Points as an SVG element, joined by a curve or each a dot, with levels of y drawn across."""

    def at(px: float, py: float) -> tuple[float, float]:
        across = (px - x.low) / (x.high - x.low) * (WIDTH - _LEFT - _RIGHT)
        up = (py - y.low) / (y.high - y.low) * (HEIGHT - _TOP - _BOTTOM)
        return round(_LEFT + across, 1), round(HEIGHT - _BOTTOM - up, 1)

    left, bottom = at(x.low, y.low)
    right, top = at(x.high, y.high)
    shapes: list[Shapes] = []
    for tick in y.ticks():
        _, h = at(x.low, tick)
        shapes += [Curve(((left, h), (right, h)), "grid"), Caption(left - 6, h + 4, f"{tick:g}", "ty")]
    for tick in x.ticks():
        w, _ = at(tick, y.low)
        shapes += [Curve(((w, top), (w, bottom)), "grid"), Caption(w, bottom + 16, f"{tick:g}", "tx")]
    for words, level in marks:
        if y.low <= level <= y.high:
            _, h = at(x.low, level)
            shapes += [Curve(((left, h), (right, h)), "mark"), Caption(left + 6, h - 5, words, "tm")]
    curve = tuple(at(*p) for p in points)
    shapes += [Curve(curve, "curve")] if joined else []
    dots = curve[:: max(1, len(curve) // 8)] if joined else curve
    shapes += [Circle(w, h, 3, "dot") for w, h in dots]
    shapes.append(Caption((left + right) / 2, HEIGHT - 8, x.words, "ax"))
    shapes.append(Caption(14, (top + bottom) / 2, y.words, "ay", turned=True))
    return svg(picture_svg(Picture("plot", WIDTH, HEIGHT, title, tuple(shapes))))


# --- the pages --------------------------------------------------------------------------------


def format_pages(context: Context) -> Rendered:
    """The table of formats, the comparison, and a page for each format."""
    yield "formats/index.md", formats_table(context.edition)
    yield "formats/compare.md", page("compare.md", title="Compare formats")
    for one in context.edition.formats.values():
        yield f"formats/{one.record.id}.md", format_page(context.edition, one, context.at)


PAGES = (Pages("Formats", "formats/index.md", format_pages),)
