"""A drawing in the making: where its shapes, dimensions and labels are put."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import cos, radians, sin
from typing import Literal, SupportsFloat, TypeAlias

from kb.book.keys import at
from kb.book.quantity import as_quantity, format_in
from kb.drawing.marks import LINE, box, width
from kb.drawing.model import (
    PAPER_PIXEL,
    Anchor,
    Dimension,
    Drawing,
    Kind,
    Label,
    Piece,
    Point,
    Role,
    Run,
    Shape,
    Size,
    Text,
)
from kb.drawing.outline import extent, polyline, section
from kb.process.meridian import Meridian, Segment
from kb.route.assemble import Assembled
from kb.route.stations import Route

PAPER_WIDTH = 358.0
"""Width of every drawing: that of a phone less its margins [px of paper]."""

SCALES = (0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)
"""Scales of technical drawings.

Source:
    ISO 5455:1979 (from memory, high confidence).
"""

_SHOULDER, _BESIDE = 6.0, 3.0

Words: TypeAlias = Literal["line", "stack", "value"]


def fitting(length: float, room: float) -> float:
    """The largest scale at which a length of the part [mm] fits a room on paper [px]."""
    fits = [scale for scale in SCALES if length * scale / PAPER_PIXEL <= room]
    return fits[-1] if fits else SCALES[0]


class Draft:
    """Collects what a drawing shows; distances on paper are given in its pixels."""

    def __init__(self, sizes: Sizes, view: str, *, scale: float, exaggerate: float = 1.0) -> None:
        self.sizes = sizes
        self.view = view
        self.scale = scale
        self.exaggerate = exaggerate
        self.pixel = PAPER_PIXEL / scale
        self.shapes: list[Shape] = []
        self.dimensions: list[Dimension] = []
        self.labels: list[Label] = []
        self.more: list[Size] = []
        self.notes: list[str] = []

    def px(self, count: float) -> float:
        """A distance on paper as one on the part [mm]."""
        return count * self.pixel

    # --- shapes ---

    def draw(self, role: Role, pieces: Iterable[Piece], *, closed: bool = False, words: str = "") -> None:
        self.shapes.append(Shape(role, tuple(pieces), closed, words))

    def metal(self, part: Meridian | Iterable[Segment], *, role: Role = "metal", words: str = "") -> None:
        self.draw(role, section(part, self.exaggerate), closed=True, words=words)

    def axis(self, low: float, high: float) -> None:
        """Put the axis, a little longer than the part."""
        over = self.px(6)
        self.draw("centre", polyline((0.0, low - over), (0.0, high + over)), words="axis")

    def extent(self) -> tuple[float, float, float, float]:
        """Left, bottom, right and top of the shapes so far."""
        return extent(self.shapes)

    # --- dimensions ---

    def across(self, size: Size, a: Point, b: Point, *, at: float, under: bool = False) -> None:
        """A level dimension from a to b, its line at height `at`, its text upon it or under it."""
        x = (a[0] + b[0]) / 2
        # a text wider than its dimension is clear of the extension lines' ends
        clear = 2.0 if line_width(size) * self.pixel < abs(b[0] - a[0]) else 4.0
        away = self.px(clear + LINE / 2) * (-1 if under else 1)
        text = Text((x, at + away), (_on_line(size),))
        self.dimensions.append(Dimension(_level(size), a, b, (x, at), size, text))

    def width(self, size: Size, half: float, level: float, *, at: float, under: bool = False) -> None:
        """A level dimension over both sides of the axis, as `across` puts it."""
        self.across(size, (-half, level), (half, level), at=at, under=under)

    def across_half(self, size: Size, b: Point, *, at: float) -> None:
        """A diameter in a half section, from a little beyond the axis to b, its line at height `at`."""
        text = Text((b[0] / 2, at + self.px(2 + LINE / 2)), (_on_line(size),))
        middle = b[0] / 2, at
        self.dimensions.append(Dimension("diameter", (-b[0], b[1]), b, middle, size, text, half=True))

    def upright(self, size: Size, a: Point, b: Point, *, at: float, words: Words = "line") -> None:
        """An upright dimension from a up to b, its line at `at`, its text along it."""
        middle = (a[1] + b[1]) / 2
        lines = {"line": (_on_line(size),), "stack": two_lines(size), "value": two_lines(size)[1:]}[words]
        text = Text((at - self.px(2 + len(lines) * LINE / 2), middle), lines, turned=True)
        self.dimensions.append(Dimension("vertical", a, b, (at, middle), size, text))

    def upright_beside(
        self,
        size: Size,
        a: Point,
        b: Point,
        *,
        at: float,
        text_at: Point,
        anchor: Anchor = "start",
        leader: bool = False,
    ) -> None:
        """An upright dimension whose text is level beside it, with a leader where it is not near."""
        middle = (a[1] + b[1]) / 2
        text = Text(text_at, two_lines(size), anchor)
        way = self._leader(text, (at, middle)) if leader else ()
        self.dimensions.append(Dimension("vertical", a, b, (at, middle), size, text, leader=way))

    def across_beside(
        self, size: Size, a: Point, b: Point, *, at: float, text_at: Point, anchor: Anchor = "start"
    ) -> None:
        """A level dimension whose text is away from it, with a leader."""
        middle = (a[0] + b[0]) / 2
        text = Text(text_at, two_lines(size), anchor)
        self.dimensions.append(
            Dimension(_level(size), a, b, (middle, at), size, text, leader=self._leader(text, (middle, at)))
        )

    def radius(
        self,
        size: Size,
        centre: Point,
        radius: float,
        *,
        angle: float,
        text_at: Point,
        anchor: Anchor = "start",
    ) -> None:
        """A radius: a leader from the text to the arc, its arrow at `angle` [deg] round the centre."""
        tip = centre[0] + radius * cos(radians(angle)), centre[1] + radius * sin(radians(angle))
        text = Text(text_at, two_lines(size), anchor)
        leader = self._leader(text, tip)
        self.dimensions.append(Dimension("radius", centre, tip, leader[-2], size, text, leader=leader))

    def angle(
        self,
        size: Size,
        apex: Point,
        *,
        first: float,
        second: float,
        reach: float,
        text_at: Point,
        anchor: Anchor = "start",
    ) -> None:
        """An angle between two directions from its apex [deg], its arc `reach` away [mm]."""

        def at(angle: float, far: float) -> Point:
            return apex[0] + far * cos(radians(angle)), apex[1] + far * sin(radians(angle))

        on = at((first + second) / 2, reach)
        text = Text(text_at, two_lines(size), anchor)
        self.dimensions.append(
            Dimension(
                "angle", at(first, reach), at(second, reach), on, size, text, apex, self._leader(text, on)
            )
        )

    # --- labels ---

    def label(
        self,
        what: Size | str,
        *,
        at: Point,
        anchor: Anchor = "start",
        tip: Point | None = None,
        arrow: bool = False,
    ) -> None:
        """Words or a number, with a leader to `tip` if there is one."""
        named = what if isinstance(what, Size) else None
        text = Text(at, two_lines(what) if isinstance(what, Size) else ((("name", what),),), anchor)
        leader = self._leader(text, tip) if tip else ()
        self.labels.append(Label(text, leader, named, arrow))

    def column(
        self,
        entries: Sequence[tuple[Size | str, Point]],
        *,
        x: float,
        anchor: Anchor,
        low: float | None = None,
        high: float | None = None,
    ) -> None:
        """Labels one above the other, each as near its point's height as the others let it.

        Each entry is what to write and the point it names. The texts start or end at `x`.
        """
        ordered = sorted(entries, key=lambda entry: entry[1][1])
        heights = [self.px(LINE * (2 if isinstance(what, Size) else 1) + 6) for what, _ in ordered]
        places = spread([tip[1] for _, tip in ordered], heights, low=low, high=high)
        for (what, tip), y in zip(ordered, places, strict=True):
            self.label(what, at=(x, y), anchor=anchor, tip=tip)

    def _leader(self, text: Text, tip: Point) -> tuple[Point, ...]:
        """From the side of a text that faces the tip, level first."""
        area = box(text, self.pixel)
        beside, shoulder = self.px(_BESIDE), self.px(_SHOULDER)
        if tip[0] > area.right + beside:
            edge = area.right + beside, text.at[1]
            knee = min(edge[0] + shoulder, tip[0]), text.at[1]
        elif tip[0] < area.left - beside:
            edge = area.left - beside, text.at[1]
            knee = max(edge[0] - shoulder, tip[0]), text.at[1]
        else:
            up = tip[1] > text.at[1]
            edge = tip[0], area.top + self.px(1) if up else area.bottom - self.px(1)
            return edge, tip
        return edge, knee, tip

    # --- words ---

    def tabulate(self, *sizes: Size) -> None:
        """Numbers for the table alone."""
        self.more += sizes

    def note(self, words: str) -> None:
        self.notes.append(words)

    def done(self, title: str, about: str) -> Drawing:
        record = self.sizes.assembled.case.format
        notes = list(self.notes)
        if self.exaggerate != 1.0:
            notes.insert(0, f"Thickness drawn {self.exaggerate:g} times true.")
        return Drawing(
            id=self.view,
            format=record.id,
            revision=record.revision,
            title=f"{title}: {record.title}",
            about=about,
            scale=self.scale,
            exaggerate=self.exaggerate,
            shapes=tuple(self.shapes),
            dimensions=tuple(self.dimensions),
            labels=tuple(self.labels),
            more=tuple(self.more),
            notes=tuple(notes),
        )


def spread(
    wanted: Sequence[float], heights: Sequence[float], *, low: float | None = None, high: float | None = None
) -> list[float]:
    """Middles of blocks in rising order, as near to the wanted ones as they go without overlapping [mm].

    With no room between `low` and `high` they go beyond `high`.

    Example:
        >>> spread([0.0, 1.0], [4.0, 4.0])
        [-1.5, 2.5]
    """
    groups: list[tuple[list[int], float]] = []
    for i in range(len(wanted)):
        group, bottom = [i], _kept(wanted[i] - heights[i] / 2, heights[i], low, high)
        while groups and groups[-1][1] + sum(heights[j] for j in groups[-1][0]) > bottom:
            group = groups.pop()[0] + group
            total = sum(heights[j] for j in group)
            below = 0.0
            shifts = []
            for j in group:
                shifts.append(wanted[j] - heights[j] / 2 - below)
                below += heights[j]
            bottom = _kept(sum(shifts) / len(shifts), total, low, high)
        groups.append((group, bottom))
    return [bottom + height for group, bottom in groups for height in _middles([heights[j] for j in group])]


def _middles(heights: Sequence[float]) -> list[float]:
    """Middles of blocks on top of one another, from their common foot."""
    return [sum(heights[:i]) + height / 2 for i, height in enumerate(heights)]


def _kept(bottom: float, height: float, low: float | None, high: float | None) -> float:
    """The bottom of a block moved so that it is between two heights, the lower one first."""
    if high is not None:
        bottom = min(bottom, high - height)
    return bottom if low is None else max(bottom, low)


def _level(size: Size) -> Kind:
    return "diameter" if size.sign == "Ø" else "horizontal"


def _on_line(size: Size) -> tuple[Run, ...]:
    return ("name", size.title), ("value", size.shown)


def two_lines(size: Size) -> tuple[tuple[Run, ...], ...]:
    return (("name", size.title),), (("value", size.shown),)


def line_width(size: Size) -> float:
    """Width of a number with its name on one line [px of paper]."""
    return width(_on_line(size))


_UNIT_WORDS = {"deg": "°", "degC": " °C"}


@dataclass(frozen=True, slots=True)
class Sizes:
    """Where a drawing's numbers come from: a format's specs, and its route at nominal sizes."""

    assembled: Assembled
    route: Route

    def declared(self, key: str, name: str, sign: str = "") -> Size:
        """A number of a spec as it is written there, by its key in a case, such as `format.dome.depth`.

        Raises:
            ValueError: if the route was taken with another number than the spec has.
        """
        part, _, inner = key.partition(".")
        quantity = as_quantity(at(self.assembled.specs[part].record, inner))
        if self.route.case.at(key) != quantity.nominal:
            raise ValueError(f"the route was taken with another {key} than the {quantity.text} of the spec")
        return Size(
            name,
            _typeset(quantity.text, quantity.unit),
            quantity.nominal,
            _unit(quantity.unit),
            key,
            False,
            sign,
        )

    def computed(self, key: str, value: SupportsFloat, name: str, sign: str = "", unit: str = "mm") -> Size:
        """A number of the route, rounded.

        Lengths below 1 mm have a thousandth, others a hundredth, all other numbers a tenth.
        """
        number = float(value)
        decimals = (3 if abs(number) < 1 else 2) if unit == "mm" else 1
        text = _typeset(format_in(number, unit, decimals), unit)
        return Size(name, text, number, _unit(unit), key, True, sign)


def _typeset(text: str, unit: str) -> str:
    for typed, printed in (("+/-", "±"), ("-", "−"), (f" {unit}", _UNIT_WORDS.get(unit, f" {unit}"))):
        text = text.replace(typed, printed)
    return text


def _unit(unit: str) -> str:
    return _UNIT_WORDS.get(unit, unit).strip()
