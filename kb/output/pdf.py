"""Documents as PDF, set by typst.

A document reaches the template in site/sheet as data, never as markup, so no text of a book is an
instruction. Same input, same bytes: the file has no time of its own.
"""

from __future__ import annotations

import base64
import json
import re
from collections.abc import Mapping
from functools import cache
from typing import Any

import typst

from kb.blocks import MISSING, Paper, PrintedDocument
from kb.cache import cache_folder, digest, keep_entry, made_by, read_entry
from kb.folders import shipped
from kb.output.html import as_data
from kb.workers import begins_threads

_FOLDER = shipped("site") / "sheet"

SCALES = (1.0, 0.91, 0.83, 0.79, 0.75, 0.71, 0.67, 0.62)
"""How much smaller letters may be for documents that must keep to their sides; none is below 8 pt."""


_fitted: dict[str, int] = {}
"""The place in `SCALES` of the last document of each kind that had to fit: most of a kind are alike."""


def pdf(*documents: PrintedDocument, paper: Paper = "a4") -> bytes:
    """Documents as one PDF, each on pages of its own; kept in the user's cache folder.

    The letters are as large as `sides` of the documents allow.

    Args:
        documents: one or more
        paper: size of the paper; a pack card is half of it
    """
    printed = {"documents": [as_data(one) for one in documents], "missing": MISSING, "paper": paper}
    folder, name = cache_folder("pdf"), digest([*_program(), printed])
    kept = read_entry(folder, name)
    if isinstance(kept, str):
        return base64.b85decode(kept)
    made = _fit(printed, sum(one.sides for one in documents), documents[0].kind)
    keep_entry(folder, name, base64.b85encode(made).decode("ascii"))
    return made


def _fit(printed: Mapping[str, Any], sides: int, kind: str) -> bytes:
    """Documents at the largest scale that keeps to their sides; without sides, at full size."""
    if not sides:
        return _set({**printed, "scale": SCALES[0]})
    made: dict[int, bytes] = {}

    def fits(at: int) -> bool:
        if at not in made:
            made[at] = _set({**printed, "scale": SCALES[at]})
        return pages_in(made[at]) <= sides

    at = _fitted.get(kind, 0)
    while at > 0 and fits(at) and fits(at - 1):
        at -= 1
    while at < len(SCALES) - 1 and not fits(at):
        at += 1
    fits(at)
    _fitted[kind] = at
    return made[at]


@cache
def _program() -> list[str]:
    """Versions of what sets a document, with a digest of the template."""
    return made_by([_FOLDER / "document.typ"], ("typst", "sizebook"))


def pages_in(made: bytes) -> int:
    """How many pages a PDF of ours has."""
    (count,) = re.findall(rb"/Type/Pages/Count (\d+)", made)
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
    begins_threads("typst")
    return typst.Compiler(_FOLDER / "document.typ", root=_FOLDER, ignore_system_fonts=True)
