"""What differs between two formats on a line: which values moved, and what changes at each machine for them.

Each format is taken through the stations once, and all the line's rows of floor.yaml are printed for it as
its setup sheet prints them. Two formats are then compared row by row, so all pairs of a line cost little more
than its formats.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from difflib import get_close_matches
from fractions import Fraction
from functools import cached_property
from typing import Any, NamedTuple, TypeAlias

from kb.blocks import MISSING, Cell
from kb.book import records
from kb.book.conversion import reader_unit, same_value
from kb.book.keys import quantity_at
from kb.book.load import Book, Spec
from kb.book.records import Line, Machine
from kb.book.records_floor import ChangePart, Characteristic, MachineSetting, Supply
from kb.changeover.classes import class_of
from kb.changeover.model import Difference, DifferingValue, Further, ItemChange, StationChanges
from kb.checks.catalog import GEOMETRY, MECHANICS
from kb.checks.consistency.floor_index import (
    ONE_LINE,
    FloorIndex,
    Item,
    Said,
    as_written,
    gauged,
    items,
    said_by,
)
from kb.checks.consistency.floor_keys import leaf, order, plain
from kb.checks.consistency.limits import yardstick
from kb.checks.judge import judge_case, judge_route
from kb.checks.words import value_and_limit
from kb.errors import SizebookError
from kb.route.assemble import Assembled, assemble
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

        A first-off with a plant limit is compared by that limit, not by its target.
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
        return tuple(value_and_limit(one) for one in judged if not one.passed)


REFERRED = {"end": "format.end", "end_stock": "format.end", "stock": "format.stock.material"}
"""By which value of a format a key of another file moves."""


class NoDifference(SizebookError):  # noqa: N818 - said to the reader in one line
    """Two formats cannot be compared on a line."""


# --- the line ---------------------------------------------------------------------------------


class OnLine:
    """A line with its formats; each is taken through the stations at its first use.

    Raises:
        NoDifference: if the line is not in the book, or floor.yaml or limits.yaml has faults.
    """

    def __init__(self, book: Book, line: str) -> None:
        self.book = book
        self.line = _found(book, "line", line)
        floor, limits = book.only("floor"), book.only("limits")
        if floor is None:
            raise NoDifference("floor.yaml is missing or has errors")
        if limits is None or not yardstick(book).whole:
            raise NoDifference("limits.yaml is missing or has errors")
        self._floor, self._limits = floor, limits
        changeover = book.only("changeover")
        self.answers = FloorIndex(floor.record, self.line.record, changeover.record if changeover else None)
        self._posts = tuple(self._make_posts())
        self._taken: dict[str, FormatOnLine] = {}

    def _make_posts(self) -> Iterator[Post]:
        rows, checks = list(items(self._floor.record)), list(gauged(self._floor.record))
        seen: set[str] = set()
        for i, group in enumerate(self.line.record.machines):
            here = tuple(one for one in rows if one.machine == group.kind)
            # first-offs are taken at the first group of their kind, as the setup sheet has it
            first = () if group.kind in seen else tuple(one for one in checks if one.machine == group.kind)
            seen.add(group.kind)
            yield Post(i, group, here, first)

    def formats(self) -> Iterator[str]:
        """Ids of the formats made on the line that can be compared, none withdrawn."""
        for ident, spec in sorted(self.book.of("size-format").items()):
            if self.line.id in spec.record.lines and spec.record.status != "withdrawn":
                try:
                    self._take(ident)
                except NoDifference:
                    continue
                yield ident

    def _take(self, ident: str) -> FormatOnLine:
        if ident not in self._taken:
            _found(self.book, "size-format", ident)
            assembled = assemble(self.book, ident)
            if assembled is None:
                raise NoDifference(f"a file that {ident} refers to is missing or has errors")
            verdicts = judge_case(assembled.case, GEOMETRY, self._limits.record.limits)
            if not all(one.passed for one in verdicts):
                raise NoDifference(f"the dimensions of {ident} do not form a can")
            self._taken[ident] = FormatOnLine(assembled, self.line, self._limits)
        return self._taken[ident]

    def difference(self, old: str, new: str) -> Difference:
        """What differs from one format to another.

        A part, setting or supply changes where a value of the specs that it is driven by, or that is printed
        for it, is another as read: target or limits. A computed size that has a tolerance of its own
        (`within`) changes where the two printed targets differ by more than it: closer ones are the
        same part. Any other computed value changes where it is printed otherwise.

        Raises:
            NoDifference: if one of the two cannot be taken through the stations.
        """
        goes, comes = self._take(old), self._take(new)
        moved = _moved(goes, comes)
        targets = [
            one.key for one in moved if not same_value(_target_of(goes, one.key), _target_of(comes, one.key))
        ]
        kind = class_of(targets, [one.key for one in moved])
        stations = tuple(_station(post, goes, comes) for post in self._posts)
        return Difference(
            line=self.line.id,
            old=old,
            new=new,
            kind=kind.id,
            moved=moved,
            stations=stations,
            orphans=tuple(one for one in moved if not self.answers.answered(one.key)),
            stopped_by=comes.stopped_by,
            title=kind.title,
            first_offs=tuple(_first_offs(self._floor.record.first_offs, stations)),
        )


def _first_offs(checks: Sequence[Characteristic], stations: Sequence[StationChanges]) -> Iterator[str]:
    """First-offs that the changes can have moved, those of a changed master, and those of every start."""
    here = {one.kind for one in stations}
    touched = {one.kind for one in stations if one.changes}
    mastered = {also.name for one in stations for gauge in one.gauges for also in gauge.also}
    for one in checks:
        if one.sample is None:
            yield one.id
        elif one.sample.machine in here:
            movers = one.moved_by or (one.sample.machine,)
            if touched.intersection(movers) or one.name in mastered:
                yield one.id


def _found(book: Book, kind: str, ident: str) -> Spec:
    spec = book.of(kind).get(ident)
    if spec is not None:
        return spec
    what = "size format" if kind == "size-format" else kind
    if any(file.endswith(f"/{ident}.yaml") for file in book.broken):
        raise NoDifference(f"{what} {ident} has errors")
    known = sorted(book.of(kind))
    near = get_close_matches(ident, known, n=1)
    hint = f"did you mean {near[0]}?" if near else f"known: {', '.join(known[:12]) or 'none'}"
    raise NoDifference(f"{what} {ident} is not in the book; {hint}")


def _target_of(made: FormatOnLine, key: str) -> Said | None:
    said = made.said.get(key)
    return (said[1],) * 3 if isinstance(said, tuple) else said


def _moved(goes: FormatOnLine, comes: FormatOnLine) -> tuple[DifferingValue, ...]:
    keys = {
        key
        for key in goes.said.keys() | comes.said.keys()
        if not same_value(goes.said.get(key), comes.said.get(key))
    }
    return tuple(
        DifferingValue(key, _text(goes.spec, key), _text(comes.spec, key)) for key in sorted(keys, key=order)
    )


def _text(spec: Spec, key: str) -> str:
    """A value as written, its unit as a reader writes it."""
    text = as_written(spec, key)
    found = quantity_at(spec.record, key.removeprefix("format."))
    return text.replace(f" {found.unit}", f" {reader_unit(found.unit)}") if found and found.unit else text


# --- one machine ------------------------------------------------------------------------------


def _station(post: Post, goes: FormatOnLine, comes: FormatOnLine) -> StationChanges:
    changes, stays = [], []
    for item in post.items:
        old, new = goes.row(item, post), comes.row(item, post)
        differing = _differing(old, new)
        if differing:
            changes.append(_change(item, post.group, old, new, differing))
        elif item.what != "supply":
            stays.append(item.name)
    return StationChanges(
        number=post.position + 1,
        id=post.group.id,
        kind=post.group.kind,
        title=post.group.title,
        count=post.group.count,
        changes=tuple(changes),
        stays=tuple(stays),
        gauges=tuple(_gauges(post, goes, comes)),
    )


def _differing(old: FloorRow, new: FloorRow) -> list[str]:
    """Keys of a row in which two formats differ."""
    if old.marks == new.marks:
        return []
    keys = dict.fromkeys((*old.marks, *new.marks))
    return [key for key in keys if differs(old.marks.get(key), new.marks.get(key))]


def _change(item: Item, group: Machine, old: FloorRow, new: FloorRow, differing: list[str]) -> ItemChange:
    part = item.record if isinstance(item.record, ChangePart) else None
    places = _places(part, old, new, differing) if part else ()
    each = part.per_machine if part else 0
    names = [one.name for one in part.also] if part else []
    return ItemChange(
        id=item.id,
        what=item.what,
        name=item.name,
        where=item.record.where if isinstance(item.record, MachineSetting) else "",
        old=old.cells,
        new=new.cells,
        per_machine=each,
        pieces=each * group.count * sum(place < len(new.cells) for place in places),
        because=_because(differing),
        places=places,
        pieces_out=each * group.count * sum(place < len(old.cells) for place in places),
        also=tuple(Further(*one) for one in zip(names, old.also, new.also, strict=True)),
        running=isinstance(item.record, MachineSetting | Supply) and item.record.running,
    )


def _places(part: ChangePart, old: FloorRow, new: FloorRow, differing: list[str]) -> tuple[int, ...]:
    """Which places of a part change: all of a matched set, and all for a value that they share."""
    count = max(len(old.cells), len(new.cells))
    if part.pack or not all("[" in key for key in differing):
        return tuple(range(count))
    return tuple(sorted({int(key.partition("[")[2].partition("]")[0]) for key in differing}))


def _because(differing: list[str]) -> tuple[str, ...]:
    roots = {key: key.partition(".")[0] for key in differing}
    specs = {REFERRED.get(root, key) for key, root in roots.items() if root != "route"}
    computed = dict.fromkeys(plain(key) for key, root in roots.items() if root == "route")
    return (*sorted(specs, key=order), *computed)


def _gauges(post: Post, goes: FormatOnLine, comes: FormatOnLine) -> Iterator[ItemChange]:
    """Gauges whose master changes, each with the first-offs that use it."""
    found: dict[str, list[tuple[Item, FloorRow, FloorRow, list[str]]]] = {}
    for item in post.gauges:
        old, new = goes.row(item, post), comes.row(item, post)
        differing = _differing(old, new)
        if differing:
            found.setdefault(item.id, []).append((item, old, new, differing))
    for ident, rows in found.items():
        yield ItemChange(
            id=ident,
            what="gauge",
            name=rows[0][0].name,
            where="",
            old=tuple(old.cells[0] for _, old, _, _ in rows),
            new=tuple(new.cells[0] for _, _, new, _ in rows),
            per_machine=0,
            pieces=0,
            because=_because([key for *_, differing in rows for key in differing]),
            also=tuple(Further(_name(item), old.cells[0], new.cells[0]) for item, old, new, _ in rows),
        )


def _name(item: Item) -> str:
    """What a gauge measures; the item itself is named after the gauge."""
    return item.record.name
