"""How sure a stop is: what it takes as a rule, in nine cases of ten, at worst; and what past ones took."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from statistics import median

from kb.book.records_floor import PastChangeover
from kb.changeover.model import Plan, Task
from kb.changeover.work import activities_of
from kb.scheduling.activities import Activity, Slot
from kb.scheduling.simulation import DurationStats, simulate

LAST = 5
"""How many past changeovers are looked at."""


@dataclass(frozen=True, slots=True)
class Clock:
    """Median and worst of some past changeovers [s]."""

    median: float
    worst: float


@dataclass(frozen=True, slots=True)
class Past:
    """What past changeovers took, from the last good can of the old format.

    Attributes:
        same_pair: whether they were between these two formats; else between others of this class.
        days: when they were, the latest first.
        stopped: until the line was mechanically complete.
        first_good: until the first good can.
        at_rate: until full speed.
    """

    same_pair: bool
    days: tuple[str, ...]
    stopped: Clock
    first_good: Clock
    at_rate: Clock


def spread_of_stop(plan: Plan) -> DurationStats:
    """How the stop of a plan spreads.

    Returns:
        The spread.
    """
    works = activities_of(plan.tasks, part="stop")
    slots = {slot.id: slot for slot in plan.stop.slots}
    worst = {work.id: _worst(plan.tasks[work.id], work, slots[work.id]) for work in works}
    return simulate(plan.stop, works, plan.operators, plan.equipment, worst)


def _worst(task: Task, work: Activity, slot: Slot) -> int:
    """Worst time of a task, with the locks that it takes as planned [s]."""
    locks = len(task.inside) if task.own_lock and slot.end - slot.start > work.seconds else 0
    lock = float(task.own_lock.worst) if task.own_lock else 0.0
    return round(float(task.step.time.worst) + locks * lock)


def adjustment(tasks: Mapping[str, Task]) -> tuple[int, float]:
    """How much of the work inside the stop is adjusting.

    Returns:
        Time of settings, every member's counted [s], and its share of all such time inside the stop.
    """
    stop = activities_of(tasks, part="stop")
    spent = {work.id: work.seconds * work.people for work in stop}
    setting = sum(seconds for ident, seconds in spent.items() if tasks[ident].step.phase == "set")
    return setting, setting / sum(spent.values()) if setting else 0.0


def past(
    recorded: Sequence[PastChangeover],
    *,
    line: str,
    old: str,
    new: str,
    kind: str,
    kind_of: Callable[[str, str], str | None],
) -> Past | None:
    """What the last changeovers between two formats took, or else the last of their class on the line.

    Args:
        recorded: all past changeovers.
        line: id of the line.
        old: id of the format that goes.
        new: id of the format that comes.
        kind: class of the changeover.
        kind_of: class of a changeover between two formats; nothing where that is not known any more.

    Returns:
        Median and worst of the last five; nothing where there are none.
    """
    here = sorted((one for one in recorded if one.line == line), key=lambda one: one.day, reverse=True)
    found = [one for one in here if (one.came_from, one.went_to) == (old, new)]
    same_pair = bool(found)
    if not found:
        found = [one for one in here if kind_of(one.came_from, one.went_to) == kind]
    if not found:
        return None
    found = found[:LAST]
    return Past(
        same_pair=same_pair,
        days=tuple(one.day for one in found),
        stopped=_clock([float(one.stopped) for one in found]),
        first_good=_clock([float(one.first_good) for one in found]),
        at_rate=_clock([float(one.at_rate) for one in found]),
    )


def _clock(seconds: Sequence[float]) -> Clock:
    return Clock(median(seconds), max(seconds))
