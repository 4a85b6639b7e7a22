"""What the search finds: pages and their parts, by names and words, as data for a script.

`site/theme/assets/js/find.js` reads it. The order of `KINDS` is the order of the results of equal match.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from kb.checks.by_station import row_figures
from kb.checks.catalog import RULES
from kb.folders import shipped
from kb.publish import fields
from kb.publish.book_pages import KIND_FOLDERS
from kb.publish.edition import FormatEdition
from kb.publish.fields import declared
from kb.publish.page import Context, every_pages
from kb.publish.sheet_pages import sheet_file
from kb.publish.terms import knowledge, written
from kb.publish.words import unit_sign
from kb.route.settings import SETTINGS
from kb.sheet.issue import plans_code
from kb.sheet.labels import labels
from kb.sheet.model import Sheet
from kb.sheet.papers import setup_papers
from kb.sheet.register import known_sheets

KINDS = (
    "Setup sheet",
    "Changeover",
    "Fault",
    "Format",
    "Page",
    "Line",
    "Glossary",
    "Learn",
    "End",
    "Material",
    "Body standard",
    "Check",
    "Setting",
    "Key",
)


PAGE_NAMES = {
    "sheets/index.html": (
        "is my sheet current",
        "sheet code",
        "check a sheet code",
        "setup sheets",
        "old sheet",
    ),
    "changeovers/index.html": ("plan a changeover", "what runs next", "size change"),
    "formats/index.html": ("can sizes", "all sizes", "list of formats", "compare formats"),
    "faults/index.html": ("fault guide", "defects", "problems", "troubleshooting"),
    "process/index.html": ("process", "step through the process", "stations"),
    "limits.html": ("limits and settings", "plant settings"),
    "changes.html": ("what changed", "history", "news"),
    "learn/index.html": ("learn", "learning path", "training", "new hire"),
}
"""What readers call the pages of the navigation."""


@dataclass(frozen=True, slots=True)
class Indexed:
    """One result.

    Attributes:
        kind: one of `KINDS`.
        title: the words of the result.
        href: from the site's top.
        names: other names: slang, ids, codes.
        rows: what it says, in short texts by the anchor of the part that they are in.
    """

    kind: str
    title: str
    href: str
    names: tuple[str, ...] = ()
    rows: dict[str, list[str]] = field(default_factory=dict)


def search_script(entries: Iterable[Indexed]) -> str:
    """Entries as a script, with the slang of the glossary; each text is in it once."""
    texts: dict[str, int] = {}
    packed = []
    for one in entries:
        rows: list[int | str] = []
        for anchor, lines in one.rows.items():
            rows += [anchor, *(texts.setdefault(line, len(texts)) for line in dict.fromkeys(lines) if line)]
        packed.append([KINDS.index(one.kind), one.title, one.href, list(one.names), rows])
    slang = {name: one["term"] for one in knowledge("glossary") for name in one["also_called"]}
    data = {"kinds": KINDS, "texts": list(texts), "entries": packed, "slang": slang}
    return f"window.sizebookSearch = {json.dumps(data, ensure_ascii=False, separators=(',', ':'))};\n"


def search_entries(context: Context) -> Iterator[Indexed]:
    """Everything that the search can find, in the order of results of equal match."""
    for sheet in context.setups:
        yield _setup_sheet(sheet)
        yield from _papers(sheet)
    yield from _other_codes(context)
    yield from _changeovers(context)
    for fault in knowledge("faults"):
        yield _fault(fault)
    for one in context.edition.formats.values():
        yield _format(one)
        if one.routed is not None:
            title, href = one.record.title, f"process/{one.record.id}.html"
            yield Indexed("Page", f"Process: {title}", href, (f"process walk {one.record.id}",))
    yield from _reference(context)
    yield from _written_pages()
    for pages in every_pages():
        href = pages.path.replace(".md", ".html")
        yield Indexed("Page", pages.title, href, PAGE_NAMES.get(href, ()))
    for line in context.edition.book.of("line"):
        names = (f"posted list {line}", f"list of current codes {line}")
        yield Indexed("Page", f"Sheet codes, {line}", f"sheets/codes-{line}.html", names)


# --- sheets and changeovers -------------------------------------------------------------------


def _setup_sheet(sheet: Sheet) -> Indexed:
    said, its = sheet.content, sheet.content.identity
    machines = [
        f"{machine.title}: {words}"
        for machine in said.machines
        for words in (
            *(f"{part.name} {part.size.text}" for part in machine.parts),
            *(f"{parts.name} {', '.join(size.text for size in parts.sizes)}" for parts in machine.sets),
            *(f"{setting.name} {setting.value.text}, {setting.where}" for setting in machine.settings),
        )
    ]
    rows = {
        "sheet-pack": [f"{part.name} {part.size.text}" for part in said.pack],
        "sheet-machines": machines,
        "sheet-gauges": [
            f"{gauge.name}: {gauge.type}, resolution {gauge.resolution}" for gauge in said.gauges
        ],
        "sheet-first_offs": [
            f"First-off: {check.name} {check.value.text if check.value else check.accept}, {check.gauge}"
            for check in said.first_offs
        ],
        "sheet-material": [
            f"{fact.name} {fact.cell.text if fact.cell else fact.words}" for fact in said.material
        ],
        "sheet-out_of_limits": [f"Reaction plan: {plan.title}" for plan in said.reactions],
    }
    return Indexed(
        "Setup sheet",
        f"Setup sheet: {its.title}, {its.line}",
        f"sheets/{sheet_file(sheet)}",
        (f"setup sheet {its.format} {its.line}", its.format, its.title, sheet.code),
        rows,
    )


def _papers(sheet: Sheet) -> Iterator[Indexed]:
    """The papers beside a setup sheet, by their own names."""
    its, page = sheet.content.identity, sheet_file(sheet).removesuffix(".html")
    for kind, name in labels("setup").papers.items():
        if setup_papers(sheet, kind):
            title, names = f"{name}: {its.title}, {its.line}", [f"{name} {its.format} {its.line}"]
            if kind == "plans":
                names.append(plans_code(sheet.content))
            yield Indexed("Setup sheet", title, f"sheets/{page}.{kind}.html", tuple(names))


def _other_codes(context: Context) -> Iterator[Indexed]:
    """Every recorded code of which the site has no sheet, with its state."""
    printed = {sheet.code for sheet in context.setups}
    for one in known_sheets(context.edition.book, context.edition.day):
        if one["code"] not in printed:
            title = f"Code {one['code']}: {one['state']}, {one['sheet']}, {one['line']}"
            yield Indexed("Setup sheet", title, "sheets/index.html", (one["code"],))


def _changeovers(context: Context) -> Iterator[Indexed]:
    """One entry for each pair of formats of a line, with the codes of all crews; it opens the first crew."""
    codes: dict[tuple[str, str], list[str]] = {}
    for line in context.plans.values():
        for plan in line:
            for pair, sheet in zip(plan.pairs, plan.sheets, strict=True):
                codes.setdefault((sheet.content.header.line, pair.anchor), []).append(sheet.code)
    for line_id, made in context.edition.changes.items():
        line_title = context.edition.book.of("line")[line_id].record.title
        matrix = f"changeovers/{line_id}.html"
        yield Indexed("Changeover", f"Changeovers: {line_title}", matrix, (f"changeover matrix {line_id}",))
        for week in made.weeks:
            title = f"Week: {week}"
            yield Indexed("Changeover", title, f"changeovers/week-{week}.html", (f"week order runs {week}",))
        first = made.crews[0].id if made.crews else ""
        for pair in made.pairs.get(first, {}).values() if made.paged else ():
            old, new = pair.difference.old, pair.difference.new
            titles = [context.edition.formats[one].record.title for one in (old, new)]
            names = (f"changeover {old} to {new} {line_id}", f"{old} {new}")
            yield Indexed(
                "Changeover",
                f"Changeover: {titles[0]} → {titles[1]}, {line_id}",
                f"changeovers/index.html#{first},{old},{new}",
                (*names, *codes.get((line_id, pair.anchor), ())),
                {"": [pair.difference.title]},
            )


# --- faults, formats, reference ---------------------------------------------------------------


def _fault(one: dict[str, Any]) -> Indexed:
    stations = {station["id"]: station["title"] for station in written("faults")["stations"]}
    rows = {
        "": [one["look"], one["where"], one.get("pattern", ""), stations[one["station"]]],
        "causes": [cause["text"] for cause in one["causes"]],
        "steps": one["steps"],
    }
    return Indexed("Fault", one["title"], f"faults/{one['id']}.html", tuple(one["also_called"]), rows)


def _format(one: FormatEdition) -> Indexed:
    said = [f"{row['title']} {row['text']}" for row in declared(one.spec, "")]
    sections = one.routed.report.sections if one.routed else ()
    results = [
        f"{row.said} {row_figures(row)[0]} {unit_sign(row.show)}"
        for part in sections
        for row in part.rows
        if row.key
    ]
    record = one.record
    names = (record.id, f"format {record.id}", f"{record.title} format, {record.end}")
    return Indexed("Format", record.title, f"formats/{record.id}.html", names, {"": said + results})


def _reference(context: Context) -> Iterator[Indexed]:
    book = context.edition.book
    for term in knowledge("glossary"):
        href = f"glossary.html#{term['id']}"
        yield Indexed("Glossary", term["term"], href, tuple(term["also_called"]), {"": [term["meaning"]]})
    for kind, folder in KIND_FOLDERS.items():
        for spec in book.of(kind).values():
            rows = {"": [f"{row['title']} {row['text']}" for row in declared(spec, "")]}
            words = kind.replace("-", " ")
            names = (spec.id, f"{words} {spec.id}")
            yield Indexed(words.capitalize(), spec.record.title, f"{folder}/{spec.id}.html", names, rows)
    for rule in RULES.values():
        why = {"": [rule.sections.get("Why", ""), rule.sections.get("To fix", "")]}
        yield Indexed("Check", f"{rule.name}: {rule.title}", f"checks/{rule.name}.html", (rule.name,), why)
    for name in book.limits.settings if book.limits else ():
        rows = {"": [SETTINGS[name][1]]} if name in SETTINGS else {}
        yield Indexed("Setting", name, f"limits.html#{name}", (f"setting {name}",), rows)
    of_format = {entry.key for entry in fields.entries("size-format")}
    for kind in fields.kinds():
        for entry in fields.entries(kind):
            if kind == "body-standard" and entry.key in of_format:
                continue  # a standard has the keys of a format; the format's page explains them
            title, name = f"{entry.key}: {entry.title}", entry.key.replace("[]", "")
            href = f"keys/{kind}.html#{fields.anchor(entry.key)}"
            yield Indexed("Key", title, href, (name,), {"": [entry.meaning]})


def _written_pages() -> Iterator[Indexed]:
    """The pages of `site/docs`: title, headings and paragraphs, without placeholders."""
    docs = shipped("site") / "docs"
    for path in sorted(docs.rglob("*.md")):
        kind = "Learn" if path.parent.name == "learn" else "Page"
        yield _written_page(kind, path, path.relative_to(docs).with_suffix(".html").as_posix())


def _written_page(kind: str, path: Path, href: str) -> Indexed:
    page = re.sub(r"\A---.*?\n---\s*", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)
    plain = re.sub(r"```.*?```|<[^>]*>|\{\{[^}]*\}\}|\]\([^)]*\)", " ", page, flags=re.DOTALL)
    heading, *parts = re.split(r"\n\s*\n|\n(?=[|>-]|\d+\. )", plain)
    rows = [" ".join(re.sub(r"[|>#*`\[]|-{3,}", " ", part).split()) for part in parts]
    return Indexed(kind, heading.strip("# \n"), href, PAGE_NAMES.get(href, ()), {"": rows})
