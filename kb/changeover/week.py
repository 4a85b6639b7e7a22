"""The order of the runs of a week, and what it does not count."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from kb.book.load import Book
from kb.book.records_floor import Changeover, Week
from kb.changeover.plan import Beside, Changeovers
from kb.changeover.times import minutes
from kb.scheduling.sequence import EFFORT as SEQUENCE_EFFORT
from kb.scheduling.sequence import Batch, Order, OrderComparison, Stops, best_order


@dataclass(frozen=True, slots=True)
class TooShort:
    """A run in which the crew cannot finish the work of the changeovers on both its sides.

    Attributes:
        run: its number in the order given, from 1.
        format: what is run.
        lasts: how long it takes [s].
        after: work left from the changeover before it [s].
        before: preparation of the changeover behind it [s].
    """

    run: int
    format: str
    lasts: int
    after: int
    before: int


@dataclass(frozen=True, slots=True)
class LeftOut:
    """What an order found for a week leaves out.

    Attributes:
        stops: how many stops it could choose from.
        not_proven: how many of them are the best found, not proven shortest.
        other_crews: crews of the line whose stops are not used.
        given: runs that are too short in the order given.
        found: runs that are too short in the order found.
    """

    stops: int
    not_proven: int
    other_crews: tuple[str, ...]
    given: tuple[TooShort, ...]
    found: tuple[TooShort, ...]


@dataclass(frozen=True, slots=True)
class WeekPlan:
    """A week with the order given, the best found, and what they leave out."""

    week: Week
    order: OrderComparison
    left_out: LeftOut


def too_short(order: Order, running: str, beside: Callable[[str, str], Beside]) -> Iterator[TooShort]:
    """The runs in which the work beside the stops does not fit.

    Runs of one format after each other count as one run, named after the first.
    """
    spans: list[tuple[int, str, int]] = []
    for placed in order.placed:
        batch = placed.batch
        if spans and spans[-1][1] == batch.product:
            number, ident, lasts = spans[-1]
            spans[-1] = (number, ident, lasts + batch.seconds)
        else:
            spans.append((batch.number, batch.product, batch.seconds))
    came = running
    for i, (number, ident, lasts) in enumerate(spans):
        after = beside(came, ident).after if came != ident else 0
        before = beside(ident, spans[i + 1][1]).before if i + 1 < len(spans) else 0
        if after + before > lasts:
            yield TooShort(number, ident, lasts, after, before)
        came = ident


def other_crews(library: Changeover, week: Week) -> tuple[str, ...]:
    """Crews of the line of a week beside its own."""
    return tuple(one.id for one in library.crews if one.line == week.line and one.id != week.crew)


# --- in words ---------------------------------------------------------------------------------


def proof_words(found: OrderComparison) -> str:
    """How good the order found is, and for what."""
    return (
        "proven: no order is better for these stop times"
        if found.proven
        else "the best order found for these stop times, not proven to be the best"
    )


def left_out_words(plan: WeekPlan) -> tuple[str, ...]:
    """What the order found does not count, one sentence or two each."""
    left, week = plan.left_out, plan.week
    stops = (
        f"{left.not_proven} of {left.stops} stop times are the best found, not proven shortest."
        if left.not_proven
        else f"All {left.stops} stop times are proven shortest for this crew; a real stop can take longer."
    )
    others = ", ".join(left.other_crews)
    crews = (
        f"Every stop time is that of crew {week.crew}. The stop times of {others} are not used."
        if others
        else f"Every stop time is that of crew {week.crew}, at any hour."
    )
    return (stops, crews, _fit_words(plan))


def _fit_words(plan: WeekPlan) -> str:
    found = plan.left_out.found
    if not found:
        return "Preparation and after-work fit into every run of the order found."
    named = "; ".join(
        f"run {one.run} {one.format} lasts {minutes(one.lasts)} min, "
        f"after-work and preparation take {minutes(one.after)} + {minutes(one.before)} min"
        for one in found
    )
    return (
        f"Preparation and after-work do not fit into {len(found)} of {len(plan.week.runs)} runs "
        f"of the order found: {named}."
    )


# --- the order -----------------------------------------------------------------------------------


def order_of_week(
    week: Week, stops: Stops, *, then: str = "", effort: float = SEQUENCE_EFFORT
) -> OrderComparison:
    """The order of a week's runs: on time first, then with the least time lost.

    Raises:
        NoPlan: if no order is possible with these stops.
    """
    start = datetime.datetime.fromisoformat(week.start)
    batches = [
        Batch(
            number,
            run.format,
            math.ceil(run.cans / float(week.rate) * 60),
            round((datetime.datetime.fromisoformat(run.due) - start).total_seconds()),
        )
        for number, run in enumerate(week.runs, start=1)
    ]
    return best_order(batches, stops, running=week.running, then=then, effort=effort)


def ordered(book: Book, week: Week, *, like: Changeovers | None = None) -> WeekPlan:
    """The order of a week's runs, from the stops between its own formats alone.

    Raises:
        NoDifference: if its line or a format of it cannot be compared.
        NoPlan: if its crew cannot do a changeover of the order given.
    """
    line = Changeovers(book, week.line, week.crew, like=like)
    formats = sorted({week.running, *(run.format for run in week.runs)})
    stops = {(old, new): line.stop(old, new) for old in formats for new in formats if old != new}
    possible = {pair: stop for pair, stop in stops.items() if not stop.why_not}
    found = order_of_week(week, {pair: stop.seconds for pair, stop in possible.items()})
    given, best = (tuple(too_short(one, week.running, line.beside)) for one in (found.given, found.best))
    left = LeftOut(
        stops=len(possible),
        not_proven=sum(not stop.proven for stop in possible.values()),
        other_crews=other_crews(line.planner.library, week),
        given=given,
        found=best,
    )
    return WeekPlan(week, found, left)
