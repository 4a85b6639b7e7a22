"""A check as Markdown, for a comment on a merge request, and the parts that every such comment is made of."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from kb.book.finding import one_line
from kb.checks.report import RANK
from kb.checks.words import plural
from kb.output.document import FindingEntry, check_document
from kb.output.outcome import Outcome, cannot_yet, not_judged, summary

LONGEST = 60_000
"""Characters that code hosts take in one comment, less some room."""

LEFT_OUT = 160
"""Bytes kept for each part's last line, should rows be left out."""

_MARKUP = re.compile(r"[!\"#$&'()*+:<=>?@\[\\\]^_`{|}~]")
_JOINER = "&#8288;"
_MOST_LACKS = 20


def check_markdown(outcomes: Sequence[Outcome]) -> str:
    """A check as Markdown."""
    entries = check_document(outcomes).entries
    head = f"**sizebook check** – {escaped(summary(outcomes))}\n"
    tail = "\n" + _stages(outcomes)
    rows = {id(one): _row(one) for one in entries}
    room = LONGEST - len(head) - len(tail) - 200
    kept: list[FindingEntry] = []
    files: set[str] = set()
    for one in sorted(entries, key=lambda f: -RANK[f.finding.severity]):
        size = len(rows[id(one)]) + (
            0 if one.finding.place.file in files else len(_heading(one.finding.place.file))
        )
        if size > room:
            break
        room -= size
        files.add(one.finding.place.file)
        kept.append(one)
    kept.sort(key=lambda f: f.finding.order)
    body = "".join(
        _heading(file) + "".join(rows[id(one)] for one in kept if one.finding.place.file == file)
        for file in sorted(files)
    )
    left = len(entries) - len(kept)
    more = f"\n{plural(left, 'finding')} left out here; `sizebook check` lists all.\n" if left else ""
    return head + body + more + tail


def _stages(outcomes: Sequence[Outcome]) -> str:
    skipped = not_judged(outcomes)
    lines = [escaped(f"Skipped: {'; '.join(skipped)}." if skipped else "All checks ran.") + "\n"]
    lines += [f"- {escaped(one)}\n" for one in cannot_yet(outcomes)[:_MOST_LACKS]]
    return "\n".join([lines[0], "".join(lines[1:])]) if lines[1:] else lines[0]


def _heading(file: str) -> str:
    return f"\n**{escaped(file)}**\n\n| line | severity | finding | check |\n| ---: | --- | --- | --- |\n"


def _row(entry: FindingEntry) -> str:
    one = entry.finding
    severity = f"{one.severity}, waived" if one.waiver else one.severity
    return cells(str(one.place.span.line), severity, finding_cell(entry), escaped(one.name))


# --- texts and rows ---------------------------------------------------------------------------


def escaped(text: str) -> str:
    """Text as Markdown and HTML show it unchanged, on one line; nobody is called by an @ in it.

    Example:
        >>> escaped("a|b <c> @d")
        'a&#124;b &#60;c&#62; &#64;&#8288;d'
    """
    told = _MARKUP.sub(lambda found: f"&#{ord(found[0])};", one_line(text))
    told = re.sub(r"(?i)(www)\.", r"\1&#46;", told)
    return told.replace("&#64;", f"&#64;{_JOINER}")


def finding_cell(entry: FindingEntry, rest: str = "") -> str:
    """A finding as a cell of a table, with its limit and its fixes unless it is gone."""
    one = entry.finding
    words = [escaped(entry.words), f"**{escaped(rest)}**" if rest else ""]
    if not entry.gone:
        words += [f"limit&#58; {escaped(one.source)}"] if one.source else []
        words += [f"fix&#58; {escaped(fix)}" for fix in one.fixes]
    return lines(*words)


class MarkdownRow(NamedTuple):
    """A line of a part; `heading` is written before the first of those that share it."""

    heading: str
    text: str


class Part(NamedTuple):
    """A part of the comment; the parts of lowest rank are the last to lose rows."""

    title: str
    rank: int
    rows: list[MarkdownRow]
    folded: bool = False


def bullets(told: Iterable[str]) -> list[MarkdownRow]:
    """A list."""
    return [MarkdownRow("\n", f"- {escaped(line)}\n") for line in told]


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
