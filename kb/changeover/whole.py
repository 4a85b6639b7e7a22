"""One changeover from book to sheet: what differs, the plan, its spread, what it says on paper."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

from kb.book.load import Book
from kb.book.records_changeover import Changeover, Crew, Week
from kb.changeover.content import Setups, change_content, change_sheet, setups
from kb.changeover.difference import NoDifference, OnLine
from kb.changeover.durations import durations
from kb.changeover.model import Difference, Moved, NoPlan, Plan
from kb.changeover.plan import Planner
from kb.changeover.schedule import EFFORT
from kb.changeover.sheet_model import ChangeSheet, Durations
from kb.changeover.spread import Past, Spread, past, spread_of_stop
from kb.changeover.week import WeekOrder, order_of_week


class NothingChanges(Exception):  # noqa: N818 - said to the reader in one line
    """The two formats do not differ on the line."""


class Orphans(Exception):  # noqa: N818 - said to the reader in one line each
    """Values differ and nothing on the line changes with them."""

    def __init__(self, difference: Difference) -> None:
        super().__init__(f"nothing on {difference.line} changes with some of the values that differ")
        self.difference = difference
        self.told = tuple(orphan_words(one, difference) for one in difference.orphans)


class CannotRun(Exception):  # noqa: N818 - said to the reader in one line each
    """The line cannot run the format that comes."""

    def __init__(self, difference: Difference) -> None:
        super().__init__(f"line {difference.line} cannot run {difference.new}")
        self.difference = difference
        self.told = difference.stopped_by


def orphan_words(one: Moved, difference: Difference) -> str:
    """A value that nothing answers, in one line."""
    told = f"{one.old} for {difference.old} and {one.new} for {difference.new}"
    return f"{one.key} is {told}, and nothing on {difference.line} changes with it [changeover.orphan]"


@dataclass(frozen=True, slots=True)
class Change:
    """One changeover, worked out: `stop` is how its length spreads, `past` what past ones took."""

    plan: Plan
    crew: Crew
    stop: Spread
    past: Past | None
    durations: Durations

    @property
    def difference(self) -> Difference:
        """What differs."""
        return self.plan.difference


def crew_of(book: Book, line: str) -> str:
    """The first crew of a line, for whoever names none.

    Raises:
        NoPlan: if the line has no crew.
    """
    spec = book.only("changeover")
    library: Changeover | None = spec.record if spec else None
    for one in library.crews if library else ():
        if one.line == line:
            return one.id
    raise NoPlan(f"line {line} has no crew in changeover.yaml")


def change(book: Book, old: str, new: str, line: str, crew: str, *, effort: float = EFFORT) -> Change:
    """Work a changeover out.

    Args:
        book: a loaded book
        old: id of the format that goes
        new: id of the format that comes
        line: id of the line
        crew: id of a crew of the line
        effort: how much the solver may do

    Returns:
        The changeover with its plan and times.

    Raises:
        NoDifference: if line or formats cannot be compared.
        NothingChanges: if the two do not differ.
        CannotRun: if the line cannot run the format that comes.
        Orphans: if values differ that nothing on the line answers.
        NoPlan: if the crew cannot do the work.
    """
    on_line = OnLine(book, line)
    difference = on_line.difference(old, new)
    if difference.stopped_by:
        raise CannotRun(difference)
    if not difference.moved and not any(one.changes for one in difference.stations):
        raise NothingChanges(f"nothing changes from {old} to {new} on {line}")
    if difference.orphans:
        raise Orphans(difference)
    planner = Planner(book, crew, effort=effort)
    plan = planner.plan(difference)
    stop = spread_of_stop(plan)
    recorded = past(
        planner.library.past,
        line=line,
        old=old,
        new=new,
        kind=difference.kind,
        kind_of=lambda a, b: _kind(on_line, a, b),
    )
    return Change(plan, planner.crew, stop, recorded, durations(plan, stop, recorded))


def _kind(on_line: OnLine, old: str, new: str) -> str | None:
    try:
        return on_line.difference(old, new).kind
    except NoDifference:
        return None


def sheet_of(
    book: Book, one: Change, *, made: datetime.datetime, problems: Sequence[str] = ()
) -> ChangeSheet:
    """The sheet of a changeover.

    Args:
        book: the book it is of
        one: the changeover
        made: when the copy is made
        problems: what else speaks against using it, such as findings of the check

    Returns:
        The sheet.

    Raises:
        NoSheet: if there is no setup sheet of one of the formats on the line.
    """
    both: Setups = setups(book, one.difference, made)
    content = change_content(book, one.plan, one.crew, one.durations, both)
    return change_sheet(content, both, made=made, problems=problems)


def ordered(book: Book, week: Week) -> tuple[WeekOrder, bool]:
    """The order of a week's runs, from the stops between its own formats alone.

    Args:
        book: a loaded book
        week: a week of it

    Returns:
        The order given and the best found, and whether every stop they rest on is the shortest there is.

    Raises:
        NoDifference: if its line or a format of it cannot be compared.
        NoPlan: if its crew cannot do a changeover of the order given.
    """
    on_line, planner = OnLine(book, week.line), Planner(book, week.crew)
    formats = sorted({week.running, *(run.format for run in week.runs)})
    stops = {
        (old, new): planner.stop(on_line.difference(old, new))
        for old in formats
        for new in formats
        if old != new
    }
    possible = {pair: stop for pair, stop in stops.items() if not stop.why_not}
    found = order_of_week(week, {pair: stop.seconds for pair, stop in possible.items()})
    return found, all(stop.proven for stop in possible.values())
