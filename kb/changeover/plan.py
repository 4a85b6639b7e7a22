"""Who does what when in one changeover, and how long the line stands for every pair of formats.

What can be done while the line runs is scheduled apart and ends where the stop begins; what is left for
after the stop likewise begins where it ends. Many pairs call for the same works; those are solved once.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches

from kb.book.load import Book
from kb.book.records_floor import Changeover, Crew
from kb.changeover.model import Difference, Plan, Task
from kb.changeover.spread import spread_of_stop
from kb.changeover.work import Part, activities_of, rooms_of, tasks_of
from kb.scheduling.activities import Activity, NoPlan, Operator, Schedule
from kb.scheduling.kept import kept_schedule
from kb.scheduling.plan import EFFORT
from kb.scheduling.simulation import DurationStats


@dataclass(frozen=True, slots=True)
class Stop:
    """How long the line stands from one format to another.

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


class Planner:
    """Plans changeovers of a book with one crew; what comes again is not worked out again.

    Args:
        book: a loaded book.
        crew: id of the crew.
        effort: how much the solver may do for each part of a changeover.

    Raises:
        NoPlan: if the book does not say how it changes over, or has no such crew.
    """

    def __init__(self, book: Book, crew: str, *, effort: float = EFFORT) -> None:
        self.library = _library(book)
        self.crew = _crew(self.library, crew)
        self.operators = tuple(Operator(one.id, frozenset(one.skills)) for one in self.crew.members)
        self.equipment = {one.id: one.count for one in self.library.equipment}
        self.effort = effort
        self._solved: dict[tuple[object, ...], Schedule] = {}
        self._tasks: dict[Hashable, dict[str, Task]] = {}
        self._schedules: dict[Hashable, Schedule] = {}
        self._spreads: dict[Hashable, DurationStats] = {}

    @property
    def solved(self) -> int:
        """How many schedules were made."""
        return len(self._solved)

    def plan(self, difference: Difference) -> Plan:
        """Who does what when.

        Raises:
            NoPlan: if the line cannot run the format that comes, or the crew cannot do the work.
        """
        tasks = self.tasks(difference)
        return Plan(
            difference=difference,
            crew=self.crew.id,
            operators=self.operators,
            equipment={**self.equipment, **rooms_of(tasks)},
            tasks=tasks,
            before=self._schedule(difference, "before"),
            stop=self._schedule(difference, "stop"),
            after=self._schedule(difference, "after"),
        )

    def spread(self, plan: Plan) -> DurationStats:
        """How the stop of a plan of this planner spreads."""
        key = _calls(plan.difference)
        if key not in self._spreads:
            self._spreads[key] = spread_of_stop(plan)
        return self._spreads[key]

    def stop(self, difference: Difference) -> Stop:
        """How long the line stands.

        Returns:
            The stop; where there can be none, why.
        """
        try:
            found = self._schedule(difference, "stop")
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
            self._tasks[key] = tasks_of(self.library.steps, difference, self.library.own_lock)
        return self._tasks[key]

    def _schedule(self, difference: Difference, part: Part) -> Schedule:
        tasks = self.tasks(difference)
        key = (part, _calls(difference))
        if key not in self._schedules:
            works = activities_of(tasks, part=part)
            looks = tuple(_looks(work) for work in works)
            if looks not in self._solved:
                means = {**self.equipment, **rooms_of(tasks)}
                self._solved[looks] = kept_schedule(works, self.operators, means, effort=self.effort)
            self._schedules[key] = self._solved[looks]
        return self._schedules[key]


def _calls(difference: Difference) -> Hashable:
    """What a difference calls steps by: equal for two pairs of formats that take the same tasks."""
    return bool(difference.moved), tuple(
        (
            station.id,
            station.kind,
            station.title,
            station.count,
            tuple((one.id, one.name) for one in station.changes),
            tuple((one.id, one.name) for one in station.gauges),
        )
        for station in difference.stations
    )


def _looks(work: Activity) -> tuple[object, ...]:
    uses = tuple(sorted(work.uses.items()))
    return (work.id, work.seconds, work.needs, work.people, work.skill, uses, work.entry, work.entry_seconds)


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
