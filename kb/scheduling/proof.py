"""A higher lower bound: how short a schedule cannot be, shown by refuting one length after another.

The model has starts alone. It leaves out who does what, but no group of operators has more work at once than
the group can do, and no piece of equipment is used twice. What this model refutes, the whole problem refutes.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from kb.scheduling.activities import Network
from kb.scheduling.bounds import MOST_GROUPS, Bounds
from kb.scheduling.solver import searched, solver_module

QUESTIONS = 6
"""Most lengths that are tried."""

AT_ONCE = 4.0
"""Limit of the question whether the schedule is the shortest, as a ratio of the effort for any other."""

BUSY = 0.5
"""How busy a group of people is, as a ratio of the length, before the proof looks at it."""

FIRST_STEP = 4
"""How far above the bound the first length is, in units of time."""


def unit_of(net: Network) -> int:
    """The longest time of which all durations are multiples [s]."""
    seconds = (one for activity in net.activities for one in (activity.seconds, activity.entry_seconds))
    return math.gcd(*seconds) or 1


def raised_bound(net: Network, limits: Bounds, length: int, effort: float) -> int:
    """A bound that is at least as high as that of `limits`.

    Args:
        net: what is to be done.
        limits: its bounds from needs and workloads.
        length: length of a schedule that was found [s].
        effort: limit of the solver for each length that is tried, in its own deterministic measure.

    Returns:
        No schedule is shorter [s]; `length` where that is proven the shortest.

    Raises:
        NoSolver: if the solver is not installed.
    """
    unit = unit_of(net)
    bound, top, step = -(-limits.length // unit), length // unit, FIRST_STEP
    model = _Refutation(net, limits, unit)
    if bound < top and model.refutes(top - 1, AT_ONCE * effort):
        return length
    for _ in range(QUESTIONS):
        if bound >= top - 1:
            break
        tried = min(bound + step, top) - 1
        if model.refutes(tried, effort):
            bound = tried + 1
        else:
            top, step = tried, max(1, step // 2)
    return min(length, max(limits.length, unit * bound))


class _Refutation:
    """Asks whether the activities fit into a length."""

    def __init__(self, net: Network, limits: Bounds, unit: int) -> None:
        self.net, self.limits, self.unit = net, limits, unit
        self.loads = tuple(_telling(net, limits.length))

    def refutes(self, length: int, effort: float) -> bool:
        """Whether no schedule has at most this length, in units; not if the effort does not suffice."""
        cp_model = solver_module()
        model = cp_model.CpModel()
        starts, spans = [], []
        lasting = [seconds // self.unit for seconds in self.net.least]
        for activity, size, head, tail in zip(
            self.net.activities, lasting, self.limits.heads, self.limits.tails, strict=True
        ):
            first, last = -(-head // self.unit), length - size - -(-tail // self.unit)
            if first > last:
                return True
            starts.append(model.new_int_var(first, last, activity.id))
            spans.append(model.new_fixed_size_interval_var(starts[-1], size, activity.id))
        for i, needs in enumerate(self.net.needs):
            for k in needs:
                model.add(starts[i] >= starts[k] + lasting[k])
        for users, capacity, load in self.loads:
            _shared(model, [spans[i] for i in users], [load[i] for i in users], capacity)
        solver = cp_model.CpSolver()
        _reason_hard(solver.parameters, effort)
        return bool(searched(solver, model) == cp_model.INFEASIBLE)


def _shared(model: Any, spans: list[Any], loads: list[int], capacity: int) -> None:
    if capacity == 1:
        model.add_no_overlap(spans)
    else:
        model.add_cumulative(spans, loads, capacity)


def _reason_hard(parameters: Any, effort: float) -> None:
    """More reasoning at each node of the search, none of it with linear programs."""
    parameters.random_seed = 1
    parameters.num_workers = 1
    parameters.max_deterministic_time = effort
    parameters.linearization_level = 0
    parameters.symmetry_level = 0
    parameters.cp_model_probing_level = 0
    parameters.use_timetable_edge_finding_in_cumulative = True
    parameters.use_overload_checker_in_cumulative = True
    parameters.use_strong_propagation_in_disjunctive = True
    parameters.use_disjunctive_constraint_in_cumulative = True


def _telling(net: Network, length: int) -> Iterator[tuple[list[int], int, list[int]]]:
    """The loads that can refute a length, with the places of their users.

    A load that another one implies says nothing, and one far below its capacity says little and takes time.
    """
    found: dict[tuple[tuple[int, ...], int], tuple[list[int], int, list[int]]] = {}
    for capacity, load in _loads(net):
        users = [i for i, one in enumerate(load) if one and net.least[i]]
        if sum(load[i] for i in users) > capacity:
            found.setdefault((tuple(load), capacity), (users, capacity, load))
    single = [set(users) for users, capacity, _ in found.values() if capacity == 1]
    for users, capacity, load in found.values():
        busy = sum(load[i] * net.least[i] for i in users) >= BUSY * capacity * length
        within = any(set(users) < other for other in single)
        if not within if capacity == 1 else busy:
            yield users, capacity, load


def _loads(net: Network) -> Iterator[tuple[int, list[int]]]:
    """Equipment and groups of operators: how many there are, and how many each activity takes at least.

    The groups are all unions of those who can do some activity, and the whole crew.
    """
    for name, capacity in net.equipment.items():
        yield capacity, [activity.uses.get(name, 0) for activity in net.activities]
    able = {net.able[i] for i, activity in enumerate(net.activities) if activity.people}
    groups = set(able)
    if len(net.crew) <= MOST_GROUPS:
        while more := {one | other for one in groups for other in able} - groups:
            groups |= more
    for group in sorted({*groups, frozenset(range(len(net.crew)))}, key=sorted):
        yield len(group), [net.at_least(i, group) for i in range(len(net.activities))]
    for some in net.apart:
        yield 1, [int(i in some) for i in range(len(net.activities))]
