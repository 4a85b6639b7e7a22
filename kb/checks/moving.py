"""Checks on steps that move a machine: nobody's hands are in it meanwhile."""

from __future__ import annotations

from collections.abc import Iterator

from kb.book.finding import Finding
from kb.book.load import Spec
from kb.book.records import MachineKind
from kb.book.records_changeover import Changeover, Phase, Step
from kb.checks.faults import fault
from kb.checks.safe_order import all_before, waits_for

OPEN: tuple[Phase, ...] = ("isolate", "out", "in")
"""Phases in which a machine is isolated."""


def moving_faults(spec: Spec, library: Changeover) -> Iterator[Finding]:
    """Steps that can move a machine while hands are in it.

    Args:
        spec: the changeover file of a book
        library: the same as a record

    Yields:
        A finding each.
    """
    yield from _by_power(spec, library)
    yield from _by_hand(spec, library)


# --- under power ------------------------------------------------------------------------------


def moves_isolated(step: Step, library: Changeover) -> str:
    """Why a step would move a machine under power while it is isolated, "" where it would not.

    Args:
        step: a step of the library
        library: the whole library
    """
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


def _by_power(spec: Spec, library: Changeover) -> Iterator[Finding]:
    for i, step in enumerate(library.steps):
        message = moves_isolated(step, library)
        if message:
            fix = "make it wait for the release of the machine, or move the machine by hand"
            yield fault(spec, f"steps[{i}].moves", "changeover.moves-while-isolated", message, fix)


# --- by hand ----------------------------------------------------------------------------------


def _by_hand(spec: Spec, library: Changeover) -> Iterator[Finding]:
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
