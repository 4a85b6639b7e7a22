"""How long a stop takes: as planned, as simulated, as recorded."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from statistics import median

from kb.book.records_floor import PastChangeover, Phase
from kb.changeover.jobs import critical_path, gate, no_return
from kb.changeover.model import Plan, Task
from kb.changeover.rolling import OneAtATime
from kb.changeover.sheet_model import Durations, PastClock
from kb.changeover.times import Moment, minutes
from kb.changeover.work import activities_of
from kb.scheduling.activities import Activity, Schedule, Slot
from kb.scheduling.critical_path import DurationStats, simulate

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
        same_pair: whether they were between these two formats; otherwise between others of this class.
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
    """How the stop of a plan spreads."""
    works = activities_of(plan.tasks, part="stop")
    slots = {slot.id: slot for slot in plan.stop.slots}
    worst = {work.id: _worst(plan.tasks[work.id], work, slots[work.id]) for work in works}
    return simulate(plan.stop, works, plan.operators, plan.equipment, worst)


def _worst(task: Task, work: Activity, slot: Slot) -> int:
    """Worst time of a task, with the locks that it takes as planned and the way to its machine [s]."""
    extra = slot.end - slot.start - max(1, round(float(task.step.time.typical)))
    if task.own_lock and slot.end - slot.start > work.seconds:
        extra += round(len(task.inside) * (float(task.own_lock.worst) - float(task.own_lock.typical)))
    return round(float(task.step.time.worst)) + extra


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
    """What the last changeovers between two formats took, or without any the last of their class on the line.

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


NO_STOP = "all of it is changed while the line runs"
PROVEN = "proven: no plan with these people and times is shorter"
ONE_FITTER_PROVEN = "proven: no plan with one fitter or pair in each machine is shorter"


def durations(
    plan: Plan,
    spread: DurationStats,
    past: Past | None,
    back: int | None = None,
    rolling: OneAtATime | None = None,
) -> Durations:
    """The times of a changeover, each with its spread."""
    setting, share = adjustment(plan.tasks)
    turn = no_return(plan)
    return Durations(
        begin=Moment(-plan.before.length),
        go=gate(plan),
        no_return=Moment(turn.start) if turn else None,
        no_return_at=turn.task.at if turn else "",
        no_return_step=turn.task.step.text.split(". ")[0].rstrip(".") if turn else "",
        back=None if back is None else minutes(back),
        planned=minutes(plan.stop.length),
        bound=minutes(plan.stop.bound),
        proven=plan.stop.proven,
        proof=ONE_FITTER_PROVEN if plan.one_fitter and plan.stop.proven else proof(plan.stop),
        median=minutes(spread.median),
        nine_in_ten=minutes(spread.nine_in_ten),
        worst=minutes(spread.worst),
        setting=minutes(setting),
        setting_share=f"{share * 100:.0f} %",
        past=_past(past) if past else (),
        past_of=_past_of(past) if past else "",
        disagree=disagreement(plan.stop.length, spread, past),
        one_at_a_time=rolling.words if rolling else "",
        made_of=made_of(plan),
        fitters=fitters(plan),
    )


PARTS_OF_A_STOP: dict[str, tuple[Phase, ...]] = {
    "run the line empty": ("clear",),
    "isolate and release": ("isolate", "release"),
    "change parts and supplies": ("out", "in"),
    "set": ("set",),
    "check and prove": ("verify", "first-off"),
    "restart": ("restart",),
}
"""What the phases of a stop are for."""


def made_of(plan: Plan) -> str:
    """What the stop is spent on along its critical path, and where most of it; "" without a stop."""
    path = critical_path(plan)
    if not path:
        return ""
    spent: Counter[str] = Counter()
    at: Counter[str] = Counter()
    for slot in path:
        task = plan.tasks[slot.id]
        what = next(name for name, phases in PARTS_OF_A_STOP.items() if task.step.phase in phases)
        spent[what] += slot.end - slot.start
        at[task.at] += slot.end - slot.start if task.at else 0
    parts = ", ".join(f"{name} {minutes(spent[name])}" for name in PARTS_OF_A_STOP if spent[name])
    whole = sum(spent.values())
    machine, longest = at.most_common(1)[0]
    where = f" {minutes(longest)} of them are at {machine}." if longest else ""
    return f"Of the {minutes(whole)} min: {parts}.{where}"


def fitters(plan: Plan) -> str:
    """How long the stop is with one fitter or pair at each machine, and without; "" if none is opened."""
    if plan.other is None:
        opened = any(task.inside for task in plan.tasks.values())
        return "No plan keeps one fitter in each machine from lock on to lock off." if opened else ""
    other = f"{minutes(plan.other.length)} min, {proof(plan.other)}"
    if not plan.one_fitter:
        return f"With one fitter or pair in each machine from lock on to lock off: {other}."
    rule = "One fitter or pair works in each machine from lock on to lock off."
    if plan.other.length == plan.stop.length:
        return f"{rule} No shorter plan with hand-overs was found."
    return f"{rule} With hand-overs: {other}."


def disagreement(planned: int, spread: DurationStats, past: Past | None) -> str:
    """Say where planned, simulated and recorded times are further apart than they spread.

    Returns:
        One sentence with the numbers; "" where every two of them agree. Two times agree if they are no
        further apart than the wider of their spreads: median to 90th percentile simulated, median to worst
        recorded.
    """
    times = [(float(planned), 0.0), (float(spread.median), float(spread.nine_in_ten - spread.median))]
    words = [
        f"planned {minutes(planned)}",
        f"simulated {minutes(spread.median)} (90th percentile {minutes(spread.nine_in_ten)})",
    ]
    if past:
        times.append((past.stopped.median, past.stopped.worst - past.stopped.median))
        words.append(f"recorded {minutes(past.stopped.median)} (worst {minutes(past.stopped.worst)})")
    apart = any(abs(a - b) > max(wide, wider) for (a, wide), (b, wider) in combinations(times, 2))
    return f"Times disagree by more than their spread: {', '.join(words)} min." if apart else ""


def proof(schedule: Schedule) -> str:
    """How good a schedule is, in words."""
    if not schedule.slots:
        return NO_STOP
    return PROVEN if schedule.proven else within(schedule.length, schedule.bound)


def within(length: int, bound: int) -> str:
    """By how much a length may exceed the best possible, in words, never rounded down.

    Example:
        >>> within(1020, 1000), within(2001, 2000)
        ('within 2 % of the best possible', 'within 0.1 % of the best possible')
    """
    gap = math.ceil((length - bound) / bound * 1000) / 10 if bound else math.inf
    return f"within {gap:g} % of the best possible"


def _past(past: Past) -> tuple[PastClock, ...]:
    clocks = (
        ("stopped", past.stopped),
        ("first good can", past.first_good),
        ("at rate", past.at_rate),
    )
    return tuple(PastClock(name, minutes(one.median), minutes(one.worst)) for name, one in clocks)


def _past_of(past: Past) -> str:
    count = len(past.days)
    which = "of this changeover" if past.same_pair else "of this class on this line"
    which += " with this crew"
    if count == 1:
        return f"the last one {which}, {past.days[0]}"
    return f"last {count} {which}, {past.days[-1]} to {past.days[0]}"
