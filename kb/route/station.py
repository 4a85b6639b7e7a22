"""How a station and its results are declared: all that readers, drawings and reviews need to know of them."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass, field, fields, is_dataclass
from functools import cache, cached_property
from typing import Annotated, Any, Literal, NamedTuple, get_args, get_origin, get_type_hints

from kb.book.records import MachineKind
from kb.units import Number

ChangedWith = Literal["settings", "label", "neck", "height", "bodymaker", "metal", "diameter"]
"""What is changed at a changeover when a value of a format differs."""

ESTIMATE = "estimate"
"""What a result rests on that no trial has calibrated."""

# --- results ----------------------------------------------------------------------------------


class Declaration(NamedTuple):
    """What is declared of a result.

    Attributes:
        words, show, main, walk, column, drivers, estimate, calibrated_by: as for `result`; `show` is filled
            in.
        name: name of the field.
        unit: the unit inside.
    """

    words: str
    show: str = ""
    main: bool = False
    walk: bool = False
    column: bool = False
    drivers: str = ""
    estimate: bool = False
    calibrated_by: tuple[str, ...] = ()
    name: str = ""
    unit: str = ""

    def basis(self, calibrated: Mapping[str, int]) -> str:
        """What the result rests on, by the settings that are calibrated, each with its number of trials.

        Example:
            >>> load = Declaration("axial load", calibrated_by=("load-calibration",))
            >>> load.basis({}), load.basis({"load-calibration": 8}), Declaration("gauge").basis({})
            ('estimate', 'calibrated on 8 trials', '')
        """
        return basis(self.calibrated_by, calibrated) if self.estimate or self.calibrated_by else ""


def result(
    words: str,
    show: str = "",
    *,
    main: bool = False,
    walk: bool = False,
    column: bool = False,
    drivers: str = "",
    estimate: bool = False,
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
        estimate: whether the number ranks choices and proves nothing
        calibrated_by: settings that make an estimate the plant's own number once they are calibrated
    """
    declaration = Declaration(words, show, main, walk, column, drivers, estimate, calibrated_by)
    return field(metadata={"result": declaration})


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


def basis(settings: Collection[str], calibrated: Mapping[str, int]) -> str:
    """What an estimate rests on: the trials of its settings where all of them are calibrated.

    Args:
        settings: settings that are factors on the estimate
        calibrated: settings that are calibrated, each with its number of trials
    """
    if not settings or not set(settings) <= set(calibrated):
        return ESTIMATE
    trials = min(calibrated[name] for name in settings)
    if not trials:
        return "calibrated, no trial in the book"
    return f"calibrated on {trials} trial{'s' if trials > 1 else ''}"


def with_basis(words: str, basis: str) -> str:
    """Words of a value with what it rests on, if anything."""
    return f"{words} ({basis})" if basis else words


@dataclass(frozen=True, slots=True)
class Result:
    """One number of a route with what a reader needs to know of it."""

    key: str
    words: str
    unit: str
    show: str
    value: Number
    declaration: Declaration


@cache
def declared(record: Any) -> tuple[Declaration, ...]:
    """The results that a record class declares by `result`, in order; None has none."""
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
def _inner_fields(record: Any) -> tuple[str, ...]:
    """Names of the fields that are no result: other stations may be in them."""
    return tuple(item.name for item in fields(record) if "result" not in item.metadata)


def _class_of(record: Any) -> Any:
    return type(record)


def iter_results(record: Any, prefix: str = "") -> Iterator[Result]:
    """The numbers of a station, or of a whole route, in order, with keys such as `ironed[1].reduction`."""
    for one in declared(_class_of(record)):
        value = getattr(record, one.name)
        if value is not None:
            yield Result(f"{prefix}{one.name}", one.words, one.unit, one.show, value, one)
    for name in _inner_fields(_class_of(record)):
        inner = getattr(record, name)
        if isinstance(inner, tuple):
            for i, part in enumerate(inner):
                if is_dataclass(part):
                    yield from iter_results(part, f"{prefix}{name}[{i}].")
        elif is_dataclass(inner) and declared(_class_of(inner)):
            yield from iter_results(inner, f"{prefix}{name}.")


# --- stations ---------------------------------------------------------------------------------


class Results(NamedTuple):
    """The results that a station gives under one key.

    Attributes:
        key: first part of their keys, and their field in the route.
        title: title of their section.
        record: class that declares them; none where checks alone measure something there.
        take: computes them. It takes the case, then the results of earlier stations by their keys.
        checks: first parts of the names of checks whose values are shown here, besides `key`.
        member: title of one member of a list, such as `ring {}`; empty where there is no list.
        step: title of one member in the walk, with its number and the count.
        says: what the results say together, in sentences; it takes the route and the calibrated settings.
    """

    key: str
    title: str
    record: Any = None
    take: Callable[..., Any] | None = None
    checks: tuple[str, ...] = ()
    member: str = ""
    step: str = ""
    says: Callable[[Any, Mapping[str, int]], Iterator[str]] | None = None

    @property
    def declared(self) -> tuple[Declaration, ...]:
        """The results in order, with their words and units."""
        return declared(self.record)

    @property
    def needs(self) -> tuple[str, ...]:
        """Keys of the earlier results that `take` reads: the names of its arguments after the case."""
        if self.take is None:
            return ()
        code = self.take.__code__
        return code.co_varnames[1 : code.co_argcount]

    def result_key(self, name: str) -> str:
        """Key of a result; `[]` is every member of a list.

        Example:
            >>> Results("ironed", "Ironing", member="ring {}").result_key("thin")
            'ironed[].thin'
        """
        return f"{self.key}{'[]' if self.member else ''}.{name}"


class Station(NamedTuple):
    """One station.

    Attributes:
        id: its name in the links of a page.
        title: its title.
        results: what it gives, in order.
        short: its title where room is short.
        description: what happens to the metal there.
        machine: kind of machine; empty where the plant has none for it.
        blocks: blocks of the format that are shown with it.
        views: its drawings, by the names of the views.
        plots: its curves on the page of a format, by name.
        tools: keys of the format that are sizes of its tools.
        interface: keys of the format that the end maker, the filler or the customer meets.
        changed_with: what is changed at a changeover when a value of its blocks differs.
    """

    id: str
    title: str
    results: tuple[Results, ...]
    short: str = ""
    description: str = ""
    machine: MachineKind | Literal[""] = ""
    blocks: tuple[str, ...] = ()
    views: tuple[str, ...] = ()
    plots: tuple[str, ...] = ()
    tools: tuple[str, ...] = ()
    interface: tuple[str, ...] = ()
    changed_with: ChangedWith = "settings"
