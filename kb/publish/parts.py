"""Pieces of sheets that many pages of the site share: each rendered once, kept in one script."""

from __future__ import annotations

import json
from collections.abc import Callable

from markupsafe import Markup


class Parts:
    """The pieces of the sheets of one line; pages hold a place for each piece.

    Pieces of equal content are one piece, whatever page asks for it.
    """

    def __init__(self) -> None:
        self._places: dict[tuple[object, ...], tuple[Markup, object]] = {}
        self._names: dict[str, str] = {}

    def __call__(self, *shown: object, caller: Callable[[], Markup]) -> Markup:
        """The place of a piece.

        Args:
            shown: all that the piece shows; the same arguments give the same piece
            caller: renders it
        """
        key = tuple(id(one) if isinstance(one, dict) else one for one in shown)
        if key not in self._places:
            lines = (line.strip() for line in caller().split("\n"))
            piece = "\n".join(line for line in lines if line)
            name = self._names.setdefault(piece, str(len(self._names)))
            place = Markup(f'<template data-part="{name}"></template>' if piece else "")
            self._places[key] = place, shown  # what is kept cannot lend its identity to another
        return self._places[key][0]

    def script(self) -> str:
        """The script that brings the pieces; a page opened from disk cannot fetch."""
        pieces = ",\n".join(f"'{name}':{_quoted(piece)}" for piece, name in self._names.items())
        return f"window.sizebookParts = {{\n{pieces}\n}};\n"


def _quoted(piece: str) -> str:
    """A piece as a string of a script, in the quotes that markup hardly has."""
    inner = json.dumps(piece, ensure_ascii=False)[1:-1].replace('\\"', '"').replace("'", "\\'")
    return f"'{inner}'"
