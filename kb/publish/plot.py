"""Line plots for the pages: one curve, labelled axes, marks with words; plain SVG."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

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
class Mark:
    """A level across the plot, such as the design pressure."""

    words: str
    value: float


def line_plot(
    points: Sequence[tuple[float, float]], *, x: Axis, y: Axis, title: str, marks: Sequence[Mark] = ()
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
    parts = [
        f'<svg class="sb-plot" role="img" viewBox="0 0 {WIDTH} {HEIGHT}" aria-label="{escape(title)}">'
        f"<title>{escape(title)}</title>"
    ]
    for tick in y.ticks():
        _, h = at(x.low, tick)
        parts.append(
            f'<path class="grid" d="M{left} {h}H{right}"/>'
            f'<text class="ty" x="{left - 6}" y="{h + 4}">{tick:g}</text>'
        )
    for tick in x.ticks():
        w, _ = at(tick, y.low)
        parts.append(
            f'<path class="grid" d="M{w} {top}V{bottom}"/>'
            f'<text class="tx" x="{w}" y="{bottom + 16}">{tick:g}</text>'
        )
    for mark in marks:
        if y.low <= mark.value <= y.high:
            _, h = at(x.low, mark.value)
            parts.append(
                f'<path class="mark" d="M{left} {h}H{right}"/>'
                f'<text class="tm" x="{left + 6}" y="{h - 5}">{escape(mark.words)}</text>'
            )
    curve = "L".join(f"{w} {h}" for w, h in (at(px, py) for px, py in points))
    parts.append(f'<path class="curve" d="M{curve}"/>')
    parts += [
        f'<circle class="dot" cx="{w}" cy="{h}" r="3"/>'
        for w, h in (at(*p) for p in points[:: max(1, len(points) // 8)])
    ]
    middle = round((top + bottom) / 2, 1)
    parts.append(
        f'<text class="ax" x="{round((left + right) / 2, 1)}" y="{HEIGHT - 8}">{escape(x.words)}</text>'
    )
    parts.append(
        f'<text class="ay" transform="translate(14 {middle}) rotate(-90)">{escape(y.words)}</text></svg>'
    )
    return "".join(parts)
