"""Whether a plan can be carried out and hurts nobody, looked at without what made it.

Everything is read again from the steps, the crew and the times of the plan. The bookkeeping of works, rooms
in machines and locks is not trusted.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from itertools import combinations, permutations
from typing import NamedTuple

from kb.changeover.model import Plan, Task
from kb.scheduling.activities import Schedule, Slot


class _Done(NamedTuple):
    """A task with its slot."""

    task: Task
    slot: Slot

    @property
    def id(self) -> str:
        return self.task.id

    def overlaps(self, start: int, end: int) -> bool:
        return self.slot.start < end and start < self.slot.end


def breaches(plan: Plan) -> list[str]:
    """What is wrong with a plan, in words.

    Returns:
        One line for each rule that some task breaks: people, skills, equipment, needs, isolation, machines
        that move, locks. None for a plan that is feasible and safe.
    """
    found = []
    for schedule in (plan.before, plan.stop, plan.after):
        rows = [_Done(plan.tasks[slot.id], slot) for slot in schedule.slots]
        found += [*_people(plan, rows), *_needs(rows), *_equipment(plan, rows)]
        found += _arrivals(rows) if schedule is plan.stop else _run_line(plan, rows)
    found += _once(plan)
    inside = [_Done(plan.tasks[slot.id], slot) for slot in plan.stop.slots]
    for station, number in _machines(plan):
        found += _at_machine(plan, station, number, inside)
    return found


# --- anybody's work ---------------------------------------------------------------------------


def _once(plan: Plan) -> Iterator[str]:
    parts: tuple[Schedule, ...] = (plan.before, plan.stop, plan.after)
    done = [slot.id for schedule in parts for slot in schedule.slots]
    if sorted(done) != sorted(plan.tasks):
        yield "not every task is done once"


def _people(plan: Plan, rows: Sequence[_Done]) -> Iterator[str]:
    skills = {hand.id: hand.skills for hand in plan.operators}
    for one in rows:
        step, who = one.task.step, one.slot.who
        if len(set(who)) != step.people or len(who) != step.people:
            yield f"{one.id} has {len(who)} people"
        if step.people and not _skilled(step.skills, [skills[member] for member in who]):
            yield f"{one.id} is done without the skill {' or '.join(step.skills)}"
        for other in rows:
            checks = other.task.step.id in step.checks and other.id in one.task.needs
            if checks and set(who) & set(other.slot.who):
                yield f"{one.id} is done by one who did {other.id}"
    for one, other in combinations(rows, 2):
        both = set(one.slot.who) & set(other.slot.who)
        if both and one.overlaps(other.slot.start, other.slot.end):
            yield f"{', '.join(sorted(both))} at {one.id} and {other.id} at once"


def _skilled(wanted: Sequence[str], people: Sequence[Collection[str]]) -> bool:
    """Whether each wanted skill is that of another of the people."""
    return any(
        all(skill in mine for skill, mine in zip(wanted, some, strict=True))
        for some in permutations(people, len(wanted))
    )


def _run_line(plan: Plan, rows: Sequence[_Done]) -> Iterator[str]:
    """While the line runs, enough members are free to run it; what everyone does is done at the line."""
    apart = [one for one in rows if not plan.tasks[one.slot.id].step.everyone]
    for moment in {one.slot.start for one in apart}:
        busy = {who for one in apart if one.slot.start <= moment < one.slot.end for who in one.slot.who}
        if len(busy) > len(plan.operators) - plan.running:
            yield f"{len(busy)} members prepare or clean up at {moment}, and {plan.running} run the line"


def _arrivals(rows: Sequence[_Done]) -> Iterator[str]:
    """Who comes to a machine has the time for it: all but those who did the work before it there."""
    by_id = {one.id: one for one in rows}
    for one in rows:
        place = (one.task.station, one.task.number)
        there = [by_id[need] for need in one.task.needs if need in by_id]
        there = [other for other in there if (other.task.station, other.task.number) == place]
        isolated = [by_id[other] for other in one.task.isolated_by if other in by_id]
        known = {who for other in (*there, *isolated) for who in other.slot.who}
        least = round(float(one.task.step.time.typical)) + one.task.arrival
        if set(one.slot.who) - known and one.slot.end - one.slot.start < least:
            yield f"{one.id} has no time to come to {one.task.at}"


def _needs(rows: Sequence[_Done]) -> Iterator[str]:
    ends = {one.id: one.slot.end for one in rows}
    for one in rows:
        for need in one.task.needs:
            if ends.get(need, 0) > one.slot.start:
                yield f"{one.id} begins before {need} is done"


def _equipment(plan: Plan, rows: Sequence[_Done]) -> Iterator[str]:
    for name in {name for one in rows for name in one.task.step.uses}:
        for moment in {one.slot.start for one in rows}:
            now = [one for one in rows if one.slot.start <= moment < one.slot.end]
            used = sum(one.task.step.uses.count(name) for one in now)
            if used > plan.equipment.get(name, 0):
                yield f"{used} of {name} in use at {moment}"


# --- at one machine ---------------------------------------------------------------------------


def _machines(plan: Plan) -> Iterator[tuple[str, int]]:
    for station in plan.difference.stations:
        yield from ((station.id, number) for number in range(1, station.count + 1))


def _at_machine(plan: Plan, station: str, number: int, rows: Sequence[_Done]) -> Iterator[str]:
    """Isolation, moves and locks at one machine of a group."""
    kind = next(one.kind for one in plan.difference.stations if one.id == station)
    here = [one for one in rows if one.task.station == station and one.task.number in (None, number)]
    isolating = [one for one in here if one.task.step.phase == "isolate"]
    releasing = [one for one in here if one.task.step.phase == "release"]
    hands = [one for one in here if one.task.step.hands_in]
    moving = [
        one
        for one in rows
        if one.task.step.moves is not None
        and kind in one.task.step.moves.machines
        and (one in here or one.task.step.machine != kind)
    ]
    yield from _isolated(hands, isolating, releasing)
    yield from _moves(moving, hands, isolating, releasing)
    for one, other in combinations(hands, 2):
        apart = one.task.number is not None or other.task.number is not None
        if apart and one.overlaps(other.slot.start, other.slot.end):
            yield f"{one.id} and {other.id} have hands in one machine at once"
    for one in isolating:
        for other in releasing:
            first, second = set(one.slot.who), set(other.slot.who)
            if not (first <= second or second <= first):
                yield f"{other.id} is not done by those of {one.id}"
    yield from _locks(hands, isolating)
    yield from _fitters(plan, hands, isolating)


def _fitters(plan: Plan, hands: Sequence[_Done], isolating: Sequence[_Done]) -> Iterator[str]:
    """In a plan with one fitter at each machine, those who isolate it do all work in it of their skill."""
    for one in hands if plan.one_fitter else ():
        for other in isolating:
            first, second = set(other.slot.who), set(one.slot.who)
            if one.task.step.skill == other.task.step.skill and not (first <= second or second <= first):
                yield f"{one.id} is not done by those of {other.id}"


def _isolated(
    hands: Sequence[_Done], isolating: Sequence[_Done], releasing: Sequence[_Done]
) -> Iterator[str]:
    for one in hands:
        if not isolating or any(other.slot.end > one.slot.start for other in isolating):
            yield f"{one.id} has hands in before the machine is isolated"
        if not releasing or any(other.slot.start < one.slot.end for other in releasing):
            yield f"{one.id} has hands in after the machine is released"


def _moves(
    moving: Sequence[_Done],
    hands: Sequence[_Done],
    isolating: Sequence[_Done],
    releasing: Sequence[_Done],
) -> Iterator[str]:
    for one in moving:
        for other in hands:
            if other is not one and one.overlaps(other.slot.start, other.slot.end):
                yield f"{one.id} moves the machine while {other.id} has hands in it"
        by = one.task.step.moves.by if one.task.step.moves else ""
        for first in isolating:
            for last in releasing:
                closed = last is not one and one.overlaps(first.slot.start, last.slot.end)
                if by == "power" and closed:
                    yield f"{one.id} moves the machine under power while it is isolated"
                if by == "hand" and not (first.slot.end <= one.slot.start and one.slot.end <= last.slot.end):
                    yield f"{one.id} moves the machine by hand while it is not isolated"


def _locks(hands: Sequence[_Done], isolating: Sequence[_Done]) -> Iterator[str]:
    for one in hands:
        lock = one.task.own_lock
        if lock is None:
            yield f"{one.id} has no time for a lock"
            continue
        others = [who for who in one.slot.who if not all(who in other.slot.who for other in isolating)]
        least = round(float(one.task.step.time.typical)) + (round(float(lock.typical)) if others else 0)
        if one.slot.end - one.slot.start < least:
            yield f"{', '.join(others)} cannot hang a lock at {one.id}"
