"""Results of a solver at many sizes, from few solutions about one part.

A solution takes half a second, and a part with its tolerances is looked at in hundreds of corners and
thousands of cans. So the part is solved as it is. What a size does to it is read from another part that is
alike, and that many parts share: solved as it is, then with each size that moves alone one step to each
side. The logarithm of a result follows a parabola through these three points; what several sizes do is
multiplied. So a result that turns within a step is seen: its moves to both sides have one sign. Beyond 1.5
steps the logarithm runs straight to solutions 4 and 10 steps away, and straight on from there. Only a
search gets so far; what it finds is solved where it is.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from typing import TypeAlias

import numpy as np

from kb.process.shell.material import Array
from kb.units import Number

NEAR = 1.5
"""How far the parabola through the solutions one step away holds [steps]."""

FAR = (4.0, 10.0)
"""Distances of the other solutions to each side [steps]."""

Sizes: TypeAlias = Mapping[str, float]
"""Sizes of a part by name."""

Solve: TypeAlias = Callable[[Sequence[Sizes]], Sequence[Sequence[float]]]
"""Results above zero of each of some parts; not-a-number where there is none."""

_STILL = 1e-9  # steps


class NearbyResults:
    """Results about one part.

    Args:
        solve: the results of parts by their sizes, many at once
        anchor: the sizes of the part
        steps: a step of each size that may move
        alike: results about a part whose moves are taken for those of this part; its own when left out
        relative: sizes whose moves are taken there as the same share of the size; others by the same length
    """

    def __init__(
        self,
        solve: Solve,
        anchor: Sizes,
        steps: Sizes,
        *,
        alike: NearbyResults | None = None,
        relative: Collection[str] = (),
    ) -> None:
        self._solve, self._anchor, self._steps = solve, dict(anchor), steps
        self._alike, self._relative = alike or self, relative
        self._known: dict[tuple[str, float], Array] = {}

    def at(self, sizes: Mapping[str, Number]) -> Array:
        """The results (results, samples...) at other sizes; not-a-number where there is no part on the way.

        Args:
            sizes: single numbers or samples by name; what is left out stays
        """
        moves = {
            name: np.asarray((value - self._anchor[name]) / self._steps[name], dtype=float)
            for name, value in sizes.items()
        }
        shape = np.broadcast_shapes(*(move.shape for move in moves.values()))
        moves = {name: move for name, move in moves.items() if np.any(np.abs(move) > _STILL)}
        nominal, alike = self._log("", 0.0), self._source(bool(moves))
        total = np.broadcast_to(nominal.reshape(-1, *(1 for _ in shape)), (len(nominal), *shape)).copy()
        for name in moves.keys() & set(self._relative):
            moves[name] = moves[name] * (alike._anchor[name] / self._anchor[name])
        alike._solve_for(moves)
        for name, move in moves.items():
            total += alike._change(name, np.broadcast_to(move, shape))
        return np.exp(total)

    def _source(self, moves: bool) -> NearbyResults:
        """Where moves are read: at the part alike, if all that holds here holds there too."""
        if not moves or self._alike is self:
            return self
        lost = np.isnan(self._alike._log("", 0.0)) & np.isfinite(self._log("", 0.0))
        return self if lost.any() else self._alike

    def _solve_for(self, moves: Mapping[str, Array]) -> None:
        """Solve all that moves need, at once."""
        wanted = [("", 0.0)] if moves else []
        for name, move in moves.items():
            wanted += [(name, -1.0), (name, 1.0)]
            for side in (-1.0, 1.0):
                wanted += [(name, side * one) for one in _needed(float(np.nanmax(side * move, initial=0.0)))]
        self._solve_points(wanted)

    def _solve_points(self, points: Sequence[tuple[str, float]]) -> None:
        new = [one for one in dict.fromkeys(points) if one not in self._known]
        if new:
            with np.errstate(divide="ignore", invalid="ignore"):
                found = [np.log(np.asarray(one, dtype=float)) for one in self._solve([*self._parts(new)])]
            self._known.update(zip(new, found, strict=True))

    def _parts(self, points: Sequence[tuple[str, float]]) -> Iterator[Sizes]:
        for name, distance in points:
            moved = {name: self._anchor[name] + distance * self._steps[name]} if name else {}
            yield {**self._anchor, **moved}

    def _log(self, name: str, distance: float) -> Array:
        """Logarithms of the results with one size some steps away."""
        self._solve_points([(name, distance)])
        return self._known[name, distance]

    def _change(self, name: str, move: Array) -> Array:
        """What a size does to the logarithms (results, samples...)."""
        nominal = self._log("", 0.0)
        below, above = (self._log(name, side) - nominal for side in (-1.0, 1.0))
        # at a size that has no part on one side of it, the other side alone is known
        below, above = np.where(np.isnan(below), -above, below), np.where(np.isnan(above), -below, above)
        column = (slice(None), *(np.newaxis for _ in range(move.ndim)))
        change = move * ((above - below) / 2)[column] + move**2 * ((above + below) / 2)[column]
        for side in (-1.0, 1.0):
            beyond = side * move > NEAR + _STILL
            if np.any(beyond):
                edge = side * NEAR * (above - below) / 2 + NEAR**2 * (above + below) / 2
                change[:, beyond] = self._far(name, side, edge, side * move[beyond])
        return change

    def _far(self, name: str, side: float, edge: Array, distance: Array) -> Array:
        """The same beyond the edge of the parabola to one side, at distances in steps."""
        needed = _needed(float(np.nanmax(distance)))
        nominal = self._log("", 0.0)
        points = np.stack([edge, *(self._log(name, side * one) - nominal for one in needed)], axis=1)
        at = (NEAR, *needed)
        found = np.stack([np.interp(distance, at, row) for row in points])
        slope = (points[:, -1] - points[:, -2]) / (at[-1] - at[-2])
        return found + slope[:, np.newaxis] * np.maximum(distance - at[-1], 0.0)


def _needed(distance: float) -> tuple[float, ...]:
    """Distances of the further solutions that a distance needs [steps]."""
    if distance <= NEAR + _STILL:
        return ()
    return FAR[: int(np.searchsorted(FAR, distance - _STILL)) + 1]
