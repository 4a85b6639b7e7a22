"""Lower bounds: no schedule of a network is shorter than its needs and workloads allow."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from kb.scheduling.activities import Network

MOST_GROUPS = 8
"""Largest crew for which the bound tries every group of operators; there are 2 to that power."""


@dataclass(frozen=True)
class Bounds:
    """What the needs and the workload of operators and equipment leave open.

    Attributes:
        heads: earliest start of each activity [s].
        tails: least time from the end of each activity to the last end [s].
        length: no schedule is shorter [s].
    """

    heads: tuple[int, ...]
    tails: tuple[int, ...]
    length: int


def bounds(net: Network) -> Bounds:
    """Bounds of a network from its needs and workloads.

    Source:
        Derived: activities that a group of operators, or of equipment, must do between some head and some
        tail take at least their workload ÷ the size of the group. The same is true of all that must follow an
        activity, which makes its tail longer, and of all that must precede it, which makes its head longer.
    """
    if not net.activities:
        return Bounds((), (), 0)
    seconds = np.array(net.least)
    groups = [(capacity, taken * seconds) for capacity, taken in _loads(net)]
    apart = _apart(net)
    tails = _grown(reversed(net.order), np.array(net.tails), apart, seconds, groups)
    heads = _grown(net.order, np.array(net.heads), apart.T, seconds, groups)
    length = int((heads + seconds + tails).max())
    for capacity, load in groups:
        length = max(length, _through(heads, tails, load, capacity))
    return Bounds(tuple(heads.tolist()), tuple(tails.tolist()), length)


def _apart(net: Network) -> np.ndarray:
    """Least time from the end of each activity (row) to the start of each that follows; -1 for the others."""
    apart = np.full((len(net.activities), len(net.activities)), -1)
    for i in reversed(net.order):
        for k in net.followers[i]:
            apart[i] = np.maximum(apart[i], np.where(apart[k] >= 0, apart[k] + net.least[k], -1))
            apart[i, k] = max(apart[i, k], 0)
    return apart


def _grown(
    order: Iterable[int],
    ends: np.ndarray,
    apart: np.ndarray,
    seconds: np.ndarray,
    groups: Sequence[tuple[int, np.ndarray]],
) -> np.ndarray:
    """Tails made longer by the workload of what follows; heads likewise, with time reversed."""
    grown = ends.copy()
    loads = np.array([load for _, load in groups]).reshape(-1, len(ends))
    capacities = np.array([capacity for capacity, _ in groups])
    for i in order:
        after = np.flatnonzero(apart[i] >= 0)
        if not len(after):
            continue
        after = after[np.argsort(-grown[after], kind="stable")]
        load = loads[:, after]
        far = np.int64(1) << 40
        nearest = np.minimum.accumulate(np.where(load > 0, apart[i, after], far), axis=1)
        taken = -(-load.cumsum(axis=1) // capacities[:, None])
        least = np.where(load > 0, nearest + taken + grown[after], 0)
        alone = apart[i, after] + seconds[after] + grown[after]
        grown[i] = max(int(alone.max()), int(least.max(initial=0)))
    return grown


def _loads(net: Network) -> Iterator[tuple[int, np.ndarray]]:
    """Groups of operators or equipment: the size of each, and how many of it each activity takes at least."""
    for name, capacity in net.equipment.items():
        if capacity:
            yield capacity, np.array([activity.uses.get(name, 0) for activity in net.activities])
    for some in net.apart:
        yield 1, np.array([int(i in some) for i in range(len(net.activities))])
    for group in _groups(net):
        yield len(group), np.array([net.at_least(i, group) for i in range(len(net.activities))])


def _groups(net: Network) -> Iterator[frozenset[int]]:
    crew = range(len(net.crew))
    sizes = range(1, len(crew) + 1) if len(crew) <= MOST_GROUPS else (1, len(crew))
    for size in sizes:
        yield from map(frozenset, combinations(crew, size))


def _through(heads: np.ndarray, tails: np.ndarray, load: np.ndarray, capacity: int) -> int:
    """Least length for activities that load a group of `capacity`, over all heads and tails at once."""
    some = load > 0
    if not some.any():
        return 0
    first, at_head = np.unique(heads[some], return_inverse=True)
    last, at_tail = np.unique(tails[some], return_inverse=True)
    grid = np.zeros((len(first), len(last)), dtype=np.int64)
    np.add.at(grid, (at_head, at_tail), load[some])
    beyond = grid[::-1, ::-1].cumsum(axis=0).cumsum(axis=1)[::-1, ::-1]
    length = first[:, None] + -(-beyond // capacity) + last[None, :]
    return int(np.where(beyond > 0, length, 0).max())
