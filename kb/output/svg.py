"""Every SVG: drawings of a format, pictures of a document and plots of a page.

A drawing has its colours as one style; programs that do not know styles (a PDF maker, an old viewer) find the
light ones as plain attributes.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from itertools import groupby, pairwise
from math import cos, hypot, radians, sin
from typing import NamedTuple
from xml.sax.saxutils import escape

from kb.drawing.draft import PAPER_WIDTH
from kb.drawing.marks import ARROW, LETTERS, LINE, SPACE, Arrow, Dot, Thin, boxes, marks, wrapped
from kb.drawing.model import PAPER_PIXEL, Bend, Drawing, Piece, Point, Role, Shape, Style, Text
from kb.drawing.outline import extent, outermost
from kb.pictures import Caption, Circle, Curve, Picture, Rectangle

MARGIN = 8.0
TITLE, SMALL = 14.0, 11.0
"""Height of the letters of title and notes [px]."""

BOLD = 1.1
"""Width of bold letters over regular ones, at most."""

BLACK_BELOW, HATCHED_FROM = 2.6, 6.0
"""Cut metal narrower than the first is drawn black, wider than the second it is hatched [px]."""

_FONT = "'Helvetica Neue',Helvetica,Arial,'Liberation Sans','Segoe UI',Roboto,sans-serif"


# --- colours, lines and hatches of drawings ---------------------------------------------------

_COLOURS = {
    "paper": ("#ffffff", "#15191e"),
    "ink": ("#15191e", "#eef1f4"),
    "soft": ("#46515c", "#b4bec8"),
    "metal": ("#a9bccf", "#40617f"),
    "end": ("#e4c88d", "#7a5f24"),
    "tool": ("#8d98a3", "#6f7b87"),
    "strip": ("#edf0f3", "#262d35"),
    "trim": ("#b3261e", "#ff8a80"),
}
LIGHT = {name: light for name, (light, _) in _COLOURS.items()}
DARK = {name: dark for name, (_, dark) in _COLOURS.items()}
_WHITE = {"paper", "metal", "end", "strip"}
PRINT = {name: "#ffffff" if name in _WHITE else "#000000" for name in LIGHT}


class Appearance(NamedTuple):
    """Fill and stroke, each a colour above, the stroke's width [px] and its dashes."""

    fill: str
    stroke: str
    width: float
    dashes: str = ""


LOOKS: dict[str, Appearance] = {
    "metal": Appearance("metal", "ink", 1.1),
    "end": Appearance("end", "ink", 1.1),
    "tool": Appearance("none", "ink", 0.9),
    "strip": Appearance("strip", "ink", 1.0),
    "blank": Appearance("metal", "ink", 1.0),
    "outline": Appearance("none", "ink", 1.1),
    "edge": Appearance("none", "soft", 0.6),
    "phantom": Appearance("none", "soft", 0.8, "9 2.5 2 2.5"),
    "centre": Appearance("none", "soft", 0.7, "12 3 2.5 3"),
    "trim": Appearance("none", "trim", 1.2, "6 3"),
    "thin": Appearance("none", "soft", 0.7),
    "head": Appearance("soft", "none", 0.0),
}

HATCHES = {"metal": ("ink", 45, 5), "end": ("ink", 135, 5), "tool": ("tool", 135, 6)}
"""Colour, slope [deg] and distance [px] of the lines on cut faces; neighbours differ."""

HATCHED_AS = {"metal": "metal", "end": "end", "tool": "tool", "blank": "metal"}
"""Which hatch a role takes."""


def _attributes(colours: Mapping[str, str], role: str, filling: str = "", name: str = "") -> str:
    """Class and plain attributes of a role, or of `thin` and `head` for the lines and ends of dimensions."""
    look = LOOKS[role]
    fill = colours.get(look.fill, look.fill)
    if filling == "hatched":
        fill = f"url(#{name}-{HATCHED_AS[role]})"
    elif filling == "solid" or (filling == "plain" and role == "metal" and colours is PRINT):
        fill = colours["ink"]
    stroke = colours.get(look.stroke, look.stroke)
    width = f' stroke-width="{look.width:g}" stroke-linejoin="round"' if look.width else ""
    dashes = f' stroke-dasharray="{look.dashes}"' if look.dashes else ""
    kind = f"dw-{role} dw-{filling}" if filling else f"dw-{role}"
    return f'class="{kind}" fill="{fill}" stroke="{stroke}"{width}{dashes}'


def _hatches(colours: Mapping[str, str], name: str, used: Collection[str]) -> Iterator[str]:
    """The hatches that a drawing uses as patterns, called after it."""
    if not used:
        return
    yield "<defs>"
    for role, (line, slope, gap) in HATCHES.items():
        if role not in used:
            continue
        ground = ""
        if role != "tool":
            ground = f'<rect class="dw-{role}-ground" width="{gap}" height="{gap}" fill="{colours[role]}"/>'
        yield (
            f'<pattern id="{name}-{role}" width="{gap}" height="{gap}" patternUnits="userSpaceOnUse"'
            f' patternTransform="rotate({slope})">{ground}<path class="dw-hatch-{line}" d="M0 0V{gap}"'
            f' stroke="{colours[line]}" stroke-width="0.9"/></pattern>'
        )
    yield "</defs>"


def drawing_style() -> str:
    """The one style of all drawings; a program that does not know custom properties ignores it.

    A page sets `--drawing-ink`, `--drawing-soft`, `--drawing-paper`, `--drawing-metal`, `--drawing-end`,
    `--drawing-tool`, `--drawing-strip` and `--drawing-trim` to give drawings its own colours; without that
    they follow the reader's light or dark setting. In print all is black on white.
    """
    themed = [
        "".join(f"--dw-{key}:var(--drawing-{key},{value});" for key, value in scheme.items())
        for scheme in (LIGHT, DARK)
    ]
    printed = "".join(f"--dw-{key}:{value};" for key, value in PRINT.items())
    rules = [
        f".dw{{{themed[0]}}}",
        f"@media (prefers-color-scheme:dark){{.dw{{{themed[1]}}}}}",
        f"@media print{{.dw{{{printed}}}}}",
        ".dw-paper{fill:var(--dw-paper)}",
        ".dw-title,.dw-value{fill:var(--dw-ink)}.dw-name,.dw-note{fill:var(--dw-soft)}",
        ".dw-solid{fill:var(--dw-ink)}.dw-head{fill:var(--dw-soft)}",
        ".dw-hatch-ink{stroke:var(--dw-ink)}.dw-hatch-tool{stroke:var(--dw-tool)}",
        ".dw-strip{fill:var(--dw-strip)}",
    ]
    rules += [f".dw-{role}-ground,.dw-{role}.dw-plain{{fill:var(--dw-{role})}}" for role in ("metal", "end")]
    rules.append("@media print{.dw-metal.dw-plain{fill:#000000}}")
    rules += [
        f".dw-{role}{{stroke:var(--dw-{look.stroke})}}"
        for role, look in LOOKS.items()
        if look.stroke != "none"
    ]
    return f"@supports (color:var(--dw-ink)){{{''.join(rules)}}}"


# --- a drawing --------------------------------------------------------------------------------


def svg(drawing: Drawing, *, true_size: bool = False, styled: bool = True, black: bool = False) -> str:
    """A drawing as an SVG file.

    Args:
        drawing: what to draw
        true_size: whether the file gives its size in mm, so that a print has the drawing's scale
        styled: whether it has its style; a page with many drawings can have `drawing_style` once
        black: black on white by plain attributes and without style, for programs that make PDF
    """
    sheet = _Sheet(drawing, PRINT if black else LIGHT)
    name = re.sub(r"[^A-Za-z0-9-]", "-", f"{drawing.format}-{drawing.id}")
    hatched = {HATCHED_AS[one.role] for one in drawing.shapes if _filling(one, drawing.pixel) == "hatched"}
    wide, high = _n(sheet.width), _n(sheet.height)
    size = ""
    if true_size:
        size = f' width="{_n(sheet.width * PAPER_PIXEL)}mm" height="{_n(sheet.height * PAPER_PIXEL)}mm"'
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" class="dw" role="img" viewBox="0 0 {wide} {high}"{size}'
        f' aria-labelledby="{name}-title" aria-describedby="{name}-desc" font-family="{_FONT}">',
        f'<title id="{name}-title">{_clean(drawing.title)}</title>',
        f'<desc id="{name}-desc">{_clean(_description(drawing))}</desc>',
        *([f"<style>{drawing_style()}</style>"] if styled and not black else []),
        *_hatches(sheet.colours, name, hatched),
        f'<rect class="dw-paper" width="{wide}" height="{high}" fill="{sheet.colours["paper"]}"/>',
        *sheet.head(),
        *_shapes(drawing, sheet, name),
        *_marks(drawing, sheet),
        *(sheet.text(text) for text in drawing.texts()),
        *sheet.foot(),
        "</svg>",
    ]
    return "\n".join(lines) + "\n"


class _Sheet:
    """The places of things on the paper [px]."""

    def __init__(self, drawing: Drawing, colours: Mapping[str, str]) -> None:
        self.drawing, self.colours = drawing, colours
        self.room = PAPER_WIDTH - 2 * MARGIN
        self.title = wrapped(drawing.title, self.room / BOLD, TITLE)
        left, bottom, right, top = _covered(drawing)
        pixel = drawing.pixel
        wide = (right - left) / pixel
        self.width = max(PAPER_WIDTH, wide + 2 * MARGIN)
        on_paper = f"scale {drawing.scale_words} when {self.width * PAPER_PIXEL:.0f} mm wide"
        notes = [f"{drawing.format}, revision {drawing.revision}; {on_paper}.", *drawing.notes]
        self.notes = [line for note in notes for line in wrapped(note, self.room, SMALL)]
        self.top = MARGIN + len(self.title) * (TITLE + 3) + 10
        self.below = self.top + (top - bottom) / pixel + 10
        self.height = self.below + len(self.notes) * LINE + MARGIN
        self.left_mm, self.top_mm = left - (self.width - wide) / 2 * pixel, top

    def x(self, x: float) -> float:
        """Distance of a place of the part from the left [px]."""
        return (x - self.left_mm) / self.drawing.pixel

    def y(self, y: float) -> float:
        """Distance of a height of the part from the top [px]."""
        return self.top + (self.top_mm - y) / self.drawing.pixel

    def at(self, point: Point) -> str:
        """A point of the part in the words of SVG."""
        return f"{_n(self.x(point[0]))} {_n(self.y(point[1]))}"

    def path(self, pieces: Iterable[Piece], *, closed: bool) -> str:
        """Pieces as path data, arcs as true arcs."""
        steps: list[str] = []
        last: Point | None = None
        for piece in pieces:
            if last is None or hypot(piece.start[0] - last[0], piece.start[1] - last[1]) > 1e-6:
                steps.append(f"M{self.at(piece.start)}")
            if isinstance(piece, Bend):
                radius = _n(piece.radius / self.drawing.pixel)
                large = int(abs(piece.finish - piece.begin) > 180.0)
                sweep = int(piece.finish < piece.begin)
                steps.append(f"A{radius} {radius} 0 {large} {sweep} {self.at(piece.end)}")
            else:
                steps.append(f"L{self.at(piece.end)}")
            last = piece.end
        return "".join(steps) + ("Z" if closed else "")

    def head(self) -> Iterator[str]:
        """The title above the drawing."""
        look = f'class="dw-title" font-size="{_n(TITLE)}" font-weight="700" fill="{self.colours["ink"]}"'
        return self._block(self.title, look, MARGIN + TITLE - 2, TITLE + 3)

    def foot(self) -> Iterator[str]:
        """Format, scale and notes below it."""
        look = f'class="dw-note" font-size="{_n(SMALL)}" fill="{self.colours["soft"]}"'
        return self._block(self.notes, look, self.below + LINE - 3, LINE)

    def _block(self, lines: Sequence[str], look: str, first: float, step: float) -> Iterator[str]:
        for i, line in enumerate(lines):
            yield f'<text {look} x="{_n(MARGIN)}" y="{_n(first + i * step)}">{_clean(line)}</text>'

    def text(self, text: Text) -> str:
        """A text of the drawing."""
        x, y = self.x(text.at[0]), self.y(text.at[1])
        turn = f' transform="rotate(-90 {_n(x)} {_n(y)})"' if text.turned else ""
        lines = []
        for i, line in enumerate(text.lines):
            base = y + (i - (len(text.lines) - 1) / 2) * LINE + 4.0
            runs = "".join(self.run(style, words, after=j > 0) for j, (style, words) in enumerate(line))
            lines.append(f'<text x="{_n(x)}" y="{_n(base)}" text-anchor="{text.anchor}"{turn}>{runs}</text>')
        return "".join(lines)

    def run(self, style: Style, words: str, *, after: bool) -> str:
        """Part of a line, after a gap unless it is the first."""
        gap = f' dx="{_n(SPACE)}"' if after else ""
        look = f'fill="{self.colours["soft"]}"'
        if style == "value":
            look = f'fill="{self.colours["ink"]}" font-weight="600"'
        size = _n(LETTERS[style])
        return f'<tspan class="dw-{style}"{gap} font-size="{size}" {look}>{_clean(words)}</tspan>'


# --- parts ------------------------------------------------------------------------------------


def _shapes(drawing: Drawing, sheet: _Sheet, name: str) -> Iterator[str]:
    def filled(shape: Shape) -> tuple[Role, str]:
        return shape.role, _filling(shape, drawing.pixel)

    for (role, filling), shapes in groupby(drawing.shapes, filled):
        paths = [f'<path d="{sheet.path(shape.pieces, closed=shape.closed)}"/>' for shape in shapes]
        yield f"<g {_attributes(sheet.colours, role, filling, name)}>{''.join(paths)}</g>"


def _filling(shape: Shape, pixel: float) -> str:
    """How a cut face is filled: `solid` black where it is a thin line, `plain` or `hatched`."""
    if shape.role not in HATCHED_AS:
        return ""
    breadth = _breadth(shape) / pixel
    if shape.role == "tool":
        return "hatched"
    return "solid" if breadth < BLACK_BELOW else "plain" if breadth < HATCHED_FROM else "hatched"


def _breadth(shape: Shape) -> float:
    """How broad a closed shape is on the whole: twice its area over its way round [mm]."""
    points = [point for piece in shape.pieces for point in _along(piece)]
    ring = list(pairwise([*points, points[0]]))
    area = abs(sum(a[0] * b[1] - a[1] * b[0] for a, b in ring)) / 2
    return 2 * area / max(sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in ring), 1e-9)


def _along(piece: Piece, count: int = 8) -> list[Point]:
    if isinstance(piece, Bend):
        return [piece.at(piece.begin + (piece.finish - piece.begin) * i / count) for i in range(count + 1)]
    return [piece.start, piece.end]


def _marks(drawing: Drawing, sheet: _Sheet) -> Iterator[str]:
    found = marks(drawing)
    lines = "".join(sheet.path([mark.piece], closed=False) for mark in found if isinstance(mark, Thin))
    heads = "".join(_head(mark, sheet) for mark in found if not isinstance(mark, Thin))
    for role, path in (("thin", lines), ("head", heads)):
        if path:
            yield f'<path {_attributes(sheet.colours, role)} d="{path}"/>'


def _head(mark: Dot | Arrow, sheet: _Sheet) -> str:
    if isinstance(mark, Dot):
        x, y = sheet.x(mark.at[0]), sheet.y(mark.at[1])
        return f"M{_n(x - 1.6)} {_n(y)}a1.6 1.6 0 1 0 3.2 0a1.6 1.6 0 1 0 -3.2 0Z"
    x, y, angle = sheet.x(mark.tip[0]), sheet.y(mark.tip[1]), radians(mark.angle)
    back = x - ARROW * cos(angle), y + ARROW * sin(angle)
    side = 1.7 * sin(angle), 1.7 * cos(angle)
    return (
        f"M{_n(x)} {_n(y)}L{_n(back[0] + side[0])} {_n(back[1] + side[1])}"
        f"L{_n(back[0] - side[0])} {_n(back[1] - side[1])}Z"
    )


def _description(drawing: Drawing) -> str:
    """The drawing in words: what it shows, then its numbers."""
    numbers = "; ".join(f"{size.title} {size.whole}" for size in drawing.sizes())
    return f"{drawing.about} {numbers}." if numbers else drawing.about


def _covered(drawing: Drawing) -> tuple[float, float, float, float]:
    """Left, bottom, right and top of all that is drawn [mm of the part]."""
    lefts, bottoms, rights, tops = zip(extent(drawing.shapes), *boxes(drawing), strict=True)
    points: list[Point] = []
    for mark in marks(drawing):
        if isinstance(mark, Thin):
            points += outermost(mark.piece)
        else:
            points.append(mark.tip if isinstance(mark, Arrow) else mark.at)
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min([*lefts, *xs]), min([*bottoms, *ys]), max([*rights, *xs]), max([*tops, *ys])


_NOT_IN_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def _clean(words: str) -> str:
    """Text safe in XML."""
    return escape(_NOT_IN_XML.sub("\N{REPLACEMENT CHARACTER}", words))


def _n(number: float) -> str:
    """A number with at most three decimals and no minus zero."""
    return f"{round(number, 3) + 0.0:.3f}".rstrip("0").rstrip(".")


# --- pictures ------------------------------------------------------------------------------------

_PLAIN = {
    "grid": 'stroke="#000" stroke-width="0.12"',
    "path": 'fill="#dcdcdc" stroke="#000" stroke-width="0.8"',
    "tight": 'fill="#fff" stroke="#000" stroke-width="0.3"',
    "loose": 'fill="#fff" stroke="#000" stroke-width="0.22" stroke-dasharray="0.9 0.6"',
    "head": 'text-anchor="middle" font-weight="700"',
    "bold": 'font-weight="700"',
}
"""Looks of the lanes as attributes, for makers of PDF know no style sheet; the page has those of a plot."""

_LETTERED = "font-family=\"'Libertinus Serif', 'Liberation Serif', serif\" font-size=\"2.9\""
_CLASSES = {"lanes": "lanes", "plot": "sb-plot", "fault": "sb-fault"}


def picture_svg(picture: Picture) -> str:
    """A picture as SVG; every text of the book is text in it, never markup."""
    lettered = f" {_LETTERED}" if picture.kind == "lanes" else ""
    title = _clean(picture.title)
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" class="{_CLASSES[picture.kind]}" role="img" '
        f'viewBox="0 0 {picture.width:g} {_short(picture.height)}"{lettered}><title>{title}</title>'
    ]
    for look, alike in groupby(picture.shapes, key=lambda one: one.look):
        plain = f" {_PLAIN[look]}" if picture.kind == "lanes" and look in _PLAIN else ""
        drawn = "".join(_joined(kind, some) for kind, some in groupby(alike, key=type))
        lines.append(f'<g class="{look}"{plain}>{drawn}</g>')
    return "\n".join((*lines, "</svg>\n"))


def _joined(kind: type, shapes: Iterable[Rectangle | Curve | Circle | Caption]) -> str:
    """Shapes of one kind and look; rectangles are one path."""
    drawn = "".join(_shape(one) for one in shapes)
    return f'<path d="{drawn}"/>' if kind is Rectangle else drawn


def _shape(one: Rectangle | Curve | Circle | Caption) -> str:
    """A shape; of a rectangle its piece of a path."""
    if isinstance(one, Curve):
        points = "L".join(f"{_short(x)} {_short(y)}" for x, y in one.points)
        return f'<path d="M{points}"/>'
    x, y = _short(one.x), _short(one.y)
    if isinstance(one, Rectangle):
        wide, high = _short(one.width), _short(one.height)
        return f"M{x} {y}h{wide}v{high}h-{wide}z"
    if isinstance(one, Circle):
        return f'<circle cx="{x}" cy="{y}" r="{_short(one.radius)}"/>'
    at = f'transform="translate({x} {y}) rotate(-90)"' if one.turned else f'x="{x}" y="{y}"'
    return f"<text {at}>{_clean(one.text)}</text>"


def _short(number: float) -> str:
    return f"{number:.2f}".rstrip("0").rstrip(".")
