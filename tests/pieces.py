"""Pages whose pieces are in a script file, put together as the script of the site does it."""

from __future__ import annotations

import json
import re
from functools import lru_cache
from pathlib import Path
from typing import Any

_PLACES = re.compile(r'<template data-parts="([\d ]+)"></template>')
_SCRIPT = re.compile(r'<script src="([^"]+\.parts\.js)"')


def read_script(script: str) -> dict[str, Any]:
    """What a script of pieces holds: `markup` and `parts`."""
    found: dict[str, Any] = json.loads(script.removeprefix("window.sizebookParts = ").rstrip(";\n"))
    return found


def pieces(script: str) -> list[str]:
    """The pieces of a script file by their numbers, each with those in it."""
    read = read_script(script)
    made: dict[int, str] = {}

    def piece(number: int) -> str:
        if number not in made:
            part = read["parts"][number]
            made[number] = part if isinstance(part, str) else with_holes(part)
        return made[number]

    def with_holes(part: list[Any]) -> str:
        first, *rest = read["markup"][part[0]].split("<>")
        holes = (piece(one) if isinstance(one, int) else one for one in part[1:])
        return first + "".join(hole + text for hole, text in zip(holes, rest, strict=True))

    return [piece(number) for number in range(len(read["parts"]))]


def asked_for(pages: list[str], script: str) -> set[int]:
    """The numbers of the pieces that pages, and pieces in a script, name."""
    named = {int(one) for page in pages for places in _PLACES.findall(page) for one in places.split()}
    parts = read_script(script)["parts"]
    return named | {
        one for part in parts if not isinstance(part, str) for one in part[1:] if isinstance(one, int)
    }


def whole(page: str, parts: list[str]) -> str:
    """A page with its pieces put in."""
    return _PLACES.sub(lambda found: "".join(parts[int(one)] for one in found[1].split()), page)


@lru_cache(maxsize=4)
def _pieces_of(path: Path) -> list[str]:
    return pieces(path.read_text(encoding="utf-8"))


def whole_file(path: Path) -> str:
    """A page of a site with the pieces that it names."""
    page = path.read_text(encoding="utf-8")
    script = _SCRIPT.search(page)
    return whole(page, _pieces_of(path.parent / script[1])) if script else page
