"""The order of batches on one line: on time first, then with the least time lost to setups and waiting.

A batch is late by the whole minutes that it ends after it is due. One minute of lateness, summed over all
batches, counts more than all the time that can be lost, because it is somebody's delivery. The line makes
nothing during a setup, and waits only for a batch that cannot begin yet, and for the work beside the setups:
what one leaves for after it and what the next needs before it are done while the line runs.
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import permutations
from pathlib import Path
from typing import Any, Literal

from kb.cache import cache_folder, digest, keep_entry, made_by, read_entry
from kb.scheduling.activities import NoPlan
from kb.scheduling.solver import searched, solver_module

EFFORT = 2.0
"""Limit of the solver, in its own deterministic measure (not seconds)."""

BY_CLOCK = 0.2
"""Limit of the solver with periods, as a ratio of the effort: there it proves only short rows of batches."""

SHAKES = 60, 12
"""How often an order that is not proven is shaken for a better one: with the usual effort, and with less."""

Stops = Mapping[tuple[str, str], int]
"""The setup from one product to another [s]; a pair that the line cannot run is not in it."""

Beside = Mapping[tuple[str, str], tuple[int, int]]
"""What the setup from one product to another needs before it, and leaves for after it [s]."""


@dataclass(frozen=True, slots=True)
class Period:
    """A time in which setups that begin in it take times of their own.

    Attributes:
        begin: when it begins, from the start [s].
        end: when it has ended, from the start [s].
        stops: setup of each pair of products [s].
    """

    begin: int
    end: int
    stops: Stops


@dataclass(frozen=True, slots=True)
class Batch:
    """A quantity of one product, made in one run.

    Attributes:
        number: its place in the order given, from 1.
        product: what is made.
        seconds: how long it takes.
        due: when it is due, from the start [s]; None where it may end at any time.
        ready: before this it cannot begin, from the start [s].
    """

    number: int
    product: str
    seconds: int
    due: int | None
    ready: int = 0


@dataclass(frozen=True, slots=True)
class PlacedBatch:
    """A batch in its place; times count from the start [s].

    Attributes:
        batch: the batch.
        changeover: the setup before it.
        start: when it begins to run.
        end: when it is made.
        late: whole minutes after it is due.
        wait: how long the line waits for it after the setup [s].
        held: how long the line waits before the setup for the work beside the setups [s].
    """

    batch: Batch
    changeover: int
    start: int
    end: int
    late: int
    wait: int = 0
    held: int = 0


@dataclass(frozen=True, slots=True)
class Order:
    """Batches in an order.

    Attributes:
        placed: the batches one after the other.
        lost: all setups, with the one to what runs after them, and all waiting [s].
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
    batches: Sequence[Batch],
    stops: Stops,
    *,
    running: str,
    then: str = "",
    frozen: int = 0,
    allowed: int = 0,
    shifts: Sequence[Period] = (),
    beside: Beside | None = None,
    effort: float = EFFORT,
) -> OrderComparison:
    """The order of batches in which they are on time, if they can be, and the least time is lost.

    Args:
        batches: the batches in the order given.
        stops: setup of each pair of products [s].
        running: the product that runs before them.
        then: the product that runs after them, "" where that is open.
        frozen: how many of the first batches keep their places.
        allowed: minutes late, summed, that do not count.
        shifts: times with setups of their own, apart from each other.
        beside: work before and after each setup; the same people do it, one setup's after the other's.
        effort: limit of the solver.

    Raises:
        NoPlan: if the order given cannot be run with these setups.
        NoSolver: if a search is needed and the solver is not installed.
    """
    line = _Line(stops, running, then, min(frozen, len(batches)), allowed, tuple(shifts), beside or {})
    given = line.order(batches)
    start = min((_inserted(line, batches), list(batches)), key=line.worth)
    found = _exchanged(line, start)
    free = len(batches) - line.frozen
    solved = _kept(line, found, effort) if effort > 0 and free > 1 else None
    if solved is None:
        best = line.order(found)
        proven = free < 2 or line.worth(found) == (0, 0)
        return OrderComparison(given, best, proven, "rule")
    best = line.order(min(solved[0], found, key=line.worth))
    return OrderComparison(given, best, solved[1], "solver")


@dataclass(frozen=True, slots=True)
class _Line:
    """The line, with what runs before and after the batches, and what counts."""

    stops: Stops
    running: str
    then: str
    frozen: int
    allowed: int

    shifts: tuple[Period, ...]
    beside: Beside

    @property
    def tables(self) -> list[tuple[Stops, list[tuple[int, int]]]]:
        """The setups outside all shifts, then each other table of setups with the times of its shifts."""
        found: list[tuple[Stops, list[tuple[int, int]]]] = [(self.stops, [])]
        for one in self.shifts:
            spans = next((spans for stops, spans in found[1:] if stops is one.stops), None)
            if spans is None:
                found.append((one.stops, spans := []))
            spans.append((one.begin, one.end))
        return found

    def stop(self, old: str, new: str, begin: int) -> int:
        if old == new:
            return 0
        stops = next((one.stops for one in self.shifts if one.begin <= begin < one.end), self.stops)
        if (old, new) not in stops:
            raise NoPlan(f"no changeover is known from {old} to {new}")
        return stops[old, new]

    def worth(self, batches: Sequence[Batch]) -> tuple[float, float]:
        """Minutes late beyond those allowed, then seconds lost; endless if it cannot be run."""
        try:
            order = self.order(batches)
        except NoPlan:
            return math.inf, math.inf
        return max(0, order.lateness - self.allowed), order.lost

    def order(self, batches: Sequence[Batch]) -> Order:
        placed = []
        clock, lost, runs = 0, 0, self.running
        free = -math.inf  # when those who work beside the line are free for the next setup
        for batch in batches:
            before, after = self.beside.get((runs, batch.product), (0, 0))
            changes = batch.product != runs
            held = int(max(0, free + before - clock)) if changes else 0
            stop = self.stop(runs, batch.product, clock + held)
            wait, runs = max(0, batch.ready - clock - held - stop), batch.product
            start = clock + held + stop + wait
            clock, lost = start + batch.seconds, lost + held + stop + wait
            free = start + after if changes else free
            placed.append(PlacedBatch(batch, stop, start, clock, _late(clock, batch.due), wait, held))
        if self.then:
            lost += self.stop(runs, self.then, clock)
        return Order(tuple(placed), lost)


def _late(end: int, due: int | None) -> int:
    return 0 if due is None else max(0, -(-(end - due) // 60))


# --- a first order ------------------------------------------------------------------------------


def _inserted(line: _Line, batches: Sequence[Batch]) -> list[Batch]:
    """Batches inserted one by one, those due first before the others, each where it costs least."""
    found = list(batches[: line.frozen])
    free = batches[line.frozen :]
    for batch in sorted(free, key=lambda one: (one.due is None, one.due or 0, one.number)):
        places = [[*found[:i], batch, *found[i:]] for i in range(line.frozen, len(found) + 1)]
        found = min(places, key=line.worth)
    return found


def _exchanged(line: _Line, batches: Sequence[Batch]) -> list[Batch]:
    """An order improved by reversing and moving parts of it, until neither helps."""
    best = list(batches)
    worth = line.worth(best)
    better = True
    while better:
        better = False
        for rest in _neighbours(best[line.frozen :]):
            other = [*best[: line.frozen], *rest]
            value = line.worth(other)
            if value < worth:
                best, worth, better = other, value, True
                break
    return best


def _shaken(line: _Line, batches: Sequence[Batch], times: int) -> list[Batch]:
    """An order no worse than the one given: the best is cut into parts, exchanged and improved again."""
    best, chance = list(batches), random.Random(1)
    if len(best) - line.frozen < 3:
        return best
    for _ in range(times):
        rest = best[line.frozen :]
        i, k, after = sorted(chance.sample(range(len(rest) + 1), 3))
        rest = [*rest[:i], *rest[k:after], *rest[i:k], *rest[after:]]
        i, k = chance.sample(range(len(rest)), 2)
        rest[i], rest[k] = rest[k], rest[i]
        best = min(best, _exchanged(line, [*best[: line.frozen], *rest]), key=line.worth)
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


def _kept(line: _Line, batches: Sequence[Batch], effort: float) -> tuple[list[Batch], bool]:
    """What the solver finds; kept in the user's cache folder, so that it searches once."""
    asked = [[one.product, one.seconds, one.due, one.ready] for one in batches]
    tables = [[_between(line, batches, stops), spans] for stops, spans in line.tables]
    rest = [tables, _holds(line, batches), line.frozen, line.allowed, effort]
    made = made_by([Path(__file__)], ("ortools",))
    folder, name = cache_folder("orders"), digest([made, asked, rest])
    kept = read_entry(folder, name)
    if isinstance(kept, dict) and sorted(kept["order"]) == list(range(len(batches))):
        return [batches[at] for at in kept["order"]], kept["proven"] is True
    found, proven = _solved(line, batches, effort * (BY_CLOCK if line.shifts else 1))
    found = found if proven else _shaken(line, found, SHAKES[effort < EFFORT])
    keep_entry(folder, name, {"order": [batches.index(one) for one in found], "proven": proven})
    return found, proven


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
    late, lost = line.worth(found)
    exact = round(solver.objective_value) == lost + made.minute * late
    return found, status == cp_model.OPTIMAL and exact


class _Circuit:
    """All orders as circuits: from what is running, node 0, through every batch and back."""

    def __init__(self, model: Any, line: _Line, batches: Sequence[Batch]) -> None:
        self.model = model
        tables = [_between(line, batches, stops) for stops, _ in line.tables]
        stops, count = tables[0], len(batches) + 1
        self.arcs = {
            (i, k): model.new_bool_var(f"{i} to {k}")
            for i in range(count)
            for k in range(count)
            if i != k and any(table[i][k] is not None for table in tables)
        }
        model.add_circuit([(i, k, arc) for (i, k), arc in self.arcs.items()])
        after = sum((stops[i][0] or 0) * arc for (i, k), arc in self.arcs.items() if not k)
        holds = _holds(line, batches)
        most = sum(max(one or 0 for table in tables for one in table[i]) for i in range(count))
        most += max((batch.ready for batch in batches), default=0) + sum(excess for *_, excess in holds)
        timed = any(batch.due is not None or batch.ready for batch in batches)
        if line.shifts or holds:
            ends, between = self._by_clock(line, batches, tables, holds, most)
        else:
            between = sum((stops[i][k] or 0) * arc for (i, k), arc in self.arcs.items() if k)
            ends = self._ends(batches, stops, most) if timed else []
        lost = between + after + self._waiting(batches, ends, between, most)
        # a minute late weighs more than any time that can be lost
        self.minute = most + 1
        model.minimize(lost + self.minute * self._late(batches, ends, line.allowed, most))
        self._like(batches, line.frozen)
        for k in range(line.frozen):
            model.add(self.arcs[k, k + 1] == 1)
        for i, k in self.arcs:
            model.add_hint(self.arcs[i, k], k == (i + 1) % count)

    def _ends(self, batches: Sequence[Batch], stops: Sequence[Sequence[int | None]], most: int) -> list[Any]:
        """When each batch ends."""
        total = sum(batch.seconds for batch in batches) + most
        ends = [
            self.model.new_int_var(one.ready + one.seconds, total, f"end {one.number}") for one in batches
        ]
        for (i, k), arc in self.arcs.items():
            if k:
                before = ends[i - 1] if i else 0
                self.model.add(
                    ends[k - 1] >= before + (stops[i][k] or 0) + batches[k - 1].seconds
                ).only_enforce_if(arc)
        spans = [
            self.model.new_fixed_size_interval_var(end - one.seconds, one.seconds, f"run {one.number}")
            for one, end in zip(batches, ends, strict=True)
        ]
        self.model.add_no_overlap(spans)
        return ends

    def _by_clock(
        self,
        line: _Line,
        batches: Sequence[Batch],
        tables: Sequence[Sequence[Sequence[int | None]]],
        holds: Sequence[Hold],
        most: int,
    ) -> tuple[list[Any], Any]:
        """When each batch ends, and all setups. A setup begins as soon as it can, in some shift."""
        model, total = self.model, sum(batch.seconds for batch in batches) + most
        held = self._held(holds, len(batches))
        ends = [model.new_int_var(0, total, f"end {one.number}") for one in batches]
        setups = []
        hours = _hours(line, total)
        for k, (batch, placed) in enumerate(zip(batches, line.order(batches).placed, strict=True), start=1):
            begin, setup = model.new_int_var(0, total, ""), model.new_int_var(0, most, "")
            on = [model.new_bool_var("") for _ in tables]
            model.add_exactly_one(on)
            for here, during in zip(on, hours, strict=True):
                model.add_linear_expression_in_domain(begin, during).only_enforce_if(here)
            for i in (i for i, to in self.arcs if to == k):
                before = ends[i - 1] if i else 0
                model.add(begin == before + held[k - 1]).only_enforce_if(self.arcs[i, k])
                for here, table in zip(on, tables, strict=True):
                    if table[i][k] is None:
                        model.add_bool_or([self.arcs[i, k].negated(), here.negated()])
                    else:
                        model.add(setup == table[i][k]).only_enforce_if([self.arcs[i, k], here])
            model.add_max_equality(ends[k - 1] - batch.seconds, [begin + setup, batch.ready])
            began = placed.start - placed.wait - placed.changeover
            for one, known in ((begin, began), (setup, placed.changeover), (ends[k - 1], placed.end)):
                model.add_hint(one, known)
            for here, during in zip(on, hours, strict=True):
                model.add_hint(here, during.contains(began))
            setups.append(setup)
        return ends, sum(setups)

    def _held(self, holds: Sequence[Hold], count: int) -> list[Any]:
        """How long the line waits before the setup of each batch."""
        found: list[Any] = [0] * count
        for i, k, then, excess in holds:
            if (i, k) in self.arcs and (k, then) in self.arcs:
                both = self.model.new_bool_var("")
                first, second = self.arcs[i, k], self.arcs[k, then]
                self.model.add_implication(both, first)
                self.model.add_implication(both, second)
                self.model.add_bool_or([both, first.negated(), second.negated()])
                found[then - 1] += excess * both
        return found

    def _waiting(self, batches: Sequence[Batch], ends: Sequence[Any], between: Any, most: int) -> Any:
        """How long the line waits: the time until the last batch ends, less all batches and setups."""
        if not ends:
            return 0
        total = sum(batch.seconds for batch in batches)
        waiting = self.model.new_int_var(0, most, "waiting")
        for end in ends:
            self.model.add(waiting >= end - total - between)
        return waiting

    def _late(self, batches: Sequence[Batch], ends: Sequence[Any], allowed: int, most: int) -> Any:
        """Minutes late, summed, beyond those allowed."""
        late, longest = [], list[int]()
        last = sum(batch.seconds for batch in batches) + most
        for batch, end in zip(batches, ends, strict=bool(ends)):
            if batch.due is not None:
                longest.append(_late(last, batch.due))
                minutes = self.model.new_int_var(0, longest[-1], f"late {batch.number}")
                self.model.add(60 * minutes >= end - batch.due)
                late.append(minutes)
        if not allowed or not late:
            return sum(late)
        beyond = self.model.new_int_var(0, sum(longest), "beyond")
        self.model.add(beyond >= sum(late) - allowed)
        return beyond

    def _like(self, batches: Sequence[Batch], frozen: int) -> None:
        """Batches of one product, one straight after the other, go in the order in which they are due."""
        for i, one in enumerate(batches, start=1):
            for k, other in enumerate(batches, start=1):
                later = _due(one) > _due(other) or (_due(one) == _due(other) and i > k)
                alike = (one.product, one.seconds, one.ready) == (other.product, other.seconds, other.ready)
                if i != k and min(i, k) > frozen and alike and later and (i, k) in self.arcs:
                    self.model.add(self.arcs[i, k] == 0)


def _due(batch: Batch) -> float:
    return math.inf if batch.due is None else batch.due


Hold = tuple[int, int, int, int]
"""Three nodes one after the other, and by how much the batch of the second is too short [s]."""


def _holds(line: _Line, batches: Sequence[Batch]) -> list[Hold]:
    """Where the work after one setup and that before the next do not fit into a batch."""
    products = [line.running, *(batch.product for batch in batches)]
    found = []
    for i, k, then in permutations(range(len(products)), 3):
        if k and then and products[i] != products[k] != products[then]:
            _, after = line.beside.get((products[i], products[k]), (0, 0))
            before, _ = line.beside.get((products[k], products[then]), (0, 0))
            if (excess := after + before - batches[k - 1].seconds) > 0:
                found.append((i, k, then, excess))
    return found


def _hours(line: _Line, total: int) -> list[Any]:
    """When setups of each table begin: those outside all shifts, then those of each other table."""
    domain = solver_module().Domain
    found, outside = [], domain(0, total)
    for _, spans in line.tables[1:]:
        during = domain.from_intervals([[begin, end - 1] for begin, end in spans if begin < end])
        found.append(during)
        outside = outside.intersection_with(during.complement())
    return [outside, *found]


def _between(line: _Line, batches: Sequence[Batch], stops: Stops) -> list[list[int | None]]:
    """Setups by node; None where the line cannot run the pair."""
    products = [line.running, *(batch.product for batch in batches)]
    rows: list[list[int | None]] = []
    for old in products:
        row = [0 if old == new else stops.get((old, new)) for new in products[1:]]
        back = 0 if not line.then or old == line.then else stops.get((old, line.then))
        rows.append([back, *row])
    return rows
