"""A check as lines of text, for a terminal and a log alike; colour only repeats what the words say."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import click

from kb.book.finding import Finding, one_line, place_words
from kb.book.records import Limit, Setting
from kb.output.document import (
    CheckedBook,
    FindingEntry,
    cannot_yet,
    check_document,
    not_judged,
    summary,
)

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


def limit_words(one: Limit | Setting) -> str:
    """A limit or setting in words: its ends, or its value."""
    if isinstance(one, Setting):
        return one.value.text
    ends = (("at least", one.written("least")), ("at most", one.written("most")))
    return " and ".join(f"{words} {end.text}" for words, end in ends if end is not None)


def finding_lines(one: Finding) -> Iterator[str]:
    """A finding with its limit and its fixes below it, without colours."""
    return entry_lines(FindingEntry(one, one.message), coloured=False)


def entry_lines(entry: FindingEntry, *, coloured: bool) -> Iterator[str]:
    """A finding with its limit and its fixes below it."""
    one = entry.finding
    severity, state = f"{one.severity}:", entry.state and f"{entry.state}: "
    if coloured and not state:
        severity = click.style(severity, fg=COLOURS[one.severity], bold=one.severity == "error")
    elif coloured and entry.loud:
        state = f"{click.style(entry.state, fg=COLOURS[one.severity])}: "
    older = " (place in the older version)" if entry.gone else ""
    yield f"{state}{place_words(one.place)}: {severity} {entry.words} [{one.name}]{older}"
    if entry.gone:
        return
    if one.source:
        yield f"    limit: {one_line(one.source)}"
    for fix in one.fixes[:MOST_FIXES]:
        yield f"    fix: {fix}"
