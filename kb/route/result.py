"""How a station's result is declared: words for the reader beside the unit in its annotation."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, fields, is_dataclass
from functools import cache, cached_property
from typing import Annotated, Any, NamedTuple, get_args, get_origin, get_type_hints

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


class _Computed(cached_property[Any]):
    """A result that is computed when it is first read."""

    declaration: Declaration


def computed(
    words: str, show: str = "", **shown: Any
) -> Callable[[Callable[[Any], Number | None]], _Computed]:
    """A result that takes time: computed when it is read, None where it cannot be computed here.

    Args:
        words: what it is, in trade words
        show: the reader's unit where it differs from the unit inside
        shown: where it is shown more, as for `result`
    """

    def declare(compute: Callable[[Any], Number | None]) -> _Computed:
        found = _Computed(compute)
        found.declaration = Declaration(words, show, **shown)
        return found

    return declare


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
    for name, item in vars(record).items():
        if isinstance(item, _Computed):
            hint = get_type_hints(item.func, include_extras=True)["return"]
            unit = get_args(next(one for one in (hint, *get_args(hint)) if get_origin(one) is Annotated))[-1]
            one = item.declaration
            found.append(one._replace(name=name, unit=unit, show=one.show or unit))
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
        value = getattr(record, one.name)
        if value is not None:
            yield Result(f"{prefix}{one.name}", one.words, one.unit, one.show, value)
    for name in _keys(_class_of(record)):
        inner = getattr(record, name)
        if isinstance(inner, tuple):
            for i, part in enumerate(inner):
                if is_dataclass(part):
                    yield from iter_results(part, f"{prefix}{name}[{i}].")
        elif is_dataclass(inner) and declared(_class_of(inner)):
            yield from iter_results(inner, f"{prefix}{name}.")
