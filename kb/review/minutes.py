"""The stops of changeovers before and now; only pairs of formats that call for other work are planned."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

from kb.book.finding import one_line
from kb.book.load import Book
from kb.book.records_floor import Changeover, Crew, Step
from kb.changeover.difference import NoDifference
from kb.changeover.model import Difference
from kb.changeover.plan import Changeovers, Planner, crew_of, orphan_words
from kb.changeover.times import minutes
from kb.changeover.work import activities_of
from kb.checks.words import plural, some
from kb.errors import MissingExtra, require
from kb.review.model import PairMoved
from kb.scheduling.activities import Activity, NoPlan

MOST_PAIRS = 240
"""Changeovers of one line that are compared; for a line with more, the command lists the times."""

THRESHOLD = "listed: changeovers that have no plan, or whose stop is longer"
"""Which changeovers the words of a review list."""

Names = tuple[str, str]
"""The format that goes and the one that comes."""


class Lengths(NamedTuple):
    """The changeovers of a line that are not as they were, of so many compared, or why some were not."""

    moved: tuple[PairMoved, ...] = ()
    compared: int = 0
    why_not: str = ""


class Stops:
    """The planned stops of two versions of a book, each line with its first crew."""

    def __init__(self, old: Book, new: Book) -> None:
        self._books = (old, new)
        self._lines: dict[str, tuple[_Side, _Side]] = {}

    def another_way(self, line: str) -> bool:
        """Whether the changeover steps of the line or its crew changed."""
        if not all(book.of("line").get(line) and _library(book) for book in self._books):
            return False
        old, new = (_way(book, line) for book in self._books)
        return old != new

    def lengths(self, line: str, pairs: Sequence[tuple[Names, Names]]) -> Lengths:
        """Compare changeovers of a line."""
        why_not = self._why_not(line)
        if not pairs or why_not is None:
            return Lengths()
        if why_not or len(pairs) > MOST_PAIRS:
            many = (
                f"{len(pairs)} changeovers, more than the {MOST_PAIRS} that are compared; "
                f"`sizebook changeover --matrix --line {line}` lists them"
            )
            return Lengths(why_not=f"line {line}: {why_not or many}")
        try:
            old, new = self._sides(line)
        except (NoDifference, NoPlan, MissingExtra) as why:
            return Lengths(why_not=f"line {line}: changeovers, {one_line(str(why))}")
        return _compared(line, old, new, pairs)

    def _why_not(self, line: str) -> str | None:
        """Why nothing can be compared; none where there is nothing to compare."""
        if not all(line in book.of("line") for book in self._books):
            return None
        for book in self._books:
            if _library(book) is None:
                faulty = any(file.rpartition("/")[2] == "changeover.yaml" for file in book.broken)
                return "changeovers, changeover.yaml has errors" if faulty else None
        crews = [_first_crew(_library(book), line) for book in self._books]
        return None if crews == [None, None] else ""

    def _sides(self, line: str) -> tuple[_Side, _Side]:
        if line not in self._lines:
            require("schedule", "their comparison")
            old, new = (Changeovers(book, line, crew_of(book, line)) for book in self._books)
            way, other = (_way_of(one.planner.library, one.planner.crew) for one in (old, new))
            planner = old.planner if way == other else new.planner  # plans of one book hold for both
            self._lines[line] = (_Side(old, old.planner), _Side(new, planner))
        return self._lines[line]


# --- the way of changing over -----------------------------------------------------------------


def _library(book: Book) -> Changeover | None:
    spec = book.only("changeover")
    return spec.record if spec else None


def _first_crew(library: Changeover | None, line: str) -> Crew | None:
    """The first crew of a line."""
    return next((one for one in library.crews if one.line == line), None) if library else None


def _way(book: Book, line: str) -> tuple[object, ...]:
    """All that a stop of a line follows from, beside its formats."""
    library, floor = _library(book), book.only("floor")
    return (
        book.of("line")[line].record,
        floor.record if floor else None,
        _way_of(library, _first_crew(library, line)) if library else None,
    )


def _way_of(library: Changeover, crew: Crew | None) -> tuple[object, ...]:
    """What the schedules of a crew follow from."""
    hands = [(one.id, frozenset(one.skills)) for one in crew.members] if crew else None
    return (
        crew.line if crew else None,
        hands,
        {one.id: one.count for one in library.equipment},
        [_without_words(step) for step in library.steps],
        library.own_lock,
    )


def _without_words(step: Step) -> Step:
    """What of a step a schedule follows from."""
    return replace(step, text="", caution=None, time=replace(step.time, worst=step.time.typical))


# --- one changeover in one version ------------------------------------------------------------


class _Stop(NamedTuple):
    """The stop of one changeover; `seconds` is none where it cannot be planned, and `why` gives the reason.

    No schedule is shorter than `bound` [s].
    """

    kind: str
    seconds: int | None = None
    bound: int = 0
    why: str = ""


class _Seen(NamedTuple):
    """A changeover before it is planned: what is to be done inside its stop, or why it cannot be.

    `unknown` says why the two formats cannot be compared at all.
    """

    kind: str
    difference: Difference | None = None
    works: tuple[Activity, ...] = ()
    why: str = ""
    unknown: str = ""


class _Side(NamedTuple):
    """A line in one version with who plans its changeovers."""

    line: Changeovers
    planner: Planner

    def seen(self, names: Names) -> _Seen:
        """What is to be done from one format to another."""
        try:
            found = self.line.difference(*names)
        except NoDifference as why:
            return _Seen("", unknown=one_line(str(why)))
        against = (*found.stopped_by, *(orphan_words(one, found) for one in found.orphans))
        if against:
            more = f" and {len(against) - 1} more" if len(against) > 1 else ""
            return _Seen(found.kind, why=f"{against[0]}{more}")
        try:
            works = activities_of(self.planner.tasks(found), part="stop")
        except NoPlan as why:
            return _Seen(found.kind, why=str(why))
        return _Seen(found.kind, found, works)

    def stop(self, seen: _Seen) -> _Stop:
        """The stop of the line, or why it cannot be planned."""
        if seen.difference is None:
            return _Stop(seen.kind, why=seen.why)
        found = self.planner.stop(seen.difference)
        if found.why_not:
            return _Stop(found.kind, why=found.why_not)
        return _Stop(found.kind, found.seconds, found.bound)


def _compared(line: str, old: _Side, new: _Side, pairs: Sequence[tuple[Names, Names]]) -> Lengths:
    """Changeovers of a line in both versions; those of which nothing is known in one are left out."""
    seen = [(old.seen(was), new.seen(now), now) for was, now in pairs]
    known = [one for one in seen if not (one[0].unknown or one[1].unknown)]
    found = [moved for before, after, now in known if (moved := _compared_pair(old, new, before, after, now))]
    unknown = dict.fromkeys(one.unknown for before, after, _ in seen for one in (before, after))
    reasons = some([one for one in unknown if one], 2)
    left = len(seen) - len(known)
    why_not = f"line {line}: {plural(left, 'changeover')}, {reasons}" if left else ""
    return Lengths(tuple(sorted(found, key=_worst_first)), len(known), why_not)


def _compared_pair(old: _Side, new: _Side, before: _Seen, after: _Seen, now: Names) -> PairMoved | None:
    """A changeover in both versions; nothing where it is of the same class and no other length."""
    if before.kind == after.kind and _same_activities(old, new, before, after):
        return None
    was, stop = old.stop(before), new.stop(after)
    if was.kind == stop.kind and not _moved(was, stop):
        return None
    return PairMoved(
        old=now[0],
        new=now[1],
        before=None if was.seconds is None else was.seconds / 60,
        after=None if stop.seconds is None else stop.seconds / 60,
        kind_before=was.kind,
        kind_after=stop.kind,
        proven_before=was.seconds == was.bound,
        proven_after=stop.seconds == stop.bound,
        why=one_line(stop.why or was.why),
    )


def _same_activities(old: _Side, new: _Side, before: _Seen, after: _Seen) -> bool:
    """Whether the same crew does the same work in both versions."""
    planned = before.difference is not None and after.difference is not None
    crew = old.planner.operators == new.planner.operators and old.planner.equipment == new.planner.equipment
    return planned and crew and before.works == after.works


def _moved(before: _Stop, after: _Stop) -> bool:
    """Whether the stop is longer or shorter by other work, and not by the luck of the search.

    It is where no schedule of one version is as short as the plan of the other, or where the bound moved the
    same way as the plan: a bound follows from the work alone.
    """
    if before.seconds is None or after.seconds is None:
        return before.seconds != after.seconds
    longer = minutes(after.seconds) - minutes(before.seconds)
    apart = before.seconds < after.bound or after.seconds < before.bound
    return longer != 0 and (apart or (after.bound - before.bound) * longer > 0)


def _worst_first(one: PairMoved) -> tuple[bool, bool, float, str, str]:
    """What cannot be planned before what is of another class, then the longest moves."""
    both = one.before is not None and one.after is not None
    moved = abs((one.after or 0.0) - (one.before or 0.0))
    return both, one.kind_before == one.kind_after, -moved, one.old, one.new
