"""What every schedule must keep, looked at second by second and without the code that made it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, pairwise

from kb.scheduling.activities import Activity, Operator, Schedule, Slot, network
from kb.scheduling.bounds import bounds
from kb.scheduling.critical_path import with_float
from kb.scheduling.heuristic import TRIES, assignment_by_priority


def serial_schedule(
    activities: Sequence[Activity],
    crew: Sequence[Operator],
    equipment: Mapping[str, int],
    *,
    tries: int = TRIES,
) -> Schedule:
    """The schedule of the priority rule alone."""
    net = network(activities, crew, equipment)
    limits = bounds(net)
    slots = with_float(net, assignment_by_priority(net, limits, tries=tries))
    return Schedule(slots, max((slot.end for slot in slots), default=0), limits.length, "rule")


def broken(
    schedule: Schedule, activities: Sequence[Activity], crew: Sequence[Operator], equipment: Mapping[str, int]
) -> list[str]:
    """Rules that a schedule breaks, in words."""
    slots = {slot.id: slot for slot in schedule.slots}
    if sorted(slots) != sorted(activity.id for activity in activities) or len(slots) != len(schedule.slots):
        return ["not every activity is done once"]
    found = [fault for activity in activities for fault in _alone(activity, slots, crew)]
    found += _other_people(activities, slots)
    found += _two_places(schedule, crew)
    found += _too_much(activities, slots, equipment)
    if schedule.length != max((slot.end for slot in schedule.slots), default=0):
        found.append("the length is not that of the last end")
    if schedule.bound > schedule.length:
        found.append("shorter than its own bound")
    return found


def _alone(activity: Activity, slots: Mapping[str, Slot], crew: Sequence[Operator]) -> Iterator[str]:
    slot = slots[activity.id]
    members = {operator.id: operator for operator in crew}
    if slot.start < 0 or slot.end - slot.start != lasts(activity, slot.who, slots):
        yield f"{activity.id} takes another time"
    if len(set(slot.who)) != activity.people or len(slot.who) != activity.people:
        yield f"{activity.id} has {len(slot.who)} people"
    if (
        activity.people
        and activity.skill
        and not any(activity.skill in members[who].skills for who in slot.who)
    ):
        yield f"{activity.id} is done without the skill"
    for need in activity.needs:
        if slots[need].end > slot.start:
            yield f"{activity.id} begins before {need} is done"


def lasts(activity: Activity, who: Sequence[str], slots: Mapping[str, Slot]) -> int:
    """How long an activity takes these members: longer for one who has not done all of its entry."""
    inside = all(member in slots[one].who for member in who for one in activity.entry)
    return activity.seconds if inside else activity.seconds + activity.entry_seconds


def _other_people(activities: Sequence[Activity], slots: Mapping[str, Slot]) -> Iterator[str]:
    for activity in activities:
        for other in activity.same_people_as:
            if not nested(slots[activity.id].who, slots[other].who):
                yield f"{activity.id} is not done by those of {other}"
        for one in activity.not_by:
            if set(slots[one].who) & set(slots[activity.id].who):
                yield f"{activity.id} is done by one who did {one}"
        for one in activity.entry:
            if slots[one].end > slots[activity.id].start:
                yield f"{activity.id} begins before {one} has opened the way"


def nested(one: Sequence[str], other: Sequence[str]) -> bool:
    """Whether the fewer people are among the more; nobody is among all."""
    return set(one) <= set(other) or set(other) <= set(one)


def together(activities: Sequence[Activity]) -> dict[str, set[str]]:
    """For each activity all that are done by the same people, itself among them."""
    groups = {activity.id: {activity.id} for activity in activities}
    for activity in activities:
        for other in activity.same_people_as:
            joined = groups[activity.id] | groups[other]
            for one in joined:
                groups[one] = joined
    return groups


def _two_places(schedule: Schedule, crew: Sequence[Operator]) -> Iterator[str]:
    for operator in crew:
        mine = sorted(
            (s.start, s.end, s.id) for s in schedule.slots if operator.id in s.who and s.end > s.start
        )
        for one, other in pairwise(mine):
            if other[0] < one[1]:
                yield f"{operator.id} is at {one[2]} and {other[2]} at once"


def _too_much(
    activities: Sequence[Activity], slots: Mapping[str, Slot], equipment: Mapping[str, int]
) -> Iterator[str]:
    for name, count in equipment.items():
        for at in {slot.start for slot in slots.values()}:
            used = sum(
                activity.uses.get(name, 0)
                for activity in activities
                if slots[activity.id].start <= at < slots[activity.id].end
            )
            if used > count:
                yield f"{used} of {name} in use at {at}"


def shortest(activities: Sequence[Activity], crew: Sequence[Operator], equipment: Mapping[str, int]) -> int:
    """The shortest length there is, by trying every order and every choice of members; for few activities."""
    trial = _Trial(activities, crew, equipment)
    trial.go(list(activities))
    return trial.best


class _Trial:
    """Every order and every choice, one after the other."""

    def __init__(
        self, activities: Sequence[Activity], crew: Sequence[Operator], equipment: Mapping[str, int]
    ) -> None:
        self.activities = {activity.id: activity for activity in activities}
        self.crew, self.equipment = crew, equipment
        self.partners = together(activities)
        self.slots: dict[str, Slot] = {}
        self.best = sum(activity.seconds + activity.entry_seconds for activity in activities)

    def go(self, left: list[Activity]) -> None:
        """Try what is left in every way."""
        if not left:
            self.best = min(self.best, max((slot.end for slot in self.slots.values()), default=0))
            return
        for activity in left:
            before = (*activity.needs, *activity.entry, *activity.not_by)
            if any(one not in self.slots for one in before):
                continue
            for who in combinations([operator.id for operator in self.crew], activity.people):
                slot = self._soonest(activity, who) if self._may(activity, who) else None
                if slot is not None and slot.end < self.best:
                    self.slots[activity.id] = slot
                    self.go([one for one in left if one is not activity])
                    del self.slots[activity.id]

    def _may(self, activity: Activity, who: tuple[str, ...]) -> bool:
        """Whether these people may do an activity, beside those who do the others of its group."""
        group = [self.activities[one] for one in self.partners[activity.id] if self.activities[one].people]
        skills = {one.skill for one in group} - {""}
        if activity.people and not any(
            operator.id in who and skills <= operator.skills for operator in self.crew
        ):
            return False
        if any(set(who) & set(self.slots[one].who) for one in activity.not_by):
            return False
        placed = [self.slots[one.id].who for one in group if one.id in self.slots]
        return not activity.people or all(nested(who, one) for one in placed)

    def _soonest(self, activity: Activity, who: tuple[str, ...]) -> Slot | None:
        seconds = lasts(activity, who, self.slots)
        before = (*activity.needs, *activity.entry, *activity.not_by)
        after = max((self.slots[one].end for one in before), default=0)
        ends = (slot.end for slot in self.slots.values() if slot.end > after)
        for start in sorted({after, *ends}):
            now = [one for one in self.slots.values() if one.start < start + seconds and start < one.end]
            if any(set(who) & set(slot.who) for slot in now):
                continue
            moments = {start, *(slot.start for slot in now if slot.start > start)}
            if all(
                self._enough(name, count, at, now) for name, count in activity.uses.items() for at in moments
            ):
                return Slot(activity.id, start, start + seconds, who, 0)
        return None

    def _enough(self, name: str, count: int, at: int, now: Sequence[Slot]) -> bool:
        used = sum(self.activities[slot.id].uses.get(name, 0) for slot in now if slot.start <= at < slot.end)
        return count + used <= self.equipment[name]
