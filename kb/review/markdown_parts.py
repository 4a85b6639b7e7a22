"""The parts of a comment: rows of tables and lists, and how many of each there is room for."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from kb.report.markdown import escaped
from kb.report.outcome import plural

LEFT_OUT = 160
"""Bytes kept for each part's last line, should rows be left out."""


class Row(NamedTuple):
    """A line of a part; `heading` is written before the first of those that share it."""

    heading: str
    text: str


class Part(NamedTuple):
    """A part of the comment; the parts of lowest rank are the last to lose rows."""

    title: str
    rank: int
    rows: list[Row]
    folded: bool = False


# --- rows -------------------------------------------------------------------------------------


def bullets(told: Iterable[str]) -> list[Row]:
    """A list."""
    return [Row("\n", f"- {escaped(line)}\n") for line in told]


def table(title: str, *heads: str) -> str:
    """What stands above the rows of a table."""
    return f"\n{title}\n\n| {' | '.join(heads)} |\n|{' --- |' * len(heads)}\n"


def cells(*told: str) -> str:
    """A row of a table."""
    return f"| {' | '.join(told)} |\n"


def lines(*words: str) -> str:
    """The lines of one cell."""
    return "<br>".join(filter(None, words))


# --- room -------------------------------------------------------------------------------------


def size(text: str) -> int:
    """Bytes of a text."""
    return len(text.encode())


def rows_kept(parts: Sequence[Part], room: int) -> dict[str, int]:
    """How many rows of each part there is room for.

    Each part that is not folded has an equal share first, so that none crowds out another; what they leave
    goes to the parts of the lowest rank.
    """
    kept = {part.title: 0 for part in parts}
    room -= sum(size(written(part, 0)) + LEFT_OUT for part in parts)
    ranked = sorted(parts, key=lambda one: one.rank)
    share = max(0, room) // max(1, sum(not part.folded for part in parts))
    for part in (one for one in ranked if not one.folded):
        kept[part.title], left = _filled(part, 0, share)
        room -= share - left
    for part in ranked:
        kept[part.title], room = _filled(part, kept[part.title], room)
    return kept


def _filled(part: Part, kept: int, room: int) -> tuple[int, int]:
    """How many rows are kept when as many more are as there is room for, and the room that is left."""
    heading = part.rows[kept - 1].heading if kept else ""
    for row in part.rows[kept:]:
        needed = size(row.text) + (size(row.heading) if row.heading != heading else 0)
        if needed > room:
            break
        room, heading, kept = room - needed, row.heading, kept + 1
    return kept, room


def written(part: Part, kept: int) -> str:
    """A part with so many of its rows, and the count of the others."""
    told = [f"\n<details><summary>{part.title}</summary>\n" if part.folded else f"\n### {part.title}\n"]
    heading = ""
    for row in part.rows[:kept]:
        if row.heading != heading:
            heading = row.heading
            told.append(heading)
        told.append(row.text)
    left = len(part.rows) - kept
    if left:
        told.append(f"\n{plural(left, 'line')} left out here.\n")
    return "".join([*told, "\n</details>\n" if part.folded else ""])
