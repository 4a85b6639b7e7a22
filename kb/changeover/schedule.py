"""The shortest schedule: who does what when, so that the end comes as early as it can.

The same model serves any works: members who are alike are counted together, so that nothing is searched
twice, and are told apart again at the end.
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
    try:
        from ortools.sat.python import cp_model  # noqa: PLC0415 (works without it, by the rule)
    except ImportError:
        return None
    unit = math.gcd(*(work.seconds for work in net.works)) or 1
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
    status = solver.solve(made.model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None, limits.length
    proven = max(limits.length, unit * math.ceil(solver.best_objective_bound - 1e-6))
    starts = [unit * solver.value(one) for one in made.starts]
    counts = [{kind: solver.value(one) for kind, one in some.items()} for some in made.counts]
    return (starts, _told_apart(net, starts, counts)), proven


@dataclass
class _Model:
    """The model with its variables: start of each work, and how many of each kind of member do it."""

    model: cp_model.CpModel
    starts: list[Any]
    counts: list[dict[int, Any]]
    end: Any


def _made(cp_model: Any, net: Network, limits: Bounds, unit: int, length: int) -> _Model:
    model = cp_model.CpModel()
    sizes = [work.seconds // unit for work in net.works]
    starts = [
        model.new_int_var(-(-head // unit), length - sizes[i] - -(-tail // unit), net.works[i].id)
        for i, (head, tail) in enumerate(zip(limits.heads, limits.tails, strict=True))
    ]
    end = model.new_int_var(-(-limits.length // unit), length, "end")
    spans = [
        model.new_fixed_size_interval_var(starts[i], sizes[i], work.id) for i, work in enumerate(net.works)
    ]
    for i, needs in enumerate(net.needs):
        for k in needs:
            model.add(starts[i] >= starts[k] + sizes[k])
        model.add(end >= starts[i] + sizes[i] + -(-limits.tails[i] // unit))
    counts = _crew(model, net, starts, sizes)
    _together(model, net, spans)
    made = _Model(model, starts, counts, end)
    model.minimize(end)
    return made


def _crew(model: Any, net: Network, starts: list[Any], sizes: list[int]) -> list[dict[int, Any]]:
    """Each work takes its people from the kinds of members, and no kind has more than its number at work."""
    counts: list[dict[int, Any]] = []
    at_work: list[list[tuple[Any, Any]]] = [[] for _ in net.kinds]
    for i, work in enumerate(net.works):
        mine: dict[int, Any] = {}
        for kind, (skills, places) in enumerate(net.kinds):
            if not work.people or (work.people == 1 and work.skill and work.skill not in skills):
                continue
            most = min(work.people, len(places))
            count = model.new_int_var(0, most, f"{work.id} by {kind}")
            there = count if most == 1 else model.new_bool_var(f"{work.id} with {kind}")
            if most > 1:
                model.add(count >= 1).only_enforce_if(there)
                model.add(count == 0).only_enforce_if(there.Not())
            span = model.new_optional_fixed_size_interval_var(
                starts[i], sizes[i], there, f"{work.id} of {kind}"
            )
            at_work[kind].append((span, count))
            mine[kind] = count
        if work.people:
            model.add(sum(mine.values()) == work.people)
            if work.skill and work.people > 1:
                model.add(sum(one for kind, one in mine.items() if work.skill in net.kinds[kind][0]) >= 1)
        counts.append(mine)
    for kind, (_, places) in enumerate(net.kinds):
        spans = [span for span, _ in at_work[kind]]
        if len(places) == 1:
            model.add_no_overlap(spans)
        else:
            model.add_cumulative(spans, [count for _, count in at_work[kind]], len(places))
    return counts


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
    for i, some in enumerate(made.counts):
        made.model.add_hint(made.starts[i], starts[i] // unit)
        for kind, one in some.items():
            made.model.add_hint(one, sum(net.hands[place].id in who[i] for place in net.kinds[kind][1]))
    for chain in like_works(net):
        in_order = sorted(chain, key=lambda i: (starts[i], i))
        for earlier, later in pairwise(in_order):
            made.model.add(made.starts[earlier] <= made.starts[later])


def _told_apart(
    net: Network, starts: Sequence[int], counts: Sequence[Mapping[int, int]]
) -> list[tuple[str, ...]]:
    """Members by name: of those free of a kind, the one who stands at the place, else who waits longest."""
    free_at = [0] * len(net.hands)
    stands = [""] * len(net.hands)
    who: list[tuple[str, ...]] = [()] * len(net.works)
    for i in sorted(range(len(net.works)), key=lambda i: (starts[i], net.works[i].seconds, i)):
        work = net.works[i]
        chosen: list[int] = []
        for kind, count in counts[i].items():
            places = [p for p in net.kinds[kind][1] if free_at[p] <= starts[i] or not work.seconds]
            places.sort(key=lambda p: (work.where == "" or stands[p] != work.where, free_at[p], p))
            chosen += places[:count]
        for place in chosen:
            if work.seconds:
                free_at[place], stands[place] = starts[i] + work.seconds, work.where
        who[i] = tuple(sorted(net.hands[place].id for place in chosen))
    return who
