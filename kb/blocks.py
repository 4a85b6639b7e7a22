"""A document for paper and screen: blocks of words, values, boxes and pictures, without their layout.

`kb/sheet` and `kb/changeover` make documents; `kb/output/html.py` and `kb/output/pdf.py` render each of them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, TypeAlias

from kb.pictures import Picture

Paper: TypeAlias = Literal["a4", "letter"]

MISSING = "MISSING"
"""Printed where the book lacks a wanted value; a sheet that has one is not for use."""


# --- values and hazards -----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Second:
    """The same limits in the other unit, rounded into the band."""

    least: str
    target: str
    most: str
    unit: str


@dataclass(frozen=True, slots=True)
class Cell:
    """A value as printed: limits and target as exact decimal text, "" where there is none.

    Attributes:
        text: all of it on one line.
        least: lower limit.
        target: the value aimed at.
        most: upper limit.
        unit: unit of the three, as a reader writes it; "" for a count.
        second: the same in the other unit; none where rounding would leave no band.
        computed: whether the route gave it, not a spec.
    """

    text: str
    least: str = ""
    target: str = ""
    most: str = ""
    unit: str = ""
    second: Second | None = None
    computed: bool = False

    @property
    def missing(self) -> bool:
        """Whether the book has no value here."""
        return self.text == MISSING

    @property
    def plain(self) -> bool:
        """Whether it has no limits, such as a size to pick a part by."""
        return not (self.missing or self.least or self.most)


@dataclass(frozen=True, slots=True)
class CautionNote:
    """A hazard at a machine, in graded words."""

    signal: str
    machine: str
    hazard: str
    consequence: str
    avoid: str


# --- words ------------------------------------------------------------------------------------

WordLook: TypeAlias = Literal[
    "",
    "bold",
    "italic",
    "firm",
    "strong",
    "small",
    "rank",
    "missing",
    "tag",
    "framed",
    "struck",
    "code",
    "break",
]
"""How a phrase looks: `firm` has letters of one width, `strong` is firm and bold, `tag` is a boxed number."""


@dataclass(frozen=True, slots=True)
class Phrase:
    """Words of one look."""

    text: str
    look: WordLook = ""


Words: TypeAlias = tuple[Phrase, ...]

BREAK = Phrase("", "break")
"""A new line."""


def words(*parts: str | Phrase | Iterable[Phrase]) -> Words:
    """Words of plain texts, phrases and other words, the empty ones left out."""
    made: list[Phrase] = []
    for part in parts:
        made += [Phrase(part)] if isinstance(part, str) else [part] if isinstance(part, Phrase) else part
    return tuple(one for one in made if one.text or one.look == "break")


def bold(text: str) -> Phrase:
    """A phrase in bold."""
    return Phrase(text, "bold")


def firm(text: str) -> Phrase:
    """A phrase in letters of one width."""
    return Phrase(text, "firm")


def strong(text: str) -> Phrase:
    """A phrase in bold letters of one width."""
    return Phrase(text, "strong")


# --- blocks -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Words; in a thick frame (`framed`, `waiver`) or in small letters (`note`)."""

    words: Words
    look: Literal["", "note", "framed", "waiver"] = ""


@dataclass(frozen=True, slots=True)
class Listed:
    """Words one below the other."""

    entries: tuple[Words, ...]
    numbered: bool = False


@dataclass(frozen=True, slots=True)
class Dangers:
    """Hazards in full; those avoided alike are printed together."""

    cautions: tuple[CautionNote, ...]


@dataclass(frozen=True, slots=True)
class Facts:
    """Names with their values, side by side."""

    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Clocks:
    """One large length of time with others beside it, and a box for the time of day."""

    name: str
    length: str
    others: tuple[tuple[str, str], ...]
    pen: str


@dataclass(frozen=True, slots=True)
class Pen:
    """Boxes to write in, by label."""

    labels: tuple[str, ...]
    span: int = 1


@dataclass(frozen=True, slots=True)
class Ring:
    """The number of a reaction plan."""

    number: int


@dataclass(frozen=True, slots=True)
class LockBoxes:
    """People with boxes for the lock of each."""

    people: tuple[str, ...]
    labels: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WordCell:
    """Words as a cell of a table, over `span` columns."""

    words: Words
    span: int = 1


def cell(*parts: str | Phrase | Iterable[Phrase]) -> WordCell:
    """Words as a cell of one column."""
    return WordCell(words(*parts))


@dataclass(frozen=True, slots=True)
class TableRow:
    """A row of a table; two rows without limits (`half`) share a line where there is room."""

    cells: tuple[WordCell | Cell | Pen | Ring | LockBoxes, ...]
    half: bool = False


@dataclass(frozen=True, slots=True)
class Stage:
    """A size of a part with many places; `alike` says how to distinguish it from the one it replaces."""

    place: int
    value: Cell
    alike: str = ""


@dataclass(frozen=True, slots=True)
class Stages:
    """The sizes of one part, place by place, with boxes for each."""

    title: str
    rows: tuple[Stage, ...]
    pen: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Group:
    """Rows that belong together, with what is read before them."""

    rows: tuple[TableRow, ...]
    number: int = 0
    title: str = ""
    note: str = ""
    cautions: tuple[CautionNote, ...] = ()
    stages: tuple[Stages, ...] = ()


@dataclass(frozen=True, slots=True)
class Head:
    """The head of a column; `limits` heads min, target, max and unit."""

    title: str = ""
    look: Literal["", "right", "limits", "pen"] = ""
    span: int = 1


@dataclass(frozen=True, slots=True)
class Table:
    """A table; the renderers know the widths of each kind.

    Attributes:
        kind: what it is a table of.
        heads: of its columns.
        groups: its rows.
        cautions: whether its head repeats the precautions that all cautions share.
        alike: said before how a part is distinguished from another.
    """

    kind: str
    heads: tuple[Head, ...]
    groups: tuple[Group, ...]
    cautions: bool = False
    alike: str = ""


@dataclass(frozen=True, slots=True)
class CheckItem:
    """A line of a checklist.

    Attributes:
        words: what is done or looked at.
        tick: whether it has a box to tick.
        number: said before it.
        pen: boxes to write in.
        ring: number of its reaction plan, 0 for none.
        caution: its hazard, read first.
        again: whether the document has this hazard in full before.
        when: start and end of a job.
        head: title of the block of jobs that it begins.
    """

    words: Words
    tick: bool = True
    number: str = ""
    pen: tuple[str, ...] = ()
    ring: int = 0
    caution: CautionNote | None = None
    again: bool = False
    when: tuple[str, ...] = ()
    head: Words = ()


@dataclass(frozen=True, slots=True)
class Checklist:
    """Lines to tick or to fill in, `across` of them side by side."""

    kind: Literal["steps", "checks", "numbers", "gauges", "ramp", "reasons", "jobs"]
    entries: tuple[CheckItem, ...]
    across: int = 2


@dataclass(frozen=True, slots=True)
class ReadingBoxes:
    """A check with a row of boxes for each machine, a box for each reading, and boxes for the `ends`.

    `boxes` are the labels of the readings, `ring` the number of the reaction plan.
    """

    title: Words
    where: str
    machines: tuple[str, ...]
    boxes: tuple[str, ...]
    ends: tuple[str, ...]
    ring: int


@dataclass(frozen=True, slots=True)
class Readings:
    """Checks with a box for each reading, `across` of them side by side."""

    entries: tuple[ReadingBoxes, ...]
    across: int


@dataclass(frozen=True, slots=True)
class Signatures:
    """Lines of a release, each to be signed: the step and the role."""

    rows: tuple[tuple[str, str], ...]
    across: int = 3


@dataclass(frozen=True, slots=True)
class Ruled:
    """Lines to write on."""

    lines: int


@dataclass(frozen=True, slots=True)
class OnePage:
    """Blocks that stay on one page."""

    blocks: tuple[Block, ...]


Block: TypeAlias = (
    Paragraph
    | Listed
    | Dangers
    | Facts
    | Clocks
    | Pen
    | Table
    | Checklist
    | Readings
    | Signatures
    | Ruled
    | OnePage
    | Picture
)


# --- the document -----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class DocumentPart:
    """A part of a document under its own title.

    Attributes:
        id: its name in links, unique in the document.
        title: its title, "" for none.
        blocks: what it says.
        number: before the title, 0 for none.
        note: beside the title.
        pen_note: whether the note is about boxes, so of use on paper alone.
        beside: whether the title is on the left of a short part.
        whole: whether it stays on one page.
        screen: whether it is for the screen alone.
    """

    id: str
    title: str
    blocks: tuple[Block, ...]
    number: int = 0
    note: str = ""
    pen_note: bool = False
    beside: bool = False
    whole: bool = False
    screen: bool = False


@dataclass(frozen=True, slots=True)
class PrintedDocument:
    """A document ready to be rendered.

    Attributes:
        form: a sheet or a card of whole pages, a card of half a page, or a list for posting.
        tab: title of the file or the browser's tab.
        title: largest line of its identity.
        strip: beside the title on every page.
        lines: lines of its identity in large letters.
        notes: lines of its identity in small letters.
        code: the sheet code.
        digest: the whole fingerprint.
        qr: text of the square code, "" for none.
        mark: written across every page, "" on a sheet that may be used.
        reasons: why it is marked.
        made: when this copy was made.
        always: precautions that its cautions share.
        always_word: said before them.
        links_before: id of the part before which a screen shows links to all parts, "" for no links.
        back_to_links: label of the way back to the links, "" for none.
        sides: pages of paper that its letters are made smaller for, 0 for any number.
    """

    form: Literal["sheet", "card", "half", "list"]
    kind: str
    tab: str
    plant: str
    title: str
    foot: Words
    made: str
    parts: tuple[DocumentPart, ...] = ()
    strip: str = ""
    lines: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    code: str = ""
    digest: str = ""
    qr: str = ""
    mark: str = ""
    reasons: str = ""
    always: str = ""
    always_word: str = ""
    links_before: str = ""
    back_to_links: str = ""
    sides: int = 0
