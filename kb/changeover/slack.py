"""How far each work of a schedule may slip: the critical path, and who waits when.

Beside what works need of each other, a schedule fixes in which order each member and each piece of
equipment goes from work to work. On the network with those orders a work is critical when any delay of
it delays the end.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

from kb.changeover.model import Hand, Schedule, Slot, Work
from kb.changeover.network import Network, network

Held = tuple[Sequence[int], Sequence[tuple[str, ...]]]
"""Start of each work [s] and the members who do it, in the order of the network's works."""


def settled(net: Network, held: Held) -> tuple[Slot, ...]:
    """Slots of a schedule, each work as early as its order lets it, with the time it may slip.

    Args:
        net: works with crew and equipment.
        held: a schedule that keeps every rule.

    Returns:
        Slots by start.
    """
    starts, who = held
    seconds = net.lasting(who)
    before = waits(net, starts, who)
    rank = {i: place for place, i in enumerate(net.order)}
    order = sorted(range(len(net.works)), key=lambda i: (starts[i], seconds[i], rank[i]))
    early = [0] * len(order)
    for i in order:
        early[i] = max((early[k] + seconds[k] for k in before[i]), default=0)
    length = max((early[i] + seconds[i] for i in order), default=0)
    late = [length - one for one in seconds]
    for i in reversed(order):
        for k in before[i]:
            late[k] = min(late[k], late[i] - seconds[k])
    slots = [
        Slot(work.id, early[i], early[i] + seconds[i], who[i], late[i] - early[i])
        for i, work in enumerate(net.works)
    ]
    return tuple(sorted(slots, key=lambda slot: (slot.start, slot.end, slot.id)))


def waits(net: Network, starts: Sequence[int], who: Sequence[tuple[str, ...]]) -> list[set[int]]:
    """For each work all it must wait for: its needs, and what its members and equipment do before.

    Args:
        net: works with crew and equipment.
        starts: start of each work [s].
        who: the members who do each.

    Returns:
        Places in the network's works.
    """
    before = [set(needs) for needs in net.needs]
    seconds = net.lasting(who)
    by_start = sorted(
        (i for i in range(len(net.works)) if seconds[i]), key=lambda i: (starts[i], net.works[i].id)
    )
    for hand in net.hands:
        for earlier, later in pairwise(i for i in by_start if hand.id in who[i]):
            before[later].add(earlier)
    for name in net.equipment:
        _pass_on(net, name, by_start, [starts[i] + seconds[i] for i in range(len(seconds))], before)
    return before


def _pass_on(
    net: Network,
    name: str,
    by_start: Sequence[int],
    ends: Sequence[int],
    before: list[set[int]],
) -> None:
    """Pieces of equipment go from work to work; each work takes those that have been free the longest."""
    free: list[tuple[int, int]] = [(0, -1)] * net.equipment[name]
    for i in by_start:
        wanted = net.works[i].uses.get(name, 0)
        if not wanted:
            continue
        free.sort()
        taken, free = free[:wanted], free[wanted:]
        before[i] |= {k for _, k in taken if k >= 0}
        free += [(ends[i], i)] * wanted


def with_slack(
    works: Sequence[Work], hands: Sequence[Hand], equipment: Mapping[str, int], slots: Sequence[Slot]
) -> tuple[Slot, ...]:
    """The slots of a schedule made elsewhere, early and with their slack.

    Args:
        works: what is done.
        hands: the crew.
        equipment: how many there are of what works share.
        slots: when and by whom; their slack is not read.

    Returns:
        Slots by start.
    """
    net = network(works, hands, equipment)
    at = {slot.id: slot for slot in slots}
    return settled(net, ([at[w.id].start for w in net.works], [at[w.id].who for w in net.works]))


def idle(schedule: Schedule, hands: Sequence[Hand]) -> dict[str, tuple[tuple[int, int], ...]]:
    """When each member waits.

    Args:
        schedule: a schedule.
        hands: the crew.

    Returns:
        For each member the intervals without work between the first start and the last end [s].
    """
    found = {}
    for hand in hands:
        gaps = []
        free = 0
        for slot in schedule.slots:
            if hand.id in slot.who and slot.end > slot.start:
                if slot.start > free:
                    gaps.append((free, slot.start))
                free = slot.end
        if free < schedule.length:
            gaps.append((free, schedule.length))
        found[hand.id] = tuple(gaps)
    return found
