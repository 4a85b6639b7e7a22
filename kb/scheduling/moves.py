"""Fewer moves of operators from place to place, with nobody's work exchanged and no later end."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from kb.scheduling.activities import Activity, Network, Slot
from kb.scheduling.critical_path import assignment_of, with_float

PASSES = 2
"""How often the work at each place is drawn together."""

TRIALS = 300
"""Most orders that are tried."""

AHEAD = 0.5
"""How much earlier than the work that follows an activity is put [s]; less than any duration."""


def moves(activities: Sequence[Activity], slots: Sequence[Slot]) -> int:
    """How often an operator goes from one place to another."""
    where = {activity.id: activity.where for activity in activities}
    return sum(len(_gone(one, where)) for one in _rows(slots).values())


def fewer_moves(net: Network, slots: Sequence[Slot], *, trials: int = TRIALS) -> tuple[Slot, ...]:
    """The slots in another order, with fewer moves and an end that is no later.

    All work at a place is drawn together after its first. Then an operator who comes back to a place does
    the later work there directly after the earlier. Each is kept if moves are fewer and the end is no later.
    """
    where = {activity.id: activity.where for activity in net.activities}
    place = {activity.id: i for i, activity in enumerate(net.activities)}
    best, tried = tuple(slots), set[tuple[str, str]]()
    length, count = _end(best), moves(net.activities, best)
    for gathered in _all_gathered(net):
        together = _pulled_together(net, best, gathered)
        fewer = moves(net.activities, together)
        if _end(together) <= length and fewer < count:
            best, count = together, fewer
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


def _all_gathered(net: Network) -> Iterator[list[int]]:
    """The activities at each place, and then at each again, each after all that it needs."""
    at: dict[str, list[int]] = {}
    for i in net.order:
        if net.activities[i].where:
            at.setdefault(net.activities[i].where, []).append(i)
    for _ in range(PASSES):
        yield from at.values()


def _pulled_together(net: Network, slots: Sequence[Slot], gathered: Sequence[int]) -> tuple[Slot, ...]:
    """The slots with activities in a row after the first of them, but for those that wait for others."""
    starts, who = assignment_of(net, slots)
    order: list[float] = [*starts]
    begin = min(order[i] for i in gathered)
    for rank, i in enumerate(gathered, start=1):
        early = begin + AHEAD * rank / len(gathered)
        if early < order[i] and all(order[k] < early for k in net.needs[i]):
            order[i] = early
    return with_float(net, (order, who))  # type: ignore[arg-type]


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
