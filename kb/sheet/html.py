"""The page: a sheet as HTML, for the tablet and for the browser's printer.

A fragment carries no style of its own; site/sheet/sheet.css dresses it for screen and paper. In print a
frame of one table repeats the identity strip and the code on every page, in every browser.
"""

from __future__ import annotations

import re
from functools import cache
from html import escape
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from kb.folders import shipped
from kb.sheet import words
from kb.sheet.model import CodeList, Sheet
from kb.sheet.pdf import Paper, qr_svg


def sheet_page(sheet: Sheet, paper: Paper = "a4") -> str:
    """A setup sheet as a whole page that needs nothing beside it.

    Args:
        sheet: the sheet
        paper: size of the paper it prints on

    Returns:
        The page.
    """
    one = sheet.content.identity
    return _page(f"{one.title}, {one.line}, {words.SETUP}", sheet_fragment(sheet), paper)


def codes_page(codes: CodeList, paper: Paper = "a4") -> str:
    """The list of codes in force as a whole page.

    Args:
        codes: the list
        paper: size of the paper it prints on

    Returns:
        The page.
    """
    return _page(f"{words.CODES}, {codes.line_title}", codes_fragment(codes), paper)


def sheet_fragment(sheet: Sheet) -> str:
    """A setup sheet as a piece of a page.

    Args:
        sheet: the sheet

    Returns:
        One `article`; every text of the book stands in it as text.
    """
    numbers = {name: i for i, name in enumerate((one for one in words.HEADS if one != "makes"), start=1)}
    return _filled("sheet.html.jinja", s=sheet, qr=Markup(qr_svg(sheet.qr)), loop_of=numbers)


def codes_fragment(codes: CodeList) -> str:
    """The list of codes in force on a line, as a piece of a page.

    Args:
        codes: the list

    Returns:
        One `article`.
    """
    return _filled("codes.html.jinja", codes=codes)


def style() -> str:
    """The style sheet of all fragments, for screen and paper."""
    return (shipped("site") / "sheet" / "sheet.css").read_text(encoding="utf-8")


def _page(title: str, fragment: str, paper: Paper) -> str:
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(title)}</title>\n<style>\n{style()}@page sheet {{ size: {paper}; }}\n</style>\n"
        f'</head>\n<body class="sheet-page">\n{fragment}</body>\n</html>\n'
    )


def _filled(template: str, **values: Any) -> str:
    """A template filled; every text is data and comes out as text."""
    body = _environment().get_template(template).render(w=words, **values)
    return re.sub(r"\n\s*", "\n", body).strip() + "\n"


@cache
def _environment() -> Environment:
    return Environment(
        loader=FileSystemLoader(shipped("site") / "sheet"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
