"""A schedule by rule, without a solver: whatever has the most still to follow goes first, as early as it can.

The schedule is then pushed to its end and back again, which closes gaps, and the same is tried from other
starting orders. It keeps every rule and is always the same for the same works. The solver starts from it
and is never worse.
"""

from __future__ import annotations

import random
from bisect import bisect_left, insort
from collections.abc import Mapping, Sequence

from kb.changeover.model import Hand, Schedule, Work
from kb.changeover.network import Bounds, Network, bounds, network
from kb.changeover.slack import Held, settled

PUSHES = 3
"""How often a schedule is pushed to its end and back, as long as that helps."""

TRIES = 16
"""Starting orders that are tried while the schedule is longer than its bound."""

SEED = 1
STRAY = 0.4
"""How far a starting order strays from that of the tails, as a share of each."""

SHAKE = 0.2
"""How far it strays from that of the best schedule so far, as a share of its length."""


def by_rule(
    works: Sequence[Work], hands: Sequence[Hand], equipment: Mapping[str, int], *, tries: int = TRIES
) -> Schedule:
    """A schedule by the rule of the longest tail.

    Args:
        works: what is to be done.
        hands: the crew.
        equipment: how many there are of what works share.
        tries: starting orders; the first is that of the tails alone.

    Returns:
        The schedule, with the bound that needs and workload set.

    Raises:
        NoPlan: if the works cannot be done with what there is.

    Source:
        Serial schedule generation by priority with forward and backward passes, methods of project
        scheduling: common practice, no source.
    """
    net = network(works, hands, equipment)
    limits = bounds(net)
    slots = settled(net, held_by_rule(net, limits, tries=tries))
    return Schedule(slots, max((slot.end for slot in slots), default=0), limits.length, "rule")


def held_by_rule(net: Network, limits: Bounds, *, tries: int = TRIES) -> Held:
    """Start and members of each work by the rule.

    Args:
        net: works with crew and equipment.
        limits: what needs and workload leave open; the tails say how urgent each work is.
        tries: starting orders.

    Returns:
        Starts [s] and members.
    """
    chance = random.Random(SEED)
    urgent = [tail + work.seconds for tail, work in zip(limits.tails, net.works, strict=True)]
    best = _pushed(net, urgent)
    for attempt in range(tries - 1):
        length = length_of(net, best)
        if length <= limits.length:
            break
        if attempt % 2:
            order = [chance.uniform(0, SHAKE) * length - start for start in best[0]]
        else:
            order = [chance.uniform(1 - STRAY, 1 + STRAY) * one for one in urgent]
        found = _pushed(net, order)
        # one as good is taken too: it is another place to look around from
        if length_of(net, found) <= length:
            best = found
    return best


def length_of(net: Network, held: Held) -> int:
    """When the last work ends.

    Args:
        net: works with crew and equipment.
        held: their starts and members.

    Returns:
        Length [s].
    """
    return max((start + work.seconds for start, work in zip(held[0], net.works, strict=True)), default=0)


def _pushed(net: Network, urgent: Sequence[float]) -> Held:
    """A schedule by urgency, pushed to its end and back while that makes it shorter."""
    best = _Board(net, urgent, backward=False).filled()
    for _ in range(PUSHES):
        ends = [start + work.seconds for start, work in zip(best[0], net.works, strict=True)]
        late = _Board(net, ends, backward=True).filled()
        soon = [start + work.seconds for start, work in zip(late[0], net.works, strict=True)]
        found = _Board(net, soon, backward=False).filled()
        if length_of(net, found) >= length_of(net, best):
            break
        best = found
    return best


class _Board:
    """Who and what is taken when; works are put on it one by one, the most urgent of those ready first.

    Backward it is filled from the end: time runs the other way and followers are needed.
    """

    def __init__(self, net: Network, urgent: Sequence[float], *, backward: bool) -> None:
        self.net = net
        self.urgent = urgent
        self.needs, self.followers = (net.followers, net.needs) if backward else (net.needs, net.followers)
        self.starts = [0] * len(net.works)
        self.who: list[tuple[str, ...]] = [()] * len(net.works)
        self.busy: list[list[tuple[int, int, str]]] = [[] for _ in net.hands]
        self.in_use: dict[str, list[tuple[int, int, int]]] = {name: [] for name in net.equipment}
        self.ends: list[int] = []
        wanted = {work.skill for work in net.works}
        # those with the fewest wanted skills first, so that the others stay free for what only they can do
        self.hands = sorted(range(len(net.hands)), key=lambda p: (len(net.hands[p].skills & wanted), p))
        self.able = {skill: [p for p in self.hands if skill in net.hands[p].skills] for skill in wanted}
        self.able[""] = self.hands

    def filled(self) -> Held:
        """All works on the board; backward, their starts say how urgent each is, the greatest first."""
        waiting = [len(needs) for needs in self.needs]
        ready = [(-self.urgent[i], i) for i, count in enumerate(waiting) if count == 0]
        ready.sort()
        while ready:
            # equal works, such as those at like machines, go in the order in which they were given
            _, i = ready.pop(0)
            self._place(i)
            for follower in self.followers[i]:
                waiting[follower] -= 1
                if waiting[follower] == 0:
                    insort(ready, (-self.urgent[follower], follower))
        return self.starts, self.who

    def _place(self, i: int) -> None:
        """Put a work at the first time at which members and equipment are free for all of it."""
        work = self.net.works[i]
        start = max((self.starts[k] + self.net.works[k].seconds for k in self.needs[i]), default=0)
        if work.people:
            start = min(self._free_from(place, work, start) for place in self.able[work.skill])
        for end in (start, *self.ends[bisect_left(self.ends, start) :]):
            start = end
            chosen = self._chosen(work, start) if self._equipped(work, start) else None
            if chosen is not None:
                break
        self._take(i, start, chosen or ())

    def _take(self, i: int, start: int, chosen: Sequence[int]) -> None:
        work = self.net.works[i]
        end = start + work.seconds
        self.starts[i] = start
        self.who[i] = tuple(sorted(self.net.hands[place].id for place in chosen))
        if not work.seconds:
            return
        insort(self.ends, end)
        for place in chosen:
            insort(self.busy[place], (start, end, work.where))
        for name, count in work.uses.items():
            self.in_use[name].append((start, end, count))

    def _chosen(self, work: Work, start: int) -> list[int] | None:
        """Members free for the work, of those able the one who stands there already before the others."""
        if not work.people:
            return []
        free = [place for place in self.able[work.skill] if self._is_free(place, work, start)]
        if not free:
            return None
        first = next((place for place in free if self._stands_at(place, work, start)), free[0])
        if work.people == 1:
            return [first]
        others = [place for place in self.hands if place != first and self._is_free(place, work, start)]
        return [first, *others[: work.people - 1]] if len(others) >= work.people - 1 else None

    def _free_from(self, place: int, work: Work, start: int) -> int:
        """The first time, not before a start, at which a member is free for all of the work."""
        busy, seconds = self.busy[place], max(work.seconds, 1)
        while True:
            at = bisect_left(busy, (start + seconds,))
            if not at or busy[at - 1][1] <= start:
                return start
            start = busy[at - 1][1]

    def _is_free(self, place: int, work: Work, start: int) -> bool:
        busy = self.busy[place]
        at = bisect_left(busy, (start + max(work.seconds, 1),))
        return not at or busy[at - 1][1] <= start

    def _stands_at(self, place: int, work: Work, start: int) -> bool:
        busy = self.busy[place]
        at = bisect_left(busy, (start + max(work.seconds, 1),))
        return at > 0 and work.where != "" and busy[at - 1][2] == work.where

    def _equipped(self, work: Work, start: int) -> bool:
        """Whether there is enough of all it uses; use only rises where some work starts."""
        end = start + work.seconds
        for name, wanted in work.uses.items():
            others = [one for one in self.in_use[name] if one[0] < end and start < one[1]]
            spare = self.net.equipment[name] - wanted
            for at in {start, *(one[0] for one in others if one[0] > start)}:
                if sum(one[2] for one in others if one[0] <= at < one[1]) > spare:
                    return False
        return True
