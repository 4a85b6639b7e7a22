"""A changeover, the matrix of a line, the order of a week: as lines of text for a terminal."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import groupby

from kb.book.finding import one_line
from kb.changeover.content import machine_notes
from kb.changeover.documents import no_return
from kb.changeover.jobs import critical_path, hands, listed, titles
from kb.changeover.lever import CANS, CANS_CAUTION, Lever, MeansLever
from kb.changeover.model import Plan
from kb.changeover.plan import Matrix, PlannedChangeover
from kb.changeover.sheet_model import ChangeSheet
from kb.changeover.times import Moment, minutes
from kb.changeover.week import (
    WeekPlan,
    chance_words,
    frozen_words,
    notes_on_order,
    price_words,
    proof_words,
    saved_minutes,
)
from kb.scheduling.activities import Slot
from kb.scheduling.sequence import Order, PlacedBatch

MOST_LEVERS = 5
"""Levers listed for each way."""

MOST_MEANS = 8
"""Other means listed, besides the best of each kind together."""

_WAYS = {"external": "done while the line runs", "half": "done in half the time"}


# --- one changeover ---------------------------------------------------------------------------


def change_text(
    one: PlannedChangeover,
    sheet: ChangeSheet,
    levers: Sequence[Lever],
    *,
    searched_on: bool = False,
    means: Sequence[MeansLever] | None = None,
) -> str:
    """A changeover as text.

    Args:
        one: the changeover
        sheet: its sheet
        levers: ways to shorten the stop
        searched_on: whether the plan is from a longer search than that of sheets
        means: what other means would save; None where it was not searched
    """
    more = (
        []
        if means is None
        else ["", "with other people, skills or pieces, each solved again", *_means(means)]
    )
    return _lined([*_change_lines(one, sheet, levers, searched_on), *more])


def _change_lines(
    one: PlannedChangeover, sheet: ChangeSheet, levers: Sequence[Lever], searched_on: bool
) -> Iterator[str]:
    d, head = one.difference, sheet.content.header
    yield f"{d.old} -> {d.new} on {d.line}, crew {one.crew.id}: {d.title}"
    mark = f", {sheet.mark}" if sheet.mark else ""
    named = (
        "no sheet: this plan is from a longer search; sheets have the usual plan"
        if searched_on
        else f"sheet {sheet.code}"
    )
    yield f"{named}{mark}, from setup sheet {head.old.code} to {head.new.code}"
    yield from (f"  {reason}" for reason in sheet.unfit)
    yield from ("", "changes")
    notes = list(machine_notes(d))
    for note in notes:
        kinds = {"parts": note.parts, "settings": note.settings, "supplies": note.supplies}
        phrase = "; ".join(f"{what}: {', '.join(names)}" for what, names in kinds.items() if names)
        if phrase:
            yield f"  {note.title}: {phrase}"
    yield f"leave alone: {'; '.join(note.title for note in notes if not note.touched) or 'no machine'}"
    yield from ("", "stop")
    yield from (f"  {line}" for line in _times(one))
    yield from ("", "critical path")
    yield from (f"  {line}" for line in path_lines(one))
    waits = [f"{hand.title} {hand.idle} min" for hand in hands(one.plan, one.crew)]
    yield from ("", f"idle time during the stop: {', '.join(waits)}")
    kept = "one step at a time" if searched_on else "one step at a time, all other work in planned order"
    yield from ("", f"ways to shorten the stop, {kept}", *_levers(levers))


def _levers(levers: Sequence[Lever]) -> Iterator[str]:
    for way, words in _WAYS.items():
        best = [lever for lever in levers if lever.way == way][:MOST_LEVERS]
        yield f"  {words}:" if best else f"  {words}: no single step shortens the stop"
        yield from (f"    {lever_words(lever)}" for lever in best)


def _means(means: Sequence[MeansLever]) -> Iterator[str]:
    if not means:
        yield "  no other person, skill or piece shortens the stop"
    together = [one for one in means if one.kind == "together"]
    for one in (*[one for one in means if one.kind != "together"][:MOST_MEANS], *together):
        year = (
            f", {minutes(round(one.saved * one.a_year))} min a year by the weeks of the book"
            if one.a_year
            else ""
        )
        proven = " (proven)" if one.proven else ""
        yield f"  {one.words}: stop {minutes(one.stop)} -> {minutes(one.then)} min{year}{proven}"
        if CANS in one.words:
            yield f"    {CANS_CAUTION}"


def _times(one: PlannedChangeover) -> Iterator[str]:
    d = one.durations
    yield f"planned {d.planned} min, {d.proof}"
    yield from filter(None, (d.made_of, d.fitters))
    yield f"simulated: median {d.median}, 90th percentile {d.nine_in_ten}, all steps at worst {d.worst} min"
    if d.past:
        clocks = "; ".join(f"{c.name} median {c.median}, worst {c.worst} min" for c in d.past)
        yield f"recorded, {d.past_of}: {clocks}"
    else:
        yield "recorded with this crew: no such changeover and none of this class on this line"
    if d.disagree:
        yield d.disagree
    if d.one_at_a_time:
        yield d.one_at_a_time
    yield f"setting and adjusting: {d.setting} person-minutes, {d.setting_share} of the work during the stop"
    yield f"preparation begins {d.begin}, go or no-go {d.go}"
    if d.no_return:
        yield no_return(d)


def path_lines(one: PlannedChangeover) -> Iterator[str]:
    """The critical path, what the same people do in a row on one line."""
    for people, run in groupby(critical_path(one.plan), key=lambda slot: slot.who):
        slots = list(run)
        who = ", ".join(titles(one.crew, people)) or "by itself"
        start, end = Moment(slots[0].start), Moment(slots[-1].end)
        yield f"{start!s:>6} to {end!s:<6}  {who}: {_work_words(one.plan, slots)}"


def _work_words(plan: Plan, slots: Sequence[Slot]) -> str:
    """What is done in one stretch: the words of its only step, or how many tasks at which machines."""
    tasks = [plan.tasks[slot.id] for slot in slots]
    stations = list(dict.fromkeys(task.station for task in tasks if task.station))
    if len({(task.step.id, task.station) for task in tasks}) > 1:
        where = f" at {', '.join(stations)}" if stations else ""
        return f"{len(tasks)} tasks{where}"
    which = listed([task.number for task in tasks if task.number is not None])
    where = " ".join(filter(None, (*stations, which)))
    return f"{where}: {tasks[0].step.text}" if where else tasks[0].step.text


def lever_words(lever: Lever) -> str:
    """A lever in one line, with whether it is proven and what it waits for."""
    notes = ["proven"] if lever.proven else []
    if lever.waits_for:
        notes.append(f"it now waits for {', '.join(lever.waits_for)}")
    what = f"make {lever.step.id} external" if lever.way == "external" else f"halve {lever.step.id}"
    said = f"{what}: stop {minutes(lever.stop)} -> {minutes(lever.then)} min"
    return f"{said} ({'; '.join(notes)})" if notes else said


# --- the matrix -------------------------------------------------------------------------------


def matrix_text(found: Matrix) -> str:
    """How long a line is down for every pair of its formats, as a table."""
    return _lined(_matrix_lines(found))


def _matrix_lines(found: Matrix) -> Iterator[str]:
    yield f"stop times on {found.line} with crew {found.crew}, minutes, from row to column"
    rows = [["", *found.formats]]
    for old in found.formats:
        rows.append([old, *(_stop_words(found, old, new) for new in found.formats)])
    yield from _table(rows)
    yield from ("", "class")
    rows = [["", *found.formats]]
    for old in found.formats:
        kinds = ("-" if old == new else found.stops[old, new].kind for new in found.formats)
        rows.append([old, *kinds])
    yield from _table(rows)
    yield from ("", "no mark: proven shortest.  ~: best found.  no: the line cannot run it")
    reasons = dict.fromkeys(stop.why_not for stop in found.stops.values() if stop.why_not)
    yield from (f"no: {one_line(reason)}" for reason in reasons)


def _stop_words(found: Matrix, old: str, new: str) -> str:
    if old == new:
        return "-"
    stop = found.stops[old, new]
    if stop.why_not:
        return "no"
    return f"{minutes(stop.seconds)}{'' if stop.proven else '~'}"


# --- a week -----------------------------------------------------------------------------------


def week_text(plan: WeekPlan) -> str:
    """The order of a week as given and as found."""
    return _lined(_week_lines(plan))


def _week_lines(plan: WeekPlan) -> Iterator[str]:
    week, found = plan.week, plan.order
    yield (
        f"{week.title}: {len(week.runs)} runs on {week.line} from {week.start}, crew {week.crew}, "
        f"running {week.running}"
    )
    if week.frozen:
        yield frozen_words(week)
    for one in week.closed:
        yield f"closed {one.begins} to {one.ends}: {one.why}"
    for name, order in (("given", found.given), ("found", found.best)):
        yield from ("", f"as {name}: {minutes(order.lost)} min lost, {_late_words(order)}")
        rows = [_placed(plan, one, plan.chances.get(name, {})) for one in order.placed]
        heads = ["run", "format", "waits", "stop", "crew", "begins", "ends", "due", "late", "on time"]
        yield from _table([heads, *rows])
    yield from (
        "",
        f"saves {saved_minutes(found)} min; {proof_words(found)} (on time first, then least time lost)",
    )
    if plan.prices:
        yield from ("", "due times that cost time", *(f"  {one}" for one in price_words(plan)))
    if len(plan.trade_offs) > 1:
        yield from ("", "less time lost, more lateness")
        rows = [[str(one.late), str(minutes(one.lost))] for one in plan.trade_offs]
        yield from _table([["min late in all", "min lost"], *rows])
    yield from ("", "about the order found", *(f"  {one}" for one in notes_on_order(plan)))


def _late_words(order: Order) -> str:
    late = order.late
    if not late:
        return "no run late"
    phrase = ", ".join(f"{one.batch.product} (run {one.batch.number}) {one.late} min" for one in late)
    return f"late: {phrase}"


def _placed(plan: WeekPlan, one: PlacedBatch, chances: Mapping[int, float]) -> list[str]:
    times = (plan.open.moment(one.start, begins=True), plan.open.moment(one.end))
    due = plan.week.runs[one.batch.number - 1].due_at(plan.week.start)
    return [
        str(one.batch.number),
        one.batch.product,
        str(minutes(one.held + one.wait)) if one.held + one.wait else "-",
        str(minutes(one.changeover)),
        plan.crew_at(one) or "-",
        *(time.strftime("%m-%d %H:%M") for time in times),
        due[5:],
        str(one.late) if one.late else "-",
        chance_words(chances.get(one.batch.number)),
    ]


# --- lines ------------------------------------------------------------------------------------


def _table(rows: Sequence[Sequence[str]]) -> Iterator[str]:
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    for row in rows:
        cells = (cell.ljust(width) for cell, width in zip(row, widths, strict=True))
        yield f"  {'  '.join(cells)}".rstrip()


def _lined(lines: Iterable[str]) -> str:
    return "\n".join(one_line(line) for line in lines) + "\n"
