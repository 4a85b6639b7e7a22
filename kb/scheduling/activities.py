"""Activities, the people and equipment they need, and the network that their needs make of them.

Heads and tails are the longest chains of needs: from the first start to an activity, and from an activity to
the last end.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations
from typing import Literal

from kb.errors import SizebookError


class NoPlan(SizebookError):  # noqa: N818 - said to the reader in one line
    """Why there is no plan, in one line."""


@dataclass(frozen=True, slots=True)
class Operator:
    """One member of a crew."""

    id: str
    skills: frozenset[str]


@dataclass(frozen=True, slots=True)
class Activity:
    """An activity to schedule, in whole seconds.

    Attributes:
        id: its name.
        seconds: its shortest duration.
        needs: activities that must be finished before it starts.
        people: how many operators do it.
        skill: what at least one of them must be able to do, "" for no skill.
        uses: how many it takes of each piece of equipment.
        where: place of the activity; an operator who is there already is preferred.
        same_people_as: activities done by the same people; where one takes fewer, they are among the others.
        entry: activities that open access to it, and that it needs.
        entry_seconds: extra duration unless all its people took part in every activity of `entry`.
        others: what further ones of its people must be able to do, each another operator.
        not_by: activities of which nobody does this one too; it needs them. It checks their work.
    """

    id: str
    seconds: int
    needs: tuple[str, ...] = ()
    people: int = 1
    skill: str = ""
    uses: Mapping[str, int] = field(default_factory=dict)
    where: str = ""
    same_people_as: tuple[str, ...] = ()
    entry: tuple[str, ...] = ()
    entry_seconds: int = 0
    others: tuple[str, ...] = ()
    not_by: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Slot:
    """Start and end of an activity [s], who does it, and its total float `slack` [s]."""

    id: str
    start: int
    end: int
    who: tuple[str, ...]
    slack: int

    @property
    def critical(self) -> bool:
        """Whether any delay of it delays the end."""
        return self.slack == 0


@dataclass(frozen=True, slots=True)
class Schedule:
    """A feasible schedule.

    Attributes:
        slots: by start.
        length: from the first start to the last end [s].
        bound: no schedule is shorter than this [s].
        method: `solver`, or `rule` where the priority rule alone made it.
    """

    slots: tuple[Slot, ...]
    length: int
    bound: int
    method: Literal["solver", "rule"]

    @property
    def proven(self) -> bool:
        """Whether no shorter schedule exists."""
        return self.length == self.bound


@dataclass(frozen=True)
class Network:
    """Activities that a crew with equipment can do; made by `network`.

    Attributes:
        activities: in the order given.
        crew: its operators.
        equipment: how many there are of each piece.
        needs: for each activity the places in `activities` of those it needs.
        order: places in `activities`, each after all that it needs.
        partners: for each activity the places of those done by the same people.
        entries: for each activity the places of those that open access to it.
        able: for each activity the places in `crew` of those who have its skill and those of its partners.
        checked: for each activity the places of those of which nobody does it too.
        wanted: for each activity groups of places in `crew`, and how many of each group it takes at least.
    """

    activities: tuple[Activity, ...]
    crew: tuple[Operator, ...]
    equipment: Mapping[str, int]
    needs: tuple[tuple[int, ...], ...]
    order: tuple[int, ...]
    partners: tuple[tuple[int, ...], ...]
    entries: tuple[tuple[int, ...], ...]
    able: tuple[frozenset[int], ...]
    checked: tuple[tuple[int, ...], ...]
    wanted: tuple[tuple[tuple[int, frozenset[int]], ...], ...]

    def can_do(self, i: int, people: Collection[int]) -> bool:
        """Whether operators, by place in `crew`, have the skills of an activity, each a different one."""
        return all(len(group.intersection(people)) >= count for count, group in self.wanted[i])

    @cached_property
    def strangers(self) -> tuple[frozenset[int], ...]:
        """For each activity those that check it, or its partners, and those that it or they check."""
        pairs = {(i, k) for i, some in enumerate(self.checked) for k in some}
        near = [{k for one in pairs if i in one for k in one} - {i} for i in range(len(self.activities))]
        return tuple(
            frozenset(k for one in (i, *some) for k in near[one]) for i, some in enumerate(self.partners)
        )

    @cached_property
    def apart(self) -> tuple[tuple[int, ...], ...]:
        """Groups of activities of which no two overlap, because the same operator does them all."""
        groups = {tuple(sorted((i, *some))) for i, some in enumerate(self.partners) if some}
        busy = (tuple(k for k in group if self.activities[k].people) for group in sorted(groups))
        return tuple(group for group in busy if len(group) > 1)

    def at_least(self, i: int, group: frozenset[int]) -> int:
        """How many of a group of operators, by place in `crew`, an activity takes at least."""
        if not self.activities[i].people:
            return 0
        skilled = max(count for count, able in ((0, group), *self.wanted[i]) if able <= group)
        return max(skilled, self.activities[i].people - (len(self.crew) - len(group)))

    def seconds(self, i: int, who: Sequence[Collection[str]]) -> int:
        """Duration of an activity [s], by who does it and who did the activities of its entry."""
        activity = self.activities[i]
        inside = all(member in who[k] for member in who[i] for k in self.entries[i])
        return activity.seconds if inside else activity.seconds + activity.entry_seconds

    def durations(self, who: Sequence[Collection[str]]) -> list[int]:
        """Duration of each activity [s], by who does it."""
        return [self.seconds(i, who) for i in range(len(self.activities))]

    @cached_property
    def least(self) -> tuple[int, ...]:
        """Least duration of each activity [s]: with its entry time where nobody can do it without.

        Its people must all take part in each activity of its entry, so those must have as many people, and
        one who has its skill must be able to take part.
        """
        return tuple(
            activity.seconds + (activity.entry_seconds if self._always_enters(i) else 0)
            for i, activity in enumerate(self.activities)
        )

    def _always_enters(self, i: int) -> bool:
        people = self.activities[i].people
        for k in self.entries[i] if people else ():
            opening = self.activities[k].people
            if opening < people or (opening == 1 and not self.able[i] & self.able[k]):
                return True
        return False

    @cached_property
    def followers(self) -> tuple[tuple[int, ...], ...]:
        """For each activity those that need it."""
        found: list[list[int]] = [[] for _ in self.activities]
        for i, needs in enumerate(self.needs):
            for need in needs:
                found[need].append(i)
        return tuple(tuple(one) for one in found)

    @cached_property
    def heads(self) -> tuple[int, ...]:
        """Earliest start of each activity for its needs alone [s]."""
        found = [0] * len(self.activities)
        for i in self.order:
            found[i] = max((found[k] + self.least[k] for k in self.needs[i]), default=0)
        return tuple(found)

    @cached_property
    def tails(self) -> tuple[int, ...]:
        """Least time from the end of each activity to the last end [s]."""
        found = [0] * len(self.activities)
        for i in reversed(self.order):
            found[i] = max((found[k] + self.least[k] for k in self.followers[i]), default=0)
        return tuple(found)


def network(
    activities: Sequence[Activity], crew: Sequence[Operator], equipment: Mapping[str, int]
) -> Network:
    """Build the network of some activities.

    Raises:
        NoPlan: if the activities wait for each other in a ring, or need more than there is.
    """
    place = {activity.id: i for i, activity in enumerate(activities)}
    if len(place) < len(activities):
        raise NoPlan("two works have the same id")
    for activity in activities:
        _possible(activity, crew, equipment)
        for need in (*activity.needs, *activity.same_people_as, *activity.entry, *activity.not_by):
            if need not in place:
                raise NoPlan(f"{activity.id} needs {need}, which is not to be done")
    needs = tuple(
        tuple(sorted({place[one] for one in (*activity.needs, *activity.entry, *activity.not_by)}))
        for activity in activities
    )
    order = _order(activities, needs)
    entries = tuple(tuple(sorted({place[one] for one in activity.entry})) for activity in activities)
    partners = _partners(activities, place)
    able = _able(activities, crew, partners)
    for i, activity in enumerate(activities):
        for k in (place[one] for one in activity.not_by):
            if activity.people and activities[k].people and able[i] == able[k] and len(able[i]) == 1:
                (only,) = able[i]
                raise NoPlan(
                    f"{activity.id} checks {activities[k].id}, and only {crew[only].id} can do either"
                )
    wanted = tuple(_wanted(activity, crew, able[i]) for i, activity in enumerate(activities))
    checked = tuple(tuple(sorted({place[one] for one in activity.not_by})) for activity in activities)
    means = (tuple(activities), tuple(crew), dict(equipment))
    return Network(*means, needs, order, partners, entries, able, checked, wanted)


def _partners(activities: Sequence[Activity], place: Mapping[str, int]) -> tuple[tuple[int, ...], ...]:
    """For each activity all that the same people do, also by way of others."""
    groups = [{i} for i in range(len(activities))]
    for i, activity in enumerate(activities):
        for k in (place[other] for other in activity.same_people_as):
            if groups[k] is not groups[i]:
                groups[i] |= groups[k]
                for one in groups[k]:
                    groups[one] = groups[i]
    return tuple(tuple(sorted(groups[i] - {i})) for i in range(len(activities)))


def _able(
    activities: Sequence[Activity], crew: Sequence[Operator], partners: Sequence[Sequence[int]]
) -> tuple[frozenset[int], ...]:
    found = []
    skilled: dict[frozenset[str], frozenset[int]] = {}
    for i, activity in enumerate(activities):
        together = [one for one in (activity, *(activities[k] for k in partners[i])) if one.people]
        skills = frozenset(one.skill for one in together if one.skill)
        if skills not in skilled:
            skilled[skills] = frozenset(k for k, operator in enumerate(crew) if skills <= operator.skills)
        able = skilled[skills]
        if together and not able:
            named = " and ".join(one.id for one in together)
            needed = " and ".join(sorted(skills))
            raise NoPlan(f"{named} are done by the same people, and nobody in the crew has {needed}")
        found.append(able)
    return tuple(found)


def _wanted(
    activity: Activity, crew: Sequence[Operator], able: frozenset[int]
) -> tuple[tuple[int, frozenset[int]], ...]:
    """How many operators an activity takes of those who have one of its skills, of two of them, and so on.

    Operators who meet all these counts can be matched to the skills, each to another one.

    Raises:
        NoPlan: if the crew has too few.
    """
    if not activity.people:
        return ()
    others = [
        frozenset(place for place, one in enumerate(crew) if skill in one.skills) for skill in activity.others
    ]
    groups = [able, *others]
    found = []
    for count in range(1, len(groups) + 1):
        for some in combinations(groups, count):
            together = frozenset.union(*some)
            if len(together) < count:
                skills = ", ".join(one for one in (activity.skill, *activity.others) if one)
                raise NoPlan(f"{activity.id} takes the skills {skills}, each of another member of the crew")
            found.append((count, together))
    return tuple(found)


def _possible(activity: Activity, crew: Sequence[Operator], equipment: Mapping[str, int]) -> None:
    if activity.seconds < 0:
        raise NoPlan(f"{activity.id} takes less than no time")
    if activity.people > len(crew):
        raise NoPlan(f"{activity.id} takes {activity.people} people, the crew has {len(crew)}")
    if len(activity.others) >= max(activity.people, 1):
        raise NoPlan(f"{activity.id} takes {activity.people} people, fewer than the skills it names")
    if activity.people and activity.skill and not any(activity.skill in operator.skills for operator in crew):
        raise NoPlan(f"{activity.id} takes the skill {activity.skill}, which nobody in the crew has")
    for name, count in activity.uses.items():
        if count > equipment.get(name, 0):
            raise NoPlan(f"{activity.id} uses {count} of {name}, there are {equipment.get(name, 0)}")


def _order(activities: Sequence[Activity], needs: Sequence[tuple[int, ...]]) -> tuple[int, ...]:
    followers: list[list[int]] = [[] for _ in activities]
    waiting = [len(one) for one in needs]
    for i, one in enumerate(needs):
        for need in one:
            followers[need].append(i)
    order = [i for i, count in enumerate(waiting) if count == 0]
    for i in order:
        for follower in followers[i]:
            waiting[follower] -= 1
            if waiting[follower] == 0:
                order.append(follower)
    if len(order) < len(activities):
        raise NoPlan(
            f"works wait for each other in a ring: {' after '.join(_ring(activities, needs, waiting))}"
        )
    return tuple(order)


def _ring(
    activities: Sequence[Activity], needs: Sequence[tuple[int, ...]], waiting: Sequence[int]
) -> list[str]:
    at = next(i for i, count in enumerate(waiting) if count)
    seen: list[int] = []
    while at not in seen:
        seen.append(at)
        at = next(need for need in needs[at] if waiting[need])
    ring = seen[seen.index(at) :]
    return [activities[i].id for i in (*ring, at)]
