"""A check as lines of text, for a terminal and a log alike; colour only repeats what the words say."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import click

from kb.book.finding import Finding, one_line
from kb.output.document import FindingEntry, check_document
from kb.output.outcome import Outcome, cannot_yet, not_judged, summary

COLOURS = {"error": "red", "warning": "yellow", "note": "cyan"}

MOST_FIXES = 2


def check_text(outcomes: Sequence[Outcome], *, coloured: bool = False) -> str:
    """A check as text.

    Args:
        outcomes: the books checked
        coloured: whether to colour the severities

    Returns:
        A line for each finding with its limit and fixes below it, a summary, what did not run, and what the
        book cannot do yet.
    """
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
    """A finding with its limit and its fixes below it.

    Args:
        entry: the finding; where it has a state, the state comes first
        coloured: whether to colour the state, or the severity of a finding that has none
    """
    one = entry.finding
    span = one.place.span
    severity, state = f"{one.severity}:", entry.state and f"{entry.state}: "
    if coloured and not state:
        severity = click.style(severity, fg=COLOURS[one.severity], bold=one.severity == "error")
    elif coloured and (entry.new or entry.state == "worsened"):
        state = f"{click.style(entry.state, fg=COLOURS[one.severity])}: "
    older = " (place in the older version)" if entry.gone else ""
    where = f"{one_line(one.place.file)}:{span.line}:{span.column}:"
    yield f"{state}{where} {severity} {entry.words} [{one.name}]{older}"
    if entry.gone:
        return
    if one.source:
        yield f"    limit: {one_line(one.source)}"
    for fix in one.fixes[:MOST_FIXES]:
        yield f"    fix: {fix}"
