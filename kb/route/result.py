"""How a station's result is declared: words for the reader beside the unit in its annotation."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, fields, is_dataclass
from functools import cache
from typing import Any, get_args, get_type_hints

from kb.units import Number


def result(words: str, show: str = "") -> Any:
    """A number of a station.

    Args:
        words: what it is, in trade words
        show: the reader's unit where it differs from the unit inside
    """
    return field(metadata={"words": words, "show": show})


@dataclass(frozen=True, slots=True)
class Told:
    """One number of a route with what a reader needs to know of it."""

    key: str
    words: str
    unit: str
    show: str
    value: Number


@cache
def _declared(station: Any) -> tuple[tuple[str, str, str, str], ...]:
    """Name, words, unit and reader's unit of each number a station class declares."""
    hints = get_type_hints(station, include_extras=True)
    found = []
    for item in fields(station):
        if "words" in item.metadata:
            unit = get_args(hints[item.name])[-1]
            found.append((item.name, item.metadata["words"], unit, item.metadata["show"] or unit))
    return tuple(found)


@cache
def _keys(station: Any) -> tuple[str, ...]:
    """Names of the fields in which other stations may be."""
    return tuple(item.name for item in fields(station) if "words" not in item.metadata)


def _class_of(record: Any) -> Any:
    return type(record)


def told(record: Any, prefix: str = "") -> Iterator[Told]:
    """The numbers of a station, or of a whole route, in order.

    Args:
        record: a station or a route
        prefix: key of the record

    Yields:
        Each number with its words and units; keys such as `ironed[1].reduction`.
    """
    for name, words, unit, show in _declared(_class_of(record)):
        yield Told(f"{prefix}{name}", words, unit, show, getattr(record, name))
    for name in _keys(_class_of(record)):
        inner = getattr(record, name)
        if isinstance(inner, tuple):
            for i, part in enumerate(inner):
                if is_dataclass(part):
                    yield from told(part, f"{prefix}{name}[{i}].")
        elif is_dataclass(inner) and _declared(_class_of(inner)):
            yield from told(inner, f"{prefix}{name}.")
