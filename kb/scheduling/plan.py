"""The shortest schedule of some activities: start, end and operators of each.

The model has a variable for each operator of each activity, because the duration can depend on the operator:
one who did not take part in the activities of its entry needs its entry time too.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Literal

from kb.scheduling.activities import Activity, Network, Operator, Schedule, Slot, network
from kb.scheduling.bounds import Bounds, bounds
from kb.scheduling.critical_path import Assignment, assignment_of, settled, with_float
from kb.scheduling.heuristic import TRIES, assignment_by_priority, length_of
from kb.scheduling.moves import fewer_moves
from kb.scheduling.proof import raised_bound, unit_of
from kb.scheduling.solver import searched, solver_module

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

EFFORT = 0.1
"""Limit of the solver, in its own deterministic measure (not seconds): the same search on every machine."""

COMPLETE = 0.2
"""Limit of the search that can also prove, as a ratio of the effort; it suffices for few activities."""

NEIGHBOURHOODS = 4
"""Searches that take turns at improving parts of a schedule."""

HANDOVERS = 0.2
"""Limit of the solver for the choice of people at given times, as a ratio of the effort."""

PROOF = 0.1
"""Limit of the solver for each length that a proof tries, as a ratio of the effort."""


def schedule(
    activities: Sequence[Activity],
    crew: Sequence[Operator],
    equipment: Mapping[str, int],
    *,
    effort: float = EFFORT,
    tries: int = TRIES,
    known: Sequence[Slot] = (),
    fewest_moves: bool = False,
    bound: int = 0,
) -> Schedule:
    """The shortest schedule found with this effort.

    Args:
        activities: what is to be done.
        crew: the operators.
        equipment: how many there are of each shared piece.
        effort: limit of the solver; 0 gives the schedule of the priority rule.
        tries: starting orders of the priority rule.
        known: a schedule of these activities, or of more or longer ones; the result is not longer.
        fewest_moves: whether to choose, at the same length, an order in which operators move less.
        bound: a length of which it is proven that no schedule is shorter [s].

    Raises:
        NoPlan: if crew and equipment cannot do the activities.
        NoSolver: if a search is needed and the solver is not installed.

    Note:
        The same activities give the same schedule with the same version of the solver.
    """
    net = network(activities, crew, equipment)
    limits = bounds(net)
    bound = max(bound, limits.length)
    limits = replace(limits, length=bound)
    assignment = _in_known_order(net, known) if known else assignment_by_priority(net, limits, tries=tries)
    if known and length_of(net, assignment) > bound:
        assignment = min(
            assignment, assignment_by_priority(net, limits, tries=tries), key=lambda one: length_of(net, one)
        )
    method: Literal["solver", "rule"] = "rule"
    if length_of(net, assignment) > bound and effort > 0:
        method = "solver"
        assignment, bound = _solved(net, assignment, limits, COMPLETE * effort)
        if length_of(net, assignment) > bound:
            assignment, _ = _solved(net, assignment, limits, effort, by_parts=True)
        if length_of(net, assignment) > bound:
            bound = max(bound, raised_bound(net, limits, length_of(net, assignment), PROOF * effort))
    slots = with_float(net, assignment)
    if method == "solver" and (fewest_moves or not known):
        slots = _few_handovers(net, slots, HANDOVERS * effort)
    if fewest_moves and effort > 0:
        slots = fewer_moves(net, slots)
    slots = settled(net, slots)
    return Schedule(slots, max((slot.end for slot in slots), default=0), bound, method)


def handovers(activities: Sequence[Activity], slots: Sequence[Slot]) -> int:
    """How many operators work at each place, summed over all places: the fewer, the fewer hand-overs."""
    where = {activity.id: activity.where for activity in activities}
    return len({(where[slot.id], who) for slot in slots if where[slot.id] for who in slot.who})


def _few_handovers(net: Network, slots: tuple[Slot, ...], effort: float) -> tuple[Slot, ...]:
    """The slots with people chosen so that fewer of them work at each place, at times that are no later."""
    cp_model = solver_module()
    starts, who = assignment_of(net, slots)
    seconds = net.durations(who)
    model = cp_model.CpModel()
    made = _Model(model, list(starts), [], [], [])
    # who has no entry time now has none in it; who has some may lose it
    for i, activity in enumerate(net.activities):
        short = (
            activity.entry_seconds and net.entries[i] and activity.people and seconds[i] == activity.seconds
        )
        made.longer.append(model.new_constant(0) if short else None)
    _people(made, net, starts, [start + lasting for start, lasting in zip(starts, seconds, strict=True)])
    at_place: dict[tuple[str, int], Any] = {}
    for i, activity in enumerate(net.activities):
        for p, does in made.by[i].items() if activity.where else ():
            if (activity.where, p) not in at_place:
                at_place[activity.where, p] = model.new_bool_var(f"{net.crew[p].id} at {activity.where}")
            model.add_implication(does, at_place[activity.where, p])
            model.add_hint(does, net.crew[p].id in who[i])
    model.minimize(sum(at_place.values()))
    solver = cp_model.CpSolver()
    solver.parameters.random_seed = 1
    solver.parameters.num_workers = 1
    solver.parameters.interleave_search = True
    solver.parameters.max_deterministic_time = effort
    if searched(solver, model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return slots
    found = with_float(net, (starts, _chosen(solver, made, net)))
    last, before = (max((slot.end for slot in some), default=0) for some in (found, slots))
    fewer = handovers(net.activities, found) < handovers(net.activities, slots)
    return found if fewer and last <= before else slots


def _people(made: _Model, net: Network, starts: Sequence[int], ends: Sequence[int]) -> None:
    """Each activity takes its people from the crew at fixed times, and nobody does two at once."""
    model = made.model
    at_work: list[list[Any]] = [[] for _ in net.crew]
    for i, activity in enumerate(net.activities):
        able = net.able[i] if activity.people == 1 else range(len(net.crew)) if activity.people else ()
        mine = {p: model.new_bool_var(f"{activity.id} by {net.crew[p].id}") for p in sorted(able)}
        for p, does in mine.items() if ends[i] > starts[i] else ():
            span = model.new_optional_fixed_size_interval_var(starts[i], ends[i] - starts[i], does, "")
            at_work[p].append(span)
        if activity.people:
            model.add(sum(mine.values()) == activity.people)
            _skills(model, net, i, mine)
        made.by.append(mine)
    _one_crew(made, net, at_work)


def _skills(model: Any, net: Network, i: int, mine: Mapping[int, Any]) -> None:
    """The people of an activity have its skills, each of them another person."""
    for count, group in net.wanted[i]:
        if count == 1:
            model.add_bool_or([mine[p] for p in group])
        else:
            model.add(sum(mine[p] for p in group) >= count)


def _chosen(solver: Any, made: _Model, net: Network) -> list[tuple[str, ...]]:
    """Who does each activity in a solution."""
    return [
        tuple(sorted(net.crew[p].id for p, one in some.items() if solver.boolean_value(one)))
        for some in made.by
    ]


def _in_known_order(net: Network, known: Sequence[Slot]) -> Assignment:
    """The activities in the order of a known schedule, without its gaps."""
    return assignment_of(net, with_float(net, assignment_of(net, known)))


def _solved(
    net: Network, assignment: Assignment, limits: Bounds, effort: float, *, by_parts: bool = False
) -> tuple[Assignment, int]:
    """The best assignment found, no longer than the one given, and the bound.

    With `by_parts` each search keeps most of the best assignment so far and solves the rest again: that finds
    shorter assignments of many activities and raises no bound.
    """
    cp_model = solver_module()
    unit = unit_of(net)
    made = _made(cp_model, net, limits, unit, length_of(net, assignment) // unit)
    _hint(made, net, assignment, unit)
    solver = cp_model.CpSolver()
    solver.parameters.random_seed = 1
    solver.parameters.num_workers = NEIGHBOURHOODS if by_parts else 1
    solver.parameters.use_lns_only = by_parts
    solver.parameters.interleave_search = True
    # both take longer here than they save
    solver.parameters.symmetry_level = 0
    solver.parameters.cp_model_probing_level = 0
    solver.parameters.max_deterministic_time = effort
    status = searched(solver, made.model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return assignment, limits.length
    proven = max(limits.length, unit * math.ceil(solver.best_objective_bound - 1e-6))
    starts = [unit * solver.value(one) for one in made.starts]
    found: Assignment = (starts, _chosen(solver, made, net))
    return min(assignment, found, key=lambda one: length_of(net, one)), proven


@dataclass
class _Model:
    """The model with its variables.

    Attributes:
        model: the model.
        starts: start of each activity.
        longer: for each activity whether it takes its entry time too; None where it never does.
        by: for each activity whether an operator does it, by place in the crew.
        spans: from start to end of each activity.
    """

    model: cp_model.CpModel
    starts: list[Any]
    longer: list[Any]
    by: list[dict[int, Any]]
    spans: list[Any]


def _made(cp_model: Any, net: Network, limits: Bounds, unit: int, length: int) -> _Model:
    model = cp_model.CpModel()
    made = _Model(model, [], [], [], [])
    end = model.new_int_var(-(-limits.length // unit), length, "end")
    ends = []
    for i, (activity, head, tail) in enumerate(zip(net.activities, limits.heads, limits.tails, strict=True)):
        size = activity.seconds // unit
        start = model.new_int_var(-(-head // unit), length - size - -(-tail // unit), activity.id)
        entered = activity.entry_seconds and net.entries[i] and activity.people
        longer = model.new_bool_var(f"{activity.id} with entry") if entered else None
        made.starts.append(start)
        made.longer.append(longer)
        if longer is None:
            ends.append(start + size)
            made.spans.append(model.new_fixed_size_interval_var(start, size, activity.id))
        else:
            done = model.new_int_var(0, length - -(-tail // unit), f"{activity.id} done")
            if net.least[i] > activity.seconds:
                model.add(longer == 1)
            lasting = size + activity.entry_seconds // unit * longer
            model.add(done == start + lasting)
            ends.append(done)
            made.spans.append(model.new_interval_var(start, lasting, done, activity.id))
        model.add(end >= ends[i] + -(-tail // unit))
    for i, needs in enumerate(net.needs):
        for k in needs:
            model.add(made.starts[i] >= ends[k])
    _crew(made, net, unit, ends)
    _together(model, net, made.spans)
    model.minimize(end)
    return made


def _crew(made: _Model, net: Network, unit: int, ends: list[Any]) -> None:
    """Each activity takes its people from the crew, and no operator does two activities at once."""
    model = made.model
    at_work: list[list[Any]] = [[] for _ in net.crew]
    for i, activity in enumerate(net.activities):
        mine: dict[int, Any] = {}
        for p in range(len(net.crew)):
            if not activity.people or (activity.people == 1 and p not in net.able[i]):
                continue
            name = f"{activity.id} by {net.crew[p].id}"
            mine[p] = model.new_bool_var(name)
            size = activity.seconds // unit
            if made.longer[i] is None:
                span = model.new_optional_fixed_size_interval_var(made.starts[i], size, mine[p], name)
            else:
                size = size + activity.entry_seconds // unit * made.longer[i]
                span = model.new_optional_interval_var(made.starts[i], size, ends[i], mine[p], name)
            at_work[p].append(span)
        if activity.people:
            model.add(sum(mine.values()) == activity.people)
            if activity.people > 1:
                _skills(model, net, i, mine)
        made.by.append(mine)
    _one_crew(made, net, at_work)


def _one_crew(made: _Model, net: Network, at_work: list[list[Any]]) -> None:
    """Nobody does two activities at once, and activities of one group have their people in common."""
    for spans in at_work:
        made.model.add_no_overlap(spans)
    _same_people(made, net)
    _checkers(made, net)
    _entries(made, net)


def _same_people(made: _Model, net: Network) -> None:
    """Of activities done by the same people, those of the smaller group are in the larger one."""
    for i, partners in enumerate(net.partners):
        fewer = [k for k in partners if 0 < net.activities[k].people <= net.activities[i].people]
        for k in fewer:
            for p, does in made.by[k].items():
                made.model.add_implication(does, made.by[i][p])


def _checkers(made: _Model, net: Network) -> None:
    """Nobody checks their own work."""
    for i, checked in enumerate(net.checked):
        for k in checked:
            for p in made.by[i].keys() & made.by[k].keys():
                made.model.add_bool_or([made.by[i][p].negated(), made.by[k][p].negated()])


def _entries(made: _Model, net: Network) -> None:
    """An activity is longer if somebody does it who took no part in its entry."""
    for i, longer in enumerate(made.longer):
        if longer is None:
            continue
        for p, does in made.by[i].items():
            for k in net.entries[i]:
                opened = made.by[k].get(p)
                made.model.add_bool_or([does.Not(), longer, *([] if opened is None else [opened])])


def _together(model: Any, net: Network, spans: list[Any]) -> None:
    """Equipment; and, redundant but useful, the capacity of the crew and of those with each skill."""
    for name, count in net.equipment.items():
        users = [i for i, activity in enumerate(net.activities) if activity.uses.get(name)]
        if sum(net.activities[i].uses[name] for i in users) > count:
            model.add_cumulative(
                [spans[i] for i in users], [net.activities[i].uses[name] for i in users], count
            )
    for group in net.apart:
        model.add_no_overlap([spans[i] for i in group])
    busy = [i for i, activity in enumerate(net.activities) if activity.people]
    model.add_cumulative([spans[i] for i in busy], [net.activities[i].people for i in busy], len(net.crew))
    for skill in sorted({net.activities[i].skill for i in busy} - {""}):
        users = [i for i in busy if net.activities[i].skill == skill]
        able = sum(skill in operator.skills for operator in net.crew)
        if len(users) > able:
            model.add_cumulative([spans[i] for i in users], [1] * len(users), able)


def _hint(made: _Model, net: Network, assignment: Assignment, unit: int) -> None:
    """Start from the assignment given."""
    starts, who = assignment
    for i, some in enumerate(made.by):
        made.model.add_hint(made.starts[i], starts[i] // unit)
        for p, one in some.items():
            made.model.add_hint(one, net.crew[p].id in who[i])
        if made.longer[i] is not None:
            made.model.add_hint(made.longer[i], net.seconds(i, who) > net.activities[i].seconds)
