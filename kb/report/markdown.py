"""A check as Markdown, for a comment on a merge request: a table for each file."""

from __future__ import annotations

import re
from collections.abc import Sequence

from kb.book.finding import Finding, one_line
from kb.checks.report import RANK
from kb.report.outcome import Outcome, cannot_yet, findings, not_judged, plural, summary

LONGEST = 60_000
"""Characters that code hosts take in one comment, less some room."""

_MARKUP = re.compile(r"[!\"#$&'()*+:<=>?@\[\\\]^_`{|}~]")
_JOINER = "&#8288;"
_MOST_LACKS = 20


def as_markdown(outcomes: Sequence[Outcome]) -> str:
    """A check as Markdown.

    Args:
        outcomes: the books checked

    Returns:
        The comment, no longer than a code host takes; it says how many findings it leaves out, the
        gravest being kept.
    """
    told = findings(outcomes)
    head = f"**sizebook check** – {escaped(summary(outcomes))}\n"
    tail = "\n" + _stages(outcomes)
    rows = {id(one): _row(one) for one in told}
    room = LONGEST - len(head) - len(tail) - 200
    kept: list[Finding] = []
    files: set[str] = set()
    for one in sorted(told, key=lambda f: -RANK[f.severity]):
        size = len(rows[id(one)]) + (0 if one.place.file in files else len(_heading(one.place.file)))
        if size > room:
            break
        room -= size
        files.add(one.place.file)
        kept.append(one)
    kept.sort(key=lambda f: f.order)
    body = "".join(
        _heading(file) + "".join(rows[id(one)] for one in kept if one.place.file == file)
        for file in sorted(files)
    )
    left = len(told) - len(kept)
    more = f"\n{plural(left, 'finding')} left out here; `sizebook check` lists all.\n" if left else ""
    return head + body + more + tail


def escaped(text: str) -> str:
    """Text as Markdown and HTML show it unchanged, on one line; nobody is called by an @ in it.

    Example:
        >>> escaped("a|b <c> @d")
        'a&#124;b &#60;c&#62; &#64;&#8288;d'
    """
    told = _MARKUP.sub(lambda found: f"&#{ord(found[0])};", one_line(text))
    told = re.sub(r"(?i)(www)\.", r"\1&#46;", told)
    return told.replace("&#64;", f"&#64;{_JOINER}")


def _stages(outcomes: Sequence[Outcome]) -> str:
    skipped = not_judged(outcomes)
    lines = [escaped(f"Not judged: {'; '.join(skipped)}." if skipped else "All stages ran.") + "\n"]
    lines += [f"- {escaped(one)}\n" for one in cannot_yet(outcomes)[:_MOST_LACKS]]
    return "\n".join([lines[0], "".join(lines[1:])]) if lines[1:] else lines[0]


def _heading(file: str) -> str:
    return f"\n**{escaped(file)}**\n\n| line | severity | finding | check |\n| ---: | --- | --- | --- |\n"


def _row(one: Finding) -> str:
    parts = [escaped(one.message)]
    if one.source:
        parts.append(f"limit&#58; {escaped(one.source)}")
    parts += [f"fix&#58; {escaped(fix)}" for fix in one.fixes]
    severity = f"{one.severity}, waived" if one.waiver else one.severity
    return f"| {one.place.span.line} | {severity} | {'<br>'.join(parts)} | {escaped(one.name)} |\n"
