"""Documents as PDF, set by typst.

A document reaches the template in site/sheet as data, never as markup, so no text of a book is an
instruction. Same input, same bytes: the file has no time of its own.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from functools import cache
from typing import Any

import typst

from kb.blocks import MISSING, Paper, PrintedDocument
from kb.folders import shipped
from kb.output.html import as_data

SCALES = (1.0, 0.91, 0.83, 0.79, 0.75, 0.71, 0.67, 0.62)
"""How much smaller letters may be for documents that must keep to their sides; none is below 8 pt."""


def pdf(*documents: PrintedDocument, paper: Paper = "a4") -> bytes:
    """Documents as one PDF, each on pages of its own.

    The letters are as large as `sides` of the documents allow.

    Args:
        documents: one or more
        paper: size of the paper; a pack card is half of it
    """
    sides = sum(one.sides for one in documents)
    printed = {"documents": [as_data(one) for one in documents], "missing": MISSING, "paper": paper}
    made, count = b"", 0
    for scale in SCALES:
        # what fills more than `count - 1` pages needs letters smaller by at least this
        if count > sides + 1 and scale**2 > sides / (count - 1):
            continue
        made = _set({**printed, "scale": scale})
        count = pages_in(made)
        if not sides or count <= sides:
            break
    return made


def pages_in(made: bytes) -> int:
    """How many pages a PDF of ours has."""
    (count,) = re.findall(rb"/Count (\d+)", made)
    return int(count)


def _set(printed: Mapping[str, Any]) -> bytes:
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
