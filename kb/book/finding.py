"""What a check has to say, and where: the record that every stage makes and every report prints.

A finding has a name (`reading.duplicate-key`, `ironing.ring-reduction`), a place in a file
and its numbers as fields, so that a line of text, a JSON record and a page of the site say the same.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal, TypeAlias

Severity: TypeAlias = Literal["error", "warning", "note"]
Case: TypeAlias = Literal["nominal", "worst corner"]
Sense: TypeAlias = Literal["least", "most", ""]

LONGEST_LINE = 600
"""Characters kept of a text that goes into one printed line."""


@dataclass(frozen=True, slots=True, order=True)
class Span:
    """A stretch of a file; lines and columns count characters from 1, the end is the first one after it."""

    line: int
    column: int
    end_line: int
    end_column: int


@dataclass(frozen=True, slots=True)
class Place:
    """Where something is in the book.

    The file has forward slashes. The key has list positions from 0 (`ironing.rings[1].bore`); it is ""
    for the whole file.
    """

    file: str
    key: str
    span: Span


@dataclass(frozen=True, slots=True)
class Measure:
    """A computed or declared number beside the limit it was held against.

    Attributes:
        what: the quantity in trade words.
        value: the number judged, in `unit`.
        unit: unit of value, limit and nominal.
        case: which case the value belongs to.
        limit: the limit, absent when there is none.
        sense: whether the limit is the least or the most allowed.
        margin: how far inside its limit, as a fraction of the limit; negative outside.
        nominal: the value of the nominal case, when the judged case is another.
    """

    what: str
    value: float
    unit: str
    case: Case = "nominal"
    limit: float | None = None
    sense: Sense = ""
    margin: float | None = None
    nominal: float | None = None


@dataclass(frozen=True, slots=True)
class Consequence:
    """A quantity in trade words that moves with a fix: its value now, and with the fix, in `unit`."""

    what: str
    unit: str
    old: float
    new: float


@dataclass(frozen=True, slots=True)
class NewValue:
    """A value to write in place of another.

    Attributes:
        place: the value to replace.
        old: target value now, in `unit`.
        new: target value to write, in `unit`.
        unit: unit as written, "" for a bare number.
        old_text: the whole value as written, with its tolerance.
        new_text: the whole value to write in its place.
        window: of a single number, the ends in `unit` between which all checks pass; None if not known.
    """

    place: Place
    old: float
    new: float
    unit: str
    old_text: str
    new_text: str
    window: tuple[float | None, float | None] | None = None


@dataclass(frozen=True, slots=True)
class Edit:
    """A fix as data: values to write, computed and checked.

    Attributes:
        text: the fix as a sentence.
        changes: the values to write, all of them.
        effects: quantities that move, the one that the finding is about first.
        breaks: names of checks that newly fail.
    """

    text: str
    changes: tuple[NewValue, ...]
    effects: tuple[Consequence, ...]
    breaks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing to report on the book.

    Attributes:
        name: name of the check, `stage-or-station.what`.
        severity: error, warning or note.
        place: where it is.
        message: one line in trade words; made safe to print when the finding is made.
        fixes: what to write or change instead, the best first; each one line.
        source: where the limit or the rule comes from.
        measure: the numbers, when the check compared numbers.
        subject: id of the format the finding is about, "" when it is about the file.
        waiver: id of the waiver that accepts the finding, "" when none does.
        edits: the fixes that are computed numbers, as data; the text of each is one of `fixes`.
        rank: position among findings of one name at one place.
    """

    name: str
    severity: Severity
    place: Place
    message: str
    fixes: tuple[str, ...] = ()
    source: str = ""
    measure: Measure | None = None
    subject: str = ""
    waiver: str = ""
    edits: tuple[Edit, ...] = ()
    rank: int = 0

    def __post_init__(self) -> None:
        object.__setattr__(self, "message", one_line(self.message))
        object.__setattr__(self, "fixes", tuple(one_line(fix) for fix in self.fixes))

    @property
    def order(self) -> tuple[str, int, int, str, int, str]:
        """The one order in which findings are shown: file, line, column, name, rank, message."""
        span = self.place.span
        return (self.place.file, span.line, span.column, self.name, self.rank, self.message)


_OBEYED = re.compile(r"(?m)^([^\S\n]*):(?=:)|(#)#(?=\w*\[)")
"""Commands of a job's log: `::` at the start of a line, `##[` and `##word[` anywhere."""

_COLOUR = re.compile(r"(\x1b\[[0-9;]*m)")


def one_line(text: str, longest: int = LONGEST_LINE) -> str:
    r"""Make any text safe to print within one line.

    Characters that do not print as themselves (control characters, line ends, bidirectional controls,
    unusual spaces) are shown by their codes, and so are commands that a CI log obeys. Long text is cut in
    the middle.

    Example:
        >>> one_line("66\u202e mm")
        '66\\u202e mm'
    """
    return _cut(_disarmed(_shown(_cut(text, longest))), longest)


def place_words(place: Place) -> str:
    """File, line and column, safe to print."""
    return f"{one_line(place.file)}:{place.span.line}:{place.span.column}"


def printable(text: str, *, coloured: bool = False) -> str:
    r"""Make a report of many lines safe to print, as `one_line` does for each of them.

    Example:
        >>> printable("::warning ::x\n\x07 ##[error]y\n") == "\\u003a:warning ::x\n\\u0007 #\\u0023[error]y\n"
        True
    """
    parts = _COLOUR.split(text) if coloured else [text]
    parts[::2] = ["\n".join(map(_shown, part.split("\n"))) for part in parts[::2]]
    return _disarmed("".join(parts))


def _shown(text: str) -> str:
    if text.isprintable():
        return text
    return "".join(letter if letter.isprintable() else _code(letter) for letter in text)


def _disarmed(text: str) -> str:
    return _OBEYED.sub(lambda found: (found[2] or found[1]) + _code("#" if found[2] else ":"), text)


def _cut(text: str, longest: int) -> str:
    if len(text) <= longest:
        return text
    half = (longest - 3) // 2
    return f"{text[:half]}...{text[len(text) - half :]}"


def _code(letter: str) -> str:
    number = ord(letter)
    return f"\\u{number:04x}" if number <= 0xFFFF else f"\\U{number:08x}"
