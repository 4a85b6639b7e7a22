"""The order of a week's runs: on time first, then with the least time lost to changeovers.

A run ends when its cans are made; it is late by the whole minutes that it ends after it is due. One minute of
lateness, summed over all runs, counts more than all the time that can be lost, because it is somebody's
delivery. Nothing is made while the line changes over, and the line never waits.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from kb.book.records_changeover import Week
from kb.changeover.model import NoPlan
from kb.changeover.search import searched, solver_module

EFFORT = 2.0
"""How much the solver may do, in its own measure, which is not the clock."""

Stops = Mapping[tuple[str, str], int]
"""The stop from one format to another [s]; a pair that the line cannot change over is left out."""


@dataclass(frozen=True, slots=True)
class Job:
    """A run of one format.

    Attributes:
        number: its place in the order given, from 1.
        format: what is run.
        seconds: how long it takes.
        due: when it is due, from the start of the week [s]; none where it may end at any time.
    """

    number: int
    format: str
    seconds: int
    due: int | None


@dataclass(frozen=True, slots=True)
class Placed:
    """A run in its place; times count from the start of the week [s].

    Attributes:
        job: the run.
        changeover: the stop before it.
        start: when it begins to run.
        end: when its cans are made.
        late: whole minutes after it is due.
    """

    job: Job
    changeover: int
    start: int
    end: int
    late: int


@dataclass(frozen=True, slots=True)
class Order:
    """Runs in an order.

    Attributes:
        placed: the runs one after the other.
        lost: all stops, with the one that leads to what runs after them [s].
    """

    placed: tuple[Placed, ...]
    lost: int

    @property
    def lateness(self) -> int:
        """Minutes late, summed over the runs."""
        return sum(one.late for one in self.placed)

    @property
    def late(self) -> tuple[Placed, ...]:
        """The runs that end late."""
        return tuple(one for one in self.placed if one.late)


@dataclass(frozen=True, slots=True)
class WeekOrder:
    """The order given and the better one.

    Attributes:
        given: the order as given.
        best: the best found; the given one where none is better.
        proven: whether no order is better.
        method: `solver`, or `rule` where no solver is installed.
    """

    given: Order
    best: Order
    proven: bool
    method: Literal["solver", "rule"]

    @property
    def saved(self) -> int:
        """Time lost less than in the order given [s]; below nothing where more is lost to be on time."""
        return self.given.lost - self.best.lost


def order_of_week(week: Week, stops: Stops, *, then: str = "", effort: float = EFFORT) -> WeekOrder:
    """The order of a week's runs in which they are on time, if they can be, and the least time is lost.

    Args:
        week: runs, rate, start and what is running.
        stops: stop of each pair of formats [s].
        then: what runs after the week; nothing where that is open.
        effort: how much the solver may do.

    Returns:
        Both orders.

    Raises:
        NoPlan: if no order is possible with these stops.
    """
    start = datetime.datetime.fromisoformat(week.start)
    jobs = [
        Job(
            number,
            run.format,
            math.ceil(run.cans / float(week.rate) * 60),
            round((datetime.datetime.fromisoformat(run.due) - start).total_seconds()),
        )
        for number, run in enumerate(week.runs, start=1)
    ]
    return best_order(jobs, stops, running=week.running, then=then, effort=effort)


def best_order(
    jobs: Sequence[Job], stops: Stops, *, running: str, then: str = "", effort: float = EFFORT
) -> WeekOrder:
    """The order of runs in which they are on time, if they can be, and the least time is lost.

    Args:
        jobs: the runs in the order given.
        stops: stop of each pair of formats [s].
        running: what runs before them.
        then: what runs after them; nothing where that is open.
        effort: how much the solver may do.

    Returns:
        Both orders.

    Raises:
        NoPlan: if the order given cannot be run with these stops.
    """
    line = _Line(stops, running, then)
    given = line.order(jobs)
    start = min((_inserted(line, jobs), list(jobs)), key=line.worth)
    found = _exchanged(line, start)
    solved = _solved(line, found, effort) if effort > 0 and len(jobs) > 1 else None
    if solved is None:
        best = line.order(found)
        proven = len(jobs) < 2 or _worth(best) == (0, 0)
        return WeekOrder(given, best, proven, "rule")
    best = min(line.order(solved[0]), line.order(found), key=_worth)
    return WeekOrder(given, best, solved[1], "solver")


def _worth(order: Order) -> tuple[float, float]:
    return order.lateness, order.lost


@dataclass(frozen=True, slots=True)
class _Line:
    """What the line takes from one run to the next."""

    stops: Stops
    running: str
    then: str

    def stop(self, old: str, new: str) -> int:
        if old == new:
            return 0
        if (old, new) not in self.stops:
            raise NoPlan(f"no changeover is known from {old} to {new}")
        return self.stops[old, new]

    def worth(self, jobs: Sequence[Job]) -> tuple[float, float]:
        """Minutes late, then seconds lost: what an order is measured by; endless if it cannot be run."""
        try:
            return _worth(self.order(jobs))
        except NoPlan:
            return math.inf, math.inf

    def order(self, jobs: Sequence[Job]) -> Order:
        placed = []
        clock, lost, runs = 0, 0, self.running
        for job in jobs:
            stop = self.stop(runs, job.format)
            start, runs = clock + stop, job.format
            clock, lost = start + job.seconds, lost + stop
            placed.append(Placed(job, stop, start, clock, _late(clock, job.due)))
        if self.then:
            lost += self.stop(runs, self.then)
        return Order(tuple(placed), lost)


def _late(end: int, due: int | None) -> int:
    return 0 if due is None else max(0, -(-(end - due) // 60))


# --- without a solver -------------------------------------------------------------------------


def _inserted(line: _Line, jobs: Sequence[Job]) -> list[Job]:
    """Runs put in one by one, those due first before the others, each where it does the least harm."""
    found: list[Job] = []
    for job in sorted(jobs, key=lambda one: (one.due is None, one.due or 0, one.number)):
        places = [[*found[:i], job, *found[i:]] for i in range(len(found) + 1)]
        found = min(places, key=line.worth)
    return found


def _exchanged(line: _Line, jobs: Sequence[Job]) -> list[Job]:
    """An order made better by turning stretches round and moving stretches, until neither helps."""
    best = list(jobs)
    worth = line.worth(best)
    better = True
    while better:
        better = False
        for other in _neighbours(best):
            value = line.worth(other)
            if value < worth:
                best, worth, better = other, value, True
                break
    return best


def _neighbours(jobs: list[Job]) -> list[list[Job]]:
    count = len(jobs)
    found = []
    for i in range(count):
        for k in range(i + 1, count):
            found.append([*jobs[:i], *reversed(jobs[i : k + 1]), *jobs[k + 1 :]])
    for i in range(count):
        for k in range(i + 1, min(i + 4, count) + 1):
            rest = [*jobs[:i], *jobs[k:]]
            found += [[*rest[:at], *jobs[i:k], *rest[at:]] for at in range(len(rest) + 1) if at != i]
    return found


# --- with the solver --------------------------------------------------------------------------


def _solved(line: _Line, jobs: Sequence[Job], effort: float) -> tuple[list[Job], bool] | None:
    """An order no worse than the one given, and whether none is better; nothing where there is no solver."""
    cp_model = solver_module()
    if cp_model is None:
        return None
    made = _Circuit(cp_model.CpModel(), line, jobs)
    solver = cp_model.CpSolver()
    solver.parameters.random_seed = 1
    solver.parameters.num_workers = 1
    solver.parameters.interleave_search = True
    solver.parameters.max_deterministic_time = effort
    status = searched(solver, made.model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return list(jobs), False
    follows = {i: k for (i, k), arc in made.arcs.items() if solver.boolean_value(arc)}
    found = []
    at = follows[0]
    while at:
        found.append(jobs[at - 1])
        at = follows[at]
    return found, status == cp_model.OPTIMAL


class _Circuit:
    """All orders as ways round: from what is running, node 0, through every run and back."""

    def __init__(self, model: Any, line: _Line, jobs: Sequence[Job]) -> None:
        self.model = model
        stops = _between(line, jobs)
        count = len(jobs) + 1
        self.arcs = {
            (i, k): model.new_bool_var(f"{i} to {k}")
            for i in range(count)
            for k in range(count)
            if i != k and stops[i][k] is not None
        }
        model.add_circuit([(i, k, arc) for (i, k), arc in self.arcs.items()])
        lost = sum((stops[i][k] or 0) * arc for (i, k), arc in self.arcs.items())
        most = sum(max((one for one in row if one is not None), default=0) for row in stops)
        late = self._lateness(jobs, stops, most)
        # a minute late weighs more than any time that can be lost
        model.minimize(lost + (most + 1) * sum(late))
        self._like(jobs)
        for i, k in self.arcs:
            model.add_hint(self.arcs[i, k], k == (i + 1) % count)

    def _lateness(self, jobs: Sequence[Job], stops: Sequence[Sequence[int | None]], most: int) -> list[Any]:
        """Minutes late of each run that is due; the clock only runs along where some run is."""
        if all(job.due is None for job in jobs):
            return []
        total = sum(job.seconds for job in jobs) + most
        ends = [self.model.new_int_var(job.seconds, total, f"end {job.number}") for job in jobs]
        for (i, k), arc in self.arcs.items():
            if k:
                before = ends[i - 1] if i else 0
                self.model.add(
                    ends[k - 1] >= before + (stops[i][k] or 0) + jobs[k - 1].seconds
                ).only_enforce_if(arc)
        late = []
        for job, end in zip(jobs, ends, strict=True):
            if job.due is not None:
                minutes = self.model.new_int_var(0, max(0, -(-(total - job.due) // 60)), f"late {job.number}")
                self.model.add(60 * minutes >= end - job.due)
                late.append(minutes)
        spans = [
            self.model.new_fixed_size_interval_var(end - job.seconds, job.seconds, f"run {job.number}")
            for job, end in zip(jobs, ends, strict=True)
        ]
        self.model.add_no_overlap(spans)
        return late

    def _like(self, jobs: Sequence[Job]) -> None:
        """Runs of one format, straight after each other, go in the order in which they are due."""
        for i, one in enumerate(jobs, start=1):
            for k, other in enumerate(jobs, start=1):
                later = _due(one) > _due(other) or (_due(one) == _due(other) and i > k)
                alike = one.format == other.format and one.seconds == other.seconds
                if i != k and alike and later and (i, k) in self.arcs:
                    self.model.add(self.arcs[i, k] == 0)


def _due(job: Job) -> float:
    return math.inf if job.due is None else job.due


def _between(line: _Line, jobs: Sequence[Job]) -> list[list[int | None]]:
    """Stops by node; none where the line cannot change over so."""
    formats = [line.running, *(job.format for job in jobs)]
    rows: list[list[int | None]] = []
    for old in formats:
        row = [0 if old == new else line.stops.get((old, new)) for new in formats[1:]]
        back = 0 if not line.then or old == line.then else line.stops.get((old, line.then))
        rows.append([back, *row])
    return rows
