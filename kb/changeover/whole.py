"""One changeover from book to sheet: what differs, the plan, its spread, what it says on paper."""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from kb.book.load import Book
from kb.book.records_floor import Changeover, Crew, Week
from kb.changeover.content import Setups, change_content, change_sheet, setups
from kb.changeover.difference import NoDifference, OnLine
from kb.changeover.durations import durations
from kb.changeover.model import Difference, DifferingValue, Plan
from kb.changeover.plan import Matrix, Planner, Stop
from kb.changeover.sheet_model import ChangeSheet, Durations
from kb.changeover.spread import Past, past
from kb.changeover.week_notes import Beside, LeftOut, WeekPlan, other_crews, too_short
from kb.errors import SizebookError
from kb.scheduling.activities import NoPlan
from kb.scheduling.plan import EFFORT
from kb.scheduling.sequence import EFFORT as SEQUENCE_EFFORT
from kb.scheduling.sequence import Batch, OrderComparison, Stops, best_order
from kb.scheduling.simulation import DurationStats


class NothingChanges(SizebookError):  # noqa: N818 - said to the reader in one line
    """The two formats do not differ on the line."""


class Orphans(SizebookError):  # noqa: N818 - said to the reader in one line each
    """Values differ and nothing on the line changes with them."""

    def __init__(self, difference: Difference) -> None:
        super().__init__(f"some changed values have no part or setting on {difference.line}")
        self.difference = difference
        self.reasons = tuple(orphan_words(one, difference) for one in difference.orphans)


class CannotRun(SizebookError):  # noqa: N818 - said to the reader in one line each
    """The line cannot run the format that comes."""

    def __init__(self, difference: Difference) -> None:
        super().__init__(f"line {difference.line} cannot run {difference.new}")
        self.difference = difference
        self.reasons = difference.stopped_by


def orphan_words(one: DifferingValue, difference: Difference) -> str:
    """A value that nothing answers, in one line."""
    told = f"{one.old} for {difference.old} and {one.new} for {difference.new}"
    return f"{one.key} is {told}, and no part or setting on {difference.line} changes it [changeover.orphan]"


@dataclass(frozen=True, slots=True)
class PlannedChangeover:
    """One changeover, worked out: `stop` is how its length spreads, `past` what past ones took."""

    plan: Plan
    crew: Crew
    stop: DurationStats
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


class Changeovers:
    """The changeovers of a line with one crew: whoever asks for a pair of formats gets the same answer.

    Args:
        book: a loaded book
        line: id of the line
        crew: id of a crew of the line
        effort: how much the solver may do
        like: changeovers of the same line, whose differences are not computed again

    Raises:
        NoDifference: if the line cannot be compared.
        NoPlan: if the book does not say how it changes over, or has no such crew.
    """

    def __init__(
        self,
        book: Book,
        line: str,
        crew: str,
        *,
        effort: float = EFFORT,
        like: Changeovers | None = None,
    ) -> None:
        self.on_line: OnLine = like.on_line if like else OnLine(book, line)
        self.planner = _planner_of(book, crew, effort)
        self._differences: dict[tuple[str, str], Difference] = like._differences if like else {}

    def difference(self, old: str, new: str) -> Difference:
        """What differs between two formats on the line.

        Raises:
            NoDifference: if the formats cannot be compared.
        """
        if (old, new) not in self._differences:
            self._differences[old, new] = self.on_line.difference(old, new)
        return self._differences[old, new]

    def stop(self, old: str, new: str) -> Stop:
        """How long the line is down; where it cannot be changed over so, why.

        Raises:
            NoDifference: if the formats cannot be compared.
        """
        return self.planner.stop(self.difference(old, new))

    def matrix(self) -> Matrix:
        """The stop of every ordered pair of the line's formats."""
        idents = tuple(self.on_line.formats())
        stops = {(old, new): self.stop(old, new) for old in idents for new in idents if old != new}
        return Matrix(self.on_line.line.id, self.planner.crew.id, idents, stops, self.planner.solved)

    def beside(self, old: str, new: str) -> Beside:
        """How long a changeover takes before and after its stop.

        Raises:
            NoDifference: if the formats cannot be compared.
            NoPlan: if the changeover cannot be planned.
        """
        plan = self.planner.plan(self.difference(old, new))
        return Beside(plan.before.length, plan.after.length)

    def change(self, old: str, new: str) -> PlannedChangeover:
        """Work a changeover out.

        Raises:
            NoDifference: if the formats cannot be compared.
            CannotRun: if the line cannot run the format that comes.
            Orphans: if values differ that nothing on the line answers.
            NoPlan: if the crew cannot do the work.
        """
        difference = self.difference(old, new)
        if difference.stopped_by:
            raise CannotRun(difference)
        if difference.orphans:
            raise Orphans(difference)
        plan = self.planner.plan(difference)
        stop = self.planner.spread(plan)
        crew = self.planner.crew
        recorded = past(
            [one for one in self.planner.library.past if one.crew == crew.id],
            line=difference.line,
            old=old,
            new=new,
            kind=difference.kind,
            kind_of=self._kind,
        )
        return PlannedChangeover(
            plan, crew, stop, recorded, durations(plan, stop, recorded, self._back(old, new))
        )

    def _back(self, old: str, new: str) -> int | None:
        """Planned stop of the changeover the other way [s]; none where there can be none."""
        other = self.difference(new, old)
        found = None if other.orphans else self.planner.stop(other)
        return None if found is None or found.why_not else found.seconds

    def _kind(self, old: str, new: str) -> str | None:
        """Class of a changeover; nothing where that is not known any more."""
        try:
            return self.difference(old, new).kind
        except NoDifference:
            return None


def change(
    book: Book, old: str, new: str, line: str, crew: str, *, effort: float = EFFORT
) -> PlannedChangeover:
    """Work one changeover out.

    Raises:
        NoDifference: if line or formats cannot be compared.
        NothingChanges: if the two do not differ.
        CannotRun: if the line cannot run the format that comes.
        Orphans: if values differ that nothing on the line answers.
        NoPlan: if the crew cannot do the work.
    """
    found = Changeovers(book, line, crew, effort=effort)
    difference = found.difference(old, new)
    if not (difference.stopped_by or difference.moved or any(one.changes for one in difference.stations)):
        raise NothingChanges(f"nothing changes from {old} to {new} on {line}")
    return found.change(old, new)


def plan_changeover(
    book: Book, old: str, new: str, line: str, *, crew: str | None = None, search: float = 1
) -> PlannedChangeover:
    """Plan one changeover, by default with the first crew of the line.

    Args:
        book: a loaded book
        old: id of the format that runs
        new: id of the format that runs next
        line: id of the line
        crew: id of a crew of the line; its first crew when left out
        search: multiple of the usual limit of the solver [-]

    Raises:
        NoDifference: if line or formats cannot be compared.
        NothingChanges: if the two do not differ.
        CannotRun: if the line cannot run the next format.
        Orphans: if no part or setting of the line changes with a value that differs.
        NoPlan: if the line has no crew, or the crew cannot do the work.
    """
    return change(book, old, new, line, crew or crew_of(book, line), effort=search * EFFORT)


@dataclass(frozen=True)
class _Source:
    """A book told from another by its library of steps alone."""

    library: Changeover
    book: Book = field(compare=False)


def _planner_of(book: Book, crew: str, effort: float) -> Planner:
    """The planner of a crew; the same crew with the same steps does not solve the same works again."""
    spec = book.only("changeover")
    return (
        Planner(book, crew, effort=effort)
        if spec is None
        else _planner(_Source(spec.record, book), crew, effort)
    )


@lru_cache(maxsize=8)
def _planner(source: _Source, crew: str, effort: float) -> Planner:
    return Planner(source.book, crew, effort=effort)


def sheet_of(
    book: Book, one: PlannedChangeover, *, made: datetime.datetime, problems: Sequence[str] = ()
) -> ChangeSheet:
    """The sheet of a changeover.

    Raises:
        NoSheet: if there is no setup sheet of one of the formats on the line.
    """
    both: Setups = setups(book, one.difference, made)
    content = change_content(book, one.plan, one.crew, one.durations, both)
    return change_sheet(content, both, made=made, problems=problems)


def order_of_week(
    week: Week, stops: Stops, *, then: str = "", effort: float = SEQUENCE_EFFORT
) -> OrderComparison:
    """The order of a week's runs: on time first, then with the least time lost.

    Args:
        week: runs, rate, start and what is running.
        stops: stop of each pair of formats [s].
        then: what runs after the week, "" where that is open.
        effort: limit of the solver.

    Returns:
        Both orders.

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

    Args:
        book: a loaded book
        week: a week of it
        like: changeovers of the same line, whose differences are not computed again

    Returns:
        The order given and the best found, and what they do not count.

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
