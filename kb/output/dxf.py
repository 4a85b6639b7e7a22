"""Drawings as DXF: true millimetres for CAD, closed contours, real dimensions.

Contours are polylines whose arcs are true arcs (bulges); what is a single line, arc or circle is one.
Each dimension carries its own picture, so that it looks alike wherever it is opened, and the number
as its spec has it. The same drawings give the same bytes.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from math import ceil, cos, radians, sin, tan
from typing import TypeAlias

import ezdxf
from ezdxf import units
from ezdxf.document import Drawing as Document
from ezdxf.entities import Dimension as DxfDimension
from ezdxf.enums import TextEntityAlignment
from ezdxf.filemanagement import new
from ezdxf.layouts.blocklayout import BlockLayout
from ezdxf.layouts.layout import Modelspace

from kb.drawing.marks import (
    ARROW,
    LETTERS,
    LINE,
    Arrow,
    Dot,
    Mark,
    Thin,
    boxes,
    of_dimension,
    of_label,
    wrapped,
)
from kb.drawing.model import Bend, Dimension, Drawing, Point, Role, Shape, Straight, Text
from kb.drawing.outline import extent, moved

Space: TypeAlias = Modelspace | BlockLayout

CAPITAL = 0.72
"""Height of a capital, which CAD counts, over that of the letters' body."""

APART, GRID = 20.0, 10.0
"""Least room between two views, and what the place of each view's axis is a multiple of [mm]."""

LAYERS: dict[Role, tuple[str, int, str, int]] = {
    "metal": ("METAL", 5, "CONTINUOUS", 35),
    "end": ("END", 30, "CONTINUOUS", 35),
    "tool": ("TOOL", 8, "CONTINUOUS", 25),
    "strip": ("STRIP", 9, "CONTINUOUS", 25),
    "blank": ("BLANK", 5, "CONTINUOUS", 25),
    "outline": ("OUTLINE", 7, "CONTINUOUS", 35),
    "edge": ("EDGE", 8, "CONTINUOUS", 13),
    "phantom": ("PHANTOM", 6, "PHANTOM", 18),
    "centre": ("CENTRE", 1, "CENTRE", 18),
    "trim": ("TRIM", 3, "DASHED", 35),
}
"""Name, colour index, line type and line weight [mm/100] of the layer of each role."""

_LINE_TYPES = {
    "PHANTOM": ("phantom", [4.0, 2.4, -0.6, 0.4, -0.6]),
    "CENTRE": ("centre line", [4.8, 3.2, -0.7, 0.2, -0.7]),
    "DASHED": ("dashed", [2.4, 1.6, -0.8]),
}


def dxf(drawings: Mapping[str, Drawing]) -> bytes:
    """Drawings as one DXF file, side by side, each with its axis or first edge on a round number.

    Raises:
        ValueError: if a drawing is exaggerated.
    """
    thick = [drawing.id for drawing in drawings.values() if drawing.exaggerate != 1.0]
    if thick:
        raise ValueError(f"CAD gets true sizes only, and these are drawn thicker: {', '.join(thick)}")
    with _same_bytes():
        doc = _document()
        space, cursor = doc.modelspace(), None
        for drawing in drawings.values():
            left, right = _reach(drawing)
            at = 0.0 if cursor is None else ceil((cursor + APART - left) / GRID) * GRID
            _View(doc, space, drawing, at).put()
            cursor = at + right
        stream = io.StringIO()
        doc.write(stream)
    return stream.getvalue().encode("utf-8")


@contextmanager
def _same_bytes() -> Iterator[None]:
    """Without the dates and random names a DXF file is given otherwise."""
    options = ezdxf.options  # type: ignore[attr-defined] # documented there, exported without saying so
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


def _document() -> Document:
    doc = new("R2010", units=units.MM)
    doc.header["$MEASUREMENT"] = 1
    for name, (words, pattern) in _LINE_TYPES.items():
        doc.linetypes.add(name, pattern, description=words)
    for name, colour, line, weight in LAYERS.values():
        doc.layers.add(name, color=colour, linetype=line, lineweight=weight)
    for name in ("DIMENSION", "TEXT"):
        doc.layers.add(name, color=7, lineweight=13)
    return doc


def _reach(drawing: Drawing) -> tuple[float, float]:
    """Left and right end of a drawing with its texts [mm]."""
    areas = [extent(drawing.shapes), *boxes(drawing)]
    return min(area[0] for area in areas), max(area[2] for area in areas)


class _View:
    """One drawing on its way into a file, moved to the right by `at`."""

    def __init__(self, doc: Document, space: Modelspace, drawing: Drawing, at: float) -> None:
        self.doc, self.space, self.drawing, self.at = doc, space, drawing, at
        self.style = _plain(drawing.id).upper()

    def put(self) -> None:
        """Everything of the drawing."""
        pixel = self.drawing.pixel
        sizes = {"dimtxt": CAPITAL * LETTERS["value"], "dimasz": ARROW, "dimexe": 3.0, "dimexo": 2.0}
        attributes = {name: pixels * pixel for name, pixels in sizes.items()}
        self.doc.dimstyles.new(self.style, dxfattribs={**attributes, "dimtad": 1})
        for shape in self.drawing.shapes:
            self.shape(shape)
        for dimension in self.drawing.dimensions:
            self.dimension(dimension)
        for label in self.drawing.labels:
            self.marks(self.space, of_label(label), "TEXT")
            self.text(self.space, label.text, "TEXT")
        self.words_under()

    def point(self, point: Point) -> Point:
        """Where a point of the drawing is in the file."""
        return point[0] + self.at, point[1]

    def shape(self, shape: Shape) -> None:
        """A contour, or the one line, arc or circle it consists of."""
        layer = {"layer": LAYERS[shape.role][0], "ltscale": 1 / self.drawing.scale}
        pieces = moved(shape.pieces, right=self.at)
        first = pieces[0]
        if len(pieces) == 1 and isinstance(first, Straight):
            self.space.add_line(first.start, first.end, dxfattribs=layer)
        elif len(pieces) == 1 and isinstance(first, Bend):
            begin, finish = sorted((first.begin, first.finish))
            self.space.add_arc(first.centre, first.radius, begin, finish, dxfattribs=layer)
        elif _is_circle(shape) and isinstance(first, Bend):
            self.space.add_circle(first.centre, first.radius, dxfattribs=layer)
        else:
            points = [(*piece.start, _bulge(piece)) for piece in pieces]
            if not shape.closed:
                points.append((*pieces[-1].end, 0.0))
            self.space.add_lwpolyline(points, format="xyb", close=shape.closed, dxfattribs=layer)

    def dimension(self, one: Dimension) -> None:
        """A dimension with its own picture."""
        entity = self.measured(one)
        picture = self.doc.blocks.new_anonymous_block(type_char="D")
        self.marks(picture, of_dimension(one, self.drawing.pixel), "DIMENSION")
        self.text(picture, one.text, "DIMENSION")
        entity.dxf.geometry = picture.name
        entity.dxf.text_midpoint = self.point(one.text.at)

    def measured(self, one: Dimension) -> DxfDimension:
        """The dimension as CAD measures it, with the drawing's words."""
        a, b, through = self.point(one.start), self.point(one.end), self.point(one.through)
        words = _plain(f"{one.size.title} {one.size.whole}")
        layer = {"layer": "DIMENSION"}
        if one.kind == "radius":
            made = self.space.add_radius_dim(a, b, text=words, dimstyle=self.style, dxfattribs=layer)
        elif one.kind == "angle":
            assert one.apex is not None
            apex = self.point(one.apex)
            a, b = (a, b) if _turns_left(apex, a, b) else (b, a)
            made = self.space.add_angular_dim_3p(
                through, apex, a, b, text=words, dimstyle=self.style, dxfattribs=layer
            )
        else:
            angle = 90.0 if one.kind == "vertical" else 0.0
            made = self.space.add_linear_dim(
                through, a, b, text=words, angle=angle, dimstyle=self.style, dxfattribs=layer
            )
        return made.dimension

    def marks(self, space: Space, marks: Iterable[Mark], layer: str) -> None:
        """Thin lines, arrow heads and dots."""
        on = {"layer": layer}
        for mark in marks:
            if isinstance(mark, Arrow):
                space.add_solid(self.head(mark), dxfattribs=on)
            elif isinstance(mark, Dot):
                space.add_circle(self.point(mark.at), 1.6 * self.drawing.pixel, dxfattribs=on)
            elif isinstance(mark, Thin) and isinstance(mark.piece, Bend):
                begin, finish = sorted((mark.piece.begin, mark.piece.finish))
                centre = self.point(mark.piece.centre)
                space.add_arc(centre, mark.piece.radius, begin, finish, dxfattribs=on)
            else:
                space.add_line(self.point(mark.piece.start), self.point(mark.piece.end), dxfattribs=on)

    def head(self, arrow: Arrow) -> list[Point]:
        """The three corners of an arrow head."""
        pixel, (x, y) = self.drawing.pixel, self.point(arrow.tip)
        along = cos(radians(arrow.angle)), sin(radians(arrow.angle))
        back = x - ARROW * pixel * along[0], y - ARROW * pixel * along[1]
        side = 1.7 * pixel * along[1], -1.7 * pixel * along[0]
        return [(x, y), (back[0] + side[0], back[1] + side[1]), (back[0] - side[0], back[1] - side[1])]

    def text(self, space: Space, text: Text, layer: str) -> None:
        """Lines of text, each one entity."""
        pixel = self.drawing.pixel
        align = {
            "start": TextEntityAlignment.MIDDLE_LEFT,
            "middle": TextEntityAlignment.MIDDLE_CENTER,
            "end": TextEntityAlignment.MIDDLE_RIGHT,
        }[text.anchor]
        x, y = self.point(text.at)
        for i, line in enumerate(text.lines):
            down = (i - (len(text.lines) - 1) / 2) * LINE * pixel
            place = (x + down, y) if text.turned else (x, y - down)
            height = CAPITAL * pixel * max(LETTERS[style] for style, _ in line)
            entity = space.add_text(
                _plain(" ".join(words for _, words in line)),
                height=height,
                rotation=90.0 if text.turned else 0.0,
                dxfattribs={"layer": layer},
            )
            entity.set_placement(place, align=align)

    def words_under(self) -> None:
        """Title, format and notes below the view."""
        one, pixel = self.drawing, self.drawing.pixel
        left, _ = _reach(one)
        y = min(area[1] for area in [extent(one.shapes), *boxes(one)]) - 40 * pixel
        lines = [one.title, f"{one.format}, revision {one.revision}, millimetres, size 1:1", *one.notes]
        for line in (part for words in lines for part in wrapped(words, 340.0, LETTERS["value"])):
            height = CAPITAL * LETTERS["value"] * pixel
            entity = self.space.add_text(_plain(line), height=height, dxfattribs={"layer": "TEXT"})
            entity.set_placement((left + self.at, y))
            y -= (LINE + 3) * pixel


def _is_circle(shape: Shape) -> bool:
    bends = [piece for piece in shape.pieces if isinstance(piece, Bend)]
    turned = sum(piece.finish - piece.begin for piece in bends)
    return len(bends) == len(shape.pieces) and len({piece.centre for piece in bends}) == 1 and turned == 360.0


def _bulge(piece: Straight | Bend) -> float:
    return tan(radians(piece.finish - piece.begin) / 4) if isinstance(piece, Bend) else 0.0


def _turns_left(apex: Point, a: Point, b: Point) -> bool:
    return (a[0] - apex[0]) * (b[1] - apex[1]) > (a[1] - apex[1]) * (b[0] - apex[0])


_CONTROL = re.compile("[\x00-\x1f\x7f\ud800-\udfff]+")


def _plain(words: str) -> str:
    """Text without the signs that CAD reads as commands."""
    for sign, other in (("\\", "/"), ("%%", "% %"), ("^", "'"), ("{", "("), ("}", ")")):
        while sign in words:
            words = words.replace(sign, other)
    return _CONTROL.sub(" ", words)
