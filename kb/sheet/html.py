"""The page: a sheet as HTML, for the tablet and for the browser's printer.

A fragment carries no style of its own; site/sheet/sheet.css dresses it for screen and paper. In print a
frame of one table repeats the identity strip and the code on every page, in every browser; the number of the
page stands in the margin where the browser can count pages.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from functools import cache
from html import escape
from itertools import groupby
from typing import Any, TypeAlias

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from kb.folders import shipped
from kb.sheet import words
from kb.sheet.fonts import fonts_for
from kb.sheet.hazards import always, own
from kb.sheet.lines import lines_of, places_of, short_of
from kb.sheet.model import MISSING, CautionNote, CodeList, Sheet
from kb.sheet.pdf import Paper, qr_svg

Part: TypeAlias = Callable[..., Markup]
"""Puts a piece into a page: its arguments are all that the piece shows, `caller` renders it."""


def whole(*_shown: object, caller: Callable[[], Markup]) -> Markup:
    """A piece as it is, in a page that needs no other file."""
    return caller()


_TIGHTER: dict[Paper, str] = {
    "letter": "@media print { .sheet { line-height: 1; }"
    " .sheet .values :is(th, td) { padding-bottom: 0.2mm; padding-top: 0.2mm; }"
    " .sheet section { margin-top: 1.2mm; } .sheet .ruled { height: 6mm; }"
    " .sheet .plans td { line-height: 0.97; padding-bottom: 0.3mm; } }\n"
}
"""What a paper shorter than A4 needs to hold as much."""


def sheet_page(sheet: Sheet, paper: Paper = "a4", shared: str | None = None) -> str:
    """A setup sheet as a whole page.

    Args:
        sheet: the sheet
        paper: size of the paper it prints on
        shared: see `whole_page`

    Returns:
        The page.
    """
    one = sheet.content.identity
    return whole_page(f"{one.title}, {one.line}, {words.SETUP}", sheet_fragment(sheet), paper, shared=shared)


def codes_page(codes: CodeList, paper: Paper = "a4", shared: str | None = None) -> str:
    """The list of current codes as a whole page.

    Args:
        codes: the list
        paper: size of the paper it prints on
        shared: see `whole_page`

    Returns:
        The page.
    """
    title = f"{words.CODES}, {codes.line_title}"
    return whole_page(title, codes_fragment(codes), paper, shared=shared)


def sheet_fragment(sheet: Sheet) -> str:
    """A setup sheet as a piece of a page.

    Args:
        sheet: the sheet

    Returns:
        One `article`; every text of the book stands in it as text.
    """
    said = sheet.content
    machines = [(block, lines_of(block)) for block in said.machines]
    limited = [one.value for _, lines in machines for one in (*lines.tools, *lines.settings)]
    return filled(
        "sheet.html.jinja",
        s=sheet,
        qr=Markup(qr_svg(sheet.qr)),
        number_of={name: i for i, name in enumerate((one for one in words.HEADS if one != "makes"), start=1)},
        machines=machines,
        machine_places=places_of(limited),
        check_places=places_of(one.value for one in said.first_offs if one.value is not None),
        always=always(one for block in said.machines for one in block.cautions),
    )


def codes_fragment(codes: CodeList) -> str:
    """The list of codes in force on a line, as a piece of a page.

    Args:
        codes: the list

    Returns:
        One `article`.
    """
    return filled("codes.html.jinja", codes=codes)


def style(name: str = "sheet.css") -> str:
    """A style sheet of fragments, for screen and paper.

    Args:
        name: file in site/sheet; `sheet.css` serves all fragments
    """
    return (shipped("site") / "sheet" / name).read_text(encoding="utf-8")


def whole_page(
    title: str,
    fragment: str,
    paper: Paper,
    *,
    beside: Sequence[str] = (),
    sizes: str = "",
    shared: str | None = None,
    scripts: Sequence[str] = (),
) -> str:
    """A page around a fragment, with its style.

    Args:
        title: what the browser's tab says
        fragment: markup from `filled`
        paper: size of the paper it prints on
        beside: style sheets in site/sheet that the fragment needs beside `sheet.css`
        sizes: rules for other pages than `sheet`
        shared: address of the folder with `fonts.css` and the style sheets, for pages that share them;
            without it the page carries fonts and styles itself and needs no other file
        scripts: addresses of the scripts that fill in the pieces which the page shares with others; until
            they have done so, the page says that it is not complete

    Returns:
        The page.
    """
    names = ("sheet.css", *beside)
    rules = f"@page sheet {{ size: {paper}; }}\n{_TIGHTER.get(paper, '')}{sizes}"
    if shared is None:
        links = ""
        rules = fonts_for(title + fragment) + "".join(map(style, names)) + rules
    else:
        links = "".join(
            f'<link rel="stylesheet" href="{escape(shared)}/{name}">\n' for name in ("fonts.css", *names)
        )
    first = f'<p class="incomplete" role="alert">{escape(words.INCOMPLETE)}</p>\n' if scripts else ""
    last = "".join(f'<script src="{escape(name)}"></script>\n' for name in scripts)
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(title)}</title>\n{links}<style>\n{rules}</style>\n"
        f'</head>\n<body class="sheet-page">\n<main>\n{first}{fragment}</main>\n{last}</body>\n</html>\n'
    )


def filled(template: str, **values: Any) -> str:
    """A template of site/sheet filled; every text is data and comes out as text.

    Args:
        template: name of the file
        values: what it shows, beside the fixed words, which it has as `w`

    Returns:
        The markup.
    """
    body = _environment().get_template(template).render(values)
    return re.sub(r"\n\s*", "\n", body).strip() + "\n"


def _by_end(cautions: Iterable[CautionNote]) -> list[tuple[tuple[str, str], list[CautionNote]]]:
    """Cautions that are avoided alike, together, in the order in which each avoidance comes first."""
    listed = list(cautions)
    ends = [(one.signal, one.avoid) for one in listed]
    order = sorted(range(len(listed)), key=lambda i: ends.index(ends[i]))
    return [(end, [listed[i] for i in group]) for end, group in groupby(order, key=lambda i: ends[i])]


@cache
def _environment() -> Environment:
    made = Environment(
        loader=FileSystemLoader(shipped("site") / "sheet"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals.update(
        w=words, MISSING=MISSING, places_of=places_of, short_of=short_of, own_part=own, by_end=_by_end
    )
    return made
