"""Who hangs a lock on which machine: who isolates it, and whose hands go in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from kb.changeover.model import Plan, Task
from kb.scheduling.activities import Slot


@dataclass(frozen=True, slots=True)
class Locks:
    """Locks on one isolated machine, by member of the crew.

    Attributes:
        station: id of the group of machines.
        number: which machine of the group; none where the group is isolated as a whole.
        isolates: who isolates it.
        releases: who releases it.
        own: who else has hands in it, each with a lock of their own.
    """

    station: str
    number: int | None
    isolates: tuple[str, ...]
    releases: tuple[str, ...]
    own: tuple[str, ...]


def own_locks(task: Task, slots: Mapping[str, Slot]) -> tuple[str, ...]:
    """Who hangs a lock of their own for a task: all its people who did not isolate the machine.

    Args:
        task: a task of a plan
        slots: slots of the stop by id

    Returns:
        Ids of members; nobody where no hands go in.
    """
    if not task.inside:
        return ()
    isolated = [set(slots[one].who) for one in task.isolated_by]
    return tuple(who for who in slots[task.id].who if not all(who in one for one in isolated))


def locks(plan: Plan) -> tuple[Locks, ...]:
    """The locks of a stop, machine by machine in line order.

    Returns:
        One entry for each isolated machine, or group that is isolated as a whole.
    """
    slots = {slot.id: slot for slot in plan.stop.slots}
    found = []
    for station in plan.difference.stations:
        isolating = [
            task
            for task in plan.tasks.values()
            if task.step.phase == "isolate" and task.station == station.id
        ]
        for number in dict.fromkeys(task.number for task in isolating):
            here = {task.id for task in isolating if task.number == number}
            found.append(_locks(plan, slots, station.id, number, here))
    return tuple(found)


def _locks(plan: Plan, slots: Mapping[str, Slot], station: str, number: int | None, here: set[str]) -> Locks:
    behind = [task for task in plan.tasks.values() if here & set(task.isolated_by)]
    releasing = {task.id for task in behind if task.step.phase == "release"}
    own = {who for task in behind for who in own_locks(task, slots)}
    return Locks(
        station,
        number,
        tuple(_in_order(plan, {who for one in here for who in slots[one].who})),
        tuple(_in_order(plan, {who for one in releasing for who in slots[one].who})),
        tuple(_in_order(plan, own)),
    )


def _in_order(plan: Plan, members: set[str]) -> Iterator[str]:
    return (hand.id for hand in plan.operators if hand.id in members)
