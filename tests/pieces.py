"""Pages whose pieces are in a script file, put together as the script of the site does it."""

from __future__ import annotations

import re
from ast import literal_eval
from functools import lru_cache
from pathlib import Path

_PLACE = re.compile(r'<template data-part="(\w+)"></template>')
_SCRIPT = re.compile(r'<script src="([^"]+\.parts\.js)"')


def pieces(script: str) -> dict[str, str]:
    """The pieces of a script file by their names."""
    found: dict[str, str] = literal_eval(script.removeprefix("window.sizebookParts = ").rstrip(";\n"))
    return found


def whole(page: str, parts: dict[str, str]) -> str:
    """A page with its pieces put in."""
    while _PLACE.search(page):
        page = _PLACE.sub(lambda found: parts[found[1]], page)
    return page


@lru_cache(maxsize=4)
def _pieces_of(path: Path) -> dict[str, str]:
    return pieces(path.read_text(encoding="utf-8"))


def whole_file(path: Path) -> str:
    """A page of a site with the pieces that it names."""
    page = path.read_text(encoding="utf-8")
    script = _SCRIPT.search(page)
    return whole(page, _pieces_of(path.parent / script[1])) if script else page
