"""Documents as PDF, set by typst.

A document reaches the template in site/sheet as data, never as markup, so no text of a book is an
instruction. Same input, same bytes: the file has no time of its own.
"""

from __future__ import annotations

import json
from functools import cache

import typst

from kb.blocks import MISSING, Paper, PrintedDocument
from kb.folders import shipped
from kb.output.html import as_data


def pdf(*documents: PrintedDocument, paper: Paper = "a4") -> bytes:
    """Documents as one PDF, each on pages of its own."""
    printed = {"documents": [as_data(one) for one in documents], "missing": MISSING, "paper": paper}
    data = json.dumps(printed, ensure_ascii=False)
    made = _compiler().compile(format="pdf", sys_inputs={"data": data}, pdf_tags=False)
    if not isinstance(made, bytes):
        raise TypeError("typst gave no document")  # one document is compiled
    return made


@cache
def _compiler() -> typst.Compiler:
    """One compiler for all: fonts are loaded once, and only the ones that come with it."""
    folder = shipped("site") / "sheet"
    return typst.Compiler(folder / "document.typ", root=folder, ignore_system_fonts=True)
