"""Measuring what is drawn, by means that the drawing code does not use."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise
from math import cos, pi, radians, sin

import numpy as np

from kb.drawing.marks import Box
from kb.drawing.model import Bend, Piece, Point

NODES, WEIGHTS = np.polynomial.legendre.leggauss(12)


def revolved(pieces: Iterable[Piece]) -> float:
    """Volume of the ring swept by a closed loop about the axis x = 0: area times the way of its centroid."""
    moment = 0.0  # the integral of x over the area, by Green: half the integral of x squared along y
    for piece in pieces:
        if isinstance(piece, Bend):
            begin, finish = radians(piece.begin), radians(piece.finish)
            half = (finish - begin) / 2
            angles = begin + half * (NODES + 1)
            x = piece.centre[0] + piece.radius * np.cos(angles)
            moment += float(np.sum(WEIGHTS * x**2 * piece.radius * np.cos(angles))) * half / 2
        else:
            (x0, y0), (x1, y1) = piece.start, piece.end
            moment += (y1 - y0) * (x0 * x0 + x0 * x1 + x1 * x1) / 6
    return abs(2 * pi * moment)


def sampled(piece: Piece, count: int = 24) -> list[Point]:
    """Points along a piece."""
    if not isinstance(piece, Bend):
        return [piece.start, piece.end]
    angles = [piece.begin + (piece.finish - piece.begin) * i / count for i in range(count + 1)]
    x, y = piece.centre
    return [(x + piece.radius * cos(radians(a)), y + piece.radius * sin(radians(a))) for a in angles]


def crosses(box: Box, piece: Piece) -> bool:
    """Whether a piece runs through a rectangle."""
    return any(_cuts(box, a, b) for a, b in pairwise(sampled(piece)))


def _cuts(box: Box, a: Point, b: Point) -> bool:
    """Whether a straight line from a to b has a part strictly inside a rectangle (Liang and Barsky)."""
    enters, leaves = 0.0, 1.0
    for start, step, low, high in (
        (a[0], b[0] - a[0], box.left, box.right),
        (a[1], b[1] - a[1], box.bottom, box.top),
    ):
        if abs(step) < 1e-12:
            if not low < start < high:
                return False
            continue
        one, other = sorted(((low - start) / step, (high - start) / step))
        enters, leaves = max(enters, one), min(leaves, other)
    return leaves - enters > 1e-9


def surrounds(pieces: Iterable[Piece], point: Point) -> bool:
    """Whether a point is inside a closed loop: a ray from it crosses the loop an odd number of times."""
    ring = [corner for piece in pieces for corner in sampled(piece)]
    x, y = point
    inside = False
    for (x0, y0), (x1, y1) in pairwise([*ring, ring[0]]):
        if (y0 > y) != (y1 > y) and x < x0 + (x1 - x0) * (y - y0) / (y1 - y0):
            inside = not inside
    return inside
