"""What would shorten a stop most: a step done while the line runs or in half the time, or other means."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from kb.book.records_floor import Crew, Equipment, Phase, Step
from kb.changeover.model import Plan, Task
from kb.changeover.work import activities_of, part_of, planned_seconds
from kb.scheduling.activities import Activity, Operator, Schedule, Slot
from kb.scheduling.critical_path import in_same_order
from kb.scheduling.plan import schedule
from kb.workers import shared

Way = Literal["external", "half"]

INSIDE: frozenset[Phase] = frozenset({"clear", "isolate", "release", "verify", "first-off", "restart"})
"""Phases that only make sense while the line is stopped."""

NEVER_HURRIED: frozenset[Phase] = frozenset({"isolate", "release", "verify", "first-off", "restart"})
"""Phases that keep hands safe or prove the cans: no lever proposes less time for them."""

EFFORT = 0.03
"""How much the solver may do for each lever, where the stop as planned is proven."""

MEANS_EFFORT = 0.1
"""How much the solver may do for each of the other means."""

TRIES = 1
"""Starting orders of the rule for each lever; the order of the plan is tried in any case."""


@dataclass(frozen=True, slots=True)
class Lever:
    """What the stop would be if one step were another.

    Attributes:
        step: the step.
        at: a machine at which it is critical, as the crew calls it; "" for the line as a whole.
        way: made external, or done in half the time.
        stop: the stop as planned [s].
        then: the stop with the lever [s].
        proven: whether both are the shortest there are, so that the saving is exact; otherwise it
            is the saving in this plan.
        waits_for: ids of steps inside the stop that it now waits for and would have to do without.
    """

    step: Step
    at: str
    way: Way
    stop: int
    then: int
    proven: bool
    waits_for: tuple[str, ...]

    @property
    def saved(self) -> int:
        """By how much the stop is shorter [s]."""
        return self.stop - self.then

    @property
    def words(self) -> str:
        """The lever in one line."""
        what = f"make {self.step.id} external" if self.way == "external" else f"halve {self.step.id}"
        return f"{what}: stop {self.stop / 60:.0f} -> {self.then / 60:.0f} min"


Kind = Literal["person", "skill", "piece", "cans", "together"]

CANS = "later proof on the cans of the first machines"
"""The means in words."""

CANS_CAUTION = (
    "Not planned: hands may be in the other machines while the first ones run. "
    "The plant decides whether that is allowed."
)
"""What is said beside a stop that goes on with the cans of the first machines."""


@dataclass(frozen=True, slots=True)
class MeansLever:
    """What the stop would be with other means: a person, a skill, a piece, or cans of the first machines.

    Attributes:
        kind: which of them; `together` for the best of each.
        words: the means in words.
        stop: the stop with the means as they are, by the same search [s].
        then: the stop with the other means [s], the same work and the same rules.
        proven: whether both are the shortest there are.
        a_year: stops of this kind that the weeks of the book have in a year.
    """

    kind: Kind
    words: str
    stop: int
    then: int
    proven: bool
    a_year: float

    @property
    def saved(self) -> int:
        """By how much the stop is shorter [s]."""
        return self.stop - self.then


@dataclass(frozen=True, slots=True)
class _Means:
    """The means of a stop, and how they differ from those of the plan."""

    kind: Kind
    words: str
    works: tuple[Activity, ...]
    crew: tuple[Operator, ...]
    equipment: Mapping[str, int]


def means_levers(
    plan: Plan, crew: Crew, pieces: Sequence[Equipment], *, a_year: float = 0.0, effort: float = MEANS_EFFORT
) -> tuple[MeansLever, ...]:
    """What other means would save, solved again for each, on all cores.

    Another person is a second one with the skills of a member; a skill is one that critical work takes; a
    piece is one more of what critical work uses. The same search with the means as they are goes first, so
    that a saving is the merit of the means. The best of each kind are tried together at the end.

    Args:
        plan: the plan of the changeover
        crew: the crew of the plan
        pieces: the shared pieces of the plant
        a_year: stops of this kind in a year
        effort: how much the solver may do for each
    """
    works = activities_of(plan.tasks, part="stop")
    today = _Means("together", "", works, plan.operators, plan.equipment)
    ways = [today, *_other_means(plan, crew, pieces, today)]

    def solved(one: _Means, known: Sequence[Slot]) -> Schedule:
        return schedule(one.works, one.crew, one.equipment, effort=effort, tries=TRIES, known=known)

    first, *found = shared(lambda place: solved(ways[place], plan.stop.slots), range(len(ways)))
    tried = list(zip(ways[1:], found, strict=True))
    best = [
        min((one for one in tried if one[0].kind == kind), key=lambda one: one[1].length, default=None)
        for kind in ("person", "skill", "piece", "cans")
    ]
    # cans of the first machines may save time only once somebody is there to prove them
    some = [one for one in best if one and (one[0].kind == "cans" or one[1].length < first.length)]
    if len(some) > 1:
        together = _together([means for means, _ in some], today)
        shortest = min((made for _, made in some), key=lambda made: made.length)
        tried.append((together, solved(together, shortest.slots)))
    useful = [
        MeansLever(means.kind, means.words, first.length, then.length, first.proven and then.proven, a_year)
        for means, then in tried
        if then.length < first.length
    ]
    return tuple(sorted(useful, key=lambda one: (one.kind == "together", -one.saved, one.words)))


def _other_means(plan: Plan, crew: Crew, pieces: Sequence[Equipment], today: _Means) -> Iterator[_Means]:
    critical = {slot.id for slot in plan.stop.slots if slot.critical}
    work = [one for one in today.works if one.id in critical]
    wanted = sorted({skill for one in work for skill in (one.skill, *one.others) if skill})
    for one in crew.members:
        more = Operator(f"{one.id}-more", frozenset(one.skills))
        yield replace(today, kind="person", words=f"another {one.title}", crew=(*today.crew, more))
    for place, (one, operator) in enumerate(zip(crew.members, today.crew, strict=True)):
        for skill in wanted:
            if skill not in operator.skills:
                trained = Operator(operator.id, operator.skills | {skill})
                others = (*today.crew[:place], trained, *today.crew[place + 1 :])
                yield replace(today, kind="skill", words=f"{one.title} trained in {skill}", crew=others)
    used = {name for one in work for name in one.uses}
    for piece in pieces:
        if piece.id in used:
            equipment = {**today.equipment, piece.id: piece.count + 1}
            yield replace(today, kind="piece", words=f"one more: {piece.name}", equipment=equipment)
    tasks = on_first_cans(plan.tasks)
    if tasks != plan.tasks:
        first = activities_of(tasks, part="stop")
        yield replace(today, kind="cans", words=CANS, works=first)


def _together(some: Sequence[_Means], today: _Means) -> _Means:
    """Means with all that some others have beyond those of today."""
    skills = {one.id: one.skills for one in today.crew}
    equipment = dict(today.equipment)
    works = today.works
    for means in some:
        for one in means.crew:
            skills[one.id] = skills.get(one.id, frozenset()) | one.skills
        equipment |= {name: max(equipment[name], count) for name, count in means.equipment.items()}
        works = means.works if means.works != today.works else works
    crew = tuple(Operator(ident, some_skills) for ident, some_skills in skills.items())
    words = f"together: {'; '.join(one.words for one in some)}"
    return _Means("together", words, works, crew, equipment)


def on_first_cans(tasks: Mapping[str, Task]) -> dict[str, Task]:
    """The same tasks, those that the library lets begin on cans of the first machines without the others.

    No task goes: every machine is still proven before the line starts. A task still waits for each machine
    that it moves.
    """

    def enough(task: Task, need: str) -> bool:
        other, first = tasks[need], task.step.cans_from
        moved = other.station == task.station or other.step.machine in task.step.machines
        return not first or other.number is None or moved or other.number <= first

    return {
        ident: replace(task, needs=tuple(need for need in task.needs if enough(task, need)))
        for ident, task in tasks.items()
    }


def may_be_external(step: Step) -> bool:
    """Whether a step inside the stop might be done while the line runs."""
    touches = step.hands_in or step.moves is not None
    return part_of(step) == "stop" and not touches and step.phase not in INSIDE


def ways_of(step: Step) -> tuple[Way, ...]:
    """In which ways a step inside the stop might be made to hold it up less."""
    ways: list[Way] = ["external"] if may_be_external(step) else []
    return tuple(ways) if step.phase in NEVER_HURRIED else (*ways, "half")


def levers(plan: Plan, *, effort: float = EFFORT) -> tuple[Lever, ...]:
    """What would shorten the stop, by what it saves.

    Only steps with a critical task are tried: the others have time to spare in this schedule.

    Returns:
        The levers that save time, the best first.
    """
    # where the stop itself is not proven, what the solver finds might be no merit of the lever
    effort = effort if plan.stop.proven else 0.0

    def solved(works: Sequence[Activity]) -> tuple[int, bool]:
        then = schedule(
            works, plan.operators, plan.equipment, effort=effort, tries=TRIES, known=plan.stop.slots
        )
        return then.length, plan.stop.proven and then.proven

    return _levers(plan, solved)


def levers_in_order(plan: Plan) -> tuple[Lever, ...]:
    """What would shorten the stop, the order of all other work kept.

    The plan is not solved again, so another order of the work may save more, never less.

    Returns:
        The levers that save time, the best first.
    """

    def kept(works: Sequence[Activity]) -> tuple[int, bool]:
        slots = in_same_order(works, plan.operators, plan.equipment, plan.stop.slots)
        return max((slot.end for slot in slots), default=0), False

    return _levers(plan, kept)


Length = Callable[[Sequence[Activity]], tuple[int, bool]]
"""How long works take [s], and whether that is the shortest there is."""


def _levers(plan: Plan, length: Length) -> tuple[Lever, ...]:
    critical = {slot.id for slot in plan.stop.slots if slot.critical}
    tried = {task.step.id: task for task in plan.tasks.values() if task.id in critical}
    works = activities_of(plan.tasks, part="stop")
    found = [
        _lever(plan, task, way, length(_changed(plan.tasks, works, task.step, way)))
        for task in tried.values()
        for way in ways_of(task.step)
    ]
    useful = [one for one in found if one.saved > 0]
    return tuple(sorted(useful, key=lambda one: (-one.saved, one.way, one.step.id)))


def _lever(plan: Plan, task: Task, way: Way, length: tuple[int, bool]) -> Lever:
    step = task.step
    then, proven = length
    waits: tuple[str, ...] = ()
    if way == "external":
        mine = [one for one in plan.tasks.values() if one.step.id == step.id]
        inside = {plan.tasks[need].step for one in mine for need in one.needs}
        waits = tuple(sorted(one.id for one in inside if part_of(one) == "stop" and one.id != step.id))
    return Lever(step, task.at, way, plan.stop.length, then, proven, waits)


def _changed(
    tasks: Mapping[str, Task], works: Sequence[Activity], step: Step, way: Way
) -> tuple[Activity, ...]:
    """The works of the stop without those of one step, or with those in half their time."""
    mine = {ident: task for ident, task in tasks.items() if task.step.id == step.id}
    if way == "external":
        before = {
            ident: replace(task, step=replace(task.step, phase="before")) for ident, task in mine.items()
        }
        return activities_of({**tasks, **before}, part="stop")
    saved = planned_seconds(step) - planned_seconds(step, 0.5)
    return tuple(replace(one, seconds=one.seconds - saved) if one.id in mine else one for one in works)
