"""The changeovers of a book for the site: every pair of a line with every crew, and the plans they share."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, TypeAlias

from kb.book.load import Book
from kb.book.records_floor import Changeover, Crew, Week
from kb.changeover.content import Setups, change_content, change_sheet
from kb.changeover.difference import NoDifference
from kb.changeover.model import Difference, Plan
from kb.changeover.plan import CannotRun, Changeovers, Orphans
from kb.changeover.sheet_model import ChangeSheet, Durations
from kb.changeover.week import WeekPlan, ordered
from kb.scheduling.activities import NoPlan
from kb.sheet.content import content as setup_content
from kb.sheet.issue import issue
from kb.sheet.model import Sheet
from kb.workers import shared

if TYPE_CHECKING:
    from kb.publish.edition import Edition

MOST_PAIRS = 240
"""A line with more ordered pairs has its matrix and no sheets of pairs in the site."""


@dataclass(frozen=True, slots=True)
class Pair:
    """One changeover with one crew, by its id; where no plan is possible, `why_not` has the reasons."""

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
    """The changeovers of each line by its id, or the reason why nothing can be planned there."""
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
    for one in planned.values():
        one.solve(names)
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
    for _, spec in sorted(book.of("week").items()):
        if spec.record.line == line:
            yield spec.record


def _weeks(book: Book, like: Changeovers, line: str) -> Iterator[tuple[str, WeekPlan | str]]:
    """Each week with the stops of its own crew."""
    for week in weeks_of(book, line):
        try:
            yield week.id, ordered(book, week, like=like)
        except (NoDifference, NoPlan) as why:
            yield week.id, str(why)


# --- the plans --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Planned:
    """A plan, its page's name without ending, the changeovers it serves and the sheet of each."""

    name: str
    crew: Crew
    pairs: list[Pair]
    sheets: list[ChangeSheet]


Plans: TypeAlias = Mapping[str, Sequence[Planned]]
"""The plans of each line, by its id."""


def changeover_plans(edition: Edition) -> Plans:
    """The plans that have a page; changeovers of one crew with the same work at the same times share one."""
    crews = [(one, crew) for one in edition.changes.values() for crew in one.crews]
    made = shared(lambda place: _alike(edition, *crews[place]), range(len(crews)))
    plans: dict[str, list[Planned]] = {line: [] for line in edition.changes}
    for (one, crew), found in zip(crews, made, strict=True):
        plans[one.line] += (
            Planned(
                f"{crew.id}.{i}", crew, [one.pairs[crew.id][names] for names in sheets], [*sheets.values()]
            )
            for i, sheets in enumerate(found, start=1)
        )
    return plans


def _alike(edition: Edition, one: LineChanges, crew: Crew) -> list[dict[tuple[str, str], ChangeSheet]]:
    """The sheets of a crew by old and new id, those of one plan together."""
    made = datetime.datetime.combine(edition.day, datetime.time())
    setups: dict[str, Sheet] = {}
    found: dict[object, dict[tuple[str, str], ChangeSheet]] = {}
    for names, pair in one.pairs[crew.id].items():
        if not pair.has_page or pair.plan is None or pair.durations is None:
            continue
        for ident in names:
            if ident not in setups:
                content = setup_content(edition.book, ident, one.line)
                setups[ident] = issue(content, edition.book, made=made, draft=edition.draft)
        both = Setups(setups[names[0]], setups[names[1]])
        said = change_content(edition.book, pair.plan, crew, pair.durations, both)
        jobs = tuple(replace(job, sizes=()) for job in said.jobs)  # sizes are on the pair's own papers
        key = (said.header.title, jobs, said.crew, said.dangers)
        problems = [f"{ident}: {words}" for ident in names for words in edition.formats[ident].errors]
        found.setdefault(key, {})[names] = change_sheet(said, both, made=made, problems=problems)
    return list(found.values())


def addresses(plans: Plans) -> dict[tuple[str, str], str]:
    """Where each changeover is on the page of its plan, by crew and anchor of the pair."""
    return {
        (pair.crew, pair.anchor): f"{one.name}.html#{pair.anchor}"
        for line in plans.values()
        for one in line
        for pair in one.pairs
    }
