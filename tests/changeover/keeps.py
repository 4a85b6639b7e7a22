"""What every schedule must keep, looked at second by second and without the code that made it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, pairwise

from kb.changeover.model import Hand, Schedule, Slot, Work


def broken(
    schedule: Schedule, works: Sequence[Work], hands: Sequence[Hand], equipment: Mapping[str, int]
) -> list[str]:
    """Rules that a schedule breaks, in words."""
    slots = {slot.id: slot for slot in schedule.slots}
    if sorted(slots) != sorted(work.id for work in works) or len(slots) != len(schedule.slots):
        return ["not every work is done once"]
    found = [fault for work in works for fault in _alone(work, slots, hands)]
    found += _two_places(schedule, hands)
    found += _too_much(works, slots, equipment)
    if schedule.length != max((slot.end for slot in schedule.slots), default=0):
        found.append("the length is not that of the last end")
    if schedule.bound > schedule.length:
        found.append("shorter than its own bound")
    return found


def _alone(work: Work, slots: Mapping[str, Slot], hands: Sequence[Hand]) -> Iterator[str]:
    slot = slots[work.id]
    members = {hand.id: hand for hand in hands}
    if slot.start < 0 or slot.end - slot.start != work.seconds:
        yield f"{work.id} takes another time"
    if len(set(slot.who)) != work.people or len(slot.who) != work.people:
        yield f"{work.id} has {len(slot.who)} people"
    if work.people and work.skill and not any(work.skill in members[who].skills for who in slot.who):
        yield f"{work.id} is done without the skill"
    for need in work.needs:
        if slots[need].end > slot.start:
            yield f"{work.id} begins before {need} is done"


def _two_places(schedule: Schedule, hands: Sequence[Hand]) -> Iterator[str]:
    for hand in hands:
        mine = sorted((s.start, s.end, s.id) for s in schedule.slots if hand.id in s.who and s.end > s.start)
        for one, other in pairwise(mine):
            if other[0] < one[1]:
                yield f"{hand.id} is at {one[2]} and {other[2]} at once"


def _too_much(
    works: Sequence[Work], slots: Mapping[str, Slot], equipment: Mapping[str, int]
) -> Iterator[str]:
    for name, count in equipment.items():
        for at in {slot.start for slot in slots.values()}:
            used = sum(
                work.uses.get(name, 0) for work in works if slots[work.id].start <= at < slots[work.id].end
            )
            if used > count:
                yield f"{used} of {name} in use at {at}"


def shortest(works: Sequence[Work], hands: Sequence[Hand], equipment: Mapping[str, int]) -> int:
    """The shortest length there is, by trying every order and every choice of members; for few works."""
    best = [sum(work.seconds for work in works)]
    _tried({}, list(works), (hands, equipment), best)
    return best[0]


def _tried(
    slots: dict[str, tuple[Work, Slot]],
    left: list[Work],
    means: tuple[Sequence[Hand], Mapping[str, int]],
    best: list[int],
) -> None:
    if not left:
        best[0] = min(best[0], max((slot.end for _, slot in slots.values()), default=0))
        return
    for work in left:
        if any(need not in slots for need in work.needs):
            continue
        for who in combinations([hand.id for hand in means[0]], work.people):
            start = _soonest(work, who, slots, means)
            if start is not None and start + work.seconds < best[0]:
                slots[work.id] = work, Slot(work.id, start, start + work.seconds, who, 0)
                _tried(slots, [one for one in left if one is not work], means, best)
                del slots[work.id]


def _soonest(
    work: Work,
    who: tuple[str, ...],
    slots: Mapping[str, tuple[Work, Slot]],
    means: tuple[Sequence[Hand], Mapping[str, int]],
) -> int | None:
    hands, equipment = means
    able = {hand.id for hand in hands if work.skill in hand.skills}
    if work.people and work.skill and not able & set(who):
        return None
    after = max((slots[need][1].end for need in work.needs), default=0)
    for start in sorted({after, *(slot.end for _, slot in slots.values() if slot.end > after)}):
        now = [one for one in slots.values() if one[1].start < start + work.seconds and start < one[1].end]
        if any(set(who) & set(slot.who) for _, slot in now):
            continue
        moments = {start, *(slot.start for _, slot in now if slot.start > start)}
        enough = all(
            count + sum(one.uses.get(name, 0) for one, slot in now if slot.start <= at < slot.end)
            <= equipment[name]
            for name, count in work.uses.items()
            for at in moments
        )
        if enough:
            return start
    return None
