"""Line plots for the pages: one curve, labelled axes, marks with words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from kb.output.svg import picture_svg
from kb.pictures import Caption, Circle, Curve, Picture, Shapes

WIDTH, HEIGHT = 360, 220
_LEFT, _RIGHT, _TOP, _BOTTOM = 52, 14, 14, 44


@dataclass(frozen=True, slots=True)
class Axis:
    """An axis with its words and the range it shows."""

    words: str
    low: float
    high: float

    def ticks(self) -> list[float]:
        """About five round values from low to high."""
        span = self.high - self.low
        step = 10 ** math.floor(math.log10(span / 4))
        step *= next(k for k in (1, 2, 2.5, 5, 10) if span / (step * k) <= 5)
        first = math.ceil(self.low / step - 1e-9)
        return [n * step for n in range(first, math.floor(self.high / step + 1e-9) + 1)]


@dataclass(frozen=True, slots=True)
class PlotMark:
    """A level across the plot, such as the design pressure."""

    words: str
    value: float


def line_plot(
    points: Sequence[tuple[float, float]], *, x: Axis, y: Axis, title: str, marks: Sequence[PlotMark] = ()
) -> str:
    """A curve through points, with level marks.

    Args:
        points: x and y, in order
        x: the axis below
        y: the axis on the left
        title: what the plot shows, for readers who cannot see it
        marks: levels of y to draw across

    Returns:
        An SVG element.
    """

    def at(px: float, py: float) -> tuple[float, float]:
        across = (px - x.low) / (x.high - x.low) * (WIDTH - _LEFT - _RIGHT)
        up = (py - y.low) / (y.high - y.low) * (HEIGHT - _TOP - _BOTTOM)
        return round(_LEFT + across, 1), round(HEIGHT - _BOTTOM - up, 1)

    left, bottom = at(x.low, y.low)
    right, top = at(x.high, y.high)
    shapes: list[Shapes] = []
    for tick in y.ticks():
        _, h = at(x.low, tick)
        shapes += [Curve(((left, h), (right, h)), "grid"), Caption(left - 6, h + 4, f"{tick:g}", "ty")]
    for tick in x.ticks():
        w, _ = at(tick, y.low)
        shapes += [Curve(((w, top), (w, bottom)), "grid"), Caption(w, bottom + 16, f"{tick:g}", "tx")]
    for mark in marks:
        if y.low <= mark.value <= y.high:
            _, h = at(x.low, mark.value)
            shapes += [Curve(((left, h), (right, h)), "mark"), Caption(left + 6, h - 5, mark.words, "tm")]
    curve = tuple(at(*p) for p in points)
    shapes += [Curve(curve, "curve"), *(Circle(w, h, 3, "dot") for w, h in curve[:: max(1, len(curve) // 8)])]
    shapes.append(Caption((left + right) / 2, HEIGHT - 8, x.words, "ax"))
    shapes.append(Caption(14, (top + bottom) / 2, y.words, "ay", turned=True))
    return picture_svg(Picture("plot", WIDTH, HEIGHT, title, tuple(shapes)))
