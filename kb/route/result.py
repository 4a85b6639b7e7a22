"""How a station's result is declared: words for the reader beside the unit in its annotation."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, fields, is_dataclass
from functools import cache
from typing import Any, NamedTuple, get_args, get_type_hints

from kb.units import Number


class Declaration(NamedTuple):
    """What is declared of a result.

    Attributes:
        words, show, main, walk, column, drivers, calibrated_by: as for `result`; `show` is filled in.
        name: name of the field.
        unit: the unit inside.
    """

    words: str
    show: str = ""
    main: bool = False
    walk: bool = False
    column: bool = False
    drivers: str = ""
    calibrated_by: tuple[str, ...] = ()
    name: str = ""
    unit: str = ""


def result(
    words: str,
    show: str = "",
    *,
    main: bool = False,
    walk: bool = False,
    column: bool = False,
    drivers: str = "",
    calibrated_by: tuple[str, ...] = (),
) -> Any:
    """A number of a station.

    Args:
        words: what it is, in trade words
        show: the reader's unit where it differs from the unit inside
        main: whether a review lists it among the main results
        walk: whether the walk shows it below the picture
        column: whether it is a column where a list of stages is printed one line each
        drivers: short name under which `route --scatter` lists what drives it
        calibrated_by: settings that make an estimate the plant's own number once they are calibrated
    """
    return field(metadata={"result": Declaration(words, show, main, walk, column, drivers, calibrated_by)})


@dataclass(frozen=True, slots=True)
class Result:
    """One number of a route with what a reader needs to know of it."""

    key: str
    words: str
    unit: str
    show: str
    value: Number


@cache
def declared(record: Any) -> tuple[Declaration, ...]:
    """The results that a record class declares, in order.

    Args:
        record: a class with fields declared by `result`; None has none
    """
    if record is None:
        return ()
    hints = get_type_hints(record, include_extras=True)
    found = []
    for item in fields(record):
        one = item.metadata.get("result")
        if one is not None:
            unit = get_args(hints[item.name])[-1]
            found.append(one._replace(name=item.name, unit=unit, show=one.show or unit))
    return tuple(found)


@cache
def _keys(station: Any) -> tuple[str, ...]:
    """Names of the fields in which other stations may be."""
    return tuple(item.name for item in fields(station) if "result" not in item.metadata)


def _class_of(record: Any) -> Any:
    return type(record)


def iter_results(record: Any, prefix: str = "") -> Iterator[Result]:
    """The numbers of a station, or of a whole route, in order.

    Args:
        record: a station or a route
        prefix: key of the record

    Yields:
        Each number with its words and units; keys such as `ironed[1].reduction`.
    """
    for one in declared(_class_of(record)):
        yield Result(f"{prefix}{one.name}", one.words, one.unit, one.show, getattr(record, one.name))
    for name in _keys(_class_of(record)):
        inner = getattr(record, name)
        if isinstance(inner, tuple):
            for i, part in enumerate(inner):
                if is_dataclass(part):
                    yield from iter_results(part, f"{prefix}{name}[{i}].")
        elif is_dataclass(inner) and declared(_class_of(inner)):
            yield from iter_results(inner, f"{prefix}{name}.")
