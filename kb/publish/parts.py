"""Pieces that many pages share, each written once in a script: a page opened from disk cannot fetch."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Callable, Iterable

from markupsafe import Markup

_PLACE = re.compile(r'<template data-parts="(\d+)"></template>')
_PLACES = re.compile(r'"></template>\s*<template data-parts="')
_TOKEN = re.compile(r'<template data-parts="(\d+)"></template>|(<[^>]*>|\s+(?=<|$))|([^<]+)')
"""The place of a piece, a tag or blanks, text."""

_HOLE = "<>"
"""Where a text or a piece goes in the markup of a piece; markup itself never has it."""

_LONG = 12
"""Characters from which a text that comes twice is a piece of its own."""

_Holes = list[str | int]


class Parts:
    """The pieces of some pages: markup once, texts once; pages hold their places."""

    def __init__(self) -> None:
        self._places: dict[tuple[object, ...], tuple[Markup, object]] = {}
        self._numbers: dict[str, int] = {}

    def __call__(self, *shown: object, caller: Callable[[], Markup]) -> Markup:
        """The place of a piece: the same arguments, or the same text of `caller`, give the same piece."""
        key = tuple(id(one) if isinstance(one, dict) else one for one in shown)
        if key not in self._places:
            lines = (line.strip() for line in caller().split("\n"))
            piece = "\n".join(line for line in lines if line)
            number = self._numbers.setdefault(piece, len(self._numbers))
            place = Markup(f'<template data-parts="{number}"></template>' if piece else "")
            self._places[key] = place, shown  # keeps the arguments alive, so that no other has their id
        return self._places[key][0]

    def script(self) -> str:
        """The script with all pieces: `markup` with holes, and `parts`, each a text, or markup and holes.

        A hole takes a text, or a piece by its number.
        """
        pieces = [_with_holes(piece) for piece in self._numbers]
        texts = Counter(one for _, holes in pieces for one in holes if isinstance(one, str))
        common = [one for one, count in texts.items() if count > 1 and len(one) >= _LONG]
        number = {one: i for i, one in enumerate(dict.fromkeys((*self._numbers, *common)))}
        markup: dict[str, int] = {}
        parts: list[str | _Holes] = [
            piece
            if own == _HOLE
            else [
                markup.setdefault(own, len(markup)),
                *(number.get(one, one) if isinstance(one, str) else one for one in holes),
            ]
            for piece, (own, holes) in zip(self._numbers, pieces, strict=True)
        ]
        parts += list(number)[len(pieces) :]
        return f'window.sizebookParts = {{"markup":{_lines(markup)},"parts":{_lines(parts)}}};\n'


def joined(page: str) -> str:
    """A page in which places that follow each other are one."""
    return _PLACES.sub(" ", page)


def _with_holes(piece: str) -> tuple[str, _Holes]:
    holes: _Holes = []

    def hole(found: re.Match[str]) -> str:
        place, tag, text = found.groups()
        if tag is not None:
            return tag
        holes.append(text if place is None else int(place))
        return _HOLE

    return _TOKEN.sub(hole, piece), holes


def _lines(values: Iterable[object]) -> str:
    """Values of a list as JSON, each on its own line."""
    rows = (json.dumps(one, ensure_ascii=False, separators=(",", ":")) for one in values)
    return "[\n" + ",\n".join(rows) + "\n]"
