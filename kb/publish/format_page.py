"""The page of one format: identity, tightest margins, station by station, metal, lines, findings."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from kb.book.quantity import as_quantity
from kb.checks.words import number, quantity
from kb.output.svg import svg as drawn
from kb.publish.changeover_pages import changeovers_of
from kb.publish.edition import Edition, FormatEdition, Routed
from kb.publish.format_history import history
from kb.publish.lookup import formats_table
from kb.publish.page import Context, Pages, Rendered
from kb.publish.plot import Axis, PlotMark, line_plot
from kb.publish.stations import station_of, stations, tightest
from kb.publish.templates import page, svg
from kb.publish.words import bar
from kb.route.body import masses
from kb.route.stations.filled import TEMPERATURES, pressure_at

ESTIMATE = (
    "Strength is estimated until it is calibrated on the plant's own trials. Machine maker's manual, the "
    "site's isolation procedure and authorised people come before anything on this page."
)

TIGHTEST = 8


def format_page(edition: Edition, one: FormatEdition, at: Mapping[tuple[str, str], str]) -> str:
    """The page's source text; `at` has the addresses of changeovers."""
    routed = one.routed
    pictures = _pictures(routed) if routed else {}
    return page(
        "format.md",
        title=f"{one.record.title} ({one.record.id})",
        hide=("toc",),
        it=_identity(edition, one),
        routed=routed is not None,
        estimate=ESTIMATE,
        can=pictures.get("can"),
        tightest=tightest(one.tightest[:TIGHTEST], station_of(routed)) if routed else [],
        stations=list(stations(one, routed, pictures)) if routed else [],
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
            "sheet": f"../sheets/{one.record.id}-{line.id}.html",
            "stops": [
                f"{stop.what}: {quantity(stop.tightest[1], unit=stop.rule.unit, show=stop.rule.show)}, "
                f"{quantity(stop.tightest[2], unit=stop.rule.unit, show=stop.rule.show)} allowed"
                for stop in routed.stoppers(line.id)
            ],
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
        "pressure": _plot(
            line_plot(
                pressures,
                x=Axis("temperature, °C", 0.0, TEMPERATURES[-1]),
                y=Axis("pressure in the can, kPa", 0.0, most),
                title="Pressure in the can over temperature",
                marks=[PlotMark("design pressure", design)],
            ),
            "Pressure in the can over temperature, all gas in balance with the liquid.",
        ),
        "capacity": _plot(
            line_plot(
                levels,
                x=Axis("height above the stand, mm", 0.0, float(z[-1])),
                y=Axis("contents, ml", 0.0, levels[-1][1] * 1.05),
                title="Contents over height",
                marks=[PlotMark("nominal contents", contents)],
            ),
            "Contents over height of the liquid above the stand.",
        ),
    }


def _plot(drawn_plot: str, below: str) -> dict[str, Any]:
    return {"svg": svg(drawn_plot), "below": below}


def format_pages(context: Context) -> Rendered:
    """The table of formats, the comparison, and a page for each format."""
    yield "formats/index.md", formats_table(context.edition)
    yield "formats/compare.md", page("compare.md", title="Compare formats")
    for one in context.edition.formats.values():
        yield f"formats/{one.record.id}.md", format_page(context.edition, one, context.at)


PAGES = (Pages("Formats", "formats/index.md", format_pages),)
