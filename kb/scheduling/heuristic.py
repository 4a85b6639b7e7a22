"""Serial schedule by priority: the activity with the longest tail first, each as early as possible.

A backward and a forward pass close gaps; other starting orders are tried. The result is feasible, and the
same for the same activities. The solver starts from it and never returns a longer one.
"""

from __future__ import annotations

import random
from bisect import bisect_left, insort
from collections.abc import Collection, Sequence
from itertools import combinations

from kb.scheduling.activities import Activity, Network, NoPlan
from kb.scheduling.bounds import Bounds
from kb.scheduling.critical_path import Assignment

PUSHES = 3
"""Most backward and forward passes, while they make the schedule shorter."""

TRIES = 16
"""Starting orders to try while the schedule is longer than its bound."""

SEED = 1
STRAY = 0.4
"""Random change of the priorities of a starting order, as a ratio of each."""

SHAKE = 0.02
"""Random change of the starts of the best schedule so far, as a ratio of its length."""


def assignment_by_priority(net: Network, limits: Bounds, *, tries: int = TRIES) -> Assignment:
    """Start and operators of each activity by priority."""
    chance = random.Random(SEED)
    urgent = [tail + activity.seconds for tail, activity in zip(limits.tails, net.activities, strict=True)]
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


def length_of(net: Network, assignment: Assignment) -> int:
    """When the last activity ends."""
    return max(_ends(net, assignment), default=0)


def _ends(net: Network, assignment: Assignment) -> list[int]:
    starts, who = assignment
    return [start + seconds for start, seconds in zip(starts, net.durations(who), strict=True)]


def _pushed(net: Network, urgent: Sequence[float]) -> Assignment:
    """A schedule by priority, with backward and forward passes while they make it shorter."""
    best = ResourceCalendar(net, urgent, backward=False).filled()
    for _ in range(PUSHES):
        late = ResourceCalendar(net, _ends(net, best), backward=True).filled()
        found = ResourceCalendar(net, _ends(net, late), backward=False).filled()
        if length_of(net, found) >= length_of(net, best):
            break
        best = found
    return best


class ResourceCalendar:
    """When operators and equipment are busy; activities are entered one by one, by priority of those ready.

    A backward calendar is filled from the end: time is reversed, and followers are the needs.
    """

    def __init__(self, net: Network, urgent: Sequence[float], *, backward: bool) -> None:
        self.net = net
        self.urgent = urgent
        self.needs, self.followers = (net.followers, net.needs) if backward else (net.needs, net.followers)
        self.starts = [0] * len(net.activities)
        self.ended = [0] * len(net.activities)
        self.placed = [False] * len(net.activities)
        self.chosen: list[frozenset[int]] = [frozenset()] * len(net.activities)
        self.who: list[tuple[str, ...]] = [()] * len(net.activities)
        self.busy: list[list[tuple[int, int, str]]] = [[] for _ in net.crew]
        self.in_use: dict[str, list[tuple[int, int, int]]] = {name: [] for name in net.equipment}
        self.ends: list[int] = []
        wanted = {activity.skill for activity in net.activities}
        # those with the fewest wanted skills first, so that the others stay free for what only they can do
        self.crew = sorted(range(len(net.crew)), key=lambda p: (len(net.crew[p].skills & wanted), p))
        self.able = [[p for p in self.crew if p in able] for able in net.able]

    def filled(self) -> Assignment:
        """Enter all activities; in a backward calendar the starts are counted from the end."""
        waiting = [len(needs) for needs in self.needs]
        ready = [(-self.urgent[i], i) for i, count in enumerate(waiting) if count == 0]
        ready.sort()
        while ready:
            # equal activities, such as those at like machines, go in the order in which they were given
            _, i = ready.pop(0)
            self._place(i)
            for follower in self.followers[i]:
                waiting[follower] -= 1
                if waiting[follower] == 0:
                    insort(ready, (-self.urgent[follower], follower))
        return self.starts, self.who

    def _place(self, i: int) -> None:
        """Enter an activity at the first time at which operators and equipment are free for all of it."""
        activity = self.net.activities[i]
        start = max((self.ended[k] for k in self.needs[i]), default=0)
        if activity.people:
            start = min(self._free_from(place, activity.seconds, start) for place in self.able[i])
        found: tuple[int, list[int]] = (start, [])
        until = None
        for end in (start, *self.ends[bisect_left(self.ends, start) :]):
            if until is not None and end > until:
                break
            chosen = self._chosen(i, end, inside_only=until is not None)
            if chosen is None:
                continue
            found = end, chosen
            if until is not None or self._seconds(i, chosen) == activity.seconds:
                break
            # operators without extra entry time end as early if they are free within it
            until = end + activity.entry_seconds
        if len(found[1]) != activity.people and self.net.strangers[i]:
            raise NoPlan(f"nobody is left for {activity.id}: nobody checks their own work")
        if len(found[1]) != activity.people:
            raise NoPlan(f"those who work at {activity.where} lack a skill that {activity.id} takes")
        self._take(i, *found)

    def _take(self, i: int, start: int, chosen: Sequence[int]) -> None:
        activity = self.net.activities[i]
        self.starts[i] = start
        self.placed[i] = True
        self.chosen[i] = frozenset(chosen)
        self.who[i] = tuple(sorted(self.net.crew[place].id for place in chosen))
        end = self.ended[i] = start + self._seconds(i, chosen)
        if start == end:
            return
        insort(self.ends, end)
        for place in chosen:
            insort(self.busy[place], (start, end, activity.where))
        for name, count in activity.uses.items():
            self.in_use[name].append((start, end, count))

    def _chosen(self, i: int, start: int, *, inside_only: bool = False) -> list[int] | None:
        """Operators free for the activity and its equipment, those without extra entry time first.

        None where they or the equipment are not free for its whole duration.
        """
        activity = self.net.activities[i]
        if not activity.people:
            return [] if self._equipped(activity, start, activity.seconds) else None
        inside = self._inside(i)
        for there, seconds in ((inside, activity.seconds), (None, activity.seconds + activity.entry_seconds)):
            if there is not None and len(there) < activity.people:
                if inside_only:
                    break
                continue
            found = self._free_for(i, start, seconds, there)
            if found is not None and self._equipped(activity, start, seconds):
                return found
            if inside_only:
                break
        return None

    def _inside(self, i: int) -> frozenset[int] | None:
        """Who needs no extra entry time for an activity; None where it has none."""
        before = [self._opening(k) for k in self.net.entries[i]]
        return frozenset.intersection(*before) if before and self.net.activities[i].entry_seconds else None

    def _opening(self, k: int) -> frozenset[int]:
        """Who does an activity of an entry: known once it, or one of the same people, is entered."""
        placed = [k] if self.placed[k] else [one for one in self.net.partners[k] if self.placed[one]]
        return self.chosen[placed[0]] if placed else frozenset()

    def _seconds(self, i: int, chosen: Sequence[int]) -> int:
        activity, inside = self.net.activities[i], self._inside(i)
        return (
            activity.seconds
            if inside is None or inside >= set(chosen)
            else activity.seconds + activity.entry_seconds
        )

    def _free_for(self, i: int, start: int, seconds: int, there: frozenset[int] | None) -> list[int] | None:
        """Operators free for so long; of those able, one who is at the place already comes first."""
        activity = self.net.activities[i]
        must, may = self._bound(i)
        barred = self._barred(i)
        free = [
            place
            for place in self.crew
            if (may is None or place in may)
            and place not in barred
            and (there is None or place in there)
            and self._is_free(place, seconds, start)
        ]
        if not must <= set(free):
            return None
        able = [place for place in self.able[i] if place in free and (not must or place in must)]
        if not able:
            return None
        first = next((place for place in able if self._is_at(place, activity, start)), able[0])
        others = [place for place in free if place != first]
        others.sort(key=lambda place: place not in must)
        groups = combinations([first, *others], activity.people)
        return next(
            (
                list(one)
                for one in groups
                if must <= set(one) and self.net.can_do(i, one) and self._leaves_others(i, one)
            ),
            None,
        )

    def _barred(self, i: int) -> frozenset[int]:
        """Who does not do an activity, because they did one that it checks or that checks it."""
        return frozenset(place for k in self.net.strangers[i] for place in self.chosen[k])

    def _leaves_others(self, i: int, people: Collection[int]) -> bool:
        """Whether somebody is left for each activity that other people than these must do."""
        left = (k for k in self.net.strangers[i] if not self.placed[k] and self.net.activities[k].people)
        return all(self.net.able[k] - self._barred(k) - set(people) for k in left)

    def _bound(self, i: int) -> tuple[frozenset[int], frozenset[int] | None]:
        """Who must do an activity, and who only may, because they do its partners."""
        must: frozenset[int] = frozenset()
        may: frozenset[int] | None = None
        for partner in self.net.partners[i]:
            if self.chosen[partner] and len(self.chosen[partner]) <= self.net.activities[i].people:
                must |= self.chosen[partner]
            elif self.chosen[partner]:
                may = self.chosen[partner] if may is None else may & self.chosen[partner]
        return must, may

    def _free_from(self, place: int, seconds: int, start: int) -> int:
        """The first time from a start at which an operator is free for so long."""
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

    def _is_at(self, place: int, activity: Activity, start: int) -> bool:
        busy = self.busy[place]
        at = bisect_left(busy, (start + max(activity.seconds, 1),))
        return at > 0 and activity.where != "" and busy[at - 1][2] == activity.where

    def _equipped(self, activity: Activity, start: int, seconds: int) -> bool:
        """Whether there is enough of all that it uses; use only rises where some activity starts."""
        end = start + seconds
        for name, wanted in activity.uses.items():
            others = [one for one in self.in_use[name] if one[0] < end and start < one[1]]
            spare = self.net.equipment[name] - wanted
            for at in {start, *(one[0] for one in others if one[0] > start)}:
                if sum(one[2] for one in others if one[0] <= at < one[1]) > spare:
                    return False
        return True
