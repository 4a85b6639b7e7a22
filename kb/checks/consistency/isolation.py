"""Checks on steps at a machine: hands go in after isolation, and nothing moves the machine meanwhile.

`goes_before` says in which order safety puts two steps at one machine, for the check and for the plan alike.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

from kb.book.finding import Finding
from kb.book.load import Book, Spec
from kb.book.records import MachineKind
from kb.book.records_floor import Changeover, Phase, Step
from kb.checks.consistency.fault import fault
from kb.checks.consistency.floor_index import items

HANDS: tuple[Phase, ...] = ("out", "in", "set", "verify")
"""Phases in which hands may be in a machine: between its isolation and its release."""


# --- isolation ----------------------------------------------------------------------------------


def isolation_faults(book: Book, spec: Spec[Changeover], library: Changeover) -> Iterator[Finding]:
    """Steps with hands in a machine that is not isolated before, or not released after."""
    floor = book.only("floor")
    known = {} if floor is None else {one.id: one for one in items(floor.record)}
    for i, step in enumerate(library.steps):
        for kind in step.machines:
            if not _has_hands_in(step, kind):
                continue
            why = "hands_in" if step.hands_in else "moves"
            key = f"steps[{i}].{why}"
            if step.phase not in HANDS:
                message = f"{step.id} has hands in the {kind} in phase {step.phase}"
                phases = ", ".join(HANDS)
                fix = f"hands are allowed only in phases {phases}; correct the phase, or remove {why}"
                yield fault(spec, key, "changeover.hands-in", message, fix)
                continue
            # a machine that another step's part calls for is isolated wherever hands go in
            own = [ident for ident, one in known.items() if one.machine == kind]
            calls = (step.because_of or own) if kind == step.machine else ()
            for phase in ("isolate", "release"):
                there = [one for one in library.steps if one.machine == kind and one.phase == phase]
                lacking = _not_covered(calls, there)
                if lacking is not None:
                    message = f"{step.id} has hands in the {kind}; no step of phase {phase} there{lacking}"
                    fix = f"add one, or add the items that require {step.id} to its because_of"
                    yield fault(spec, key, "changeover.no-isolation", message, fix)


def _has_hands_in(step: Step, kind: MachineKind) -> bool:
    """Whether a step has hands in machines of a kind; a last turn by hand belongs to the release."""
    turned = step.moves_by_hand(kind) and step.phase != "release"
    return (step.hands_in and step.machine == kind) or turned


def _not_covered(calls: Collection[str], there: list[Step]) -> str | None:
    """What is lacking of steps that must be done whenever one of some items changes; None when nothing is."""
    if not there:
        return ""
    if any(not one.because_of for one in there):
        return None
    covered = {ident for one in there for ident in one.because_of}
    missed = next((ident for ident in calls if ident not in covered), None)
    return None if missed is None else f" is done because of {missed}"


OPEN: tuple[Phase, ...] = ("isolate", "out", "in")
"""Phases in which a machine is isolated."""


def moving_faults(spec: Spec[Changeover], library: Changeover) -> Iterator[Finding]:
    """Steps that can move a machine while hands are in it."""
    yield from _by_power(spec, library)
    yield from _by_hand(spec, library)


# --- under power ------------------------------------------------------------------------------


def moves_isolated(step: Step, library: Changeover) -> str:
    """Why a step would move a machine under power while it is isolated; "" where it would not."""
    for kind in step.moves.machines if step.moves and step.moves.by == "power" else ():
        if step.hands_in and step.machine == kind:
            return f"{step.id} has hands in the {kind} and moves it under power"
        if step.phase in OPEN:
            return f"{step.id} moves the {kind} under power in phase {step.phase}"
        release = _released_later(step, kind, library)
        if release:
            return f"{step.id} moves the {kind} under power, and {release} waits for it"
    return ""


def _released_later(step: Step, kind: MachineKind, library: Changeover) -> str:
    """The step that releases the machine after another has moved it."""
    if step.phase == "clear":
        return ""
    graph = {one.id: one.needs for one in library.steps}
    known = {ident: [need for need in needs if need in graph] for ident, needs in graph.items()}
    releases = [one.id for one in library.steps if one.phase == "release" and one.machine == kind]
    return next((one for one in releases if step.id in all_before(one, known)), "")


def _by_power(spec: Spec[Changeover], library: Changeover) -> Iterator[Finding]:
    for i, step in enumerate(library.steps):
        message = moves_isolated(step, library)
        if message:
            fix = "make it wait for the release of the machine, or move the machine by hand"
            yield fault(spec, f"steps[{i}].moves", "changeover.moves-while-isolated", message, fix)


# --- by hand ----------------------------------------------------------------------------------


def _by_hand(spec: Spec[Changeover], library: Changeover) -> Iterator[Finding]:
    graph = {one.id: waits_for(one, library.steps) for one in library.steps}
    before = {ident: all_before(ident, graph) for ident in graph}
    for i, step in enumerate(library.steps):
        for k, other in enumerate(library.steps):
            kind = _meet(step, other)
            both_move = kind is not None and other.moves_by_hand(kind)
            if kind is None or i == k or (both_move and k < i):
                continue
            if step.id not in before[other.id] and other.id not in before[step.id]:
                apart = f"{other.id} has hands in it; neither waits for the other"
                message = f"{step.id} moves the {kind} by hand; {apart}"
                fix = f"add {other.id} to needs of {step.id}"
                yield fault(spec, f"steps[{i}].moves", "changeover.moves-with-hands-in", message, fix)


def _meet(step: Step, other: Step) -> MachineKind | None:
    """A kind of machine that one step moves by hand and another has hands in."""
    for kind in step.machines:
        if step.moves_by_hand(kind) and step.enters(kind) and other.enters(kind):
            return kind
    return None


def goes_before(first: Step, then: Step, kind: str) -> bool:
    """Whether safety asks that `first` is done before `then` at machines of a kind, or where they move it.

    Clear and run empty, isolate, hands in, release, run under power: in this order.
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

    Needs that `steps`, the whole library, does not have are left out.
    """
    known = {one.id for one in steps}
    kinds = set(step.machines)
    safe = {
        other.id
        for other in steps
        if other.id != step.id
        and any(goes_before(other, step, kind) for kind in kinds.intersection(other.machines))
    }
    return frozenset(safe | (known & set(step.needs)))


def all_before(ident: str, graph: Mapping[str, Collection[str]]) -> set[str]:
    """Ids of all steps that come before one, also by way of others; `graph` has those that each waits for."""
    found: set[str] = set()
    todo = list(graph[ident])
    while todo:
        one = todo.pop()
        if one not in found:
            found.add(one)
            todo += graph[one]
    return found
