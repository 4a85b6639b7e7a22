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
    found += _other_people(works, slots)
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
    if slot.start < 0 or slot.end - slot.start != lasts(work, slot.who, slots):
        yield f"{work.id} takes another time"
    if len(set(slot.who)) != work.people or len(slot.who) != work.people:
        yield f"{work.id} has {len(slot.who)} people"
    if work.people and work.skill and not any(work.skill in members[who].skills for who in slot.who):
        yield f"{work.id} is done without the skill"
    for need in work.needs:
        if slots[need].end > slot.start:
            yield f"{work.id} begins before {need} is done"


def lasts(work: Work, who: Sequence[str], slots: Mapping[str, Slot]) -> int:
    """How long a work takes these members: longer for one who has not done all of its entry."""
    inside = all(member in slots[one].who for member in who for one in work.entry)
    return work.seconds if inside else work.seconds + work.entry_seconds


def _other_people(works: Sequence[Work], slots: Mapping[str, Slot]) -> Iterator[str]:
    for work in works:
        for other in work.same_people_as:
            if not nested(slots[work.id].who, slots[other].who):
                yield f"{work.id} is not done by those of {other}"
        for one in work.entry:
            if slots[one].end > slots[work.id].start:
                yield f"{work.id} begins before {one} has opened the way"


def nested(one: Sequence[str], other: Sequence[str]) -> bool:
    """Whether the fewer people are among the more; nobody is among all."""
    return set(one) <= set(other) or set(other) <= set(one)


def together(works: Sequence[Work]) -> dict[str, set[str]]:
    """For each work all that are done by the same people, itself among them."""
    groups = {work.id: {work.id} for work in works}
    for work in works:
        for other in work.same_people_as:
            joined = groups[work.id] | groups[other]
            for one in joined:
                groups[one] = joined
    return groups


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
    trial = _Trial(works, hands, equipment)
    trial.go(list(works))
    return trial.best


class _Trial:
    """Every order and every choice, one after the other."""

    def __init__(self, works: Sequence[Work], hands: Sequence[Hand], equipment: Mapping[str, int]) -> None:
        self.works = {work.id: work for work in works}
        self.hands, self.equipment = hands, equipment
        self.mates = together(works)
        self.slots: dict[str, Slot] = {}
        self.best = sum(work.seconds + work.entry_seconds for work in works)

    def go(self, left: list[Work]) -> None:
        """Try what is left in every way."""
        if not left:
            self.best = min(self.best, max((slot.end for slot in self.slots.values()), default=0))
            return
        for work in left:
            if any(one not in self.slots for one in (*work.needs, *work.entry)):
                continue
            for who in combinations([hand.id for hand in self.hands], work.people):
                slot = self._soonest(work, who) if self._may(work, who) else None
                if slot is not None and slot.end < self.best:
                    self.slots[work.id] = slot
                    self.go([one for one in left if one is not work])
                    del self.slots[work.id]

    def _may(self, work: Work, who: tuple[str, ...]) -> bool:
        """Whether these people may do a work, beside those who do the others of its group."""
        group = [self.works[one] for one in self.mates[work.id] if self.works[one].people]
        skills = {one.skill for one in group} - {""}
        if work.people and not any(hand.id in who and skills <= hand.skills for hand in self.hands):
            return False
        placed = [self.slots[one.id].who for one in group if one.id in self.slots]
        return not work.people or all(nested(who, one) for one in placed)

    def _soonest(self, work: Work, who: tuple[str, ...]) -> Slot | None:
        seconds = lasts(work, who, self.slots)
        after = max((self.slots[one].end for one in (*work.needs, *work.entry)), default=0)
        ends = (slot.end for slot in self.slots.values() if slot.end > after)
        for start in sorted({after, *ends}):
            now = [one for one in self.slots.values() if one.start < start + seconds and start < one.end]
            if any(set(who) & set(slot.who) for slot in now):
                continue
            moments = {start, *(slot.start for slot in now if slot.start > start)}
            if all(self._enough(name, count, at, now) for name, count in work.uses.items() for at in moments):
                return Slot(work.id, start, start + seconds, who, 0)
        return None

    def _enough(self, name: str, count: int, at: int, now: Sequence[Slot]) -> bool:
        used = sum(self.works[slot.id].uses.get(name, 0) for slot in now if slot.start <= at < slot.end)
        return count + used <= self.equipment[name]
