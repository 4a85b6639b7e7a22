"""The page of one format: identity, tightest margins, station by station, metal, lines, findings."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from kb.checks.words import number, quantity
from kb.drawing.svg import svg as drawn
from kb.publish.edition import Edition, FormatEdition, Routed
from kb.publish.plot import Axis, Mark, line_plot
from kb.publish.templates import page, svg
from kb.publish.walk import SAY
from kb.publish.words import bar, declared, judged, matrix, section
from kb.route.finishing import TEMPERATURES, pressure_at
from kb.route.zones import masses

# id, title, spec blocks, sections of the told route, drawings, what happens to the metal
STATIONS: tuple[tuple[str, str, tuple[str, ...], tuple[str, ...], tuple[str, ...], str], ...] = (
    ("blank", "Blank", ("stock", "blank"), ("blank",), ("blank", "web"), SAY["blank"]),
    ("cup", "Cup", ("cup",), ("cup",), ("cup",), SAY["cup"]),
    ("redraw", "Redraw", ("redraw", "punch"), ("redrawn",), ("redrawn",), SAY["redraw"]),
    ("ironing", "Ironing", ("ironing",), ("ironed", "stroke"), ("pack", "ironing", "ring"), SAY["ironing"]),
    ("dome", "Dome", ("dome",), ("domed",), ("dome", "stand"), SAY["dome"]),
    ("trim", "Trim", ("trim",), ("trimmed",), ("trim",), SAY["trim"]),
    ("neck", "Neck", ("neck",), ("necked",), ("neck",), SAY["neck"]),
    ("flange", "Flange", ("flange",), ("flanged",), ("flange",), SAY["flange"]),
    ("seam", "End and seam", ("seam",), ("seam",), ("seam", "end"), ""),
    ("filled", "Filled can", ("fill",), ("filled",), (), ""),
    ("strength", "Strength", ("targets",), ("strength",), (), ""),
    ("pallet", "Pallet and line", ("pallet",), ("pallet", "line", "shape"), (), ""),
)

ESTIMATE = (
    "Strength is estimated until it is calibrated on the plant's own trials. Machine maker's manual, the "
    "site's isolation procedure and authorised people come before anything on this page."
)

TIGHTEST = 8
FEW_STAGES = 4
"""Stations of one kind that each get a table; more share one, a row each."""


def format_page(edition: Edition, one: FormatEdition) -> str:
    """The page's source text."""
    routed = one.routed
    return page(
        "format.html",
        title=f"{one.record.title} ({one.record.id})",
        up="../",
        it=_identity(edition, one),
        routed=routed is not None,
        estimate=ESTIMATE,
        drawings=_drawings(routed),
        plots=_plots(routed) if routed else {},
        tightest=[judged(verdict) for verdict in one.tightest[:TIGHTEST]],
        stations=list(_stations(one, routed)) if routed else [],
        zones=_zones(routed) if routed else [],
        lines=_lines(edition, one, routed) if routed else [],
        waivers=_waivers(edition, one),
        found=one.findings,
    )


def _identity(edition: Edition, one: FormatEdition) -> dict[str, Any]:
    record, quantities = one.record, one.spec.quantities
    end = edition.book.of("end").get(record.end)
    return {
        **{
            key: getattr(record, key)
            for key in ("id", "title", "status", "revision", "effective", "owner", "why")
        },
        "body": record.body,
        "end": {"id": record.end, "code": end.record.code if end else "?"},
        "stock": {"id": record.stock.material},
        "contents": quantities["fill.contents"].text,
        "gauge": quantities["stock.gauge"].text,
        "also_called": ", ".join(record.also_called),
        "file": one.spec.document.file,
    }


def _drawings(routed: Routed | None) -> dict[str, Any]:
    made = {name: svg(drawn(one)) for name, one in routed.drawings.items()} if routed else {}
    names = {name for station in STATIONS for name in station[4]} | {"can"}
    return {name: made.get(name, "") for name in names}


def _stations(one: FormatEdition, routed: Routed) -> Iterator[dict[str, Any]]:
    told = routed.told.sections
    for ident, title, blocks, names, pictures, say in STATIONS:
        sections = [part for part in told if part.station.partition("[")[0].partition(".")[0] in names]
        stages = [part for part in sections if "[" in part.station]
        many = len(stages) > FEW_STAGES
        singles = [part for part in sections if part not in stages] if many else sections
        yield {
            "id": ident,
            "title": title,
            "say": say,
            "declared": [row for block in blocks for row in declared(one.spec, block)],
            "matrix": matrix(stages) if many else None,
            "sections": [section(part) for part in singles],
            "drawings": pictures,
        }


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
    spec = edition.book.only("waivers")
    return [
        {
            "check": waiver.check,
            "expires": waiver.expires,
            "ceiling": spec.quantities[f"waivers[{i}].ceiling"].text if spec else "",
            "reason": waiver.reason,
            "approver": waiver.approver,
            "evidence": waiver.evidence,
        }
        for i, waiver in enumerate(edition.book.waivers.waivers)
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
        "pressure": svg(
            line_plot(
                pressures,
                x=Axis("temperature, °C", 0.0, TEMPERATURES[-1]),
                y=Axis("pressure in the can, kPa", 0.0, most),
                title="Pressure in the can over temperature",
                marks=[Mark("design pressure", design)],
            )
        ),
        "capacity": svg(
            line_plot(
                levels,
                x=Axis("height above the stand, mm", 0.0, float(z[-1])),
                y=Axis("contents, ml", 0.0, levels[-1][1] * 1.05),
                title="Contents over height",
                marks=[Mark("nominal contents", contents)],
            )
        ),
    }
