"""How long a stop takes: as planned, as simulated, as recorded."""

from __future__ import annotations

import math
from itertools import combinations

from kb.changeover.jobs import gate, no_return
from kb.changeover.model import Plan
from kb.changeover.sheet_model import Durations, PastClock
from kb.changeover.spread import Past, adjustment
from kb.changeover.times import Moment, minutes
from kb.scheduling.activities import Schedule
from kb.scheduling.simulation import DurationStats

PROVEN = "proven: no plan with these people and times is shorter"


def durations(plan: Plan, spread: DurationStats, past: Past | None, back: int | None = None) -> Durations:
    """The times of a changeover, each with its spread.

    Args:
        plan: a plan
        spread: what its stop takes when steps take longer than as a rule
        past: what past changeovers of the same crew took, if there were any
        back: planned stop of the changeover the other way [s]; none where there can be none

    Returns:
        The times as the sheet says them.
    """
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
        proof=proof(plan.stop),
        median=minutes(spread.median),
        nine_in_ten=minutes(spread.nine_in_ten),
        worst=minutes(spread.worst),
        setting=minutes(setting),
        setting_share=f"{share * 100:.0f} %",
        past=_past(past) if past else (),
        past_of=_past_of(past) if past else "",
        disagree=disagreement(plan.stop.length, spread, past),
    )


def disagreement(planned: int, spread: DurationStats, past: Past | None) -> str:
    """Say where planned, simulated and recorded times are further apart than they spread.

    Args:
        planned: the stop as planned [s]
        spread: the simulated stops
        past: what past changeovers took until mechanically complete, if there were any

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
    """How good a schedule is, in words.

    Returns:
        That it is the shortest there is, or by how much it may be longer than that.
    """
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
