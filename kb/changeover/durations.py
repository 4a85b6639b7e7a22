"""How long a stop takes: as planned, as simulated, as recorded."""

from __future__ import annotations

import math

from kb.changeover.jobs import at, first_out, gate, minutes
from kb.changeover.model import Plan, Schedule
from kb.changeover.sheet_model import Durations, PastClock
from kb.changeover.spread import Past, Spread, adjustment

PROVEN = "proven: no plan with these people and times is shorter"


def durations(plan: Plan, spread: Spread, past: Past | None) -> Durations:
    """The times of a changeover, each with its spread.

    Args:
        plan: a plan
        spread: what its stop takes when steps take longer than as a rule
        past: what past changeovers took, if there were any

    Returns:
        The times as the sheet says them.
    """
    setting, share = adjustment(plan.tasks)
    return Durations(
        begin=at(-plan.before.length),
        go=gate(plan),
        abandon=first_out(plan),
        planned=minutes(plan.stop.length),
        bound=minutes(plan.stop.bound),
        proven=plan.stop.proven,
        proof=proof(plan.stop),
        median=minutes(spread.median),
        nine_in_ten=minutes(spread.nine_in_ten),
        worst=minutes(spread.worst),
        setting=minutes(setting),
        setting_share=f"{share * 100:.0f} %",
        past=_past(past) if past else (),
        past_of=_past_of(past) if past else "",
    )


def proof(schedule: Schedule) -> str:
    """How good a schedule is, in words.

    Args:
        schedule: a schedule

    Returns:
        That it is the shortest there is, or by how much it may be longer than that.
    """
    return PROVEN if schedule.proven else within(schedule.length, schedule.bound)


def within(length: int, bound: int) -> str:
    """By how much a length may exceed the best possible, in words, never told smaller than it is.

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
    if count == 1:
        return f"the last one {which}, {past.days[0]}"
    return f"last {count} {which}, {past.days[-1]} to {past.days[0]}"
