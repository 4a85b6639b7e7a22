"""The paper: a sheet, or the list of codes, as PDF.

typst sets the page from the template in site/sheet. The sheet reaches it as data, never as markup, so no
text of a book can be taken for an instruction. Same input, same bytes: the file carries no time of its own.
"""

from __future__ import annotations

import io
import json
from collections.abc import Mapping
from dataclasses import asdict
from functools import cache
from typing import Any, Literal, TypeAlias

import segno
import typst

from kb.folders import shipped
from kb.sheet import words
from kb.sheet.hazards import always
from kb.sheet.lines import lines_of
from kb.sheet.model import MISSING, CodeList, Sheet

Paper: TypeAlias = Literal["a4", "letter"]

_WORDS = {
    name.lower(): value for name, value in vars(words).items() if name.isupper() and not name.startswith("_")
} | {"missing": MISSING}


def sheet_pdf(sheet: Sheet, paper: Paper = "a4") -> bytes:
    """A setup sheet as PDF.

    Args:
        sheet: the sheet
        paper: size of the paper

    Returns:
        The file's bytes.
    """
    warned = [one for block in sheet.content.machines for one in block.cautions]
    told = {
        "sheet": asdict(sheet) | {"dates": sheet.dates},
        "lines": [asdict(lines_of(block)) for block in sheet.content.machines],
        "always": always(warned),
        "qr": qr_svg(sheet.qr),
    }
    return typeset("sheet.typ", told, paper)


def codes_pdf(codes: CodeList, paper: Paper = "a4") -> bytes:
    """The list of codes in force as PDF.

    Args:
        codes: the list
        paper: size of the paper

    Returns:
        The file's bytes.
    """
    return typeset("codes.typ", {"codes": asdict(codes)}, paper)


def qr_svg(text: str) -> str:
    """A square code as a drawing, dark on a transparent ground."""
    drawn = io.BytesIO()
    segno.make(text, error="m", micro=False).save(
        drawn, kind="svg", xmldecl=False, svgns=True, border=2, omitsize=True
    )
    return drawn.getvalue().decode("ascii").strip()


def typeset(template: str, data: Mapping[str, Any], paper: Paper) -> bytes:
    """A template of site/sheet set on paper.

    Args:
        template: name of the file
        data: what it shows; the template reads it as `data`, beside the fixed words
        paper: size of the paper

    Returns:
        The file's bytes.
    """
    told = json.dumps({**data, "words": _WORDS, "paper": paper}, ensure_ascii=False)
    made = _compiler(template).compile(format="pdf", sys_inputs={"data": told}, pdf_tags=False)
    if not isinstance(made, bytes):
        raise TypeError("typst gave no document")  # one document is asked for
    return made


@cache
def _compiler(template: str) -> typst.Compiler:
    """One compiler a template: fonts are loaded once, and only the ones that come with it."""
    folder = shipped("site") / "sheet"
    return typst.Compiler(folder / template, root=folder, ignore_system_fonts=True)
