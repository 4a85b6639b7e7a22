"""A review as text for a terminal, and as one Markdown comment on a merge request.

The comment is found again by a hidden mark and replaced. What decides comes first, in at most 25 lines;
everything else is folded.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from typing import NamedTuple
from urllib.parse import quote

import click

from kb.checks.words import plural
from kb.output.document import review_entry
from kb.output.markdown import cells, escaped
from kb.output.text import entry_lines
from kb.review.model import CheckMoved, Outcome, Review
from kb.review.words import BETTER, CHECKS, ReviewSection, Row, effects, sections, worst_first

_COLOURS: dict[Outcome, str] = {"blocked": "red", "needs approval": "yellow", "passes": "green"}


def review_text(review: Review, *, coloured: bool = False) -> str:
    """A review as text: the verdict, the gravest effects, then each part."""
    verdict = review.verdict
    if coloured:
        verdict = click.style(verdict, fg=_COLOURS[review.outcome], bold=True)
    lines = [verdict, f"before: {review.base.label}", f"now: {review.head.label}", *review.notes]
    lines += [f"effect: {one}" for one in effects(review)]
    for part in sections(review):
        lines += ["", click.style(part.title, bold=True) if coloured else part.title]
        lines += _check_lines(review, coloured) if part.title == CHECKS else _row_lines(part.rows)
    if review.touched or review.lines:
        lines += ["", *review.thresholds]
    return "\n".join(lines) + "\n"


def _row_lines(rows: Sequence[Row]) -> Iterator[str]:
    group = ""
    for row in rows:
        if row.group != group:
            group = row.group
            yield f"  {group}"
        first, *rest = row.cells
        words = f"{first}: {'; '.join(filter(None, rest))}" if rest else first
        if words:
            yield f"{'    ' if group else '  '}{words}"


def _check_lines(review: Review, coloured: bool) -> Iterator[str]:
    for one in review.checks:
        if one.state not in BETTER:
            yield from (f"  {line}" for line in entry_lines(review_entry(one), coloured=coloured))


# --- Markdown ---------------------------------------------------------------------------------

MOST_BYTES = 32_000
"""Bytes of a comment, so many characters at most.

Source:
    Refusals that hosts word themselves, as quoted in public issue threads: "less than 32768 characters"
    (2016, 2024) and "maximum is 65536 characters" (2018 to 2023); a smaller or greater host's limit is given
    with --most-bytes.
"""

LEAST_BYTES = 8_192
"""Room for the first lines, the titles and the counts of what is left out."""

LEFT_OUT = 160
"""Bytes kept for the last line of each part, should rows be left out."""

MOST_OPEN = 25
"""Lines of a comment that are not folded, empty ones among them."""

MOST_FINDINGS = 5
"""Findings in the first lines; all are among the checks below."""

_LOUD = ("newly fails", "needs approval", "now fails", "spent")
_WORST = "the worst of "


def review_markdown(
    review: Review, *, as_of: datetime.date, marker: str | None = None, most_bytes: int = MOST_BYTES
) -> str:
    """A review as one comment, found again by a hidden mark: what decides first, everything else folded.

    What does not fit is left out from the end of each part, the parts that decide last, and counted.
    """
    mark = hidden_mark(review.head.shown if marker is None else marker)
    head = "\n".join([mark, *_first_lines(review, as_of)]) + "\n"
    parts = [_Part(one.title, one.rank, list(_texts(one))) for one in sections(review)]
    tail = "\n" + "<br>\n".join(escaped(words) for words in review.thresholds) + "\n"
    tail = f"\n<details><summary>What is listed</summary>\n{tail}\n</details>\n" if parts else ""
    kept = _rows_kept(parts, most_bytes - _bytes(head) - _bytes(tail) - LEFT_OUT)
    body = "".join(_folded(part, count) for part, count in zip(parts, kept, strict=True))
    left = sum(len(part.rows) for part in parts) - sum(kept)
    more = f"\n{plural(left, 'line')} left out for length; `sizebook review` lists all.\n" if left else ""
    return f"{head}{body}{more}{tail}"


def hidden_mark(marker: str) -> str:
    """The line by which a comment is found again; no text can close it or be taken for another.

    Example:
        >>> hidden_mark("specs"), hidden_mark("a--> b")
        ('<!-- sizebook review: specs -->', '<!-- sizebook review: a%2D%2D%3E%20b -->')
    """
    name = quote(marker or ".", safe="/", errors="surrogateescape").replace("--", "%2D%2D")
    return f"<!-- sizebook review: {name} -->"


def _first_lines(review: Review, as_of: datetime.date) -> Iterator[str]:
    """Verdict, what fails or is loosened, who must approve, the gravest effects."""
    yield from (f"**sizebook review** – **{escaped(review.verdict)}**", "")
    yield f"Before: {escaped(review.base.label)}<br>"
    yield f"Now: {escaped(review.head.label)}<br>"
    yield f"Checked as of {as_of.isoformat()}" + "".join(f"<br>{escaped(one)}" for one in review.notes)
    found = list(worst_first(review.checks))
    if found:
        yield from ("", "**Fails, or is loosened**", "")
        yield from (_first_finding(one, rest) for one, rest in found[:MOST_FINDINGS])
        more = len(found) - MOST_FINDINGS
        if more > 0:
            yield f"- {plural(more, 'more finding')} in the checks below"
    if review.approvals:
        yield from (
            "",
            f"**Approval required from** {escaped(', '.join(one.owner for one in review.approvals))}",
        )
    consequences = effects(review)
    if consequences:
        yield from ("", "**Effects**", "")
        yield from (f"- {escaped(one)}" for one in consequences)


def _first_finding(one: CheckMoved, rest: str) -> str:
    finding = one.finding
    of = f"{finding.subject}: " if finding.subject else ""
    others = f" ({rest})" if rest else ""
    fix = f" Fix: {finding.fixes[0]}." if finding.fixes else ""
    return f"- **{one.state}** {escaped(f'{of}{one.words}{others} [{finding.name}].{fix}')}"


def _texts(part: ReviewSection) -> Iterator[_Row]:
    """The rows of a part: a table below the title of each group, sentences as a list."""
    group = ""
    for row in part.rows:
        title = f"\n**{escaped(row.group)}**\n" if row.group else ""
        if len(row.cells) > 1:
            heads = part.heads
            heading = f"{title}\n| {' | '.join(heads)} |\n|{' --- |' * len(heads)}\n"
            yield _Row(heading, cells(*(_cell(one) for one in row.cells)))
        else:
            text = f"- {escaped(row.cells[0])}\n" if row.cells[0] else ""
            yield _Row("\n" if row.group == group else f"{title}\n", text)
        group = row.group


def _cell(words: str) -> str:
    lines = words.split("\n")
    loud = [one in _LOUD or one.startswith(_WORST) for one in lines]
    return "<br>".join(
        f"**{escaped(one)}**" if bold else escaped(one) for one, bold in zip(lines, loud, strict=True)
    )


# --- room -------------------------------------------------------------------------------------


class _Row(NamedTuple):
    """A row or sentence; `heading` is written before the first of those that share it."""

    heading: str
    text: str


class _Part(NamedTuple):
    title: str
    rank: int
    rows: list[_Row]


def _bytes(text: str) -> int:
    return len(text.encode())


def _rows_kept(parts: Sequence[_Part], room: int) -> list[int]:
    """How many rows of each part there is room for.

    Each part has a share first, the larger the lower its rank, so that none crowds out another; what is left
    goes to the parts of the lowest rank.
    """
    kept = [0] * len(parts)
    room -= sum(_bytes(_folded(part, 0)) + LEFT_OUT for part in parts)
    ranked = sorted(range(len(parts)), key=lambda i: parts[i].rank)
    for unfilled, i in zip(range(len(parts), 0, -1), ranked, strict=True):
        share = 2 * max(0, room) // (unfilled + 1)
        kept[i], left = _filled(parts[i], 0, share)
        room -= share - left
    for i in ranked:
        kept[i], room = _filled(parts[i], kept[i], room)
    return kept


def _filled(part: _Part, kept: int, room: int) -> tuple[int, int]:
    """How many rows are kept when as many more are as there is room for, and the room that is left."""
    heading = part.rows[kept - 1].heading if kept else ""
    for row in part.rows[kept:]:
        needed = _bytes(row.text) + (_bytes(row.heading) if row.heading != heading else 0)
        if needed > room:
            break
        room, heading, kept = room - needed, row.heading, kept + 1
    return kept, room


def _folded(part: _Part, kept: int) -> str:
    """A part with so many of its rows, and the count of the others."""
    lines = [f"\n<details><summary>{part.title}</summary>\n"]
    heading = ""
    for row in part.rows[:kept]:
        if row.heading != heading:
            heading = row.heading
            lines.append(heading)
        lines.append(row.text)
    left = len(part.rows) - kept
    if left:
        lines.append(f"\n{plural(left, 'line')} left out here.\n")
    return "".join([*lines, "\n</details>\n"])
