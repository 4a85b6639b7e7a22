"""The order of the runs of a week, what its due dates cost, and what it does not count."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from kb.book.load import Book
from kb.book.records_floor import WEEKS_A_YEAR, Changeover, Week
from kb.changeover.plan import Beside, Changeovers
from kb.changeover.times import minutes
from kb.scheduling.sequence import EFFORT as SEQUENCE_EFFORT
from kb.scheduling.sequence import Batch, Order, OrderComparison, Stops, best_order

FEWEST_RECORDS = 5
"""Fewest recorded changeovers from which a chance is given."""

OTHERS = 0.1 * SEQUENCE_EFFORT
"""Limit of the solver for each order that shows a price or a trade-off."""

SAMPLES = 4000
"""Weeks that are simulated for a chance."""


@dataclass(frozen=True, slots=True)
class OpenTime:
    """The time in which a line runs or changes over: all but the closed times.

    Attributes:
        begin: when the week begins.
        closed: begin and end of each closed time, from the begin of the week [s]; in order, apart.
    """

    begin: datetime.datetime
    closed: tuple[tuple[int, int], ...]

    def until(self, moment: str) -> int:
        """Open time from the begin of the week to a moment [s]; negative before it."""
        clock = _seconds(self.begin, moment)
        return clock - sum(max(0, min(clock, end) - begin) for begin, end in self.closed)

    def moment(self, seconds: int, *, begins: bool = False) -> datetime.datetime:
        """The moment after some open time [s]; work that begins does so after a closed time, not before."""
        for begin, end in self.closed:
            if seconds > begin or (begins and seconds == begin):
                seconds += end - begin
        return self.begin + datetime.timedelta(seconds=seconds)


def _seconds(begin: datetime.datetime, moment: str) -> int:
    return round((datetime.datetime.fromisoformat(moment) - begin).total_seconds())


def open_time(week: Week) -> OpenTime:
    """The open time of a week."""
    begin = datetime.datetime.fromisoformat(week.start)
    spans = ((max(0, _seconds(begin, one.begins)), _seconds(begin, one.ends)) for one in week.closed)
    return OpenTime(begin, tuple(span for span in spans if span[1] > span[0]))


@dataclass(frozen=True, slots=True)
class DuePrice:
    """What the due time of a run costs: what its absence would save.

    Attributes:
        run: its number in the order given, from 1.
        lost: time lost to changeovers and waiting [s].
        late: minutes late, summed over all runs.
        proven: whether both orders are proven.
    """

    run: int
    lost: int
    late: int
    proven: bool


@dataclass(frozen=True, slots=True)
class TradeOff:
    """The least time lost [s] when runs may be late by some minutes in all."""

    late: int
    lost: int
    proven: bool


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
    """A week with the order given, the best found, and what they leave out.

    Attributes:
        week: the week.
        open: its open time, in which the orders count.
        order: the order given and the best found.
        prices: due times that cost something.
        trade_offs: less time lost for more lateness, from the order found on.
        records: recorded changeovers that the chances come from; 0 where they are too few.
        chances: by order, `given` and `found`: the chance of each run to be on time, by its number.
        left_out: what the orders leave out.
    """

    week: Week
    open: OpenTime
    order: OrderComparison
    prices: tuple[DuePrice, ...]
    trade_offs: tuple[TradeOff, ...]
    records: int
    chances: Mapping[str, Mapping[int, float]]
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


def stops_a_year(book: Book, line: str, old: str, new: str) -> float:
    """How often a line changes from one format to another in a year, by its weeks as they are planned."""
    weeks: list[Week] = [one.record for one in book.of("week").values() if one.record.line == line]
    found = 0
    for week in weeks:
        order = [week.running, *(run.format for run in week.runs)]
        found += list(pairwise(order)).count((old, new))
    return WEEKS_A_YEAR * found / len(weeks) if weeks else 0.0


# --- in words ---------------------------------------------------------------------------------


def proof_words(found: OrderComparison) -> str:
    """How good the order found is, and for what."""
    return (
        "proven: no order is better for these stop times"
        if found.proven
        else "the best order found for these stop times, not proven to be the best"
    )


def frozen_words(week: Week) -> str:
    """Which runs keep their places; "" if none does."""
    if not week.frozen:
        return ""
    return (
        "The first run keeps its place."
        if week.frozen == 1
        else f"The first {week.frozen} runs keep their places."
    )


def price_words(plan: WeekPlan) -> Iterator[str]:
    """What each due time costs, the dearest first, a sentence each."""
    for one in sorted(plan.prices, key=lambda price: (-price.late, -price.lost, price.run)):
        run = plan.week.runs[one.run - 1]
        costs = [f"{one.late} min of lateness"] if one.late else []
        costs += [f"{minutes(one.lost)} min"] if one.lost > 0 else []
        saves = f", saves {minutes(-one.lost)} min" if one.lost < 0 else ""
        proof = "" if one.proven else " (best found, not proven)"
        yield f"Run {one.run}, {run.format}: due {run.due} costs {' and '.join(costs)}{saves}{proof}."


def chance_words(chance: float | None) -> str:
    """A chance as a percentage; never 0 % or 100 %, which no simulation proves."""
    if chance is None:
        return "-"
    percent = round(chance * 100)
    return "below 1 %" if percent < 1 else "above 99 %" if percent > 99 else f"{percent} %"


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
    chances = (
        f"Chances use the spread of {plan.records} recorded changeovers; the rate of a run has no spread."
        if plan.records
        else f"No chances: fewer than {FEWEST_RECORDS} changeovers of this line and crew are recorded."
    )
    closed = ("Lateness counts open time only.",) if plan.open.closed else ()
    return (stops, crews, _fit_words(plan), chances, *closed)


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
    return best_order(
        batches_of(week), stops, running=week.running, then=then, frozen=week.frozen, effort=effort
    )


def batches_of(week: Week) -> list[Batch]:
    """The runs of a week as batches, in open time."""
    line = open_time(week)
    return [
        Batch(
            number,
            run.format,
            math.ceil(run.cans / float(run.rate or week.rate) * 60),
            line.until(run.due),
            max(0, line.until(run.ready)) if run.ready else 0,
        )
        for number, run in enumerate(week.runs, start=1)
    ]


def due_prices(week: Week, stops: Stops, found: OrderComparison) -> Iterator[DuePrice]:
    """What the due time of each run costs: the week is ordered again without it."""
    batches = batches_of(week)
    for i, batch in enumerate(batches):
        free = [*batches[:i], replace(batch, due=None), *batches[i + 1 :]]
        other = best_order(free, stops, running=week.running, frozen=week.frozen, effort=OTHERS)
        lost, late = found.best.lost - other.best.lost, found.best.lateness - other.best.lateness
        if (late, lost) > (0, 0):
            yield DuePrice(batch.number, lost, late, found.proven and other.proven)


STEPS = (1 / 8, 1 / 4, 1 / 2, 1.0)
"""Where the trade-off is looked at: shares of the lateness at which nothing more is saved."""


def trade_offs(week: Week, stops: Stops, found: OrderComparison) -> Iterator[TradeOff]:
    """The least time lost at more and more lateness, until nothing more is saved."""
    batches, best = batches_of(week), found.best
    whole = best_order([replace(one, due=None) for one in batches], stops, running=week.running,
                       frozen=week.frozen)  # fmt: skip
    due = {one.number: one.due for one in batches}
    most = sum(max(0, -(-(one.end - (due[one.batch.number] or 0)) // 60)) for one in whole.best.placed)
    points = [TradeOff(best.lateness, best.lost, found.proven)]
    for share in STEPS:
        allowed = best.lateness + round((most - best.lateness) * share)
        other = best_order(
            batches, stops, running=week.running, frozen=week.frozen, allowed=allowed, effort=OTHERS
        )
        points.append(TradeOff(other.best.lateness, other.best.lost, other.proven))
    least = math.inf
    for one in sorted(points, key=lambda point: (point.late, point.lost)):
        if one.lost < least:
            least = one.lost
            yield one


def on_time(order: Order, ratios: Sequence[float]) -> dict[int, float]:
    """The chance of each run to be on time, when changeovers spread as recorded ones did.

    Args:
        order: the runs in their order.
        ratios: recorded time ÷ planned time of past changeovers.
    """
    drawn = np.random.default_rng(1).choice(np.asarray(ratios), size=(len(order.placed), SAMPLES))
    clock = np.zeros(SAMPLES)
    chances = {}
    for placed, ratio in zip(order.placed, drawn, strict=True):
        batch = placed.batch
        clock = np.maximum(clock + placed.changeover * ratio, batch.ready) + batch.seconds
        late = clock > (math.inf if batch.due is None else batch.due)
        chances[batch.number] = 1 - float(late.mean())
    return chances


def recorded_ratios(line: Changeovers, week: Week) -> list[float]:
    """Recorded ÷ planned time of the past changeovers of a week's line and crew that can be planned today."""
    found, formats = [], set(line.on_line.formats())
    for past in line.planner.library.past:
        known = {past.came_from, past.went_to} <= formats and past.came_from != past.went_to
        if (past.line, past.crew) == (week.line, week.crew) and known:
            stop = line.stop(past.came_from, past.went_to)
            if stop.seconds and not stop.why_not:
                found.append(float(past.stopped) / stop.seconds)
    return found


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
    seconds = {pair: stop.seconds for pair, stop in possible.items()}
    found = order_of_week(week, seconds)
    given, best = (tuple(too_short(one, week.running, line.beside)) for one in (found.given, found.best))
    left = LeftOut(
        stops=len(possible),
        not_proven=sum(not stop.proven for stop in possible.values()),
        other_crews=other_crews(line.planner.library, week),
        given=given,
        found=best,
    )
    ratios = recorded_ratios(line, week)
    enough = len(ratios) >= FEWEST_RECORDS
    orders = {"given": found.given, "found": found.best}
    return WeekPlan(
        week=week,
        open=open_time(week),
        order=found,
        prices=tuple(due_prices(week, seconds, found)),
        trade_offs=tuple(trade_offs(week, seconds, found)),
        records=len(ratios) if enough else 0,
        chances={name: on_time(order, ratios) for name, order in orders.items()} if enough else {},
        left_out=left,
    )
