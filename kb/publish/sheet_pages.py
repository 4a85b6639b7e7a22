"""The setup sheets in the site: today's codes by line, the look-up, and a page for each sheet."""

from __future__ import annotations

import datetime
from collections.abc import Container, Iterable, Iterator, Sequence
from typing import Any

from kb.blocks import PrintedDocument
from kb.history.log import BookLog
from kb.output import html
from kb.output.html import LICENCES, font_style, licence
from kb.output.svg import drawing_style
from kb.publish.edition import Edition
from kb.publish.page import Context, Pages, Rendered, draft_mark, draft_words, page, templates
from kb.sheet.content import content
from kb.sheet.documents import codes_document, setup_document
from kb.sheet.issue import code_list, issue
from kb.sheet.labels import labels
from kb.sheet.last_recorded_sheet import with_changes
from kb.sheet.model import DRAFT, Sheet
from kb.sheet.papers import setup_papers

ALL_SHEETS = (("index.html", "Setup sheets"),)

SHEET_ITSELF = ""
"""End of the name of a setup sheet's file; the papers beside it have others."""

SHARED = "../assets/sheet"
"""Folder of the styles that all sheets share, from a page that is one folder deep."""


def setup_sheets(edition: Edition) -> list[Sheet]:
    """The setup sheet of every format on each of its lines."""
    book, made = edition.book, datetime.datetime.combine(edition.day, datetime.time())
    return [
        _with_changes(
            issue(
                content(book, ident, line),
                book,
                made=made,
                problems=edition.formats[ident].errors,
                draft=edition.draft,
            ),
            edition,
        )
        for ident, line in printed(edition)
    ]


def _with_changes(sheet: Sheet, edition: Edition) -> Sheet:
    """A sheet with what changed since the one before; git is not read for a site without its history."""
    return sheet if edition.past == BookLog() else with_changes(sheet, edition.book, edition.past)


def sheet_pages(context: Context) -> Rendered:
    """Every page about sheets by its path; a sheet is a whole page of its own, made to be printed."""
    edition, sheets = context.edition, context.setups
    book, made = edition.book, datetime.datetime.combine(edition.day, datetime.time())
    failing = [ident for ident, one in edition.formats.items() if one.errors]
    yield "sheets/index.md", _index(edition, sheets)
    for line in book.of("line"):
        codes = code_list(book, line, made=made, failing=failing, draft=edition.draft)
        yield f"sheets/codes-{line}.html", document_page(edition, codes_document(codes), links=ALL_SHEETS)
    for sheet in sheets:
        name = sheet_file(sheet).removesuffix(".html")
        kinds = dict(_documents(sheet))
        pdf = kinds if edition.pdf else (SHEET_ITSELF,)
        yield from papers(edition, f"sheets/{name}", kinds.items(), _links(sheet), pdf=pdf)
    yield from shared_files()


def _documents(sheet: Sheet) -> Iterator[tuple[str, tuple[PrintedDocument, ...]]]:
    """A setup sheet and the papers beside it, each with the end of its file's name."""
    yield SHEET_ITSELF, (setup_document(sheet),)
    for kind in labels("setup").papers:
        documents = setup_papers(sheet, kind)
        if documents:
            yield f".{kind}", documents


def _links(sheet: Sheet) -> tuple[tuple[str, str], ...]:
    me = sheet.content.identity
    return *ALL_SHEETS, (f"../formats/{me.format}.html", "Format"), (f"../lines/{me.line}.html", "Line")


def papers(
    edition: Edition,
    path: str,
    kinds: Iterable[tuple[str, tuple[PrintedDocument, ...]]],
    back: tuple[tuple[str, str], ...],
    *,
    pdf: Container[str],
    **more: Any,
) -> Rendered:
    """Papers as pages that link to each other and back, and as PDF.

    Args:
        edition: the edition
        path: of the sheet's files, without ending
        kinds: end of the name and documents of each paper, the sheet first
        back: address and words of the pages that lead here
        pdf: ends of the names of those that are also a PDF
        more: see `kb.output.html.page`
    """
    made, name = list(kinds), path.rpartition("/")[2]
    beside = tuple((f"{name}{end}.html", documents[0].kind) for end, documents in made)
    for end, documents in made:
        others = tuple(one for one in beside if one[0] != f"{name}{end}.html")
        file = ((f"{name}{end}.pdf", "PDF"),) if end in pdf else ()
        yield f"{path}{end}.html", document_page(edition, *documents, links=(*back, *file, *others), **more)
        if end in pdf:
            from kb.output.pdf import pdf as as_pdf  # noqa: PLC0415  (an optional package)

            yield f"{path}{end}.pdf", as_pdf(*documents)


def document_page(
    edition: Edition, *documents: PrintedDocument, links: Sequence[tuple[str, str]] = (), **more: Any
) -> str:
    """Documents as a page of the site with links back to it, marked if it is a draft's.

    Args:
        edition: the edition
        documents: one or more
        links: address and words of each link besides that to the home page
        more: see `kb.output.html.page`
    """
    back = templates("theme/partials").get_template("back.html").render(links=links)
    if edition.draft is None:
        return html.page(*documents, shared=SHARED, mark=f"{back}\n", **more)
    words = draft_words(edition.draft)
    mark = draft_mark(words, across=documents[0].mark != DRAFT)
    return html.page(*documents, shared=SHARED, before=f"{words}: ", mark=f"{mark}\n{back}\n", **more)


def shared_files() -> Iterator[tuple[str, str]]:
    """Fonts with their licences, and the styles of sheets, by their path: once for all pages."""
    folder = SHARED.removeprefix("../")
    yield f"{folder}/fonts.css", font_style()
    for name in LICENCES:
        yield f"{folder}/{name}", licence(name)
    yield f"{folder}/sheet.css", html.style()
    yield f"{folder}/drawing.css", drawing_style()


def sheet_file(sheet: Sheet) -> str:
    """Name of a sheet's page."""
    one = sheet.content.identity
    return f"{one.format}-{one.line}.html"


def printed(edition: Edition) -> list[tuple[str, str]]:
    """Format and line of every sheet there is."""
    return [
        (one.record.id, line)
        for one in edition.formats.values()
        if one.routed is not None and one.record.status != "withdrawn"
        for line in one.record.lines
    ]


def _index(edition: Edition, sheets: Sequence[Sheet]) -> str:
    lines = [
        {
            "id": line.id,
            "title": line.record.title,
            "sheets": [
                {
                    "href": sheet_file(sheet),
                    "title": sheet.content.identity.title,
                    "status": sheet.content.identity.status,
                    "revision": sheet.content.identity.revision,
                    "code": sheet.code,
                    "note": sheet.mark or ("" if sheet.recorded else "not recorded"),
                }
                for sheet in sheets
                if sheet.content.identity.line == line.id
            ],
        }
        for line in edition.book.of("line").values()
    ]
    return page("sheets.md", title="Setup sheets", lines=lines)


PAGES = (Pages("Sheets", "sheets/index.md", sheet_pages),)
