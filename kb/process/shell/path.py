"""The equilibrium path of a shell, by arc length, through limit points."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np

from kb.errors import SizebookError
from kb.process.shell.material import Array

# Numerical settings: they change how fast a path is found, and how close its points are.
_BAND = 5  # the last unknown of an element less the first
_ROUNDS, _USUAL_ROUNDS = 14, 5  # of Newton's method, before a step is cut; for which a step keeps its length
_TOLERANCE = 1e-7  # largest force out of balance over the largest force of an element
_CUT, _SHRINK, _GROW = 0.4, 0.5, 1.8  # of a step: after none was found, after many rounds, after few
_FIRST = 0.2  # step over the longest step
_SHORTEST = 1e-6  # step over the longest step at which the search ends


@dataclass(frozen=True, slots=True, kw_only=True)
class Balance:
    """What is out of balance at a state.

    Attributes:
        residual: forces out of balance (nodes, 3) [N, N mm]
        band: their derivative by the movements, as the bands of a matrix
        rate: their derivative by the load (nodes, 3)
        memory: what the metal and the contact remember afterwards
        scale: largest force in the shell [N]
        output: what the problem puts out
    """

    residual: Array
    band: Array
    rate: Array
    memory: Any
    scale: float
    output: float


Problem: TypeAlias = Callable[[Array, float, Any], Balance]
"""Movements (nodes, 3), load and memory give what is out of balance."""


@dataclass(frozen=True, slots=True)
class State:
    """A state in balance: movements of the nodes [mm, rad], load, memory, and what the problem puts out."""

    q: Array
    load: float
    memory: Any
    output: float = 0.0


class NoBalance(SizebookError):  # noqa: N818 - it names the missing balance
    """No state in balance was found near the last one."""


def banded(elements: Array, nodes: Array | None = None) -> Array:
    """Stiffness of elements (n, 6, 6) and of nodes (n + 1, 3, 3) as the bands of the whole matrix."""
    count = len(elements)
    band = np.zeros((2 * _BAND + 1, 3 * (count + 1)))
    for i in range(6):
        for j in range(6):
            band[_BAND + i - j, j : j + 3 * count : 3] += elements[:, i, j]
    if nodes is not None:
        for i in range(3):
            for j in range(3):
                band[_BAND + i - j, j::3] += nodes[:, i, j]
    return band


def solve(band: Array, right: Array, fixed: Array) -> Array:
    """Solve for right sides (unknowns, n); the fixed unknowns come out as zero, a singular matrix as nan."""
    from scipy.linalg.lapack import dgbsv  # noqa: PLC0415 - SciPy is an extra, and slow to load

    where = np.flatnonzero(fixed)
    columns = where[:, None] + np.arange(-_BAND, _BAND + 1)
    rows = np.broadcast_to(np.arange(2 * _BAND, -1, -1), columns.shape)
    inside = (columns >= 0) & (columns < band.shape[1])
    room = np.zeros((3 * _BAND + 1, band.shape[1]), order="F")  # LAPACK wants room for its rows
    room[_BAND:] = band
    room[_BAND + rows[inside], columns[inside]] = 0.0
    room[2 * _BAND, where] = 1.0
    right = right.copy()
    right[where] = 0.0
    _, _, found, singular = dgbsv(_BAND, _BAND, room, right, overwrite_ab=True, overwrite_b=True)
    return np.full_like(found, np.nan) if singular else found


def follow(
    problem: Problem,
    start: State,
    *,
    fixed: Array,
    longest: float,
    until: Callable[[Sequence[State]], bool],
    most: int = 400,
) -> list[State]:
    """Follow a path of equilibrium.

    Args:
        problem: what is out of balance at a state
        start: first state, in balance
        fixed: unknowns that do not move (nodes, 3)
        longest: longest step: root mean square movement of the nodes [mm]
        until: whether the path so far is long enough
        most: largest number of steps

    Returns:
        The states of the path, the first included.

    Raises:
        NoBalance: if the path ends before `until` holds.

    Source:
        Riks, An incremental approach to the solution of snapping and buckling problems, Int. J. Solids
        Struct. 15 (1979) 529-551 (from memory, high confidence): Newton's method in the plane normal to
        the step.
    """
    held = fixed.ravel()
    states = [start]
    now = problem(start.q, start.load, start.memory)
    step, last_way = _FIRST * longest, np.zeros_like(start.q)
    while not until(states):
        if len(states) > most:
            raise NoBalance(f"no end of the path in {most} steps; load {states[-1].load:.4g}")
        at = states[-1]
        way = -solve(now.band, now.rate.reshape(-1, 1), held)[:, 0].reshape(at.q.shape)
        size = np.sqrt(np.mean(np.sum(way[:, :2] ** 2, axis=1)))
        forward = np.sign(np.sum(way[:, :2] * last_way[:, :2])) or 1.0
        while (found := _newton(problem, at, way, forward * step / size, held)) is None:
            step *= _CUT
            if step < longest * _SHORTEST:
                raise NoBalance(f"no balance after {len(states)} steps; load {at.load:.4g}")
        state, now, rounds = found
        last_way = state.q - at.q
        states.append(state)
        step = min(longest, step * float(np.clip(_USUAL_ROUNDS / rounds, _SHRINK, _GROW)))
    return states


def reach(problem: Problem, start: State, *, fixed: Array, load: float, steps: int) -> State:
    """Raise the load to a value below any limit point, in equal steps.

    Args:
        problem: what is out of balance at a state
        start: first state, in balance
        fixed: unknowns that do not move (nodes, 3)
        load: the load to reach
        steps: number of steps

    Returns:
        The state at the load.

    Raises:
        NoBalance: if the shell does not hold the load.
    """
    at, held = start, fixed.ravel()
    still = np.zeros_like(start.q)
    for value in np.linspace(start.load, load, steps + 1)[1:]:
        found = _newton(problem, at, still, float(value) - at.load, held)
        if found is None:
            raise NoBalance(f"the shell does not hold a load of {load:.4g}")
        at = found[0]
    return at


def _newton(
    problem: Problem, at: State, way: Array, ahead: float, held: Array
) -> tuple[State, Balance, int] | None:
    """The next state in balance and the rounds to it; none if there is none near.

    It starts `ahead` in load along `way` and stays in the plane normal to it. Without a way the load stays.
    """
    normal = way.copy()
    normal[:, 2] = 0.0  # the arc counts movements; a turn has another unit
    q, load = at.q + ahead * way, at.load + ahead
    for rounds in range(1, _ROUNDS + 1):
        with np.errstate(all="ignore"):
            now = problem(q, load, at.memory)
        if not (np.isfinite(now.residual).all() and np.isfinite(now.band).all()):
            return None
        residual = np.where(held, 0.0, now.residual.ravel())
        if np.abs(residual).max() <= _TOLERANCE * now.scale:
            return State(q, load, now.memory, now.output), now, rounds
        both = solve(now.band, np.stack([-residual, -now.rate.ravel()], axis=1), held)
        move, per_load = both[:, 0].reshape(q.shape), both[:, 1].reshape(q.shape)
        along = float(np.sum(normal * per_load))
        change = -float(np.sum(normal * move)) / along if along else 0.0
        q, load = q + move + change * per_load, load + change
    return None
