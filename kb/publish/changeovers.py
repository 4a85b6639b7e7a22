"""The changeovers of a book as the site tells them: every pair of every line, planned once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import lru_cache

from kb.book.load import Book
from kb.book.records_changeover import Changeover, Crew, Week
from kb.changeover.difference import NoDifference
from kb.changeover.lever import Lever, levers_in_order
from kb.changeover.model import Difference, Plan
from kb.changeover.sheet_model import Durations
from kb.changeover.week_notes import WeekPlan
from kb.changeover.whole import CannotRun, Changeovers, Orphans, ordered
from kb.scheduling.activities import NoPlan, Schedule

MOST_PAIRS = 240
"""With so many ordered pairs each has a page of its own; a line with more has its matrix, and the command."""

LEVERS = 5


@dataclass(frozen=True, slots=True)
class Pair:
    """One changeover; without a plan where there can be none, and `why_not` says why.

    Attributes:
        difference: what differs.
        plan: who does what when.
        durations: how long the line stands.
        why_not: why it cannot be changed over so, one reason each.
        has_page: whether it has a page of its own.
    """

    difference: Difference
    plan: Plan | None
    durations: Durations | None
    why_not: tuple[str, ...] = ()
    has_page: bool = False

    @property
    def name(self) -> str:
        """Its page's name, without ending."""
        one = self.difference
        return f"{one.line}.{one.old}.{one.new}"

    @property
    def minutes(self) -> int | None:
        """The stop as planned [min]."""
        return self.durations.planned if self.durations else None


@dataclass(frozen=True, slots=True)
class LineChanges:
    """All changeovers of a line with its first crew, and the orders of its weeks.

    Attributes:
        line: id of the line.
        crew: the crew; none where no crew or nothing to compare with is in the book.
        formats: ids of the formats, by size.
        pairs: by old and new id.
        weeks: by id; a text where an order cannot be found.
        why_not: why nothing can be told of the line.
        paged: whether the pairs have pages of their own.
        others: crews of the line that have no plan on the site.
    """

    line: str
    crew: Crew | None = None
    formats: tuple[str, ...] = ()
    pairs: Mapping[tuple[str, str], Pair] = field(default_factory=dict)
    weeks: Mapping[str, WeekPlan | str] = field(default_factory=dict)
    why_not: str = ""
    paged: bool = True
    others: tuple[Crew, ...] = ()

    @property
    def crews(self) -> tuple[Crew, ...]:
        """Every crew of the line, the one that the pages are planned for first."""
        return (*([self.crew] if self.crew else []), *self.others)


def all_changes(book: Book) -> dict[str, LineChanges]:
    """The changeovers of each line.

    Args:
        book: a loaded book

    Returns:
        Lines by id; one of which nothing can be told says why.
    """
    spec = book.only("changeover")
    library: Changeover | None = spec.record if spec else None
    found = {}
    for line in book.of("line"):
        try:
            found[line] = _of_line(book, library, line)
        except (NoDifference, NoPlan) as why:
            found[line] = LineChanges(line, why_not=str(why))
    return found


def _of_line(book: Book, library: Changeover | None, line: str) -> LineChanges:
    crews = [one for one in library.crews if one.line == line] if library else []
    if not crews:
        return LineChanges(line, why_not="changeover.yaml names no crew for this line")
    crew, *others = crews
    found = Changeovers(book, line, crew.id)
    formats = sorted(found.on_line.formats(), key=lambda ident: _size(book, ident))
    ordered = [(old, new) for old in formats for new in formats if old != new]
    paged = len(ordered) <= MOST_PAIRS
    pairs = {pair: _pair(found, pair, paged=paged) for pair in ordered}
    return LineChanges(
        line, crew, tuple(formats), pairs, dict(_weeks(book, line)), paged=paged, others=tuple(others)
    )


def _size(book: Book, ident: str) -> tuple[str, float, str]:
    record = book.of("size-format")[ident].record
    return record.body, float(record.fill.contents), ident


def _pair(line: Changeovers, names: tuple[str, str], *, paged: bool) -> Pair:
    difference = line.difference(*names)
    try:
        found = line.change(*names)
    except CannotRun as why:
        return Pair(difference, None, None, why.difference.stopped_by)
    except Orphans as why:
        return Pair(difference, None, None, why.told)
    except NoPlan as why:
        return Pair(difference, None, None, (str(why),))
    return Pair(difference, found.plan, found.durations, has_page=paged and bool(found.plan.tasks))


# --- levers -----------------------------------------------------------------------------------


def levers(plan: Plan) -> tuple[Lever, ...]:
    """What would shorten the stop most, the order of all other work kept.

    Nothing is solved anew, so another order of the work may save more, and none less.

    Args:
        plan: a plan

    Returns:
        The best few, the greatest saving first.
    """
    return _levers(plan.stop, _Tasks(plan.stop, plan))


@dataclass(frozen=True)
class _Tasks:
    """The tasks of a stop; a stop told from another by its schedule."""

    stop: Schedule
    plan: Plan = field(compare=False)


@lru_cache(maxsize=512)
def _levers(stop: Schedule, of: _Tasks) -> tuple[Lever, ...]:
    return levers_in_order(of.plan)[:LEVERS]


# --- weeks ------------------------------------------------------------------------------------


def weeks_of(book: Book, line: str) -> Iterator[Week]:
    """The weeks of a line in the order of their ids."""
    for spec in sorted(book.of("week").values(), key=lambda one: one.id):
        if spec.record.line == line:
            yield spec.record


def _weeks(book: Book, line: str) -> Iterator[tuple[str, WeekPlan | str]]:
    """Each week with the stops of its own crew."""
    for week in weeks_of(book, line):
        try:
            yield week.id, ordered(book, week)
        except (NoDifference, NoPlan) as why:
            yield week.id, str(why)
