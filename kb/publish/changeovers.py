"""The changeovers of a book for the site: every pair of every line with every crew."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from kb.book.load import Book
from kb.book.records_floor import Changeover, Crew, Week
from kb.changeover.difference import NoDifference
from kb.changeover.model import Difference, Plan
from kb.changeover.plan import CannotRun, Changeovers, Orphans
from kb.changeover.sheet_model import Durations
from kb.changeover.week import WeekPlan, ordered
from kb.scheduling.activities import NoPlan

MOST_PAIRS = 240
"""With so many ordered pairs each has its sheet; a line with more has its matrix, and the command."""


@dataclass(frozen=True, slots=True)
class Pair:
    """One changeover with one crew; without a plan where there can be none, and `why_not` gives the reasons.

    Attributes:
        difference: what differs.
        crew: id of the crew.
        plan: who does what when.
        durations: how long the line is stopped.
        why_not: why it cannot be changed over so, one reason each.
        has_page: whether it has a sheet in the site.
    """

    difference: Difference
    crew: str
    plan: Plan | None
    durations: Durations | None
    why_not: tuple[str, ...] = ()
    has_page: bool = False

    @property
    def name(self) -> str:
        """Name of its sheet's file, without ending."""
        return f"{self.crew}.{self.anchor}"

    @property
    def anchor(self) -> str:
        """Its place on the page of its plan."""
        return f"{self.difference.old}.{self.difference.new}"

    @property
    def minutes(self) -> int | None:
        """The stop as planned [min]."""
        return self.durations.planned if self.durations else None


Pairs = Mapping[tuple[str, str], Pair]
"""By old and new id."""


@dataclass(frozen=True, slots=True)
class LineChanges:
    """All changeovers of a line, and the orders of its weeks.

    Attributes:
        line: id of the line.
        formats: ids of the formats, by size.
        crews: the crews of the line, in the book's order; none where nothing can be planned.
        pairs: by id of the crew.
        weeks: by id; a text where an order cannot be found.
        why_not: why nothing can be planned on the line.
        paged: whether the pairs have sheets in the site.
    """

    line: str
    formats: tuple[str, ...] = ()
    crews: tuple[Crew, ...] = ()
    pairs: Mapping[str, Pairs] = field(default_factory=dict)
    weeks: Mapping[str, WeekPlan | str] = field(default_factory=dict)
    why_not: str = ""
    paged: bool = True

    @property
    def every(self) -> Iterator[Pair]:
        """The pairs of all crews."""
        for pairs in self.pairs.values():
            yield from pairs.values()


def all_changes(book: Book) -> dict[str, LineChanges]:
    """The changeovers of each line.

    Returns:
        Lines by id; one of which nothing can be planned has the reason.
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
    crews = tuple(one for one in library.crews if one.line == line) if library else ()
    if not crews:
        return LineChanges(line, why_not="changeover.yaml names no crew for this line")
    first = Changeovers(book, line, crews[0].id)
    planned = {crew.id: Changeovers(book, line, crew.id, like=first) for crew in crews}
    formats = sorted(first.on_line.formats(), key=lambda ident: _size(book, ident))
    names = [(old, new) for old in formats for new in formats if old != new]
    paged = len(names) <= MOST_PAIRS
    pairs = {
        crew: {pair: _pair(one, crew, pair, paged=paged) for pair in names} for crew, one in planned.items()
    }
    return LineChanges(line, tuple(formats), crews, pairs, dict(_weeks(book, first, line)), paged=paged)


def _size(book: Book, ident: str) -> tuple[str, float, str]:
    record = book.of("size-format")[ident].record
    return record.body, float(record.fill.contents), ident


def _pair(line: Changeovers, crew: str, names: tuple[str, str], *, paged: bool) -> Pair:
    difference = line.difference(*names)
    try:
        found = line.change(*names)
    except CannotRun as why:
        return Pair(difference, crew, None, None, why.difference.stopped_by)
    except Orphans as why:
        return Pair(difference, crew, None, None, why.reasons)
    except NoPlan as why:
        return Pair(difference, crew, None, None, (str(why),))
    return Pair(difference, crew, found.plan, found.durations, has_page=paged and bool(found.plan.tasks))


def weeks_of(book: Book, line: str) -> Iterator[Week]:
    """The weeks of a line in the order of their ids."""
    for spec in sorted(book.of("week").values(), key=lambda one: one.id):
        if spec.record.line == line:
            yield spec.record


def _weeks(book: Book, like: Changeovers, line: str) -> Iterator[tuple[str, WeekPlan | str]]:
    """Each week with the stops of its own crew."""
    for week in weeks_of(book, line):
        try:
            yield week.id, ordered(book, week, like=like)
        except (NoDifference, NoPlan) as why:
            yield week.id, str(why)
