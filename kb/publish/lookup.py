"""What the pages look up without a network: formats and sheet codes as a script, and the formats table."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from typing import Any

from kb.book.quantity import as_quantity
from kb.changeover.sheet_model import ChangeSheet
from kb.checks.by_station import row_figures
from kb.checks.words import in_reader_unit, number
from kb.drawing.body import silhouette
from kb.publish.changeovers import Plans, addresses
from kb.publish.edition import Edition, FormatEdition
from kb.publish.page import draft_words, page
from kb.publish.sheet_pages import sheet_file
from kb.publish.terms import terms_for
from kb.publish.words import unit_sign
from kb.route.stations import Route
from kb.sheet.issue import plans_code
from kb.sheet.labels import labels
from kb.sheet.model import DRAFT, NOT_FOR_USE, Sheet
from kb.sheet.register import known_sheets

PX_PER_MM = 0.5
"""One scale for all silhouettes, so that a tall can looks tall."""


_STATES = {"": "unrecorded", NOT_FOR_USE: "unfit", DRAFT: "draft", "TRIAL": "trial"}
"""What the code of a sheet outside the register is, by the mark of the sheet."""


def book_script(edition: Edition, setups: Sequence[Sheet], plans: Plans) -> str:
    """The lookup data as a script; a page opened from disk cannot fetch.

    Args:
        edition: the edition
        setups: its setup sheets
        plans: its plans of changeovers
    """
    plant, at = edition.book.plant, addresses(plans)
    compared = {one.record.id: _compared(one) for one in edition.formats.values()}
    rows = list(dict.fromkeys(one for found in compared.values() for one in found))
    at_row = {one: i for i, one in enumerate(rows)}
    formats = [
        {**row(one), "compare": [[at_row[name], *cell] for name, cell in compared[one.record.id].items()]}
        for one in edition.formats.values()
    ]
    data = {
        "title": plant.title if plant else "",
        "built": edition.day.isoformat(),
        "formats": formats,
        "rows": rows,
        "terms": terms_for(words for _, words, _ in rows),
        "sheets": [
            *_setup_codes(edition, setups),
            *_plans_codes(setups),
            *(
                _change_code(sheet, at[pair.crew, pair.anchor])
                for line in plans.values()
                for plan in line
                for pair, sheet in zip(plan.pairs, plan.sheets, strict=True)
            ),
        ],
        **({} if edition.draft is None else {"draft": draft_words(edition.draft)}),
    }
    return f"window.sizebook = {json.dumps(data, ensure_ascii=True, separators=(',', ':'))};\n"


def _setup_codes(edition: Edition, setups: Sequence[Sheet]) -> Iterator[dict[str, Any]]:
    """Every issue in the register, then the sheets of this edition that are not in it."""
    made = {one.digest: one for one in setups}
    known = known_sheets(edition.book, edition.day)
    for issue in known:
        sheet = made.get(issue["digest"])
        unfit = sheet is not None and sheet.mark == NOT_FOR_USE
        yield {**issue, "kind": "setup", "why": list(sheet.unfit) if sheet and unfit else []}
    for digest in sorted(made.keys() - {one["digest"] for one in known}):
        sheet = made[digest]
        one = sheet.content.identity
        yield {
            "kind": "setup",
            "sheet": one.title,
            "format": one.format,
            "line": one.line,
            "revision": one.revision,
            "code": sheet.code,
            "digest": digest,
            "state": _STATES.get(sheet.mark, "unrecorded"),
            "since": one.effective,
            "changed": [],
            "href": f"sheets/{sheet_file(sheet)}",
            "why": list(sheet.unfit),
        }


def _plans_codes(setups: Sequence[Sheet]) -> Iterator[dict[str, Any]]:
    """The code of each page of reaction plans, with those of the setup sheets that name it."""
    naming: dict[str, list[Sheet]] = {}
    for sheet in setups:
        naming.setdefault(plans_code(sheet.content), []).append(sheet)
    for code, sheets in naming.items():
        yield {
            "kind": "plans",
            "sheet": labels("setup").papers["plans"],
            "code": code,
            "state": "current",
            "setups": [sheet.code for sheet in sheets],
            "href": f"sheets/{sheet_file(sheets[0]).removesuffix('.html')}.plans.html",
        }


def _change_code(sheet: ChangeSheet, href: str) -> dict[str, Any]:
    """A changeover sheet, which its job cards share the code of."""
    one = sheet.content.header
    return {
        "kind": "changeover",
        "sheet": f"{one.old.title} to {one.new.title}",
        "format": f"{one.old.id} to {one.new.id}",
        "line": one.line,
        "crew": one.crew_title,
        "code": sheet.code,
        "digest": sheet.digest,
        "state": _STATES.get(sheet.mark, "early") if sheet.mark else "current",
        "since": max(one.old.effective, one.new.effective),
        "setups": [one.old.code, one.new.code],
        "href": f"changeovers/{href}",
        "why": list(sheet.unfit),
    }


def formats_table(edition: Edition) -> str:
    """The index of formats."""
    return page("formats.md", title="Formats", formats=[row(one) for one in edition.formats.values()])


def row(one: FormatEdition) -> dict[str, Any]:
    """A format in one row; sizes that its route could not calculate are empty."""
    record, route = one.record, one.routed.route if one.routed else None
    outside = float(record.ironing.rings[-1].bore)
    return {
        "id": record.id,
        "title": record.title,
        "status": record.status,
        "contents": round(float(record.fill.contents) / 1000),
        "diameter": number(outside),
        "height": as_quantity(record.flange.finished_height).written[1],
        "end": record.end,
        "gauge": as_quantity(record.stock.gauge).written[1],
        "mass": number(float(route.flanged.mass)) if route else "",
        "lines": list(record.lines),
        "walls": f"{record.targets.thin_wall} / {record.targets.thick_wall}",
        "silhouette": _silhouette(route) if route else None,
        "href": f"formats/{record.id}.html",
    }


def _silhouette(route: Route) -> dict[str, Any]:
    shape = silhouette(route, px_per_mm=PX_PER_MM)
    return {"d": shape.path, "w": shape.width, "h": shape.height}


def _compared(one: FormatEdition) -> dict[tuple[str, str, str], tuple[str, float]]:
    """What two formats are compared by: text and number of each group, words and unit."""
    if one.routed is None:
        return {}
    return {
        (part.title, entry.words, unit_sign(entry.show)): (row_figures(entry)[0], _plain(entry))
        for part in one.routed.report.sections
        for entry in part.rows
        if entry.key
    }


def _plain(entry: Any) -> float:
    return round(in_reader_unit(entry.spread.nominal, unit=entry.unit, show=entry.show), 6)
