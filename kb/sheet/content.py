"""From a book to what a sheet says: everything looked up by key, nothing typed a second time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import is_dataclass, replace
from typing import Any

from kb.blocks import MISSING, CautionNote, Cell
from kb.book.conversion import reader_unit
from kb.book.load import Book, Spec
from kb.book.quantity import Quantity, as_quantity
from kb.book.records import Limit, Line, Machine, SizeFormat
from kb.book.records_floor import ChangePart, Characteristic, Floor, MachineFloor, Sample
from kb.checks.catalog import GEOMETRY, RULES
from kb.checks.judge import judge_case
from kb.checks.words import limit_ends
from kb.errors import SizebookError
from kb.route.assemble import Assembled, assemble
from kb.sheet.model import (
    Content,
    Fact,
    FirstOff,
    GaugeRow,
    Identity,
    MachineBlock,
    PackPart,
    PartRow,
    PartSet,
    ReactionRow,
    RingResult,
    SettingRow,
    SignatureRow,
    WaiverNote,
    keys_of,
)
from kb.sheet.values import Values, Wanted

NO_FLOOR = "floor.yaml"
"""What is missing, in one word, from a book without a valid floor file."""

_WALL = Wanted(decimals=4)
_SHARE = Wanted(decimals=1)


class NoSheet(SizebookError):  # noqa: N818 - said to the reader in one line
    """There is nothing to print: the format cannot be taken through the stations."""


def content(book: Book, ident: str, line_id: str) -> Content:
    """What the setup sheet of a format on a line says.

    Returns:
        The controlled content; values the book lacks say MISSING and are listed.

    Raises:
        NoSheet: if a file it needs has faults, its dimensions do not form a can, or the line is not its own.
    """
    return contents(book, ident, [line_id])[0]


def contents(book: Book, ident: str, line_ids: Sequence[str]) -> list[Content]:
    """The same for several lines of one format, whose route is taken once."""
    return contents_of(book, _assembled(book, ident), line_ids)


def contents_of(book: Book, assembled: Assembled, line_ids: Sequence[str]) -> list[Content]:
    """The same for a format that is assembled already, and whose geometry closes."""
    made, ident = [], assembled.spec.id
    for line_id in line_ids:
        line = book.of("line").get(line_id)
        if line is None or line_id not in assembled.spec.record.lines:
            lines = ", ".join(assembled.spec.record.lines)
            raise NoSheet(f"{ident} is not made on {line_id}; lines: {lines}")
        made.append(_Builder(book, assembled, line).content())
    return made


def _assembled(book: Book, ident: str) -> Assembled:
    assembled = assemble(book, ident) if ident in book.of("size-format") else None
    if assembled is None or book.limits is None:
        raise NoSheet(f"{ident}, or a file it refers to, is missing or has errors")
    if not all(one.passed for one in judge_case(assembled.case, GEOMETRY, book.limits.limits)):
        raise NoSheet(f"the dimensions of {ident} do not form a can")
    return assembled


class _Builder:
    """One sheet in the making."""

    def __init__(self, book: Book, assembled: Assembled, line: Spec[Line]) -> None:
        self.book, self.line = book, line
        self.spec = assembled.spec
        self.format: SizeFormat = assembled.spec.record
        self.case = assembled.case
        self.values = Values(assembled, line)
        floor = book.only("floor")
        self.floor: Floor | None = floor.record if floor else None
        self.groups: tuple[Machine, ...] = line.record.machines

    def content(self) -> Content:
        floor, machines = self.floor, tuple(self.machines())
        made = Content(
            identity=self.identity(),
            good_for=floor.good_for if floor else 1,
            waivers=tuple(self.waivers()),
            safety=floor.safety if floor else MISSING,
            dangers=tuple(one for block in machines for one in block.cautions if one.signal == "DANGER"),
            material=tuple(self.material()),
            pack=tuple(self.pack()),
            pack_makes=tuple(self.pack_makes()),
            machines=machines,
            gauges=tuple(self.gauges()),
            first_offs=tuple(self.first_offs()),
            out_of_limits=floor.out_of_limits if floor else (MISSING,),
            reactions=tuple(self.reactions()),
            release=tuple(SignatureRow(one.step, one.role) for one in floor.release) if floor else (),
            return_to=floor.return_to if floor else MISSING,
            missing=(),
        )
        missing = tuple(dict.fromkeys(_missing(made, ""))) if floor else (NO_FLOOR,)
        return replace(made, missing=missing)

    def identity(self) -> Identity:
        one, plant = self.format, self.book.plant
        fill = as_quantity(one.fill.contents)
        return Identity(
            sheet=f"{one.id}/{self.line.id}",
            format=one.id,
            title=one.title,
            body=one.body,
            end=self.case.end.code,
            contents=f"{fill.written[1]} {reader_unit(fill.unit)}",
            line=self.line.id,
            line_title=self.line.record.title,
            plant=plant.title if plant else MISSING,
            revision=one.revision,
            status=one.status,
            effective=one.effective,
            why=one.why,
            owner=one.owner,
        )

    # --- what comes before the tools ---

    def waivers(self) -> Iterator[WaiverNote]:
        limits = self.book.limits
        for one in self.book.waivers.waivers:
            if one.format != self.format.id:
                continue
            rule = RULES.get(one.check)
            limit = rule.limit_in(limits.limits) if rule and limits else None
            yield WaiverNote(
                check=one.check,
                about=rule.title if rule else MISSING,
                ceiling=_shown(one.ceiling),
                limit=self.limit_words(one.check, limit),
                expires=one.expires,
                reason=one.reason,
                approver=one.approver,
            )

    def limit_words(self, check: str, limit: Limit | None) -> str:
        """A limit as the plant writes it, the default of the check, or that the limit is in the specs."""
        least, most = self.limit_ends(check)
        if limit and not (least or most):
            rule = RULES[check]
            return f"{limit_ends(limit, unit=rule.limit_unit, show=rule.limit_show)} (default)"
        words = [f"≥ {_shown(least)}"] if least else []
        words += [f"≤ {_shown(most)}"] if most else []
        return " and ".join(words) if limit else "the spec's own"

    def limit_ends(self, check: str) -> tuple[Quantity | None, Quantity | None]:
        limit = self.book.limits.limits.get(check) if self.book.limits else None
        return (limit.written("least"), limit.written("most")) if limit else (None, None)

    def material(self) -> Iterator[Fact]:
        stock, end = self.case.stock, self.case.end
        yield Fact("Body metal", f"{stock.alloy}-{stock.temper}, {stock.id}")
        yield Fact("Gauge", cell=self.values.cell("format.stock.gauge"))
        width = self.values.cell("route.blank.strip_width", wanted=Wanted(decimals=1, plain=True))
        yield Fact("Strip width, target", cell=width)
        millimetres = Wanted(unit="mm", decimals=2, plain=True)
        yield Fact("Web", cell=self.values.cell("format.blank.web", wanted=millimetres))
        yield Fact("Edge", cell=self.values.cell("format.blank.edge", wanted=millimetres))
        yield Fact("Ears", cell=self.values.cell("stock.earing", wanted=Wanted(bound="most")))
        yield Fact("End for the seam check", f"{end.id}, {end.title}, revision {end.revision}")

    def pack(self) -> Iterator[PackPart]:
        number = 0
        machines = {one.kind: one.count for one in self.groups}
        for floor in self.floor.machines if self.floor else ():
            for part in (one for one in floor.parts if one.pack):
                pieces = part.per_machine * machines.get(floor.machine, 0)
                for i, key in enumerate(self.values.members(part.size)):
                    number += 1
                    name = _numbered(part.name, i) if "[]" in part.size else part.name
                    size = self.values.cell(key, wanted=self.wanted(part))
                    yield PackPart(number, name, pieces, size, part.store, floor.machine)
                for other in part.also:
                    size = self.values.cell(other.size, wanted=self.wanted(part))
                    yield PackPart(None, other.name, 0, size)

    def pack_makes(self) -> Iterator[RingResult]:
        for i in range(len(self.format.ironing.rings)):
            at = f"route.ironed[{i}]"
            yield RingResult(
                name=f"Ring {i + 1}",
                gap=self.values.cell(f"{at}.gap", wanted=_WALL),
                thin=self.values.cell(f"{at}.thin", wanted=_WALL),
                thick=self.values.cell(f"{at}.thick", wanted=_WALL),
                reduction=self.values.cell(f"{at}.reduction", wanted=_SHARE),
            )

    # --- machine by machine ---

    def at_floor(self, kind: str) -> MachineFloor | None:
        machines = self.floor.machines if self.floor else ()
        return next((one for one in machines if one.machine == kind), None)

    def machines(self) -> Iterator[MachineBlock]:
        for i, group in enumerate(self.groups):
            floor = self.at_floor(group.kind)
            cautions = floor.cautions if floor else ()
            rows, sets = self.part_rows(group, i)
            yield MachineBlock(
                number=i + 1,
                kind=group.kind,
                title=group.title,
                count=group.count,
                cautions=tuple(
                    CautionNote(one.signal, group.kind.capitalize(), one.hazard, one.consequence, one.avoid)
                    for one in cautions
                ),
                parts=tuple(rows),
                sets=tuple(sets),
                settings=tuple(self.settings(floor, group, i)) if floor else (),
            )

    def part_rows(self, group: Machine, machine: int) -> tuple[list[PartRow], list[PartSet]]:
        rows: list[PartRow] = []
        sets: list[PartSet] = []
        floor = self.at_floor(group.kind)
        for part in (one for one in (floor.parts if floor else ()) if not one.pack):
            wanted = self.wanted(part)
            cells = tuple(
                self.values.cell(key, machine, wanted) for key in self.values.members(part.size)
            ) or (Cell(MISSING),)
            if "[]" in part.size:
                pieces = part.per_machine * group.count * len(cells)
                sets.append(PartSet(part.name, pieces, cells, part.store))
            else:
                rows.append(PartRow(part.name, part.per_machine * group.count, cells[0], part.store))
            for other in part.also:
                rows.append(PartRow(other.name, 0, self.values.cell(other.size, machine, wanted)))
        return rows, sets

    def wanted(self, part: ChangePart) -> Wanted:
        return Wanted(within=part.within, decimals=part.decimals, plain=part.fits)

    def settings(self, floor: MachineFloor, group: Machine, machine: int) -> Iterator[SettingRow]:
        for one in floor.settings:
            unit = "" if one.shown == "count" else group.display.get(one.shown, "")
            wanted = Wanted(unit=unit, within=one.within, decimals=one.decimals)
            yield SettingRow(one.name, one.where, self.values.cell(one.value, machine, wanted))
        for own in floor.plant_settings:
            yield SettingRow(own.name, own.where, self.values.plant_setting(own.target, group.display))

    # --- first-offs and what follows ---

    def gauges(self) -> Iterator[GaugeRow]:
        named = {one.gauge for one in self.floor.first_offs} if self.floor else set()
        for one in self.floor.gauges if self.floor else ():
            if one.id in named:
                yield GaugeRow(one.name, one.type, _shown(one.resolution), one.master)

    def first_offs(self) -> Iterator[FirstOff]:
        names = {one.id: one.name for one in self.floor.gauges} if self.floor else {}
        number = 0
        for one in self.floor.first_offs if self.floor else ():
            sample = one.sample
            at = [i for i, group in enumerate(self.groups) if sample and group.kind == sample.machine]
            if sample and not at:
                continue
            number += 1
            yield FirstOff(
                number=number,
                group=one.group,
                rank=one.rank,
                name=one.name,
                where=one.where,
                sample=_sample(sample, self.groups[at[0]]) if sample else "",
                boxes=self.groups[at[0]].count if sample and sample.each else 1,
                cans=sample.cans if sample else 0,
                places=sample.places if sample else 0,
                gauge=names.get(one.gauge, MISSING if one.gauge else ""),
                accept=one.accept,
                value=self.judged(one, at[0] if at else None) if one.value else None,
                expected=self.values.expected(one.expected, one.value) if one.expected else "",
                reaction=one.reaction,
            )

    def judged(self, one: Characteristic, machine: int | None) -> Cell:
        """The value of a first-off; one without any limit cannot be judged, so it is missing."""
        limits = self.limit_ends(one.limit) if one.limit else None
        wanted = Wanted("", one.within, one.decimals, one.bound, limits=limits)
        cell = self.values.cell(one.value, machine, wanted)
        return cell if cell.least or cell.most else Cell(MISSING)

    def reactions(self) -> Iterator[ReactionRow]:
        for one in sorted(self.floor.reactions, key=lambda r: r.number) if self.floor else ():
            yield ReactionRow(
                one.number, one.title, one.checks, one.adjust, one.never, one.release, one.recheck
            )


def _sample(sample: Sample, group: Machine) -> str:
    """What is measured, in words: `each of 7 bodymakers: 3 cans, 4 places`."""
    what = "cup" if group.kind == "cupper" else "can"
    where: str = group.kind
    if group.count > 1:
        where = f"each of {group.count} {where}s" if sample.each else f"any one {where}"
    words = f"{where}: {sample.cans} {what}{'s' if sample.cans > 1 else ''}"
    return words if sample.places == 1 else f"{words}, {sample.places} places"


def _numbered(name: str, index: int) -> str:
    """A name with its place in the stack: `Ironing ring 2, bore`."""
    head, comma, tail = name.partition(",")
    return f"{head} {index + 1}{comma}{tail}"


def _shown(quantity: Quantity) -> str:
    return f"{quantity.written[1]} {reader_unit(quantity.unit)}".rstrip()


# --- what is missing --------------------------------------------------------------------------


def _missing(record: Any, name: str) -> Iterator[str]:
    """Names of the rows in which something is missing."""
    if isinstance(record, Cell):
        if record.missing:
            yield name
        return
    if isinstance(record, tuple):
        for one in record:
            if not isinstance(one, str):
                yield from _missing(one, name)
        return
    inner = getattr(record, "name", None) or getattr(record, "title", None) or name
    for key, value in keys_of(record).items():
        if isinstance(value, str):
            if value == MISSING:
                yield inner or key
        elif isinstance(value, tuple) or is_dataclass(value):
            yield from _missing(value, inner)
