"""The thin lines of dimensions and labels: extension lines, dimension lines, leaders, arrows, dots."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import atan2, cos, degrees, hypot, radians, sin
from typing import NamedTuple, TypeAlias

from kb.drawing.model import Bend, Dimension, Drawing, Label, Point, Run, Straight, Style, Text

ARROW = 8.0
"""Length of an arrow head [px of paper]."""

BEYOND_AXIS = 12.0
"""How far the dimension line of a half section goes beyond the axis [px of paper]."""

_GAP, _OVERSHOOT, _TAIL = 2.0, 3.0, 8.0
_SHORTEST_BETWEEN = 2.5 * ARROW


@dataclass(frozen=True, slots=True)
class Thin:
    piece: Straight | Bend


@dataclass(frozen=True, slots=True)
class Arrow:
    """An arrow head with its tip, pointing at an angle [deg]."""

    tip: Point
    angle: float


@dataclass(frozen=True, slots=True)
class Dot:
    """The dot with which a leader ends on what it names."""

    at: Point


Mark: TypeAlias = Thin | Arrow | Dot


def marks(drawing: Drawing) -> list[Mark]:
    found: list[Mark] = []
    for dimension in drawing.dimensions:
        found += of_dimension(dimension, drawing.pixel)
    for label in drawing.labels:
        found += of_label(label)
    return found


def of_label(label: Label) -> list[Mark]:
    found = _path(label.leader)
    if len(label.leader) > 1:
        before, tip = label.leader[-2:]
        found.append(Arrow(tip, _heading(before, tip)) if label.arrow else Dot(tip))
    return found


def _path(points: tuple[Point, ...]) -> list[Mark]:
    return [Thin(Straight(a, b)) for a, b in pairwise(points)]


def of_dimension(one: Dimension, pixel: float) -> list[Mark]:
    """The lines and arrows of a dimension, and the leader to its text."""
    if one.kind == "angle":
        found = list(_of_angle(one, pixel))
    elif one.kind == "radius":
        found = [Arrow(one.end, _heading(one.through, one.end))]
    elif one.half:
        found = list(_of_half(one, pixel))
    else:
        found = list(_of_length(one, pixel))
    return found + _path(one.leader)


def _of_half(one: Dimension, pixel: float) -> Iterator[Mark]:
    """A dimension that a half section shows from a little beyond the axis."""
    foot = one.end[0], one.through[1]
    yield from _extension(one.end, foot, pixel)
    yield Thin(Straight((-BEYOND_AXIS * pixel, foot[1]), foot))
    yield Arrow(foot, 0.0)


def _extension(point: Point, foot: Point, pixel: float) -> Iterator[Mark]:
    """The line from the part to the end of the dimension line, where that is away from the part."""
    length = hypot(foot[0] - point[0], foot[1] - point[1])
    if length > (_GAP + _OVERSHOOT) * pixel:
        along = (foot[0] - point[0]) / length, (foot[1] - point[1]) / length
        yield Thin(Straight(_going(point, along, _GAP * pixel), _going(foot, along, _OVERSHOOT * pixel)))


def _feet(one: Dimension) -> tuple[Point, Point]:
    """Where the dimension line of a length ends."""
    if one.kind in {"horizontal", "diameter"}:
        return (one.start[0], one.through[1]), (one.end[0], one.through[1])
    if one.kind == "vertical":
        return (one.through[0], one.start[1]), (one.through[0], one.end[1])
    return one.start, one.end


def _of_length(one: Dimension, pixel: float) -> Iterator[Mark]:
    a, b = _feet(one)
    yield from _extension(one.start, a, pixel)
    yield from _extension(one.end, b, pixel)
    span = hypot(b[0] - a[0], b[1] - a[1])
    heading = _heading(a, b) if span else {"vertical": 90.0}.get(one.kind, 0.0)
    if span >= _SHORTEST_BETWEEN * pixel:
        yield Thin(Straight(a, b))
        yield Arrow(a, heading + 180.0)
        yield Arrow(b, heading)
        return
    along = cos(radians(heading)), sin(radians(heading))
    reach = (ARROW + _TAIL) * pixel
    yield Thin(Straight(_going(a, along, -reach), _going(b, along, reach)))
    yield Arrow(a, heading)
    yield Arrow(b, heading + 180.0)


def _of_angle(one: Dimension, pixel: float) -> Iterator[Mark]:
    assert one.apex is not None
    reach = hypot(one.through[0] - one.apex[0], one.through[1] - one.apex[1])
    begin, finish = _heading(one.apex, one.start), _heading(one.apex, one.end)
    turn = (finish - begin + 180.0) % 360.0 - 180.0
    arc = Bend(one.apex, reach, begin, begin + turn)
    for leg in (one.start, one.end):
        length = hypot(leg[0] - one.apex[0], leg[1] - one.apex[1])
        along = (leg[0] - one.apex[0]) / length, (leg[1] - one.apex[1]) / length
        far = reach + _OVERSHOOT * pixel
        yield Thin(Straight(one.apex, _going(one.apex, along, far)))
    lean = degrees(ARROW * pixel / reach) / 2 * (1 if turn > 0 else -1)
    ahead = 90.0 if turn > 0 else -90.0
    if abs(radians(turn)) * reach >= _SHORTEST_BETWEEN * pixel:
        yield Thin(arc)
        yield Arrow(arc.start, begin - ahead + lean)
        yield Arrow(arc.end, begin + turn + ahead - lean)
        return
    tail = degrees((ARROW + _TAIL) * pixel / reach) * (1 if turn > 0 else -1)
    yield Thin(Bend(one.apex, reach, begin - tail, begin + turn + tail))
    yield Arrow(arc.start, begin + ahead - lean)
    yield Arrow(arc.end, begin + turn - ahead + lean)


def _heading(a: Point, b: Point) -> float:
    return degrees(atan2(b[1] - a[1], b[0] - a[0]))


def _going(start: Point, along: Point, far: float) -> Point:
    return start[0] + along[0] * far, start[1] + along[1] * far


LETTERS: dict[Style, float] = {"name": 11.0, "value": 12.0}
"""Height of letters [px of paper]; the drawing is as wide as a phone, so none is below 11 there."""

LINE = 14.0
"""From one line of a text to the next [px of paper]."""

SPACE = 4.0
"""Between a name and its number on one line [px of paper]."""

_WIDTHS = (
    (0.30, "ijlI|'"),
    (0.34, " \N{NO-BREAK SPACE}.,:;/!·"),
    (0.42, "frt()°-[]{}"),
    (0.56, "cksvxyzJL"),
    (0.64, "abdeghnopqu0123456789EFPSTYZ?"),
    (0.75, "ABCDGHKNRUVX"),
    (0.84, "wOQØ±−+×=<>~"),
    (0.99, "mMW%&@—"),
)
_EM = {letter: width for width, letters in _WIDTHS for letter in letters}
_UNKNOWN = 1.0


class Box(NamedTuple):
    """An upright rectangle [mm of the part]."""

    left: float
    bottom: float
    right: float
    top: float

    def overlaps(self, other: Box) -> bool:
        """Whether two rectangles share more than an edge."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.bottom < other.top
            and other.bottom < self.top
        )


def em(words: str) -> float:
    """Width of a text over the height of its letters.

    Source:
        The wider of the regular DejaVu Sans and the bold Liberation Sans, letter by letter, rounded up.
    """
    return sum(_EM.get(letter, _UNKNOWN) for letter in words)


def width(line: tuple[Run, ...]) -> float:
    """Width of a line of text [px of paper]."""
    return sum(LETTERS[style] * em(words) for style, words in line) + SPACE * (len(line) - 1)


def size(text: Text) -> tuple[float, float]:
    """Width and height of a text as it is read [px of paper]."""
    return max(width(line) for line in text.lines), LINE * len(text.lines)


def box(text: Text, pixel: float) -> Box:
    """What a text covers [mm of the part], the paper's pixel being so large there [mm]."""
    wide, high = size(text)
    share = {"start": 0.0, "middle": 0.5, "end": 1.0}[text.anchor]
    x, y = text.at
    if text.turned:
        bottom = y - share * wide * pixel
        return Box(x - high / 2 * pixel, bottom, x + high / 2 * pixel, bottom + wide * pixel)
    left = x - share * wide * pixel
    return Box(left, y - high / 2 * pixel, left + wide * pixel, y + high / 2 * pixel)


def boxes(drawing: Drawing) -> list[Box]:
    """What the texts of a drawing cover [mm of the part]."""
    return [box(text, drawing.pixel) for text in drawing.texts()]


def wrapped(words: str, room: float, letter: float) -> list[str]:
    """A text broken into lines so wide, of letters so high [px of paper]; a longer word is broken too."""
    lines: list[str] = []
    for word in words.split():
        if lines and em(f"{lines[-1]} {word}") * letter <= room:
            lines[-1] += f" {word}"
            continue
        rest = word
        while em(rest) * letter > room:
            fits = next(n for n in range(len(rest) - 1, 0, -1) if em(rest[:n]) * letter <= room)
            lines.append(rest[:fits])
            rest = rest[fits:]
        lines.append(rest)
    return lines
