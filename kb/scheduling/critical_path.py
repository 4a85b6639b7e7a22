"""Float of each activity, the critical path, idle time of operators, and the spread of the length.

A schedule fixes the order in which each operator and each piece of equipment goes from activity to activity.
On the network with those orders, an activity is critical if any delay of it delays the end.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from kb.scheduling.activities import Activity, Network, Operator, Schedule, Slot, network

Assignment = tuple[Sequence[int], Sequence[tuple[str, ...]]]
"""Start of each activity [s] and the operators who do it, in the order of the network's activities."""


def with_float(net: Network, assignment: Assignment) -> tuple[Slot, ...]:
    """Slots of an assignment, each activity as early as the order allows, with its float."""
    starts, who = assignment
    seconds = net.durations(who)
    before = predecessors(net, starts, who)
    order = execution_order(net, starts, seconds)
    early = [0] * len(order)
    for i in order:
        early[i] = max((early[k] + seconds[k] for k in before[i]), default=0)
    length = max((early[i] + seconds[i] for i in order), default=0)
    late = [length - one for one in seconds]
    for i in reversed(order):
        for k in before[i]:
            late[k] = min(late[k], late[i] - seconds[k])
    slots = [
        Slot(activity.id, early[i], early[i] + seconds[i], who[i], late[i] - early[i])
        for i, activity in enumerate(net.activities)
    ]
    return tuple(sorted(slots, key=lambda slot: (slot.start, slot.end, slot.id)))


def settled(net: Network, slots: tuple[Slot, ...]) -> tuple[Slot, ...]:
    """The slots moved to the front until none moves; with several pieces of a kind one pass may not do.

    A schedule that is kept is read as one that does not move.
    """
    while (again := with_float(net, assignment_of(net, slots))) != slots:
        slots = again
    return slots


def execution_order(net: Network, starts: Sequence[int], seconds: Sequence[int]) -> list[int]:
    """Places of the activities by start, each after all its predecessors."""
    rank = {i: place for place, i in enumerate(net.order)}
    return sorted(range(len(net.activities)), key=lambda i: (starts[i], seconds[i], rank[i]))


def predecessors(net: Network, starts: Sequence[int], who: Sequence[tuple[str, ...]]) -> list[set[int]]:
    """Predecessors of each activity: its needs, and what its operators and equipment do just before.

    Equipment goes from activity to activity; each takes the pieces that have been free the longest.
    """
    before = [set(needs) for needs in net.needs]
    seconds = net.durations(who)
    by_start = sorted(
        (i for i in range(len(net.activities)) if seconds[i]), key=lambda i: (starts[i], net.activities[i].id)
    )
    last: dict[str, int] = {}
    free = {name: [(0, -1)] * count for name, count in net.equipment.items()}
    for i in by_start:
        before[i].update(last[one] for one in who[i] if one in last)
        last.update(dict.fromkeys(who[i], i))
        for name, wanted in net.activities[i].uses.items():
            if wanted:
                pieces = sorted(free[name])
                before[i].update(k for _, k in pieces[:wanted] if k >= 0)
                free[name] = pieces[wanted:] + [(starts[i] + seconds[i], i)] * wanted
    return before


def in_same_order(
    activities: Sequence[Activity],
    crew: Sequence[Operator],
    equipment: Mapping[str, int],
    slots: Sequence[Slot],
) -> tuple[Slot, ...]:
    """The slots of a schedule moved as early as its order allows, with their float."""
    net = network(activities, crew, equipment)
    return with_float(net, assignment_of(net, slots))


def assignment_of(net: Network, slots: Sequence[Slot]) -> Assignment:
    """The assignment that slots describe; slots of other activities are not read."""
    at = {slot.id: slot for slot in slots}
    found = [at[activity.id] for activity in net.activities]
    return [slot.start for slot in found], [slot.who for slot in found]


def idle(schedule: Schedule, crew: Sequence[Operator]) -> dict[str, tuple[tuple[int, int], ...]]:
    """When each operator waits.

    Returns:
        For each operator the intervals without work between the first start and the last end [s].
    """
    found = {}
    for operator in crew:
        gaps = []
        free = 0
        for slot in schedule.slots:
            if operator.id in slot.who and slot.end > slot.start:
                if slot.start > free:
                    gaps.append((free, slot.start))
                free = slot.end
        if free < schedule.length:
            gaps.append((free, schedule.length))
        found[operator.id] = tuple(gaps)
    return found


# --- the spread of the length ----------------------------------------------------------------------


RUNS = 4000
SEED = 1


@dataclass(frozen=True, slots=True)
class DurationStats:
    """Length of a simulated schedule [s]: typical times, median, 90th percentile, worst times."""

    typical: int
    median: int
    nine_in_ten: int
    worst: int


def simulate(
    schedule: Schedule,
    activities: Sequence[Activity],
    crew: Sequence[Operator],
    equipment: Mapping[str, int],
    worst: Mapping[str, int],
) -> DurationStats:
    """Simulate the length of a schedule whose order everybody keeps.

    In half of all runs an activity takes its typical time, since the next one waits for the plan. In the
    other half it takes longer, up to its worst time. Activities vary independently. The same activities give
    the same numbers.

    Source:
        The longer half is a triangle from the typical to the worst time, highest at the typical: common
        practice, no source.

    Note:
        Causes that delay all activities at once, such as an absent operator, are not in it.
    """
    net = network(activities, crew, equipment)
    at = {slot.id: slot for slot in schedule.slots}
    starts = [at[activity.id].start for activity in activities]
    who = [at[activity.id].who for activity in activities]
    before = predecessors(net, starts, who)
    chance = np.random.default_rng(SEED)
    typical = np.array(net.durations(who), dtype=float)
    most = np.maximum(typical, np.array([worst[activity.id] for activity in activities], dtype=float))
    order = execution_order(net, starts, net.durations(who))

    def ends(seconds: np.ndarray) -> np.ndarray:
        """When the last activity ends in each column of times."""
        done = np.zeros_like(seconds)
        for i in order:
            done[i] = seconds[i] + (done[sorted(before[i])].max(axis=0) if before[i] else 0)
        return done.max(axis=0, initial=0)

    # 0 in half of all runs, in the others a ratio with a density that falls in a straight line from 0 to 1
    share = 1 - np.sqrt(np.minimum(1, 2 - 2 * chance.random((len(activities), RUNS))))
    drawn = np.sort(ends(typical[:, None] + share * (most - typical)[:, None]))
    edges = ends(np.stack([typical, most], axis=1))
    return DurationStats(
        typical=round(edges[0]),
        median=round(float(np.quantile(drawn, 0.5))),
        nine_in_ten=round(float(np.quantile(drawn, 0.9))),
        worst=round(edges[1]),
    )
