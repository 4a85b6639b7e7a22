"""A check told as lines of text, for a terminal and a log alike; colour only repeats what the words say."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import click

from kb.book.finding import Finding, one_line
from kb.report.outcome import Outcome, cannot_yet, findings, not_judged, summary

COLOURS = {"error": "red", "warning": "yellow", "note": "cyan"}

MOST_FIXES = 2


def as_text(outcomes: Sequence[Outcome], *, coloured: bool = False) -> str:
    """A check as text.

    Args:
        outcomes: the books checked
        coloured: whether to colour the severities

    Returns:
        A line for each finding with its limit and fixes below it, a summary, what did not run, and what the
        book cannot do yet.
    """
    lines = [line for one in findings(outcomes) for line in finding_lines(one, coloured=coloured)]
    if lines:
        lines.append("")
    lines.append(summary(outcomes))
    skipped = not_judged(outcomes)
    lines.append(f"not judged: {'; '.join(skipped)}" if skipped else "all stages ran")
    lines += cannot_yet(outcomes)
    return "\n".join(lines) + "\n"


def finding_lines(one: Finding, *, coloured: bool) -> Iterator[str]:
    """A finding with its limit and its fixes below it."""
    span = one.place.span
    where = f"{one_line(one.place.file)}:{span.line}:{span.column}:"
    severity = f"{one.severity}:"
    if coloured:
        severity = click.style(severity, fg=COLOURS[one.severity], bold=one.severity == "error")
    yield f"{where} {severity} {one.message} [{one.name}]"
    if one.source:
        yield f"    limit: {one_line(one.source)}"
    for fix in one.fixes[:MOST_FIXES]:
        yield f"    fix: {fix}"
