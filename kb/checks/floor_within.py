"""Tolerances of floor.yaml beside the values they are for, format by format."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from kb.book.finding import Finding
from kb.book.load import Book, Spec
from kb.book.records_floor import Floor
from kb.checks.faults import fault
from kb.checks.words import quantity
from kb.route.assemble import Assembled


def within_faults(book: Book, assembled: Assembled) -> Iterator[Finding]:
    """Tolerances as great as the value itself: the sheet would print a least size of zero or below.

    Args:
        book: a loaded book
        assembled: a format whose geometry closes

    Yields:
        A finding each, at the tolerance; the same for every format it is wrong for.
    """
    spec = book.only("floor")
    if spec is None:
        return
    for at, key in _banded(spec.record):
        given = spec.quantities.get(f"{at}.within")
        value = _value(assembled, key)
        if given is not None and value is not None and 0 < value <= given.nominal:
            yield _fault(spec, at, key, value)


def _fault(spec: Spec, at: str, key: str, value: float) -> Finding:
    given = spec.quantities[f"{at}.within"]
    unit = given.canonical
    shown = quantity(value, unit=unit, show=unit)
    message = f"within {given.text} where {key} is {shown}: the minimum would be below zero"
    return fault(spec, f"{at}.within", "floor.within", message)


def _banded(floor: Floor) -> Iterator[tuple[str, str]]:
    """Where a tolerance may be written, and the key of the value it is for."""
    for i, machine in enumerate(floor.machines):
        for j, part in enumerate(machine.parts):
            yield f"machines[{i}].parts[{j}]", part.size
        for j, setting in enumerate(machine.settings):
            yield f"machines[{i}].settings[{j}]", setting.value
    for i, check in enumerate(floor.first_offs):
        if check.value:
            yield f"first_offs[{i}]", check.value


def _value(assembled: Assembled, key: str) -> float | None:
    """The number under a key at nominal sizes; the smallest of a list's; None where there is none."""
    root, _, rest = key.partition(".")
    case = assembled.case
    start = assembled.study.nominal if root == "route" else getattr(case, root, None)
    found = [start]
    for step in rest.replace("[", ".[").split("."):
        found = [inner for one in found for inner in _inside(one, step)]
    numbers = [float(one) for one in found if isinstance(one, int | float)]
    return min(numbers, default=None)


def _inside(one: Any, step: str) -> list[Any]:
    if not step.startswith("["):
        return [getattr(one, step)] if hasattr(one, step) else []
    if not isinstance(one, tuple | list):
        return []
    position = step.strip("[]")
    return list(one) if not position else list(one[int(position) : int(position) + 1])
