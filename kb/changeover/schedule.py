"""The shortest schedule: who does what when, so that the end comes as early as it can.

The same model serves any works. Each member of the crew is searched by themselves, for a work can take longer
for one than for another: whoever did not isolate a machine hangs a lock first.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Literal

from kb.changeover.like import like_works
from kb.changeover.model import Hand, Schedule, Slot, Work
from kb.changeover.network import Bounds, Network, bounds, network
from kb.changeover.rule import TRIES, held_by_rule, length_of
from kb.changeover.search import searched, solver_module
from kb.changeover.slack import Held, settled

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

EFFORT = 0.1
"""How much the solver may do, in its own measure, which is not the clock: the same work everywhere."""


def schedule(
    works: Sequence[Work],
    hands: Sequence[Hand],
    equipment: Mapping[str, int],
    *,
    effort: float = EFFORT,
    tries: int = TRIES,
    known: Sequence[Slot] = (),
) -> Schedule:
    """The shortest schedule that can be found with this effort.

    Args:
        works: what is to be done.
        hands: the crew.
        equipment: how many there are of what works share.
        effort: how much the solver may do; nothing leaves the rule's schedule.
        tries: starting orders of the rule.
        known: a schedule of these works, or of more or longer ones; the result is not longer.

    Returns:
        The schedule, proven where its length is its bound; by the rule alone where no solver is installed.

    Raises:
        NoPlan: if the works cannot be done with what there is.

    Note:
        The same works give the same schedule with the same version of the solver.
    """
    net = network(works, hands, equipment)
    limits = bounds(net)
    bound = limits.length
    held = _kept(net, known) if known else held_by_rule(net, limits, tries=tries)
    if known and length_of(net, held) > bound:
        held = min(held, held_by_rule(net, limits, tries=tries), key=lambda one: length_of(net, one))
    method: Literal["solver", "rule"] = "rule"
    if length_of(net, held) > bound and effort > 0:
        found = _solved(net, held, limits, effort)
        if found is not None:
            method = "solver"
            better, bound = found
            held = better or held
    slots = settled(net, held)
    return Schedule(slots, max((slot.end for slot in slots), default=0), bound, method)


def _kept(net: Network, known: Sequence[Slot]) -> Held:
    """The works in the order of a schedule made before, closed up."""
    at = {slot.id: slot for slot in known}
    found = [at[work.id] for work in net.works]
    slots = {one.id: one for one in settled(net, ([one.start for one in found], [one.who for one in found]))}
    return [slots[work.id].start for work in net.works], [slots[work.id].who for work in net.works]


def _solved(net: Network, held: Held, limits: Bounds, effort: float) -> tuple[Held | None, int] | None:
    """A schedule no longer than the one held, and the bound; nothing where there is no solver."""
    cp_model = solver_module()
    if cp_model is None:
        return None
    unit = math.gcd(*(one for work in net.works for one in (work.seconds, work.entry_seconds))) or 1
    made = _made(cp_model, net, limits, unit, length_of(net, held) // unit)
    _hint(made, net, held, unit)
    solver = cp_model.CpSolver()
    solver.parameters.random_seed = 1
    solver.parameters.num_workers = 1
    solver.parameters.interleave_search = True
    # the like works are ordered already, and probing takes longer here than it saves
    solver.parameters.symmetry_level = 0
    solver.parameters.cp_model_probing_level = 0
    solver.parameters.max_deterministic_time = effort
    status = searched(solver, made.model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None, limits.length
    proven = max(limits.length, unit * math.ceil(solver.best_objective_bound - 1e-6))
    starts = [unit * solver.value(one) for one in made.starts]
    who = [
        tuple(sorted(net.hands[p].id for p, one in some.items() if solver.boolean_value(one)))
        for some in made.by
    ]
    return (starts, who), proven


@dataclass
class _Model:
    """The model with its variables.

    Attributes:
        model: the model.
        starts: start of each work.
        longer: for each work whether it takes its entry's time too; nothing where it never does.
        by: for each work whether a member does it, by place in the crew.
        spans: from start to end of each work.
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
    for i, (work, head, tail) in enumerate(zip(net.works, limits.heads, limits.tails, strict=True)):
        size = work.seconds // unit
        start = model.new_int_var(-(-head // unit), length - size - -(-tail // unit), work.id)
        locks = work.entry_seconds and net.entries[i] and work.people
        longer = model.new_bool_var(f"{work.id} with a lock") if locks else None
        made.starts.append(start)
        made.longer.append(longer)
        if longer is None:
            ends.append(start + size)
            made.spans.append(model.new_fixed_size_interval_var(start, size, work.id))
        else:
            done = model.new_int_var(0, length - -(-tail // unit), f"{work.id} done")
            lasting = size + work.entry_seconds // unit * longer
            model.add(done == start + lasting)
            ends.append(done)
            made.spans.append(model.new_interval_var(start, lasting, done, work.id))
        model.add(end >= ends[i] + -(-tail // unit))
    for i, needs in enumerate(net.needs):
        for k in needs:
            model.add(made.starts[i] >= ends[k])
    _crew(made, net, unit, ends)
    _together(model, net, made.spans)
    model.minimize(end)
    return made


def _crew(made: _Model, net: Network, unit: int, ends: list[Any]) -> None:
    """Each work takes its people from the crew, and no member is at two works at once."""
    model = made.model
    at_work: list[list[Any]] = [[] for _ in net.hands]
    for i, work in enumerate(net.works):
        mine: dict[int, Any] = {}
        for p in range(len(net.hands)):
            if not work.people or (work.people == 1 and p not in net.able[i]):
                continue
            name = f"{work.id} by {net.hands[p].id}"
            mine[p] = model.new_bool_var(name)
            size = work.seconds // unit
            if made.longer[i] is None:
                span = model.new_optional_fixed_size_interval_var(made.starts[i], size, mine[p], name)
            else:
                size = size + work.entry_seconds // unit * made.longer[i]
                span = model.new_optional_interval_var(made.starts[i], size, ends[i], mine[p], name)
            at_work[p].append(span)
        if work.people:
            model.add(sum(mine.values()) == work.people)
            if work.people > 1:
                model.add_bool_or([mine[p] for p in net.able[i]])
        made.by.append(mine)
    for spans in at_work:
        model.add_no_overlap(spans)
    _same_people(made, net)
    _locks(made, net)


def _same_people(made: _Model, net: Network) -> None:
    """Works done by the same people: who does one that takes fewer does the other too."""
    for i, mates in enumerate(net.mates):
        fewer = [k for k in mates if 0 < net.works[k].people <= net.works[i].people]
        for k in fewer:
            for p, does in made.by[k].items():
                made.model.add_implication(does, made.by[i][p])


def _locks(made: _Model, net: Network) -> None:
    """A work is longer where somebody does it who has not opened the way to it."""
    for i, longer in enumerate(made.longer):
        if longer is None:
            continue
        for p, does in made.by[i].items():
            for k in net.entries[i]:
                opened = made.by[k].get(p)
                made.model.add_bool_or([does.Not(), longer, *([] if opened is None else [opened])])


def _together(model: Any, net: Network, spans: list[Any]) -> None:
    """Equipment; and, though it follows from the members, what all and those of a skill can do at once."""
    for name, count in net.equipment.items():
        users = [i for i, work in enumerate(net.works) if work.uses.get(name)]
        if sum(net.works[i].uses[name] for i in users) > count:
            model.add_cumulative([spans[i] for i in users], [net.works[i].uses[name] for i in users], count)
    busy = [i for i, work in enumerate(net.works) if work.people]
    model.add_cumulative([spans[i] for i in busy], [net.works[i].people for i in busy], len(net.hands))
    for skill in sorted({net.works[i].skill for i in busy} - {""}):
        users = [i for i in busy if net.works[i].skill == skill]
        able = sum(skill in hand.skills for hand in net.hands)
        if len(users) > able:
            model.add_cumulative([spans[i] for i in users], [1] * len(users), able)


def _hint(made: _Model, net: Network, held: Held, unit: int) -> None:
    """The schedule by rule as a start; like works in the order in which it has them."""
    starts, who = held
    for i, some in enumerate(made.by):
        made.model.add_hint(made.starts[i], starts[i] // unit)
        for p, one in some.items():
            made.model.add_hint(one, net.hands[p].id in who[i])
        if made.longer[i] is not None:
            made.model.add_hint(made.longer[i], net.seconds(i, who) > net.works[i].seconds)
    for chain in like_works(net):
        in_order = sorted(chain, key=lambda i: (starts[i], i))
        for earlier, later in pairwise(in_order):
            made.model.add(made.starts[earlier] <= made.starts[later])
