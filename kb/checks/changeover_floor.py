"""Checks on changeover.yaml against floor.yaml: steps answer what changes, hands go in after isolation."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from kb.book.finding import Finding
from kb.book.load import Book, Spec
from kb.book.records import MachineKind
from kb.book.records_changeover import Changeover, Phase, Step
from kb.checks.answers import Item, items
from kb.checks.faults import did_you_mean, fault

HANDS: tuple[Phase, ...] = ("out", "in", "set", "verify")
"""Phases in which hands may be in a machine: between its isolation and its release."""

OUTSIDE: tuple[Phase, ...] = ("before", "after")
"""Phases in which the line runs."""


# --- steps and what they answer -----------------------------------------------------------------


def floor_answer_faults(book: Book, spec: Spec, library: Changeover) -> Iterator[Finding]:
    """What steps say of the floor, and what of the floor no step answers.

    Args:
        book: a loaded book
        spec: its changeover file
        library: the same as a record

    Yields:
        A finding each; none while the floor file has faults of its own.
    """
    floor = book.only("floor")
    if floor is None:
        yield from _without_floor(book, spec, library)
        return
    known = {one.id: one for one in items(floor.record)}
    for i, step in enumerate(library.steps):
        for k, ident in enumerate(step.because_of):
            yield from _because_of(spec, f"steps[{i}].because_of[{k}]", step, ident, known)
    answered = {ident for one in library.steps for ident in one.because_of}
    inside = {ident for one in library.steps if one.phase not in OUTSIDE for ident in one.because_of}
    for ident, item in known.items():
        if ident not in (inside if item.what == "part" else answered):
            message = (
                f"no step{' inside the stop' if item.what == 'part' else ''} changes {item.what} {ident}"
            )
            fix = f"add {ident} to because_of of a step at the {item.machine} in changeover.yaml"
            yield fault(floor, f"{item.at}.id", "changeover.no-step", message, fix)


def _without_floor(book: Book, spec: Spec, library: Changeover) -> Iterator[Finding]:
    if any(file.endswith("floor.yaml") for file in book.broken):
        return
    first = next((i for i, one in enumerate(library.steps) if one.because_of), None)
    if first is not None:
        message = "the book has no floor.yaml with parts, settings and supplies"
        fix = "add floor.yaml with the parts of each machine"
        yield fault(spec, f"steps[{first}].because_of[0]", "changeover.unknown-item", message, fix)


def _because_of(spec: Spec, key: str, step: Step, ident: str, known: dict[str, Item]) -> Iterator[Finding]:
    item = known.get(ident)
    if item is None:
        fix = did_you_mean(ident, known)
        message = f"floor.yaml has no part, setting or supply {ident}"
        yield fault(spec, key, "changeover.unknown-item", message, fix)
    elif step.machine is not None and item.machine != step.machine:
        message = (
            f"{step.id} is done at the {step.machine}; {item.what} {ident} belongs to the {item.machine}"
        )
        fix = "name it in a step at its own machine, or remove the machine"
        yield fault(spec, key, "changeover.other-machine", message, fix)


# --- isolation ----------------------------------------------------------------------------------


def isolation_faults(book: Book, spec: Spec, library: Changeover) -> Iterator[Finding]:
    """Steps with hands in a machine that is not isolated before, or not released after.

    Args:
        book: a loaded book
        spec: its changeover file
        library: the same as a record

    Yields:
        A finding each.
    """
    floor = book.only("floor")
    known = {} if floor is None else {one.id: one for one in items(floor.record)}
    for i, step in enumerate(library.steps):
        for kind in step.machines:
            if not _inside(step, kind):
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


def _inside(step: Step, kind: MachineKind) -> bool:
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
