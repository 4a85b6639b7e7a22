"""The order of the runs of a week, what its due dates cost, and what it does not count."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import groupby, pairwise, permutations

import numpy as np

from kb.book.load import Book
from kb.book.records_floor import WEEKS_A_YEAR, Changeover, RampStep, Week
from kb.changeover.plan import Beside, Changeovers
from kb.changeover.times import minutes
from kb.scheduling.sequence import EFFORT as SEQUENCE_EFFORT
from kb.scheduling.sequence import (
    Batch,
    Order,
    OrderComparison,
    Period,
    PlacedBatch,
    Stops,
    best_order,
)
from kb.workers import shared

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
        return self.after(_seconds(self.begin, moment))

    def after(self, clock: int) -> int:
        """Open time of the first seconds of the week, closed times and all."""
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


DAY = 24 * 60 * 60


@dataclass(frozen=True, slots=True)
class WeekTimes:
    """What each changeover of a week takes.

    Attributes:
        stops: the changeover of each pair by the crew of the week, with the output lost in the ramp-up [s].
        shifts: the same for the crews of the shifts, by their ids.
        beside: preparation before each changeover, and work left for after it [s].
        ramp: output lost in the ramp-up, as time of the line at its rate [s]; it is in every changeover.
    """

    stops: Stops
    shifts: Mapping[str, Stops] = field(default_factory=dict)
    beside: Mapping[tuple[str, str], tuple[int, int]] = field(default_factory=dict)
    ramp: int = 0

    def periods(self, week: Week) -> tuple[Period, ...]:
        """The shifts with times of their own, in open time, for as long as the runs can take."""
        line = open_time(week)
        midnight = line.begin.replace(hour=0, minute=0)
        first = _seconds(line.begin, f"{midnight}") - DAY
        longest = max(
            (one for stops in (self.stops, *self.shifts.values()) for one in stops.values()), default=0
        )
        last = sum(end - begin for begin, end in line.closed) + sum(
            batch.seconds + batch.ready + longest for batch in batches_of(week)
        )
        found = []
        for shift in (one for one in week.shifts if one.crew in self.shifts):
            begins, ends = (_of_day(clock) for clock in (shift.begins, shift.ends))
            lasts = (ends - begins) % DAY or DAY
            for day in range(first, last, DAY):
                begin, end = (line.after(max(0, day + at)) for at in (begins, begins + lasts))
                if begin < end:
                    found.append(Period(begin, end, self.shifts[shift.crew]))
        return tuple(found)


def _of_day(clock: str) -> int:
    """A time of day, such as 18:00, from midnight [s]."""
    hours, rest = clock.split(":")
    return 60 * (60 * int(hours) + int(rest))


def ramp_lost(ramp: Sequence[RampStep]) -> int:
    """Output lost in a ramp-up, as time of the line at its rate [s]."""
    return round(sum(float(one.time) * (1 - float(one.speed)) for one in ramp))


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
        given: runs that are too short for the work beside their changeovers, in the order given.
        found: those of the order found.
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
        ramp: output lost in the ramp-up after each changeover, counted with it [s].
    """

    week: Week
    open: OpenTime
    order: OrderComparison
    prices: tuple[DuePrice, ...]
    trade_offs: tuple[TradeOff, ...]
    records: int
    chances: Mapping[str, Mapping[int, float]]
    left_out: LeftOut
    ramp: int = 0

    def crew_at(self, placed: PlacedBatch) -> str:
        """The crew of the changeover before a run: the one on shift when it begins; "" if there is none."""
        if not placed.changeover:
            return ""
        begins = self.open.moment(placed.start - placed.wait - placed.changeover, begins=True)
        clock = f"{begins:%H:%M}"
        return next((one.crew for one in self.week.shifts if one.has(clock)), self.week.crew)


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
    used = {week.crew, *(one.crew for one in week.shifts)}
    return tuple(one.id for one in library.crews if one.line == week.line and one.id not in used)


def short_runs(order: Order, least: float) -> Iterator[tuple[PlacedBatch, int]]:
    """Runs shorter than the least, each with its time [s]; those of one format in a row count as one."""
    for _, row in groupby(order.placed, key=lambda placed: placed.batch.product):
        first, *rest = row
        lasts = first.batch.seconds + sum(one.batch.seconds for one in rest)
        if lasts < least:
            yield first, lasts


def stops_a_year(book: Book, line: str, old: str, new: str) -> float:
    """How often a line changes from one format to another in a year, by its weeks as they are planned."""
    weeks: list[Week] = [one.record for one in book.of("week").values() if one.record.line == line]
    found = 0
    for week in weeks:
        order = [week.running, *(run.format for run in week.runs)]
        found += list(pairwise(order)).count((old, new))
    return WEEKS_A_YEAR * found / len(weeks) if weeks else 0.0


# --- in words ---------------------------------------------------------------------------------


def saved_minutes(found: OrderComparison) -> int:
    """What the order found saves: the difference of the two losses, as both are shown [min]."""
    return minutes(found.given.lost) - minutes(found.best.lost)


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
        due = run.due_at(plan.week.start)
        yield f"Run {one.run}, {run.format}: due {due} costs {' and '.join(costs)}{saves}{proof}."


def chance_words(chance: float | None) -> str:
    """A chance as a percentage; never 0 % or 100 %, which no simulation proves."""
    if chance is None:
        return "-"
    percent = round(chance * 100)
    return "below 1 %" if percent < 1 else "above 99 %" if percent > 99 else f"{percent} %"


def notes_on_order(plan: WeekPlan) -> tuple[str, ...]:
    """What the order found counts and does not count, one sentence or two each."""
    left, week = plan.left_out, plan.week
    stops = (
        f"{left.not_proven} of {left.stops} stop times are the best found, not proven shortest."
        if left.not_proven
        else f"All {left.stops} stop times are proven shortest; a real stop can take longer."
    )
    others = ", ".join(left.other_crews)
    unused = f" The stop times of {others} are not used." if others else ""
    if week.shifts:
        hours = ", ".join(f"{one.crew} from {one.begins} to {one.ends}" for one in week.shifts)
        crews = f"A changeover takes the time of the crew on shift when it begins: {hours}.{unused}"
    else:
        crews = f"Every stop time is that of crew {week.crew}, at any hour.{unused}"
    ramp = (
        f"Every changeover counts {minutes(plan.ramp)} min more, for the output lost in the ramp-up."
        if plan.ramp
        else ""
    )
    chances = (
        f"Chances use the spread of {plan.records} recorded changeovers; the rate of a run has no spread."
        if plan.records
        else f"No chances: fewer than {FEWEST_RECORDS} changeovers of this line and crew are recorded."
    )
    closed = ("Lateness counts open time only.",) if plan.open.closed else ()
    short = tuple(
        f"Run {one.batch.number} {one.batch.product} lasts {minutes(lasts)} min, less than the least run of "
        f"{minutes(round(float(week.least_run)))} min."
        for one, lasts in short_runs(plan.order.best, float(week.least_run))
    )
    return (stops, crews, *filter(None, [ramp]), _fit_words(plan), *short, chances, *closed)


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
        f"of the order found, so the line waits for them: {named}."
    )


# --- the order -----------------------------------------------------------------------------------


def order_of_week(
    week: Week, times: WeekTimes, *, then: str = "", effort: float = SEQUENCE_EFFORT
) -> OrderComparison:
    """The order of a week's runs: on time first, then with the least time lost.

    Raises:
        NoPlan: if no order is possible with these stops.
    """
    return _best(week, batches_of(week), times, then=then, effort=effort)


def _best(
    week: Week,
    batches: Sequence[Batch],
    times: WeekTimes,
    *,
    then: str = "",
    allowed: int = 0,
    effort: float = SEQUENCE_EFFORT,
) -> OrderComparison:
    """The best order of the runs of a week, or of others in their place."""
    return best_order(
        batches,
        times.stops,
        running=week.running,
        then=then,
        frozen=week.frozen,
        allowed=allowed,
        shifts=times.periods(week),
        beside=times.beside,
        effort=effort,
    )


def batches_of(week: Week) -> list[Batch]:
    """The runs of a week as batches, in open time."""
    line = open_time(week)
    return [
        Batch(
            number,
            run.format,
            math.ceil(run.cans / float(run.rate or week.rate) * 60),
            line.until(due) if (due := run.due_at(week.start)) else None,
            max(0, line.until(run.ready)) if run.ready else 0,
        )
        for number, run in enumerate(week.runs, start=1)
    ]


def due_prices(week: Week, times: WeekTimes, found: OrderComparison) -> Iterator[DuePrice]:
    """What the due time of each run costs: the week is ordered again without it."""
    batches = batches_of(week)

    def without(i: int) -> OrderComparison:
        free = [*batches[:i], replace(batches[i], due=None), *batches[i + 1 :]]
        return _best(week, free, times, effort=OTHERS)

    for batch, other in zip(batches, shared(without, range(len(batches))), strict=True):
        lost, late = found.best.lost - other.best.lost, found.best.lateness - other.best.lateness
        if (late, lost) > (0, 0):
            yield DuePrice(batch.number, lost, late, found.proven and other.proven)


STEPS = (1 / 8, 1 / 4, 1 / 2, 1.0)
"""Where the trade-off is looked at: shares of the lateness at which nothing more is saved."""


def trade_offs(week: Week, times: WeekTimes, found: OrderComparison) -> Iterator[TradeOff]:
    """The least time lost at more and more lateness, until nothing more is saved."""
    batches, best = batches_of(week), found.best
    whole = _best(week, [replace(one, due=None) for one in batches], times)
    due = {one.number: one.due for one in batches}
    most = sum(max(0, -(-(one.end - (due[one.batch.number] or 0)) // 60)) for one in whole.best.placed)
    points = [TradeOff(best.lateness, best.lost, found.proven)]
    for share in STEPS:
        allowed = best.lateness + round((most - best.lateness) * share)
        other = _best(week, batches, times, allowed=allowed, effort=OTHERS)
        points.append(TradeOff(other.best.lateness, other.best.lost, other.proven))
    least = math.inf
    for one in sorted(points, key=lambda point: (point.late, point.lost)):
        if one.lost < least:
            least = one.lost
            yield one


def on_time(order: Order, ratios: Sequence[float], ramp: int = 0) -> dict[int, float]:
    """The chance of each run to be on time, when changeovers spread as recorded ones did.

    Args:
        order: the runs in their order.
        ratios: recorded time ÷ planned time of past changeovers.
        ramp: part of each changeover that does not spread [s].
    """
    drawn = np.random.default_rng(1).choice(np.asarray(ratios), size=(len(order.placed), SAMPLES))
    clock = np.zeros(SAMPLES)
    chances = {}
    for placed, ratio in zip(order.placed, drawn, strict=True):
        batch = placed.batch
        fixed = min(ramp, placed.changeover)
        taken = placed.held + fixed + (placed.changeover - fixed) * ratio
        clock = np.maximum(clock + taken, batch.ready) + batch.seconds
        late = clock > (math.inf if batch.due is None else batch.due)
        chances[batch.number] = 1 - float(late.mean())
    return chances


def recorded_ratios(crews: Sequence[Changeovers], week: Week) -> list[float]:
    """Recorded ÷ planned time of the past changeovers of a week's crews that can be planned today."""
    found = []
    for line in crews:
        formats = set(line.on_line.formats())
        for past in line.planner.library.past:
            known = {past.came_from, past.went_to} <= formats and past.came_from != past.went_to
            if (past.line, past.crew) == (week.line, line.planner.crew.id) and known:
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
    others = {
        crew: Changeovers(book, week.line, crew, like=line) for crew in {one.crew for one in week.shifts}
    }
    formats = sorted({week.running, *(run.format for run in week.runs)})
    pairs = list(permutations(formats, 2))
    ramp = ramp_lost(line.planner.library.ramp)
    beside = {pair: line.beside(*pair) for pair in pairs if not line.stop(*pair).why_not}
    times = WeekTimes(
        stops=_seconds_of(line, pairs, ramp),
        shifts={crew: _seconds_of(one, pairs, ramp) for crew, one in others.items()},
        beside={pair: (work.before, work.after) for pair, work in beside.items()},
        ramp=ramp,
    )
    found = order_of_week(week, times)
    given, best = (tuple(too_short(one, week.running, line.beside)) for one in (found.given, found.best))
    crews = [line, *(one for crew, one in sorted(others.items()) if crew != week.crew)]
    stops = [stop for one in crews for pair in pairs if not (stop := one.stop(*pair)).why_not]
    left = LeftOut(
        stops=len(stops),
        not_proven=sum(not stop.proven for stop in stops),
        other_crews=other_crews(line.planner.library, week),
        given=given,
        found=best,
    )
    ratios = recorded_ratios(crews, week)
    enough = len(ratios) >= FEWEST_RECORDS
    orders = {"given": found.given, "found": found.best}
    return WeekPlan(
        week=week,
        open=open_time(week),
        order=found,
        prices=tuple(due_prices(week, times, found)),
        trade_offs=tuple(trade_offs(week, times, found)),
        records=len(ratios) if enough else 0,
        chances={name: on_time(order, ratios, ramp) for name, order in orders.items()} if enough else {},
        left_out=left,
        ramp=ramp,
    )


def _seconds_of(line: Changeovers, pairs: Sequence[tuple[str, str]], ramp: int) -> dict[tuple[str, str], int]:
    """The changeover of each pair that a crew can do, with the output lost in the ramp-up [s]."""
    stops = {pair: line.stop(*pair) for pair in pairs}
    return {
        pair: stop.seconds + (ramp if stop.seconds else 0) for pair, stop in stops.items() if not stop.why_not
    }
