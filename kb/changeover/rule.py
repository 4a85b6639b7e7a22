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

SHAKE = 0.02
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
    return max(_ends(net, held), default=0)


def _ends(net: Network, held: Held) -> list[int]:
    starts, who = held
    return [start + seconds for start, seconds in zip(starts, net.lasting(who), strict=True)]


def _pushed(net: Network, urgent: Sequence[float]) -> Held:
    """A schedule by urgency, pushed to its end and back while that makes it shorter."""
    best = _Board(net, urgent, backward=False).filled()
    for _ in range(PUSHES):
        late = _Board(net, _ends(net, best), backward=True).filled()
        found = _Board(net, _ends(net, late), backward=False).filled()
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
        self.ended = [0] * len(net.works)
        self.placed = [False] * len(net.works)
        self.chosen: list[frozenset[int]] = [frozenset()] * len(net.works)
        self.who: list[tuple[str, ...]] = [()] * len(net.works)
        self.busy: list[list[tuple[int, int, str]]] = [[] for _ in net.hands]
        self.in_use: dict[str, list[tuple[int, int, int]]] = {name: [] for name in net.equipment}
        self.ends: list[int] = []
        wanted = {work.skill for work in net.works}
        # those with the fewest wanted skills first, so that the others stay free for what only they can do
        self.hands = sorted(range(len(net.hands)), key=lambda p: (len(net.hands[p].skills & wanted), p))
        self.able = [[p for p in self.hands if p in able] for able in net.able]

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
        start = max((self.ended[k] for k in self.needs[i]), default=0)
        if work.people:
            start = min(self._free_from(place, work.seconds, start) for place in self.able[i])
        found: tuple[int, list[int]] = (start, [])
        until = None
        for end in (start, *self.ends[bisect_left(self.ends, start) :]):
            if until is not None and end > until:
                break
            chosen = self._chosen(i, end, inside_only=until is not None)
            if chosen is None:
                continue
            found = end, chosen
            if until is not None or self._seconds(i, chosen) == work.seconds:
                break
            # whoever needs no lock ends as early, if free before the lock would be on
            until = end + work.entry_seconds
        self._take(i, *found)

    def _take(self, i: int, start: int, chosen: Sequence[int]) -> None:
        work = self.net.works[i]
        self.starts[i] = start
        self.placed[i] = True
        self.chosen[i] = frozenset(chosen)
        self.who[i] = tuple(sorted(self.net.hands[place].id for place in chosen))
        end = self.ended[i] = start + self._seconds(i, chosen)
        if start == end:
            return
        insort(self.ends, end)
        for place in chosen:
            insort(self.busy[place], (start, end, work.where))
        for name, count in work.uses.items():
            self.in_use[name].append((start, end, count))

    def _chosen(self, i: int, start: int, *, inside_only: bool = False) -> list[int] | None:
        """Members free for the work, and what it uses: those who need no lock of their own before the others.

        Nobody where they or the equipment are not free for as long as the work then takes.
        """
        work = self.net.works[i]
        if not work.people:
            return [] if self._equipped(work, start, work.seconds) else None
        inside = self._inside(i)
        for there, seconds in ((inside, work.seconds), (None, work.seconds + work.entry_seconds)):
            if there is not None and len(there) < work.people:
                if inside_only:
                    break
                continue
            found = self._free_for(i, start, seconds, there)
            if found is not None and self._equipped(work, start, seconds):
                return found
            if inside_only:
                break
        return None

    def _inside(self, i: int) -> frozenset[int] | None:
        """Who needs no lock of their own for a work; nobody in particular where no lock is needed."""
        before = [self._isolating(k) for k in self.net.entries[i]]
        return frozenset.intersection(*before) if before and self.net.works[i].entry_seconds else None

    def _isolating(self, k: int) -> frozenset[int]:
        """Who does a work that opens the way: known once it is placed, or a work of the same people is."""
        placed = [k] if self.placed[k] else [one for one in self.net.mates[k] if self.placed[one]]
        return self.chosen[placed[0]] if placed else frozenset()

    def _seconds(self, i: int, chosen: Sequence[int]) -> int:
        work, inside = self.net.works[i], self._inside(i)
        return work.seconds if inside is None or inside >= set(chosen) else work.seconds + work.entry_seconds

    def _free_for(self, i: int, start: int, seconds: int, there: frozenset[int] | None) -> list[int] | None:
        """Members free for so long, of those able the one who stands there already before the others."""
        work = self.net.works[i]
        must, may = self._bound(i)
        free = [
            place
            for place in self.hands
            if (may is None or place in may)
            and (there is None or place in there)
            and self._is_free(place, seconds, start)
        ]
        if not must <= set(free):
            return None
        able = [place for place in self.able[i] if place in free and (not must or place in must)]
        if not able:
            return None
        first = next((place for place in able if self._stands_at(place, work, start)), able[0])
        others = [place for place in free if place != first]
        others.sort(key=lambda place: place not in must)
        chosen = [first, *others[: work.people - 1]]
        return chosen if len(chosen) == work.people else None

    def _bound(self, i: int) -> tuple[frozenset[int], frozenset[int] | None]:
        """Who must do a work, and who alone may, because they do its mates."""
        must: frozenset[int] = frozenset()
        may: frozenset[int] | None = None
        for mate in self.net.mates[i]:
            if self.chosen[mate] and len(self.chosen[mate]) <= self.net.works[i].people:
                must |= self.chosen[mate]
            elif self.chosen[mate]:
                may = self.chosen[mate] if may is None else may & self.chosen[mate]
        return must, may

    def _free_from(self, place: int, seconds: int, start: int) -> int:
        """The first time, not before a start, at which a member is free for so long."""
        busy, seconds = self.busy[place], max(seconds, 1)
        while True:
            at = bisect_left(busy, (start + seconds,))
            if not at or busy[at - 1][1] <= start:
                return start
            start = busy[at - 1][1]

    def _is_free(self, place: int, seconds: int, start: int) -> bool:
        busy = self.busy[place]
        at = bisect_left(busy, (start + max(seconds, 1),))
        return not at or busy[at - 1][1] <= start

    def _stands_at(self, place: int, work: Work, start: int) -> bool:
        busy = self.busy[place]
        at = bisect_left(busy, (start + max(work.seconds, 1),))
        return at > 0 and work.where != "" and busy[at - 1][2] == work.where

    def _equipped(self, work: Work, start: int, seconds: int) -> bool:
        """Whether there is enough of all it uses; use only rises where some work starts."""
        end = start + seconds
        for name, wanted in work.uses.items():
            others = [one for one in self.in_use[name] if one[0] < end and start < one[1]]
            spare = self.net.equipment[name] - wanted
            for at in {start, *(one[0] for one in others if one[0] > start)}:
                if sum(one[2] for one in others if one[0] <= at < one[1]) > spare:
                    return False
        return True
