"""What would shorten a stop most: a step done while the line runs or in half the time, a person, a skill."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from kb.book.records_floor import Crew, Phase, Step
from kb.changeover.model import Plan, Task
from kb.changeover.work import activities_of, part_of, planned_seconds
from kb.scheduling.activities import Activity, Operator
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

CREW_EFFORT = 0.1
"""How much the solver may do for each crew."""

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


@dataclass(frozen=True, slots=True)
class CrewLever:
    """What the stop would be with another person in the crew, or another skill.

    Attributes:
        words: the person, or who has been trained in what.
        stop: the stop with the crew as it is, by the same search [s].
        then: the stop with this crew [s], the same work and the same rules.
        proven: whether both are the shortest there are.
        a_year: stops of this kind that the weeks of the book have in a year.
    """

    words: str
    stop: int
    then: int
    proven: bool
    a_year: float

    @property
    def saved(self) -> int:
        """By how much the stop is shorter [s]."""
        return self.stop - self.then


def crew_levers(
    plan: Plan, crew: Crew, *, a_year: float = 0.0, effort: float = CREW_EFFORT
) -> tuple[CrewLever, ...]:
    """What another person or skill would save, solved again for each, on all cores.

    Another person is a second one with the skills of a member. A skill is one that critical work takes. The
    same search with the crew as it is goes first, so that a saving is the merit of the person or skill.

    Args:
        plan: the plan of the changeover
        crew: the crew of the plan
        a_year: stops of this kind in a year
        effort: how much the solver may do for each
    """
    works = activities_of(plan.tasks, part="stop")
    critical = {slot.id for slot in plan.stop.slots if slot.critical}
    wanted = sorted(
        {skill for one in works if one.id in critical for skill in (one.skill, *one.others) if skill}
    )
    crews = [("", plan.operators)]
    crews += [
        (f"another {one.title}", (*plan.operators, Operator(f"{one.id}-more", frozenset(one.skills))))
        for one in crew.members
    ]
    for place, (one, operator) in enumerate(zip(crew.members, plan.operators, strict=True)):
        for skill in wanted:
            if skill not in operator.skills:
                trained = Operator(operator.id, operator.skills | {skill})
                others = (*plan.operators[:place], trained, *plan.operators[place + 1 :])
                crews.append((f"{one.title} trained in {skill}", others))

    def length(place: int) -> tuple[int, bool]:
        then = schedule(
            works, crews[place][1], plan.equipment, effort=effort, tries=TRIES, known=plan.stop.slots
        )
        return then.length, then.proven

    (stop, exact), *lengths = shared(length, range(len(crews)))
    found = [
        CrewLever(words, stop, then, exact and proven, a_year)
        for (words, _), (then, proven) in zip(crews[1:], lengths, strict=True)
    ]
    useful = [one for one in found if one.saved > 0]
    return tuple(sorted(useful, key=lambda one: (-one.saved, one.words)))


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
