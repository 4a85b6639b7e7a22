"""In which order safety asks for two steps at one machine, whatever the library's needs say."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from kb.book.records_changeover import Step


def goes_before(first: Step, then: Step, kind: str) -> bool:
    """Whether safety asks that a step is done before another at machines of a kind.

    Clear and run empty, isolate, hands in, release, run under power: in this order.

    Args:
        first: the step that would be done first
        then: the other step
        kind: a kind of machine at which both are done, or that they move
    """
    isolates, releases = _guards(first, kind, "isolate"), _guards(first, kind, "release")
    if _guards(then, kind, "isolate"):
        clears = first.phase == "clear" and not first.enters(kind)
        return clears and (first.machine == kind or first.moves_by_power(kind))
    if _guards(then, kind, "release"):
        return isolates or first.enters(kind)
    if then.enters(kind):
        return isolates
    return releases and then.moves_by_power(kind) and then.phase != "clear"


def _guards(step: Step, kind: str, phase: str) -> bool:
    return step.machine == kind and step.phase == phase


def waits_for(step: Step, steps: Collection[Step]) -> frozenset[str]:
    """Ids of the steps that come before a step: those it needs, and those that safety puts before it.

    Args:
        step: a step of the library
        steps: the whole library; needs that it does not have are left out
    """
    known = {one.id for one in steps}
    safe = {
        other.id
        for other in steps
        for kind in step.machines
        if other.id != step.id and kind in other.machines and goes_before(other, step, kind)
    }
    return frozenset(safe | (known & set(step.needs)))


def all_before(ident: str, graph: Mapping[str, Collection[str]]) -> set[str]:
    """Ids of all steps that come before one, also by way of others.

    Args:
        ident: id of a step
        graph: for each step those it waits for
    """
    found: set[str] = set()
    todo = list(graph[ident])
    while todo:
        one = todo.pop()
        if one not in found:
            found.add(one)
            todo += graph[one]
    return found
