"""Who does what when in one changeover, from the book to its sheet, and the stop of every pair of formats.

What can be done while the line runs is scheduled apart and ends where the stop begins. What is left for after
the stop begins where it ends. Many pairs call for the same tasks; those are solved once.
"""

from __future__ import annotations

import datetime
from collections.abc import Hashable, Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from difflib import get_close_matches
from itertools import permutations
from typing import Any, get_args

from kb.book.load import Book
from kb.book.records_floor import Changeover, Crew
from kb.changeover.content import Setups, change_content, change_sheet, setups
from kb.changeover.difference import NoDifference, OnLine
from kb.changeover.durations import Past, durations, past, spread_of_stop
from kb.changeover.model import Difference, DifferingValue, Plan, Task
from kb.changeover.rolling import one_at_a_time
from kb.changeover.sheet_model import ChangeSheet, Durations
from kb.changeover.work import (
    RUNNING_CREW,
    Part,
    activities_of,
    beside_the_line,
    by_one_fitter,
    by_whole_crew,
    rooms_of,
    tasks_of,
)
from kb.errors import SizebookError
from kb.scheduling.activities import Activity, NoPlan, Operator, Schedule, Slot
from kb.scheduling.critical_path import DurationStats
from kb.scheduling.kept import BookPlans, kept_schedule
from kb.scheduling.plan import EFFORT
from kb.workers import shared


@dataclass(frozen=True, slots=True)
class Stop:
    """How long the line is down from one format to another.

    Attributes:
        kind: class of the changeover.
        title: the class in words.
        seconds: the stop.
        bound: no schedule is shorter [s].
        why_not: why the line cannot change over so, "" where it can; then there is no time.
    """

    kind: str
    title: str
    seconds: int
    bound: int
    why_not: str = ""

    @property
    def proven(self) -> bool:
        """Whether no shorter stop exists."""
        return self.seconds == self.bound

    @property
    def minutes(self) -> float:
        """The stop in minutes."""
        return self.seconds / 60


@dataclass(frozen=True, slots=True)
class Matrix:
    """Stops of a line with a crew, for every ordered pair of its formats."""

    line: str
    crew: str
    formats: tuple[str, ...]
    stops: Mapping[tuple[str, str], Stop]
    solved: int

    @property
    def seconds(self) -> dict[tuple[str, str], int]:
        """The stop of each pair that the line can change over [s]."""
        return {pair: stop.seconds for pair, stop in self.stops.items() if not stop.why_not}


@dataclass(frozen=True, slots=True)
class Beside:
    """What one changeover needs while the line runs [s]: preparation before it, work after it."""

    before: int
    after: int


PLANS = "plans.json"
"""The file of a book that keeps plans of a long search."""

AGAIN = 0.25
"""Limit of the search that starts from a stop that was found by the other rule, as a ratio of the effort."""


class Planner:
    """Plans changeovers of a book with one crew; what comes again is not worked out again.

    Tasks do not depend on the crew: `like`, a planner of the same book, brings those that it has.

    Raises:
        NoPlan: if the book does not say how it changes over, or has no such crew.
    """

    def __init__(self, book: Book, crew: str, *, effort: float = EFFORT, like: Planner | None = None) -> None:
        self.library = _library(book)
        self.crew = _crew(self.library, crew)
        self.operators = tuple(Operator(one.id, frozenset(one.skills)) for one in self.crew.members)
        self.equipment = {one.id: one.count for one in self.library.equipment}
        self.effort = effort
        self.plans: BookPlans = like.plans if like else BookPlans(book.root / PLANS)
        self._tasks: dict[Hashable, dict[str, Task]] = like._tasks if like else {}
        self._schedules: dict[tuple[Part, Hashable], Schedule] = {}
        self._stops: dict[Hashable, tuple[bool, Schedule, Schedule | None]] = {}
        self._spreads: dict[Hashable, DurationStats] = {}

    @property
    def solved(self) -> int:
        """How many schedules were made or read."""
        return len(self._schedules) + len(self._stops)

    def plan(self, difference: Difference) -> Plan:
        """Who does what when.

        Raises:
            NoPlan: if the line cannot run the format that comes, or the crew cannot do the work.
        """
        tasks, stop, other = self._stop(difference)
        return Plan(
            difference=difference,
            crew=self.crew.id,
            operators=self.operators,
            equipment={**self.equipment, **rooms_of(tasks)},
            tasks=tasks,
            before=self._schedule(difference, "before"),
            stop=stop,
            after=self._schedule(difference, "after"),
            running=self.crew.running,
            other=other,
        )

    def spread(self, plan: Plan) -> DurationStats:
        """How the stop of a plan of this planner spreads."""
        key = _calls(plan.difference)
        if key not in self._spreads:
            self._spreads[key] = spread_of_stop(plan)
        return self._spreads[key]

    def stop(self, difference: Difference) -> Stop:
        """How long the line is down."""
        try:
            _, found, _ = self._stop(difference)
        except NoPlan as why:
            return Stop(difference.kind, difference.title, 0, 0, str(why))
        return Stop(difference.kind, difference.title, found.length, found.bound)

    def tasks(self, difference: Difference) -> dict[str, Task]:
        """What is to be done.

        Raises:
            NoPlan: if the line cannot run the format that comes, or the library is not safe.
        """
        if difference.line != self.crew.line:
            raise NoPlan(f"crew {self.crew.id} is a crew of line {self.crew.line}, not of {difference.line}")
        if difference.stopped_by:
            raise NoPlan(
                f"line {difference.line} cannot run {difference.new}: {'; '.join(difference.stopped_by)}"
            )
        key = _calls(difference)
        if key not in self._tasks:
            self._tasks[key] = tasks_of(
                self.library.steps, difference, self.library.own_lock, float(self.library.arrival)
            )
        return self._crewed(key)

    def _crewed(self, key: Hashable) -> dict[str, Task]:
        """Tasks that were found, with the people of this crew."""
        return by_whole_crew(self._tasks[key], len(self.operators))

    def solve(self, differences: Iterable[Difference]) -> None:
        """Make or read all schedules of some differences, on all cores; one without a schedule has none."""
        wanted = {_calls(one): one for one in differences if not (one.stopped_by or one.orphans)}
        missing = [
            (key, part)
            for key in wanted
            for part in get_args(Part)
            if (key not in self._stops if part == "stop" else (part, key) not in self._schedules)
        ]

        def found(key: Hashable, part: Part) -> Any:
            try:
                return self._ways(wanted[key]) if part == "stop" else self._schedule(wanted[key], part)
            except NoPlan:
                return None

        for difference in wanted.values():
            with suppress(NoPlan):
                self.tasks(difference)
        made = shared(lambda place: found(*missing[place]), range(len(missing)))
        for (key, part), one in zip(missing, made, strict=True):
            if one is not None and part == "stop":
                self._stops[key] = one
            elif one is not None:
                self._schedules[part, key] = one

    def _schedule(self, difference: Difference, part: Part) -> Schedule:
        """What is done while the line runs."""
        key: tuple[Part, Hashable] = (part, _calls(difference))
        if key not in self._schedules:
            self._schedules[key] = self._kept(*self._beside(self.tasks(difference), part))
        return self._schedules[key]

    def _beside(self, tasks: Mapping[str, Task], part: Part) -> tuple[Sequence[Activity], Mapping[str, int]]:
        """What is done while the line runs, and with how many people and pieces."""
        free = len(self.operators) - self.crew.running
        return beside_the_line(tasks, part, free), {**self.equipment, RUNNING_CREW: free}

    def _kept(
        self, works: Sequence[Activity], means: Mapping[str, int], known: Sequence[Slot] = ()
    ) -> Schedule:
        effort = AGAIN * self.effort if known else self.effort
        return kept_schedule(works, self.operators, means, effort=effort, known=known, plans=self.plans)

    def keep(self) -> None:
        """Write all schedules of this planner to the file of the book.

        Raises:
            BadPlans: if the file cannot be written.
        """
        for key, (one_fitter, stop, other) in self._stops.items():
            free = self._crewed(key)
            for rule, found in ((one_fitter, stop), (not one_fitter, other)):
                works = activities_of(by_one_fitter(free) if rule else free, part="stop")
                if found:
                    self.plans.add(works, self.operators, {**self.equipment, **rooms_of(free)}, found)
        for (part, key), found in self._schedules.items():
            beside, means = self._beside(self._crewed(key), part)
            self.plans.add(beside, self.operators, means, found)
        self.plans.write()

    def _stop(self, difference: Difference) -> tuple[dict[str, Task], Schedule, Schedule | None]:
        """The tasks with the stop by one fitter at each machine, and the stop with hand-overs.

        The other way round where one fitter costs more than the plant says it may.
        """
        key = _calls(difference)
        if key not in self._stops:
            self._stops[key] = self._ways(difference)
        one_fitter, stop, other = self._stops[key]
        free = self.tasks(difference)
        return by_one_fitter(free) if one_fitter else free, stop, other

    def _ways(self, difference: Difference) -> tuple[bool, Schedule, Schedule | None]:
        """Whether one fitter works at each machine, the stop, and the stop by the other rule."""
        free = self.tasks(difference)
        try:
            one = self._inside(by_one_fitter(free)) if any(task.inside for task in free.values()) else None
        except NoPlan:
            one = None
        shortest = self._inside(free, one)
        if one is None or one.length - shortest.length <= float(self.library.one_fitter):
            return one is not None, one or shortest, shortest if one else None
        return False, min(self._inside(free), shortest, key=lambda found: found.length), one

    def _inside(self, tasks: Mapping[str, Task], known: Schedule | None = None) -> Schedule:
        """The stop of some tasks, no longer than one that is known."""
        means = {**self.equipment, **rooms_of(tasks)}
        works = activities_of(tasks, part="stop")
        return self._kept(works, means, known.slots if known else ())


def _calls(difference: Difference) -> Hashable:
    """What a difference calls steps by: equal for two pairs of formats that take the same tasks."""
    return (
        bool(difference.moved),
        difference.first_offs,
        tuple(
            (
                station.id,
                station.kind,
                station.title,
                station.count,
                tuple((one.id, one.name, one.running, one.pieces, one.pieces_out) for one in station.changes),
                tuple((one.id, one.name) for one in station.gauges),
            )
            for station in difference.stations
        ),
    )


def _library(book: Book) -> Changeover:
    spec = book.only("changeover")
    if spec is None:
        raise NoPlan("changeover.yaml is missing or has errors")
    library: Changeover = spec.record
    return library


def _crew(library: Changeover, ident: str) -> Crew:
    crews = {one.id: one for one in library.crews}
    if ident in crews:
        return crews[ident]
    near = get_close_matches(ident, crews, n=1)
    hint = f"did you mean {near[0]}?" if near else f"known: {', '.join(crews) or 'none'}"
    raise NoPlan(f"crew {ident} is not in changeover.yaml; {hint}")


def latest(plan: Plan) -> dict[str, int]:
    """By when each task before the stop must be done.

    Returns:
        For each, the least time between its end and the stop [s].
    """
    return {slot.id: plan.before.length - slot.end - slot.slack for slot in plan.before.slots}


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
    """A differing value without a part or setting, in one line."""
    values = f"{one.old} for {difference.old} and {one.new} for {difference.new}"
    return (
        f"{one.key} is {values}, and no part or setting on {difference.line} changes it [changeover.orphan]"
    )


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
    """The default crew of a line: its first.

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
    """The changeovers of a line with one crew; a pair of formats always has the same plan.

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
        known = like.planner if like else None
        same = known is not None and (known.crew.id, known.effort) == (crew, effort)
        self.planner: Planner = known if known and same else Planner(book, crew, effort=effort, like=known)
        self._differences: dict[tuple[str, str], Difference] = like._differences if like else {}

    def difference(self, old: str, new: str) -> Difference:
        """What differs between two formats on the line.

        Raises:
            NoDifference: if the formats cannot be compared.
        """
        if (old, new) not in self._differences:
            self._differences[old, new] = self.on_line.difference(old, new)
        return self._differences[old, new]

    def solve(self, pairs: Iterable[tuple[str, str]]) -> None:
        """Make or read all schedules of some pairs, on all cores.

        Raises:
            NoDifference: if formats cannot be compared.
        """
        self.planner.solve(self.difference(*pair) for pair in pairs)

    def stop(self, old: str, new: str) -> Stop:
        """How long the line is down; where it cannot be changed over so, why.

        Raises:
            NoDifference: if the formats cannot be compared.
        """
        return self.planner.stop(self.difference(old, new))

    def matrix(self) -> Matrix:
        """The stop of every ordered pair of the line's formats."""
        idents = tuple(self.on_line.formats())
        stops = {pair: self.stop(*pair) for pair in permutations(idents, 2)}
        return Matrix(self.on_line.line.id, self.planner.crew.id, idents, stops, self.planner.solved)

    def keep(self) -> None:
        """Plan every pair of the line's formats, and write the plans to the file of the book.

        Raises:
            BadPlans: if the file cannot be written.
        """
        self.solve(permutations(self.on_line.formats(), 2))
        self.planner.keep()

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
        rolling = one_at_a_time(plan, self.on_line.line.record)
        times = durations(plan, stop, recorded, self._back(old, new), rolling)
        return PlannedChangeover(plan, crew, stop, recorded, times)

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
