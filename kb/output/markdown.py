"""A check as Markdown, for a comment on a merge request."""

from __future__ import annotations

import re
from collections.abc import Sequence

from kb.book.finding import one_line
from kb.checks.report import RANK
from kb.checks.words import plural
from kb.output.document import CheckedBook, FindingEntry, cannot_yet, check_document, not_judged, summary

LONGEST = 60_000
"""Characters that code hosts take in one comment, less some room."""

_MARKUP = re.compile(r"[!\"#$&'()*+:<=>?@\[\\\]^_`{|}~]")
_JOINER = "&#8288;"
_MOST_LACKS = 20


def check_markdown(outcomes: Sequence[CheckedBook]) -> str:
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


def _stages(outcomes: Sequence[CheckedBook]) -> str:
    skipped = not_judged(outcomes)
    lines = [escaped(f"Skipped: {'; '.join(skipped)}." if skipped else "All checks ran.") + "\n"]
    lines += [f"- {escaped(one)}\n" for one in cannot_yet(outcomes)[:_MOST_LACKS]]
    return "\n".join([lines[0], "".join(lines[1:])]) if lines[1:] else lines[0]


def _heading(file: str) -> str:
    return f"\n**{escaped(file)}**\n\n| line | severity | finding | check |\n| ---: | --- | --- | --- |\n"


def _row(entry: FindingEntry) -> str:
    one = entry.finding
    severity = f"{one.severity}, waived" if one.waiver else one.severity
    words = [entry.words, *([f"limit: {one_line(one.source)}"] if one.source else [])]
    words += [f"fix: {fix}" for fix in one.fixes]
    finding = "<br>".join(escaped(each) for each in words)
    return cells(str(one.place.span.line), severity, finding, escaped(one.name))


def escaped(text: str) -> str:
    """Text as Markdown and HTML show it unchanged, on one line; nobody is called by an @ in it.

    Example:
        >>> escaped("a|b <c> @d")
        'a&#124;b &#60;c&#62; &#64;&#8288;d'
    """
    shown = _MARKUP.sub(lambda found: f"&#{ord(found[0])};", one_line(text))
    shown = re.sub(r"(?i)(www)\.", r"\1&#46;", shown)
    return shown.replace("&#64;", f"&#64;{_JOINER}")


def cells(*texts: str) -> str:
    """A row of a table."""
    return f"| {' | '.join(texts)} |\n"
