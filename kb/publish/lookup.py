"""What the pages look up without a network: formats and sheet codes as a script, and the formats table."""

from __future__ import annotations

import json
from typing import Any

from kb.checks.words import in_reader_unit, number
from kb.drawing.silhouette import silhouette
from kb.publish.draft import draft_words
from kb.publish.edition import Edition, FormatEdition
from kb.publish.templates import page
from kb.publish.terms import terms_for
from kb.publish.typeset import unit_sign
from kb.report.route import shown
from kb.route.stations import Route
from kb.sheet.register import known_sheets

PX_PER_MM = 0.5
"""One scale for all silhouettes, so that a tall can looks tall."""


def book_script(edition: Edition) -> str:
    """The lookup data as a script; a page opened from disk cannot fetch."""
    plant = edition.book.plant
    formats = [{**row(one), "compare": _compared(one)} for one in edition.formats.values()]
    data = {
        "title": plant.title if plant else "",
        "built": edition.day.isoformat(),
        "formats": formats,
        "terms": terms_for(entry[1] for one in formats for entry in one["compare"]),
        "sheets": known_sheets(edition.book, edition.day),
        **({} if edition.draft is None else {"draft": draft_words(edition.draft)}),
    }
    return f"window.sizebook = {json.dumps(data, ensure_ascii=True, separators=(',', ':'))};\n"


def formats_table(edition: Edition) -> str:
    """The index of formats."""
    return page("formats.html", title="Formats", formats=[row(one) for one in edition.formats.values()])


def row(one: FormatEdition) -> dict[str, Any]:
    """A format in one row; sizes its route could not tell are empty."""
    record, route = one.record, one.routed.route if one.routed else None
    outside = float(record.ironing.rings[-1].bore)
    return {
        "id": record.id,
        "title": record.title,
        "status": record.status,
        "contents": round(float(record.fill.contents) / 1000),
        "diameter": number(outside),
        "height": one.spec.quantities["flange.finished_height"].written[1],
        "end": record.end,
        "gauge": one.spec.quantities["stock.gauge"].written[1],
        "mass": number(float(route.flanged.mass)) if route else "",
        "lines": list(record.lines),
        "walls": f"{record.targets.thin_wall} / {record.targets.thick_wall}",
        "silhouette": _silhouette(route) if route else None,
        "href": f"formats/{record.id}.html",
    }


def _silhouette(route: Route) -> dict[str, Any]:
    shape = silhouette(route, px_per_mm=PX_PER_MM)
    return {"d": shape.path, "w": shape.width, "h": shape.height}


def _compared(one: FormatEdition) -> list[list[Any]]:
    """Group, words, text, number and unit of what two formats are compared by."""
    if one.routed is None:
        return []
    return [
        [
            part.title,
            entry.words,
            number(shown(entry, entry.spread.nominal)),
            _plain(entry),
            unit_sign(entry.show),
        ]
        for part in one.routed.told.sections
        for entry in part.rows
        if entry.key
    ]


def _plain(entry: Any) -> float:
    return round(in_reader_unit(entry.spread.nominal, unit=entry.unit, show=entry.show), 6)
