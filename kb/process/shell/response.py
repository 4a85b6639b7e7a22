"""Results of a solver at many sizes, from few solutions about one part.

A solution takes half a second, and a part with its tolerances is looked at in hundreds of corners and
thousands of cans. So the part is solved as it is, then with each size that moves alone one step to each
side. The logarithm of a result follows a parabola through these three points; what several sizes do is
multiplied. So a result that turns within a step is seen: its moves to both sides have one sign. Beyond a step
the logarithm runs straight between solutions 4 and 10 steps away. Beyond 10 steps there is no answer.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache

import numpy as np

from kb.process.shell.material import Array
from kb.units import Number

FAR = (1.0, 4.0, 10.0)
"""Distances of the solutions to each side [steps]."""

Solve = Callable[[Mapping[str, float]], tuple[float, ...]]
"""Results above zero at some sizes; not-a-number where there is none."""


class NearbyResults:
    """Results about one part.

    Args:
        solve: the results of a part by its sizes
        anchor: the sizes of the part
        steps: a step of each size that may move
    """

    def __init__(self, solve: Solve, anchor: Mapping[str, float], steps: Mapping[str, float]) -> None:
        self._solve, self._anchor, self._steps = solve, dict(anchor), steps
        self._moved = cache(self._moved_alone)

    def at(self, sizes: Mapping[str, Number]) -> Array:
        """The results (results, samples...) at other sizes; not-a-number more than 10 steps away.

        Args:
            sizes: single numbers or samples by name; what is left out stays
        """
        moves = {name: (value - self._anchor[name]) / self._steps[name] for name, value in sizes.items()}
        shape = np.broadcast_shapes(*(np.shape(move) for move in moves.values()))
        nominal = self._moved("", 0.0)
        total = np.broadcast_to(nominal.reshape(-1, *(1 for _ in shape)), (len(nominal), *shape)).copy()
        for name, move in moves.items():
            if np.any(np.abs(move) > 1e-9):
                total += self._change(name, np.broadcast_to(np.asarray(move, dtype=float), shape))
        return np.exp(total)

    def _moved_alone(self, name: str, distance: float) -> Array:
        sizes = dict(self._anchor)
        if name:
            sizes[name] += distance * self._steps[name]
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.log(np.asarray(self._solve(sizes), dtype=float))

    def _change(self, name: str, move: Array) -> Array:
        """What a size does to the logarithms (results, samples...)."""
        nominal = self._moved("", 0.0)
        below, above = (self._moved(name, side) - nominal for side in (-1.0, 1.0))
        # at a size that has no part on one side of it, the other side alone is known
        below, above = np.where(np.isnan(below), -above, below), np.where(np.isnan(above), -below, above)
        column = (slice(None), *(np.newaxis for _ in range(move.ndim)))
        change = move * ((above - below) / 2)[column] + move**2 * ((above + below) / 2)[column]
        for side, first in ((-1.0, below), (1.0, above)):
            beyond = side * move > 1 + 1e-9
            if np.any(beyond):
                change[:, beyond] = self._far(name, side, first, side * move[beyond])
        return change

    def _far(self, name: str, side: float, first: Array, distance: Array) -> Array:
        """The same beyond a step to one side, at distances in steps."""
        last = int(np.searchsorted(FAR, np.nanmax(distance)))
        needed = FAR[1 : last + 1]
        nominal = self._moved("", 0.0)
        points = np.stack([first, *(self._moved(name, side * one) - nominal for one in needed)], axis=1)
        at = (FAR[0], *needed)
        return np.stack([np.interp(distance, at, row, right=np.nan) for row in points])
