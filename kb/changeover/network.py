"""Works as a network: what they need of each other, of the crew and of equipment, and the least it takes.

Heads and tails are the longest ways of needs from the first start to a work and from a work to the last end.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations

import numpy as np

from kb.changeover.model import Hand, NoPlan, Work

MOST_GROUPS = 8
"""Members up to which every group of them is tried for the bound; there are 2 to that power."""


@dataclass(frozen=True)
class Network:
    """Works that can be scheduled with a crew and equipment; made by `network`.

    Attributes:
        works: in the order given.
        hands: the crew.
        equipment: how many there are of each.
        needs: for each work the places in `works` of those it needs.
        order: places in `works`, each after all it needs.
        mates: for each work the places of those done by the same people.
        entries: for each work the places of those that open the way to it.
        able: for each work the places in `hands` of those who have its skill and those of its mates.
    """

    works: tuple[Work, ...]
    hands: tuple[Hand, ...]
    equipment: Mapping[str, int]
    needs: tuple[tuple[int, ...], ...]
    order: tuple[int, ...]
    mates: tuple[tuple[int, ...], ...]
    entries: tuple[tuple[int, ...], ...]
    able: tuple[frozenset[int], ...]

    def seconds(self, i: int, who: Sequence[Collection[str]]) -> int:
        """How long a work takes [s], by who does it and who has done the works of its entry."""
        work = self.works[i]
        inside = all(member in who[k] for member in who[i] for k in self.entries[i])
        return work.seconds if inside else work.seconds + work.entry_seconds

    def lasting(self, who: Sequence[Collection[str]]) -> list[int]:
        """How long each work takes [s], by who does it."""
        return [self.seconds(i, who) for i in range(len(self.works))]

    @cached_property
    def followers(self) -> tuple[tuple[int, ...], ...]:
        """For each work those that need it."""
        found: list[list[int]] = [[] for _ in self.works]
        for i, needs in enumerate(self.needs):
            for need in needs:
                found[need].append(i)
        return tuple(tuple(one) for one in found)

    @cached_property
    def heads(self) -> tuple[int, ...]:
        """Earliest start of each work for its needs alone [s]."""
        found = [0] * len(self.works)
        for i in self.order:
            found[i] = max((found[k] + self.works[k].seconds for k in self.needs[i]), default=0)
        return tuple(found)

    @cached_property
    def tails(self) -> tuple[int, ...]:
        """Least time from the end of each work to the last end [s]."""
        found = [0] * len(self.works)
        for i in reversed(self.order):
            found[i] = max((found[k] + self.works[k].seconds for k in self.followers[i]), default=0)
        return tuple(found)


def network(works: Sequence[Work], hands: Sequence[Hand], equipment: Mapping[str, int]) -> Network:
    """Tie works together.

    Args:
        works: what is to be done.
        hands: the crew.
        equipment: how many there are of what works share.

    Returns:
        The network.

    Raises:
        NoPlan: if the works go round in a ring or ask for more than there is.
    """
    place = {work.id: i for i, work in enumerate(works)}
    if len(place) < len(works):
        raise NoPlan("two works have the same id")
    for work in works:
        _possible(work, hands, equipment)
        for need in (*work.needs, *work.same_people_as, *work.entry):
            if need not in place:
                raise NoPlan(f"{work.id} needs {need}, which is not to be done")
    needs = tuple(tuple(sorted({place[one] for one in (*work.needs, *work.entry)})) for work in works)
    order = _order(works, needs)
    entries = tuple(tuple(sorted({place[one] for one in work.entry})) for work in works)
    mates = _mates(works, place)
    able = _able(works, hands, mates)
    return Network(tuple(works), tuple(hands), dict(equipment), needs, order, mates, entries, able)


def _mates(works: Sequence[Work], place: Mapping[str, int]) -> tuple[tuple[int, ...], ...]:
    """For each work all that are done by the same people, also by way of others."""
    groups = [{i} for i in range(len(works))]
    for i, work in enumerate(works):
        for k in (place[other] for other in work.same_people_as):
            if groups[k] is not groups[i]:
                groups[i] |= groups[k]
                for one in groups[k]:
                    groups[one] = groups[i]
    return tuple(tuple(sorted(groups[i] - {i})) for i in range(len(works)))


def _able(
    works: Sequence[Work], hands: Sequence[Hand], mates: Sequence[Sequence[int]]
) -> tuple[frozenset[int], ...]:
    found = []
    for i, work in enumerate(works):
        together = [one for one in (work, *(works[k] for k in mates[i])) if one.people]
        skills = {one.skill for one in together} - {""}
        able = frozenset(place for place, hand in enumerate(hands) if skills <= hand.skills)
        if together and not able:
            named = " and ".join(one.id for one in together)
            asked = " and ".join(sorted(skills))
            raise NoPlan(f"{named} are done by the same people, and nobody in the crew has {asked}")
        found.append(able)
    return tuple(found)


def _possible(work: Work, hands: Sequence[Hand], equipment: Mapping[str, int]) -> None:
    if work.seconds < 0:
        raise NoPlan(f"{work.id} takes less than no time")
    if work.people > len(hands):
        raise NoPlan(f"{work.id} takes {work.people} people, the crew has {len(hands)}")
    if work.people and work.skill and not any(work.skill in hand.skills for hand in hands):
        raise NoPlan(f"{work.id} takes the skill {work.skill}, which nobody in the crew has")
    for name, count in work.uses.items():
        if count > equipment.get(name, 0):
            raise NoPlan(f"{work.id} uses {count} of {name}, there are {equipment.get(name, 0)}")


def _order(works: Sequence[Work], needs: Sequence[tuple[int, ...]]) -> tuple[int, ...]:
    followers: list[list[int]] = [[] for _ in works]
    waiting = [len(one) for one in needs]
    for i, one in enumerate(needs):
        for need in one:
            followers[need].append(i)
    order = [i for i, count in enumerate(waiting) if count == 0]
    for i in order:
        for follower in followers[i]:
            waiting[follower] -= 1
            if waiting[follower] == 0:
                order.append(follower)
    if len(order) < len(works):
        raise NoPlan(f"works wait for each other in a ring: {' after '.join(_ring(works, needs, waiting))}")
    return tuple(order)


def _ring(works: Sequence[Work], needs: Sequence[tuple[int, ...]], waiting: Sequence[int]) -> list[str]:
    at = next(i for i, count in enumerate(waiting) if count)
    seen: list[int] = []
    while at not in seen:
        seen.append(at)
        at = next(need for need in needs[at] if waiting[need])
    ring = seen[seen.index(at) :]
    return [works[i].id for i in (*ring, at)]


@dataclass(frozen=True)
class Bounds:
    """What the needs and the workload of everybody and everything leave open.

    Attributes:
        heads: no work starts sooner [s].
        tails: from the end of a work to the last end it takes no less [s].
        length: no schedule is shorter [s].
    """

    heads: tuple[int, ...]
    tails: tuple[int, ...]
    length: int


def bounds(net: Network) -> Bounds:
    """How early, how late and how short at the best.

    Args:
        net: works with crew and equipment.

    Returns:
        The bounds.

    Source:
        Derived: works that must pass through a group of members, or equipment, between some head and some
        tail take what they take of it over how many it is. So does all that must follow a work, which
        makes a longer tail of it, and all that must go before, which makes a longer head.
    """
    if not net.works:
        return Bounds((), (), 0)
    seconds = np.array([work.seconds for work in net.works])
    groups = [(capacity, taken * seconds) for capacity, taken in _loads(net)]
    apart = _apart(net)
    tails = _grown(reversed(net.order), np.array(net.tails), apart, seconds, groups)
    heads = _grown(net.order, np.array(net.heads), apart.T, seconds, groups)
    length = int((heads + seconds + tails).max())
    for capacity, load in groups:
        length = max(length, _through(heads, tails, load, capacity))
    return Bounds(tuple(heads.tolist()), tuple(tails.tolist()), length)


def _apart(net: Network) -> np.ndarray:
    """Least time from the end of each work, by rows, to the start of each that follows; else -1."""
    apart = np.full((len(net.works), len(net.works)), -1)
    for i in reversed(net.order):
        for k in net.followers[i]:
            apart[i] = np.maximum(apart[i], np.where(apart[k] >= 0, apart[k] + net.works[k].seconds, -1))
            apart[i, k] = max(apart[i, k], 0)
    return apart


def _grown(
    order: Iterable[int],
    ends: np.ndarray,
    apart: np.ndarray,
    seconds: np.ndarray,
    groups: Sequence[tuple[int, np.ndarray]],
) -> np.ndarray:
    """Tails made longer by the workload of what follows; heads likewise, with time running the other way."""
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
    """Groups through which works pass: how many it is, and how many of it each work takes at the least."""
    for name, capacity in net.equipment.items():
        if capacity:
            yield capacity, np.array([work.uses.get(name, 0) for work in net.works])
    people = np.array([work.people for work in net.works])
    for group in _groups(net):
        skilled = np.array(
            [1 if work.people and net.able[i] <= group else 0 for i, work in enumerate(net.works)]
        )
        yield len(group), np.maximum(skilled, people - (len(net.hands) - len(group)))


def _groups(net: Network) -> Iterator[frozenset[int]]:
    crew = range(len(net.hands))
    sizes = range(1, len(crew) + 1) if len(crew) <= MOST_GROUPS else (1, len(crew))
    for size in sizes:
        yield from map(frozenset, combinations(crew, size))


def _through(heads: np.ndarray, tails: np.ndarray, load: np.ndarray, capacity: int) -> int:
    """Least length for works that put `load` on a group of `capacity`, over all heads and tails at once."""
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
