"""The shell's mesh: the middle of a meridian's metal, cut into short straight elements."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from kb.process.meridian import Arc, LineSegment, Meridian
from kb.process.shell.material import Array

STEP = 0.12
"""Longest element over the bending length sqrt(thickness * radius); the convergence test holds it."""
TURN = np.radians(5.0)
"""Largest turn of the meridian over one element [rad]."""
_NOTHING = 1e-9


@dataclass(frozen=True)
class Mesh:
    """Nodes along the middle of the metal, from the axis outward.

    Attributes:
        r: radius of each node [mm]
        z: height of each node [mm]
        slope: angle of the meridian at each node, from the outward direction toward +z [rad]
        thickness: metal thickness at each node [mm]
    """

    r: Array
    z: Array
    slope: Array
    thickness: Array

    def __len__(self) -> int:
        return len(self.r)

    @cached_property
    def length(self) -> Array:
        """Length of each element [mm]."""
        return np.hypot(np.diff(self.r), np.diff(self.z))

    @cached_property
    def direction(self) -> Array:
        """Angle of each element [rad]."""
        return np.unwrap(np.arctan2(np.diff(self.z), np.diff(self.r)))

    @cached_property
    def curvature(self) -> Array:
        """Turn per length of each element [1/mm]."""
        return np.diff(self.slope) / self.length

    @cached_property
    def radius(self) -> Array:
        """Radius of the middle of each element [mm]."""
        return (self.r[1:] + self.r[:-1]) / 2

    @cached_property
    def wall(self) -> Array:
        """Thickness at the middle of each element [mm]."""
        return (self.thickness[1:] + self.thickness[:-1]) / 2


def mesh_meridian(meridian: Meridian, *, fineness: float = 1.0) -> Mesh:
    """Cut the middle of a meridian's metal into elements.

    Args:
        meridian: the part, single numbers (no samples)
        fineness: number of elements over the usual number [-]

    Returns:
        The mesh; elements are short where the shell is thin, narrow or curved.

    Raises:
        ValueError: if the profile does not close.
    """
    sizes = [getattr(piece, name) for piece in meridian for name in vars(piece) if name != "metal"]
    if not (sizes and np.isfinite(sizes).all() and all(min(p.wall0, p.wall1) > 0 for p in meridian)):
        raise ValueError("the profile does not close")
    reach = max(float(np.max(piece.points(2)[0])) for piece in meridian)
    pieces = [_middle(piece, reach, fineness) for piece in meridian if float(piece.length()) > _NOTHING]
    first = [column[:1] for column in pieces[0]]
    rest = zip(*([column[1:] for column in piece] for piece in pieces), strict=True)
    r, z, slope, thickness = (np.concatenate([a, *b]) for a, b in zip(first, rest, strict=True))
    return Mesh(r, z, slope, thickness)


def _middle(piece: LineSegment | Arc, reach: float, fineness: float) -> tuple[Array, Array, Array, Array]:
    """Nodes on the middle of a piece's metal: r, z, slope, thickness."""
    step = STEP * np.sqrt(min(piece.wall0, piece.wall1) * reach)
    turn = 0.0 if isinstance(piece, LineSegment) else abs(np.radians(piece.end - piece.start))
    count = int(np.ceil(fineness * max(float(piece.length()) / step, turn / TURN, 1.0)))
    share = np.linspace(0.0, 1.0, count + 1)
    (r, z), (outer_r, outer_z) = piece.points(count + 1), piece.points(count + 1, outside=True)
    if isinstance(piece, LineSegment):
        slope = np.full(count + 1, np.arctan2(piece.z1 - piece.z0, piece.r1 - piece.r0))
    else:
        side = 90.0 if piece.end >= piece.start else -90.0
        slope = np.radians(piece.start + share * (piece.end - piece.start) + side)
    thickness = piece.wall0 + share * (piece.wall1 - piece.wall0)
    return (r + outer_r) / 2, (z + outer_z) / 2, slope, thickness
