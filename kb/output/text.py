"""A check or a review as lines of text, for a terminal and a log alike."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import click

from kb.book.finding import Finding, one_line
from kb.output.document import (
    CheckedBook,
    FindingEntry,
    cannot_yet,
    check_document,
    not_judged,
    review_entry,
    summary,
)
from kb.review.findings import NEW
from kb.review.model import Outcome, Review
from kb.review.words import BETTER, CHECKS, Row, effects, place_words, sections

COLOURS = {"error": "red", "warning": "yellow", "note": "cyan"}

MOST_FIXES = 2


def check_text(outcomes: Sequence[CheckedBook], *, coloured: bool = False) -> str:
    """A check as text."""
    entries = check_document(outcomes).entries
    lines = [line for one in entries for line in entry_lines(one, coloured=coloured)]
    if lines:
        lines.append("")
    lines.append(summary(outcomes))
    skipped = not_judged(outcomes)
    lines.append(f"skipped: {'; '.join(skipped)}" if skipped else "all checks ran")
    lines += cannot_yet(outcomes)
    return "\n".join(lines) + "\n"


def finding_lines(one: Finding) -> Iterator[str]:
    """A finding with its limit and its fixes below it, without colours."""
    return entry_lines(FindingEntry(one, one.message), coloured=False)


def entry_lines(entry: FindingEntry, *, coloured: bool) -> Iterator[str]:
    """A finding with its limit and its fixes below it."""
    one = entry.finding
    severity, state = f"{one.severity}:", entry.state and f"{entry.state}: "
    if coloured and not state:
        severity = click.style(severity, fg=COLOURS[one.severity], bold=one.severity == "error")
    elif coloured and entry.state in {*NEW, "worsened"}:
        state = f"{click.style(entry.state, fg=COLOURS[one.severity])}: "
    older = " (place in the older version)" if entry.gone else ""
    yield f"{state}{place_words(one.place)}: {severity} {entry.words} [{one.name}]{older}"
    if entry.gone:
        return
    if one.source:
        yield f"    limit: {one_line(one.source)}"
    for fix in one.fixes[:MOST_FIXES]:
        yield f"    fix: {fix}"


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
