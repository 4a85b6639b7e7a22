"""How much paper a text takes, reckoned without the font, so on the wide side of common ones."""

from __future__ import annotations

from typing import NamedTuple

from kb.drawing.model import Drawing, Run, Style, Text

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
    """What a text covers [mm of the part].

    Args:
        text: as placed
        pixel: size of the paper's pixel on the part [mm]
    """
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
    """A text broken into lines; a word longer than a line is broken too.

    Args:
        words: the text
        room: width of a line [px of paper]
        letter: height of the letters [px of paper]
    """
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
