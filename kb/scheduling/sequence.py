"""The order of batches on one line: on time first, then with the least time lost to setups.

A batch is late by the whole minutes that it ends after it is due. One minute of lateness, summed over all
batches, counts more than all the time that can be lost, because it is somebody's delivery. The line makes
nothing during a setup, and never waits.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from kb.scheduling.activities import NoPlan
from kb.scheduling.solver import searched, solver_module

EFFORT = 2.0
"""Limit of the solver, in its own deterministic measure (not seconds)."""

Stops = Mapping[tuple[str, str], int]
"""The setup from one product to another [s]; a pair that the line cannot run is not in it."""


@dataclass(frozen=True, slots=True)
class Batch:
    """A quantity of one product, made in one run.

    Attributes:
        number: its place in the order given, from 1.
        product: what is made.
        seconds: how long it takes.
        due: when it is due, from the start [s]; None where it may end at any time.
    """

    number: int
    product: str
    seconds: int
    due: int | None


@dataclass(frozen=True, slots=True)
class PlacedBatch:
    """A batch in its place; times count from the start [s].

    Attributes:
        batch: the batch.
        changeover: the setup before it.
        start: when it begins to run.
        end: when it is made.
        late: whole minutes after it is due.
    """

    batch: Batch
    changeover: int
    start: int
    end: int
    late: int


@dataclass(frozen=True, slots=True)
class Order:
    """Batches in an order.

    Attributes:
        placed: the batches one after the other.
        lost: all setups, with the one to what runs after them [s].
    """

    placed: tuple[PlacedBatch, ...]
    lost: int

    @property
    def lateness(self) -> int:
        """Minutes late, summed over the batches."""
        return sum(one.late for one in self.placed)

    @property
    def late(self) -> tuple[PlacedBatch, ...]:
        """The batches that end late."""
        return tuple(one for one in self.placed if one.late)


@dataclass(frozen=True, slots=True)
class OrderComparison:
    """The order given and the better one.

    Attributes:
        given: the order as given.
        best: the best found; the given one where none is better.
        proven: whether no order is better.
        method: `solver`, or `rule` where it was not searched.
    """

    given: Order
    best: Order
    proven: bool
    method: Literal["solver", "rule"]

    @property
    def saved(self) -> int:
        """Time lost in the order given minus that of the best [s]; negative if being on time costs more."""
        return self.given.lost - self.best.lost


def best_order(
    batches: Sequence[Batch], stops: Stops, *, running: str, then: str = "", effort: float = EFFORT
) -> OrderComparison:
    """The order of batches in which they are on time, if they can be, and the least time is lost.

    Args:
        batches: the batches in the order given.
        stops: setup of each pair of products [s].
        running: the product that runs before them.
        then: the product that runs after them, "" where that is open.
        effort: limit of the solver.

    Raises:
        NoPlan: if the order given cannot be run with these setups.
        NoSolver: if a search is needed and the solver is not installed.
    """
    line = _Line(stops, running, then)
    given = line.order(batches)
    start = min((_inserted(line, batches), list(batches)), key=line.worth)
    found = _exchanged(line, start)
    solved = _solved(line, found, effort) if effort > 0 and len(batches) > 1 else None
    if solved is None:
        best = line.order(found)
        proven = len(batches) < 2 or _worth(best) == (0, 0)
        return OrderComparison(given, best, proven, "rule")
    best = min(line.order(solved[0]), line.order(found), key=_worth)
    return OrderComparison(given, best, solved[1], "solver")


def _worth(order: Order) -> tuple[float, float]:
    return order.lateness, order.lost


@dataclass(frozen=True, slots=True)
class _Line:
    """The line, with what runs before and after the batches."""

    stops: Stops
    running: str
    then: str

    def stop(self, old: str, new: str) -> int:
        if old == new:
            return 0
        if (old, new) not in self.stops:
            raise NoPlan(f"no changeover is known from {old} to {new}")
        return self.stops[old, new]

    def worth(self, batches: Sequence[Batch]) -> tuple[float, float]:
        """Minutes late, then seconds lost: what an order is measured by; endless if it cannot be run."""
        try:
            return _worth(self.order(batches))
        except NoPlan:
            return math.inf, math.inf

    def order(self, batches: Sequence[Batch]) -> Order:
        placed = []
        clock, lost, runs = 0, 0, self.running
        for batch in batches:
            stop = self.stop(runs, batch.product)
            start, runs = clock + stop, batch.product
            clock, lost = start + batch.seconds, lost + stop
            placed.append(PlacedBatch(batch, stop, start, clock, _late(clock, batch.due)))
        if self.then:
            lost += self.stop(runs, self.then)
        return Order(tuple(placed), lost)


def _late(end: int, due: int | None) -> int:
    return 0 if due is None else max(0, -(-(end - due) // 60))


# --- a first order ------------------------------------------------------------------------------


def _inserted(line: _Line, batches: Sequence[Batch]) -> list[Batch]:
    """Batches inserted one by one, those due first before the others, each where it costs least."""
    found: list[Batch] = []
    for batch in sorted(batches, key=lambda one: (one.due is None, one.due or 0, one.number)):
        places = [[*found[:i], batch, *found[i:]] for i in range(len(found) + 1)]
        found = min(places, key=line.worth)
    return found


def _exchanged(line: _Line, batches: Sequence[Batch]) -> list[Batch]:
    """An order improved by reversing and moving parts of it, until neither helps."""
    best = list(batches)
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


def _neighbours(batches: list[Batch]) -> list[list[Batch]]:
    count = len(batches)
    found = []
    for i in range(count):
        for k in range(i + 1, count):
            found.append([*batches[:i], *reversed(batches[i : k + 1]), *batches[k + 1 :]])
    for i in range(count):
        for k in range(i + 1, min(i + 4, count) + 1):
            rest = [*batches[:i], *batches[k:]]
            found += [[*rest[:at], *batches[i:k], *rest[at:]] for at in range(len(rest) + 1) if at != i]
    return found


# --- with the solver --------------------------------------------------------------------------


def _solved(line: _Line, batches: Sequence[Batch], effort: float) -> tuple[list[Batch], bool]:
    """An order no worse than the one given, and whether none is better."""
    cp_model = solver_module()
    made = _Circuit(cp_model.CpModel(), line, batches)
    solver = cp_model.CpSolver()
    solver.parameters.random_seed = 1
    solver.parameters.num_workers = 1
    solver.parameters.interleave_search = True
    solver.parameters.max_deterministic_time = effort
    status = searched(solver, made.model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return list(batches), False
    follows = {i: k for (i, k), arc in made.arcs.items() if solver.boolean_value(arc)}
    found = []
    at = follows[0]
    while at:
        found.append(batches[at - 1])
        at = follows[at]
    return found, status == cp_model.OPTIMAL


class _Circuit:
    """All orders as circuits: from what is running, node 0, through every batch and back."""

    def __init__(self, model: Any, line: _Line, batches: Sequence[Batch]) -> None:
        self.model = model
        stops = _between(line, batches)
        count = len(batches) + 1
        self.arcs = {
            (i, k): model.new_bool_var(f"{i} to {k}")
            for i in range(count)
            for k in range(count)
            if i != k and stops[i][k] is not None
        }
        model.add_circuit([(i, k, arc) for (i, k), arc in self.arcs.items()])
        lost = sum((stops[i][k] or 0) * arc for (i, k), arc in self.arcs.items())
        most = sum(max((one for one in row if one is not None), default=0) for row in stops)
        late = self._lateness(batches, stops, most)
        # a minute late weighs more than any time that can be lost
        model.minimize(lost + (most + 1) * sum(late))
        self._like(batches)
        for i, k in self.arcs:
            model.add_hint(self.arcs[i, k], k == (i + 1) % count)

    def _lateness(
        self, batches: Sequence[Batch], stops: Sequence[Sequence[int | None]], most: int
    ) -> list[Any]:
        """Minutes late of each batch that is due."""
        if all(batch.due is None for batch in batches):
            return []
        total = sum(batch.seconds for batch in batches) + most
        ends = [self.model.new_int_var(batch.seconds, total, f"end {batch.number}") for batch in batches]
        for (i, k), arc in self.arcs.items():
            if k:
                before = ends[i - 1] if i else 0
                self.model.add(
                    ends[k - 1] >= before + (stops[i][k] or 0) + batches[k - 1].seconds
                ).only_enforce_if(arc)
        late = []
        for batch, end in zip(batches, ends, strict=True):
            if batch.due is not None:
                minutes = self.model.new_int_var(
                    0, max(0, -(-(total - batch.due) // 60)), f"late {batch.number}"
                )
                self.model.add(60 * minutes >= end - batch.due)
                late.append(minutes)
        spans = [
            self.model.new_fixed_size_interval_var(end - batch.seconds, batch.seconds, f"run {batch.number}")
            for batch, end in zip(batches, ends, strict=True)
        ]
        self.model.add_no_overlap(spans)
        return late

    def _like(self, batches: Sequence[Batch]) -> None:
        """Batches of one product, one straight after the other, go in the order in which they are due."""
        for i, one in enumerate(batches, start=1):
            for k, other in enumerate(batches, start=1):
                later = _due(one) > _due(other) or (_due(one) == _due(other) and i > k)
                alike = one.product == other.product and one.seconds == other.seconds
                if i != k and alike and later and (i, k) in self.arcs:
                    self.model.add(self.arcs[i, k] == 0)


def _due(batch: Batch) -> float:
    return math.inf if batch.due is None else batch.due


def _between(line: _Line, batches: Sequence[Batch]) -> list[list[int | None]]:
    """Setups by node; None where the line cannot run the pair."""
    products = [line.running, *(batch.product for batch in batches)]
    rows: list[list[int | None]] = []
    for old in products:
        row = [0 if old == new else line.stops.get((old, new)) for new in products[1:]]
        back = 0 if not line.then or old == line.then else line.stops.get((old, line.then))
        rows.append([back, *row])
    return rows
