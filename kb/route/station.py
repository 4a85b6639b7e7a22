"""How a station is declared: everything that readers, drawings and reviews need to know of it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Literal, NamedTuple

from kb.book.records import MachineKind
from kb.route.result import Declaration, declared

ChangedWith = Literal["settings", "label", "neck", "height", "bodymaker", "metal", "diameter"]
"""What is changed at a changeover when a value of a format differs."""


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
    """

    key: str
    title: str
    record: Any = None
    take: Callable[..., Any] | None = None
    checks: tuple[str, ...] = ()
    member: str = ""
    step: str = ""

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
        inputs: keys of the case that it reads, or groups of them; results of earlier stations apart.
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
    inputs: tuple[str, ...] = ()
    blocks: tuple[str, ...] = ()
    views: tuple[str, ...] = ()
    plots: tuple[str, ...] = ()
    tools: tuple[str, ...] = ()
    interface: tuple[str, ...] = ()
    changed_with: ChangedWith = "settings"
