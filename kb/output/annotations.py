"""A review as workflow commands, the lines of a job's log that a code host shows beside the changed lines.

A host shows ten of a kind for each step and hides the rest without a word, so the most important come first
and the tenth counts the others.

Source:
    Form of the commands: the host's public reference of workflow commands. Ten errors, ten warnings and ten
    notices a step: the host's public notes on problem matchers. Escapes: the host's toolkit, from memory.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from kb.book.finding import Finding, Place, Severity, one_line
from kb.checks.words import plural
from kb.review.model import ChangedFile, CheckMoved, Review, ValueChange

MOST = 10
"""Annotations of a kind that are shown."""

COMMANDS: dict[Severity, str] = {"error": "error", "warning": "warning", "note": "notice"}

_TOLD = ("newly fails", "needs approval", "newly warns", "newly noted", "worsened", "newly waived")


def review_annotations(review: Review) -> str:
    """A review as workflow commands."""
    lines = _Lines(review.files)
    told = [one for one in review.checks if one.state in _TOLD]
    written = [line for level in COMMANDS for line in _level(level, told, lines, review)]
    return "\n".join([*written, f"sizebook review: {one_line(review.verdict)}"]) + "\n"


def _level(level: Severity, told: Sequence[CheckMoved], lines: _Lines, review: Review) -> Iterator[str]:
    here = sorted((one for one in told if one.finding.severity == level), key=lines.order)
    shown = here if len(here) <= MOST else here[: MOST - 1]
    for one in shown:
        yield _annotation(one, lines, review)
    more = len(here) - len(shown)
    if more:
        words = f"{plural(more, f'more {level}')} in the summary"
        yield command(COMMANDS[level], {"title": "sizebook review"}, words)


def _annotation(one: CheckMoved, lines: _Lines, review: Review) -> str:
    finding = one.finding
    parts = [f"{one.state}: {one_line(one.words)}"]
    parts += [f"Limit: {one_line(finding.source)}"] if finding.source else []
    parts += [f"Fix: {fix}" for fix in finding.fixes]
    place = finding.place
    cause = lines.cause(finding, _reaching(finding, review))
    if cause is not None and cause.new_place is not None:
        there = f"{one_line(place.file)}:{place.span.line}:{place.span.column}"
        parts[0] = f"{there}: {parts[0]}, because of {one_line(f'{cause.words} {cause.old} → {cause.new}')}"
        place = cause.new_place
    return command(COMMANDS[finding.severity], _at(place, finding.name), "\n".join(parts))


def _reaching(finding: Finding, review: Review) -> tuple[str, ...]:
    """What reaches the format of a finding, in the words of the review."""
    return next((one.because for one in review.touched if finding.subject in {one.id, one.was or one.id}), ())


def _at(place: Place, title: str) -> dict[str, str]:
    span = place.span
    found = {"file": one_line(place.file), "line": str(span.line), "endLine": str(span.end_line)}
    if span.end_line == span.line:  # a host takes columns within one line only
        found |= {"col": str(span.column), "endColumn": str(max(span.column, span.end_column))}
    return {**found, "title": title}


def command(name: str, properties: Mapping[str, str], message: str) -> str:
    r"""A workflow command; nothing in its texts can end it or begin another.

    Example:
        >>> command("error", {"file": "a,b:c", "line": "1"}, "50 %\n::warning::x")
        '::error file=a%2Cb%3Ac,line=1::50 %25%0A::warning::x'
    """
    told = ",".join(f"{key}={_property(value)}" for key, value in properties.items())
    return f"::{name} {told}::{_data(message)}"


def _data(text: str) -> str:
    return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _property(text: str) -> str:
    return _data(text).replace(":", "%3A").replace(",", "%2C")


class _Lines:
    """What changed, by file and line."""

    def __init__(self, files: Sequence[ChangedFile]) -> None:
        self._files = {one.file: one for one in files}
        self._reach = {
            f"{one.kind} {one.id}".replace(f"{one.kind} {one.kind}", one.kind): one for one in files
        }
        self._lines = {
            (place.file, line)
            for one in files
            for change in (*one.changes, *one.rewritten)
            if (place := change.new_place) is not None
            for line in range(place.span.line, place.span.end_line + 1)
        }

    def changed(self, finding: Finding) -> bool:
        """Whether a finding stands on a changed line."""
        return (finding.place.file, finding.place.span.line) in self._lines

    def order(self, one: CheckMoved) -> tuple[int, bool]:
        """Sorts what is new before what is worse, what stands on a changed line before the rest."""
        return _TOLD.index(one.state), not self.changed(one.finding)

    def cause(self, finding: Finding, reaching: Sequence[str]) -> ValueChange | None:
        """The change to point at, where a finding stands in a file that has not changed."""
        if finding.place.file in self._files:
            return None
        near = [self._reach[words] for words in reaching if words in self._reach]
        changes = [one for file in near for one in file.changes if one.new_place is not None]
        plain = [one for one in changes if not set(one.kinds) <= {"editorial", "document"}]
        return next(iter(plain or changes), None)
