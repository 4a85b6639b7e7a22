"""Fewer moves of operators from place to place, with nobody's work exchanged and no later end."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from kb.scheduling.activities import Activity, Network, Slot
from kb.scheduling.critical_path import assignment_of, with_float

TRIALS = 600
"""Most orders that are tried."""

AHEAD = 0.5
"""How much earlier than the work that follows an activity is put [s]; less than any duration."""


def moves(activities: Sequence[Activity], slots: Sequence[Slot]) -> int:
    """How often an operator goes from one place to another."""
    where = {activity.id: activity.where for activity in activities}
    return sum(len(_gone(one, where)) for one in _rows(slots).values())


def fewer_moves(net: Network, slots: Sequence[Slot], *, trials: int = TRIALS) -> tuple[Slot, ...]:
    """The slots in another order, with fewer moves and an end that is no later.

    An operator who comes back to a place does the later work there first, directly after the earlier, if what
    it needs can be done by then and nothing ends later for it.
    """
    where = {activity.id: activity.where for activity in net.activities}
    place = {activity.id: i for i, activity in enumerate(net.activities)}
    best, tried = tuple(slots), set[tuple[str, str]]()
    length, count = _end(best), moves(net.activities, best)
    while trials > 0:
        step = next((one for one in _returns(best, where) if one not in tried), None)
        if step is None:
            break
        tried.add(step)
        earlier, later = step
        found = _pulled(net, best, place[earlier], place[later])
        trials -= 1
        if found is None or _end(found) > length:
            continue
        fewer = moves(net.activities, found)
        if fewer < count:
            best, count, tried = found, fewer, set()
    return best


def _end(slots: Sequence[Slot]) -> int:
    return max((slot.end for slot in slots), default=0)


def _rows(slots: Sequence[Slot]) -> dict[str, list[Slot]]:
    """What each operator does, by start."""
    found: dict[str, list[Slot]] = {}
    for slot in sorted(slots, key=lambda one: (one.start, one.end)):
        for who in slot.who:
            found.setdefault(who, []).append(slot)
    return found


def _gone(row: Sequence[Slot], where: dict[str, str]) -> list[str]:
    """Places to which one operator comes from another."""
    places = [where[slot.id] for slot in row if where[slot.id]]
    return [place for before, place in pairwise(places) if before != place]


def _returns(slots: Sequence[Slot], where: dict[str, str]) -> list[tuple[str, str]]:
    """Works at one place that an operator does with work at another in between, the nearest first."""
    found = []
    for row in _rows(slots).values():
        last: dict[str, int] = {}
        for k, slot in enumerate(row):
            place = where[slot.id]
            if place and k - last.get(place, k) > 1:
                found.append((k - last[place], row[last[place]].id, slot.id))
            last[place] = k
    return [(earlier, later) for _, earlier, later in sorted(found)]


def _pulled(net: Network, slots: Sequence[Slot], earlier: int, later: int) -> tuple[Slot, ...] | None:
    """The slots with one activity directly after another; none where it cannot begin earlier."""
    starts, who = assignment_of(net, slots)
    ends = [start + seconds for start, seconds in zip(starts, net.durations(who), strict=True)]
    begin = max(ends[k] for k in (earlier, *net.needs[later])) - AHEAD
    if begin >= starts[later]:
        return None
    order = [*starts]
    order[later] = begin  # type: ignore[call-overload]
    return with_float(net, (order, who))
