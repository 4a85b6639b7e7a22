"""What a drawing says, before any file format: shapes, dimensions, labels, and the same numbers as a table.

Positions are in mm of the part, x to the right and y up. Paper has its own small unit, the pixel of
1/96 in that browsers use: letters are 12 of them high at every scale of the part.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import cos, radians, sin
from typing import Literal, TypeAlias

PAPER_PIXEL = 25.4 / 96
"""Size of the paper's unit [mm]."""

Point: TypeAlias = tuple[float, float]

Role: TypeAlias = Literal[
    "metal",  # the body's metal, cut
    "end",  # the end's metal, cut
    "tool",  # a tool, cut
    "strip",  # the coil from above
    "blank",  # a disc of this stroke, from above
    "outline",  # a visible edge
    "edge",  # a soft edge, where a curve starts
    "phantom",  # another state or place of the part, or what the spec does not fix
    "centre",  # an axis
    "trim",  # where it is cut
]


@dataclass(frozen=True, slots=True)
class Straight:
    start: Point
    end: Point


@dataclass(frozen=True, slots=True)
class Bend:
    """A circular piece of a shape, from angle `begin` to `finish` [deg], counted from +x toward +y."""

    centre: Point
    radius: float
    begin: float
    finish: float

    @property
    def start(self) -> Point:
        return self.at(self.begin)

    @property
    def end(self) -> Point:
        return self.at(self.finish)

    def at(self, angle: float) -> Point:
        return (
            self.centre[0] + self.radius * cos(radians(angle)),
            self.centre[1] + self.radius * sin(radians(angle)),
        )


Piece: TypeAlias = Straight | Bend


@dataclass(frozen=True, slots=True)
class Shape:
    """Pieces that follow one another, and what they are."""

    role: Role
    pieces: tuple[Piece, ...]
    closed: bool = False
    words: str = ""


@dataclass(frozen=True, slots=True)
class Size:
    """A number of the part in words.

    Attributes:
        name: what it is, in trade words.
        text: the number with its unit: as the spec has it where it is declared.
        value: the number in the unit inside: mm, deg or a fraction.
        unit: the unit of the text.
        key: where it comes from: a key of a spec, or of the route.
        computed: whether the route computed it; otherwise a spec declares it.
        sign: Ø or R where the number is a diameter or a radius.
    """

    name: str
    text: str
    value: float
    unit: str
    key: str
    computed: bool
    sign: str = ""

    @property
    def title(self) -> str:
        """The name, which says so when the number is computed."""
        return f"{self.name}, calc." if self.computed else self.name

    @property
    def whole(self) -> str:
        """The number as the table has it, in both units where two are written."""
        return f"{self.sign}{self.text}"

    @property
    def shown(self) -> str:
        """The number as it is in the drawing, which has room for the first unit alone."""
        return self.whole.partition(" (")[0]


Style: TypeAlias = Literal["name", "value"]
Run: TypeAlias = tuple[Style, str]
Anchor: TypeAlias = Literal["start", "middle", "end"]


@dataclass(frozen=True, slots=True)
class Text:
    """Lines of text; `at` is half way up the block, at the side that `anchor` says.

    A turned text reads upward, from the right-hand side of the sheet.
    """

    at: Point
    lines: tuple[tuple[Run, ...], ...]
    anchor: Anchor = "middle"
    turned: bool = False


Kind: TypeAlias = Literal["horizontal", "vertical", "aligned", "diameter", "radius", "angle"]


@dataclass(frozen=True, slots=True)
class Dimension:
    """A dimension.

    Attributes:
        kind: which way it measures.
        start: first point; the centre of a radius; a point on the first leg of an angle.
        end: second point; a point on the second leg of an angle.
        through: a point that the dimension line, or the arc of an angle, runs through.
        size: the number.
        text: the number where it is.
        apex: where the legs of an angle meet.
        leader: from the text to the dimension line, where the text is away from it.
        half: a half section shows only the end; the start is its mirror image.
    """

    kind: Kind
    start: Point
    end: Point
    through: Point
    size: Size
    text: Text
    apex: Point | None = None
    leader: tuple[Point, ...] = ()
    half: bool = False


@dataclass(frozen=True, slots=True)
class Label:
    """Words, or a number, with a leader to what they name; the leader ends in a dot or an arrow."""

    text: Text
    leader: tuple[Point, ...] = ()
    size: Size | None = None
    arrow: bool = False


@dataclass(frozen=True, slots=True)
class DrawingRow:
    """One number of a drawing, for those who do not see it."""

    name: str
    value: str
    unit: str
    computed: bool


@dataclass(frozen=True, slots=True)
class Drawing:
    """One view of one format.

    Attributes:
        about: what is to be seen, in one plain paragraph.
        scale: size on paper over true size.
        exaggerate: how many times thicker than true the metal is drawn.
        shapes: from the back to the front.
        more: numbers that only the table has.
        notes: what is under the drawing, such as that something is schematic.
    """

    id: str
    format: str
    revision: int
    title: str
    about: str
    scale: float
    exaggerate: float
    shapes: tuple[Shape, ...]
    dimensions: tuple[Dimension, ...]
    labels: tuple[Label, ...]
    more: tuple[Size, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def pixel(self) -> float:
        """What a pixel of paper is on the part [mm]."""
        return PAPER_PIXEL / self.scale

    @property
    def scale_words(self) -> str:
        """The scale as it is written: 2:1, 1:20."""
        return f"{self.scale:g}:1" if self.scale >= 1 else f"1:{1 / self.scale:g}"

    def sizes(self) -> Iterator[Size]:
        """Every number of the drawing, each once."""
        listed = set()
        sources = (
            [dimension.size for dimension in self.dimensions],
            [label.size for label in self.labels if label.size],
            self.more,
        )
        for size in (size for source in sources for size in source):
            if (size.key, size.name) not in listed:
                listed.add((size.key, size.name))
                yield size

    def texts(self) -> Iterator[Text]:
        yield from (dimension.text for dimension in self.dimensions)
        yield from (label.text for label in self.labels)

    def rows(self) -> tuple[DrawingRow, ...]:
        return tuple(
            DrawingRow(size.name, _without_unit(size), size.unit, computed=size.computed)
            for size in self.sizes()
        )


def _without_unit(size: Size) -> str:
    """A number as shown, its unit taken out of the first half: `66.04 (2.600 in)`."""
    first, bracket, second = size.whole.partition(" (")
    return first.removesuffix(size.unit).rstrip() + bracket + second
