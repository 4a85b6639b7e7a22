"""The geometry kernel: a part of revolution as lines and arcs in (r, z), with thickness along them.

A meridian follows the *inside* of the part, from the axis outward and up to the rim; the metal is
on the right of the way of travel. So a capacity needs no offset, the curve over a punch is the
punch itself, and the outside is the same curve moved by the thickness.

Each coordinate is a number or an array of samples, so that one meridian holds a part at its nominal
size and at every corner of its tolerances at once. Lengths in mm, angles in degrees.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from kb.units import Deg, Mm, Mm2, Mm3, Number

# Gauss-Legendre nodes on 0..1. A can's arcs turn at most a right angle and carry at most a linear
# taper; eight nodes integrate those to the last digits of a float.
_X, _W = np.polynomial.legendre.leggauss(8)
_NODES, _WEIGHTS = (_X + 1) / 2, _W / 2

Points: TypeAlias = NDArray[Any]


@dataclass(frozen=True)
class LineSegment:
    """A straight piece from (r0, z0) to (r1, z1), `wall0` thick at its start, `wall1` at its end [mm]."""

    r0: Mm
    z0: Mm
    r1: Mm
    z1: Mm
    wall0: Mm
    wall1: Mm

    def length(self) -> Mm:
        """Length of the inside line [mm]."""
        return np.hypot(self.r1 - self.r0, self.z1 - self.z0)

    @cached_property
    def metal(self) -> Mm3:
        """Metal carried on the line [mm3]; a piece is often part of several shapes.

        Source:
            Derived: the integral of 2 pi r over the strip between the line and its offset, exact.
        """
        along = (
            (self.r0 * (2 * self.wall0 + self.wall1) + self.r1 * (self.wall0 + 2 * self.wall1))
            / 6
            * self.length()
        )
        # length times the normal's radial part is the rise in z
        across = (self.z1 - self.z0) * (self.wall0**2 + self.wall0 * self.wall1 + self.wall1**2) / 6
        return 2 * np.pi * (along + across)

    def area(self, *, outside: bool = False) -> Mm2:
        """Area swept by the inside, or the outside, of the line [mm2].

        Source:
            Theorem of Pappus for a line.
        """
        if not outside:
            return np.pi * (self.r0 + self.r1) * self.length()
        r, z = self.points(2, outside=True)
        return np.pi * (r[0] + r[1]) * np.hypot(r[1] - r[0], z[1] - z[0])

    def enclosed(self) -> Mm3:
        """Volume between the inside line and the axis, counted with the sign of its rise [mm3]."""
        return np.pi * (self.z1 - self.z0) * (self.r0**2 + self.r0 * self.r1 + self.r1**2) / 3

    def points(self, count: int, *, outside: bool = False) -> tuple[Points, Points]:
        """`count` points along the line, inside or outside: arrays r and z, points first [mm]."""
        at = _along(np.linspace(0.0, 1.0, count), self.r0, self.r1, self.z0, self.z1, self.wall0, self.wall1)
        r, z = _between(self.r0, self.r1, at), _between(self.z0, self.z1, at)
        if outside:
            length = np.maximum(self.length(), 1e-12)
            wall = _between(self.wall0, self.wall1, at)
            r = r + wall * (self.z1 - self.z0) / length
            z = z - wall * (self.r1 - self.r0) / length
        return r, z


@dataclass(frozen=True)
class Arc:
    """An arc about (r, z) [mm] from angle `start` to angle `end` [deg], its inside at `radius` [mm].

    Angles run from the outward radial direction toward +z. Travelling with rising angle the metal
    is outside `radius`; with falling angle it is between `radius` and the centre.
    """

    r: Mm
    z: Mm
    radius: Mm
    start: Deg
    end: Deg
    wall0: Mm
    wall1: Mm

    def _side(self) -> Number:
        return np.where(np.greater_equal(self.end, self.start), 1.0, -1.0)

    def _shares(self, at: Points) -> Points:
        return _along(at, self.r, self.z, self.radius, self.start, self.end, self.wall0, self.wall1)

    def length(self) -> Mm:
        """Length of the inside arc [mm]."""
        return self.radius * np.abs(np.radians(self.end - self.start))

    @cached_property
    def metal(self) -> Mm3:
        """Metal carried on the arc, its thickness changing evenly with the angle [mm3].

        Source:
            Derived: the integral of 2 pi r over the sector between the arc and its offset.
        """
        at = self._shares(_NODES)
        cosine = np.cos(np.radians(_between(self.start, self.end, at)))
        wall = _between(self.wall0, self.wall1, at) * self._side()
        outer = self.radius + wall
        depth = self.r * (outer**2 - self.radius**2) / 2 + cosine * (outer**3 - self.radius**3) / 3
        sweep = np.radians(self.end - self.start)
        return 2 * np.pi * sweep * (_WEIGHTS @ depth)

    def area(self, *, outside: bool = False) -> Mm2:
        """Area swept by the inside, or the outside, of the arc [mm2].

        Source:
            Theorem of Pappus for an arc; a taper's slope is neglected on the outside.
        """
        at = self._shares(_NODES)
        angle = np.radians(_between(self.start, self.end, at))
        rho = self.radius
        if outside:
            rho = self.radius + _between(self.wall0, self.wall1, at) * self._side()
        ring = (self.r + rho * np.cos(angle)) * rho
        return 2 * np.pi * np.abs(np.radians(self.end - self.start)) * (_WEIGHTS @ ring)

    def enclosed(self) -> Mm3:
        """Volume between the inside arc and the axis, counted with the sign of its rise [mm3]."""
        angle = np.radians(_between(self.start, self.end, self._shares(_NODES)))
        slope = (self.r + self.radius * np.cos(angle)) ** 2 * self.radius * np.cos(angle)
        return np.pi * np.radians(self.end - self.start) * (_WEIGHTS @ slope)

    def points(self, count: int, *, outside: bool = False) -> tuple[Points, Points]:
        """`count` points along the arc, inside or outside: arrays r and z, points first [mm]."""
        at = self._shares(np.linspace(0.0, 1.0, count))
        angle = np.radians(_between(self.start, self.end, at))
        rho = self.radius
        if outside:
            rho = self.radius + _between(self.wall0, self.wall1, at) * self._side()
        return self.r + rho * np.cos(angle), self.z + rho * np.sin(angle)


Segment: TypeAlias = LineSegment | Arc


@dataclass(frozen=True, slots=True)
class Meridian:
    """A part of revolution: its pieces in order from the axis to the rim."""

    pieces: tuple[Segment, ...]

    def __iter__(self) -> Iterator[Segment]:
        return iter(self.pieces)

    def __add__(self, more: Meridian) -> Meridian:
        return Meridian(self.pieces + more.pieces)

    def metal(self) -> Mm3:
        """Volume of metal [mm3]."""
        return _total(piece.metal for piece in self.pieces)

    def length(self) -> Mm:
        """Length of the inside curve from axis to rim [mm]."""
        return _total(piece.length() for piece in self.pieces)

    def area_inside(self) -> Mm2:
        """Area of the inside surface [mm2]."""
        return _total(piece.area() for piece in self.pieces)

    def area_outside(self) -> Mm2:
        """Area of the outside surface, without the cut edge [mm2]."""
        return _total(piece.area(outside=True) for piece in self.pieces)

    def enclosed(self) -> Mm3:
        """Volume inside, up to the plane through the rim [mm3]."""
        return _total(piece.enclosed() for piece in self.pieces)

    def points(self, per_arc: int = 13, *, outside: bool = False) -> tuple[Points, Points]:
        """The inside or outside curve as points: arrays r and z, points first [mm]."""
        lines = [
            piece.points(2 if isinstance(piece, LineSegment) else per_arc, outside=outside)
            for piece in self.pieces
        ]
        samples = np.broadcast_shapes(*(axis.shape[1:] for line in lines for axis in line))
        r, z = (
            np.concatenate([np.broadcast_to(_column(p, bool(samples)), (len(p), *samples)) for p in axis])
            for axis in zip(*lines, strict=True)
        )
        return r, z

    def top(self) -> Mm:
        """Height of the rim's inside edge [mm]."""
        last = self.pieces[-1]
        return (
            last.z1 if isinstance(last, LineSegment) else last.z + last.radius * np.sin(np.radians(last.end))
        )


def _along(at: Points, *numbers: Number) -> Points:
    """Shares along the first axis, with room for the samples of `numbers` on a second."""
    return at[:, np.newaxis] if any(np.ndim(number) for number in numbers) else at


def _between(start: Number, end: Number, at: Points) -> Points:
    """Values a share `at` of the way from start to end."""
    return start + (end - start) * at


def _column(values: Points, sampled: bool) -> Points:
    """Points of a piece that is the same in all samples, given the sample axis that other pieces have."""
    return values[:, np.newaxis] if sampled and values.ndim == 1 else values


def _total(values: Iterable[Number]) -> Number:
    total: Number = 0.0
    for value in values:
        total = total + value
    return total
