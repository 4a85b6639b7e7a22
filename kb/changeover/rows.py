"""How the rows of floor.yaml print for one format on a line, and the values by which two formats differ."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from functools import cached_property
from typing import Any, NamedTuple, TypeAlias

from kb.blocks import MISSING, Cell
from kb.book import records
from kb.book.conversion import same_value
from kb.book.keys import quantity_at
from kb.book.load import Spec
from kb.book.records import Line, Machine
from kb.book.records_floor import ChangePart, Characteristic, MachineSetting
from kb.checks.catalog import MECHANICS
from kb.checks.consistency.floor_index import ONE_LINE, Item, Said, said_by
from kb.checks.consistency.floor_keys import leaf
from kb.checks.judge import Verdict, judge_route
from kb.checks.words import limit_words, quantity
from kb.route.assemble import Assembled
from kb.route.study import Study
from kb.sheet.figures import ExactLimits, exact
from kb.sheet.values import Values, Wanted

LINE_RULES = tuple(one for one in MECHANICS if one.name.startswith("line.") and one.severity == "error")
"""What keeps a format off a line: the ranges of its machines, and what they can push and reach."""


class _Size(NamedTuple):
    """A computed size that holds to within a tolerance: closer sizes are one part."""

    target: Fraction
    within: Fraction


Mark: TypeAlias = Said | _Size | ExactLimits | int | None
"""What is compared of a row: a written value, a computed size with its tolerance, or the printed numbers."""


class FloorRow(NamedTuple):
    """A row of the floor file for one format: what is printed, and the values by which it is compared."""

    cells: tuple[Cell, ...]
    also: tuple[Cell, ...]
    marks: Mapping[str, Mark]


class Post(NamedTuple):
    """A group of machines of the line with the rows of the floor file that belong to it."""

    position: int
    group: Machine
    items: tuple[Item, ...]
    gauges: tuple[Item, ...]


def differs(old: Mark, new: Mark) -> bool:
    """Whether two formats differ in a value of a row."""
    if isinstance(old, _Size) and isinstance(new, _Size):
        return abs(old.target - new.target) > old.within
    return not same_value(old, new)


class FormatOnLine:
    """One format on the line: what it says, and how the line's rows print for it."""

    def __init__(self, assembled: Assembled, line: Spec[Line], limits: Spec[records.Limits]) -> None:
        study = assembled.study
        here = Study(replace(study.case, lines=(line.record,)), study.inputs)
        self.assembled = replace(assembled, study=here)
        self.spec = assembled.spec
        self.said = said_by(assembled.spec)
        self._values = Values(self.assembled, line)
        self._limits = limits.record.limits
        self._rows: dict[tuple[int, str], FloorRow] = {}

    def row(self, item: Item, post: Post) -> FloorRow:
        """A row at a group of machines, made once."""
        key = (post.position, item.at)
        if key not in self._rows:
            self._rows[key] = self._row(item, post)
        return self._rows[key]

    def _row(self, item: Item, post: Post) -> FloorRow:
        wanted = self._wanted(item, post.group)
        first, *others = (
            tuple(self._values.cell(key, post.position, wanted) for key in self._values.members(shown))
            for shown in item.shown
        )
        marks = {
            key: self._mark(item, key, wanted, shown=pattern in item.shown)
            for pattern in item.keys
            if pattern.partition(".")[0] not in ONE_LINE
            for key in self._values.members(pattern)
        }
        none = (Cell(MISSING),)
        return FloorRow(first or none, tuple((one or none)[0] for one in others), marks)

    def _wanted(self, item: Item, group: Machine) -> Wanted:
        """How the setup sheet prints a row."""
        one = item.record
        if isinstance(one, ChangePart):
            return Wanted(within=one.within, decimals=one.decimals, plain=one.fits)
        if isinstance(one, MachineSetting):
            unit = "" if one.shown == "count" else group.display.get(one.shown, "")
            return Wanted(unit=unit, within=one.within, decimals=one.decimals)
        if isinstance(one, Characteristic):
            limit = self._limits.get(one.limit)
            ends = (limit.written("least"), limit.written("most")) if limit else (None, None)
            limits = ends if one.limit else None
            return Wanted("", one.within, one.decimals, one.bound, limits=limits)
        return Wanted()

    def _mark(self, item: Item, key: str, wanted: Wanted, *, shown: bool) -> Mark:
        root, _, rest = key.partition(".")
        if root == "format":
            return self.said.get(key)
        if root == "route":
            return (
                self._computed(item, key, wanted) if shown else self._values.computed(key, Wanted(plain=True))
            )
        found = quantity_at(self.assembled.specs[root].record, rest)
        if found is not None:
            return found.low, found.nominal, found.high
        value: Any = self.assembled.case.at(key) if leaf(key) else None
        return value if isinstance(value, str | int) else None

    def _computed(self, item: Item, key: str, wanted: Wanted) -> Mark:
        """What is compared of a computed value that is printed.

        A first-off that is judged by a plant's limit is judged alike whatever its target.
        """
        one, within = item.record, wanted.within
        if isinstance(one, Characteristic):
            printed = self._values.computed(key, wanted)
            return printed._replace(target=None) if printed and one.limit else printed
        if within is not None:
            unit = within.unit or within.canonical
            size = self._values.computed(key, Wanted(unit=unit, decimals=wanted.decimals, plain=True))
            if size is not None and size.target is not None:
                return _Size(size.target, exact(within.written[1]))
        return self._values.computed(key, wanted._replace(unit=""))

    @cached_property
    def stopped_by(self) -> tuple[str, ...]:
        """What keeps the format off the line, judged at its worst corners; waivers are not looked at."""
        judged = judge_route(self.assembled.study, LINE_RULES, self._limits)
        return tuple(_stop(one) for one in judged if not one.passed)


def _stop(verdict: Verdict) -> str:
    _, value, _ = verdict.tightest
    rule = verdict.rule
    against = f", {verdict.against}" if verdict.against else ""
    figure = quantity(value, unit=rule.unit, show=rule.show)
    return f"{verdict.what} {figure}; {limit_words(verdict)}{against}"
