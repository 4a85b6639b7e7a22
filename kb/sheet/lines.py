"""The lines of a machine as both faces set them: with limits, without, and sizes stage by stage."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from kb.sheet.model import Cell, MachineBlock, PartSet

FEW = 4
"""So many sizes of one kind of part are lines of their own; more are a table by stage."""


@dataclass(frozen=True, slots=True)
class Line:
    """A change part or a setting."""

    name: str
    where: str
    pieces: int
    value: Cell
    to_set: bool


@dataclass(frozen=True, slots=True)
class MachineLines:
    """What is fitted and set at a machine.

    Attributes:
        tools: parts with limits.
        plain: parts, then settings, without limits; two of them fit beside each other.
        settings: settings with limits.
        stages: parts with a size for each stage.
    """

    tools: tuple[Line, ...]
    plain: tuple[Line, ...]
    settings: tuple[Line, ...]
    stages: tuple[PartSet, ...]


def is_plain(value: Cell) -> bool:
    """Whether a value has no limits, such as a size to pick a part by."""
    return not (value.missing or value.least or value.most)


def lines_of(block: MachineBlock) -> MachineLines:
    """The lines of a machine, tools before settings.

    Args:
        block: what is done at the machine

    Returns:
        Every part and setting once.
    """
    parts = [Line(one.name, "", one.pieces, one.size, to_set=False) for one in block.parts]
    for one in block.sets:
        if len(one.sizes) <= FEW:
            parts += [
                Line(f"{one.name} {i}", "", one.pieces // len(one.sizes), size, to_set=False)
                for i, size in enumerate(one.sizes, start=1)
            ]
    settings = [Line(one.name, one.where, 0, one.value, to_set=True) for one in block.settings]
    return MachineLines(
        tools=tuple(one for one in parts if not is_plain(one.value)),
        plain=tuple(one for one in parts + settings if is_plain(one.value)),
        settings=tuple(one for one in settings if not is_plain(one.value)),
        stages=tuple(one for one in block.sets if len(one.sizes) > FEW),
    )


def places_of(values: Iterable[Cell]) -> int:
    """The most decimals among these values, for their points to stand one below the other."""
    texts = [text for one in values for text in (one.least, one.target, one.most)]
    return max((len(text.partition(".")[2]) for text in texts), default=0)


def short_of(text: str, places: int) -> int:
    """How many signs a number lacks to end where one with so many decimals ends.

    Example:
        >>> short_of("12.5", 3), short_of("12", 3), short_of("12.500", 3)
        (2, 4, 0)
    """
    if not places:
        return 0
    _, point, decimals = text.partition(".")
    return max(0, places - len(decimals)) + (0 if point else 1)
