"""The setup sheet and the list of current codes as documents: their words, values and boxes, in order."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from kb.blocks import (
    BREAK,
    Block,
    Cell,
    CheckItem,
    Checklist,
    Dangers,
    DocumentPart,
    Facts,
    Group,
    Head,
    Listed,
    OnePage,
    Paragraph,
    Pen,
    Phrase,
    PrintedDocument,
    Ruled,
    Signatures,
    Stage,
    Stages,
    Table,
    TableRow,
    WordCell,
    Words,
    bold,
    cell,
    firm,
    strong,
    words,
)
from kb.sheet.issue import plans_code
from kb.sheet.labels import always, labels
from kb.sheet.model import CodeList, FirstOff, MachineBlock, PartSet, Sheet

FEW = 4
"""Sizes of one kind of part that are rows of their own; more are a table by stage."""

SIDES = 4
"""Sides of A4 that a sheet has at most."""


def setup_document(sheet: Sheet) -> PrintedDocument:
    """A setup sheet as a document."""
    w, said, me = labels("setup"), sheet.content, sheet.content.identity
    blocks = {
        "current": _current(sheet),
        "changed": _changed(sheet),
        "waivers": _waivers(sheet),
        "dangers": (Paragraph(words(bold(said.safety))), Dangers(said.dangers)),
        "material": _material(sheet),
        "pack": _pack(sheet),
        "machines": (_machines(said.machines),),
        "gauges": (_gauges(sheet),),
        "first_offs": _first_offs(said.first_offs),
        "out_of_limits": _out_of_limits(sheet),
        "release": (Signatures(tuple((one.step, one.role) for one in said.release)),),
        "notes": (hand_in(w.hand_in, said.return_to, sheet.code), Ruled(2)),
    }
    notes = {"machines": w.boxes, "first_offs": w.ranks}
    replaces = f", replaces {sheet.supersedes}" if sheet.supersedes else ""
    built = w.built_on.format(sheet.built_on) if sheet.built_on else ""
    approved = w.approved.format(", ".join(sheet.approved)) if sheet.approved else ""
    return PrintedDocument(
        form="sheet",
        kind=w.kind,
        tab=f"{w.kind}: {me.title}, {me.line}",
        plant=me.plant,
        title=me.title,
        strip=f"{me.line}, rev {me.revision}, {me.status}",
        foot=words(f"{me.sheet} ", bold(sheet.code), f" rev {me.revision}{replaces}"),
        lines=(f"{me.body} body, {me.end} end, {me.contents}", me.line_title),
        notes=(
            f"revision {me.revision}, {me.status}, {sheet.dates[0]}",
            f"{sheet.dates[1]}, {me.sheet}, owner {me.owner}",
            *filter(None, (built, approved)),
        ),
        code=sheet.code,
        digest=sheet.digest,
        qr=sheet.qr,
        mark=sheet.mark,
        reasons=mark_reasons(sheet.mark, sheet.unfit),
        made=sheet.made,
        parts=tuple(
            DocumentPart(
                f"sheet-{key}",
                title,
                tuple(blocks[key]),
                number=number,
                note=notes.get(key, ""),
                pen_note=key == "machines",
                beside=key in {"current", "changed", "waivers", "out_of_limits"},
                whole=key in {"pack", "release", "notes"},
            )
            for number, (key, title) in enumerate(w.heads.items(), start=1)
        ),
        always=always(one for block in said.machines for one in block.cautions),
        always_word=w.always,
        links_before="sheet-current",
        sides=SIDES,
    )


def codes_document(codes: CodeList) -> PrintedDocument:
    """The list of current codes of a line as a document, for posting."""
    w = labels("setup").codes
    rows = []
    for one in codes.rows:
        status = () if one.status == "released" else words(", ", strong(one.status.upper()))
        unfit = words(", ", strong(one.unfit)) if one.unfit else ()
        about = words(f"{one.format}, revision {one.revision}", status, unfit)
        gone = words(*(each for code in one.no_longer for each in (Phrase(code, "struck"), " ")))
        name, since = cell(strong(one.title), BREAK, about), cell(firm(one.in_force))
        rows.append(TableRow((name, cell(Phrase(one.code, "code")), since, WordCell(gone or words("–")))))
    table = Table("codes", tuple(Head(one) for one in w["heads"]), (Group(tuple(rows)),))
    return PrintedDocument(
        form="list",
        kind=w["title"],
        tab=f"{w['title']}: {codes.line_title}",
        plant=codes.plant,
        title=codes.line_title,
        foot=words(f"{codes.plant}, {codes.line}"),
        lines=(w["use"],),
        mark=codes.mark,
        reasons=mark_reasons(codes.mark, ()),
        made=codes.made,
        parts=(DocumentPart("codes", "", (table,)),),
    )


# --- words that several documents have --------------------------------------------------------


def mark_reasons(mark: str, reasons: tuple[str, ...]) -> str:
    """What a mark means, and why a document has it."""
    return "; ".join(filter(None, (labels("setup").marks.get(mark, ""), *reasons)))


def hand_in(before: str, to: str, code: str) -> Paragraph:
    """Where a sheet with notes on it goes."""
    return Paragraph(words(before, bold(to), ". Quote ", strong(code), "."))


def good_until(day: str) -> tuple[str, Phrase, str]:
    """The last day of a copy, in words."""
    return labels("setup").good_until, strong(day), "."


def three(title: str, *pens: Head) -> tuple[Head, ...]:
    """Heads of a table of limits: the name, how many, the limits, the boxes."""
    return (Head(title), Head(labels("setup").pieces, "right"), Head(look="limits"), *pens)


def ranked(one: FirstOff) -> str:
    """The shape of a check's rank before its name."""
    return f"{labels('setup').shapes[one.rank]} {one.name}"


def limit_words(value: Cell) -> Words:
    """A value with its limits on one line: the target, then least to most."""
    if value.missing:
        return (Phrase(value.text, "missing"),)
    if value.least and value.most:
        band = f"{value.least} to {value.most}"
    else:
        band = f"≥ {value.least}" if value.least else f"≤ {value.most}" if value.most else ""
    return words(strong(f"{value.target} " if value.target else ""), firm(f"{band} {value.unit}".strip()))


def size_words(value: Cell) -> Words:
    """The target of a value with its unit."""
    if value.missing:
        return (Phrase(value.text, "missing"),)
    return words(strong(value.target), firm(f"\u00a0{value.unit}"))


# --- parts ------------------------------------------------------------------------------------


def _current(sheet: Sheet) -> Iterator[Block]:
    unrecorded = () if sheet.recorded else words(BREAK, strong(labels("setup").unrecorded))
    yield Paragraph(words(strong(sheet.current), BREAK, *good_until(sheet.good_until), unrecorded))


def _changed(sheet: Sheet) -> Iterator[Block]:
    me = sheet.content.identity
    yield Paragraph(words(bold(f"Revision {me.revision}:"), f" {me.why}"))
    if sheet.changed:
        yield Listed(tuple(words(one) for one in sheet.changed))
    if sheet.own_values:
        yield Paragraph(words(bold(labels("setup").own_values), f" {'; '.join(sheet.own_values)}."))


def _waivers(sheet: Sheet) -> Iterator[Block]:
    for one in sheet.content.waivers:
        head = strong(f"{one.check} up to {one.ceiling}, until {one.expires}")
        rest = f"{one.about} Limit {one.limit}. {one.reason} Approved by {one.approver}."
        yield Paragraph(words(head, BREAK, rest), "waiver")
    if not sheet.content.waivers:
        yield Paragraph(words(labels("setup").no_waivers))


def _material(sheet: Sheet) -> Iterator[Block]:
    w = labels("setup")
    banded = [(one.name, one.cell) for one in sheet.content.material if one.cell and one.cell.least]
    rows = [TableRow((cell(strong(name)), value, Pen(("",)), Pen(("",)))) for name, value in banded]
    heads = (Head(), Head(look="limits"), Head(w.coil, "pen"), Head(w.coil, "pen"))
    yield Table("material", heads, (Group(tuple(rows)),))
    others = [one for one in sheet.content.material if not (one.cell and one.cell.least)]
    yield Facts(tuple((one.name, one.cell.text if one.cell else one.words) for one in others))


def _pack(sheet: Sheet) -> Iterator[Block]:
    w, said = labels("setup"), sheet.content
    rows = [
        TableRow(
            (
                cell(strong(str(one.number or ""))),
                cell(strong(one.name) if one.number else firm(one.name)),
                cell(firm(f"{one.pieces}×" if one.pieces else "")),
                one.size,
            )
        )
        for one in said.pack
    ]
    heads = (Head(w.tool, span=2), Head(w.pieces, "right"), Head(look="limits"))
    yield Paragraph(words(w.pack), "note")
    yield Table("pack", heads, (Group(tuple(rows)),))
    units = {key: [getattr(one, key).unit for one in said.pack_makes] for key in w.makes}
    # a missing value has no unit; all others of a column have the same
    titled = [", ".join([name, *dict.fromkeys(filter(None, units[key]))]) for key, name in w.makes.items()]
    makes = [
        TableRow((cell(strong(one.name)), *(WordCell(range_words(getattr(one, key))) for key in w.makes)))
        for one in said.pack_makes
    ]
    after = (Head(w.after), *(Head(one, "right") for one in titled))
    title = Paragraph(words(strong(f"{w.makes_title}."), f" {w.predicted}"))
    yield OnePage((title, Table("makes", after, (Group(tuple(makes)),))))


def range_words(value: Cell) -> Words:
    """A predicted value with its range."""
    if value.missing:
        return (Phrase(value.text, "missing"),)
    return words(strong(value.target), firm(f" {value.least}–{value.most}"))


def _machines(machines: tuple[MachineBlock, ...]) -> Table:
    w = labels("setup")
    groups = []
    for block in machines:
        lines = lines_of(block)
        rows = [_line(one) for one in (*lines.tools, *lines.plain, *lines.settings)]
        stages = [
            Stages(
                f"{one.name}, {one.pieces}×",
                tuple(Stage(i, size) for i, size in enumerate(one.sizes, start=1)),
                tuple(w.fitted),
            )
            for one in lines.stages
        ]
        note = f"{block.count} machines" if block.count > 1 else ""
        groups.append(Group(tuple(rows), block.number, block.title, note, block.cautions, tuple(stages)))
    return Table("machines", three(w.part, Head("", "pen", 2)), tuple(groups), cautions=True)


def _line(one: SheetLine) -> TableRow:
    w = labels("setup")
    pens = (Pen(tuple(w.set), span=2),) if one.to_set else tuple(Pen((label,)) for label in w.fitted)
    pieces = f"{one.pieces}×" if one.pieces else ""
    where = f", {one.where}" if one.where else ""
    if one.value.plain or one.to_set:
        name = words(strong(one.name), firm(f" {pieces}" if pieces else ""), where)
        return TableRow((WordCell(name), one.value, *pens), half=True)
    return TableRow((cell(strong(one.name), where), cell(firm(pieces)), one.value, *pens))


def _gauges(sheet: Sheet) -> Checklist:
    w = labels("setup")
    items = (
        CheckItem(
            words(bold(one.name), ", ", firm(one.resolution), f"; {one.type}; {w.master} {one.master}"),
            tick=False,
            pen=tuple(w.gauge_boxes),
        )
        for one in sheet.content.gauges
    )
    return Checklist("gauges", tuple(items))


def _first_offs(checks: tuple[FirstOff, ...]) -> Iterator[Block]:
    w = labels("setup")
    yield Paragraph(words(w.readings_note), "note")
    for key, title in w.groups.items():
        entries = tuple(_first_off(one) for one in checks if one.group == key)
        if entries:
            yield Paragraph(words(strong(title)))
            yield Checklist("checks", entries)


def _first_off(one: FirstOff) -> CheckItem:
    expected = labels("setup").expected.format(one.expected) if one.expected else ""
    how = "; ".join(filter(None, (expected, one.where, one.gauge, one.sample)))
    accept = limit_words(one.value) if one.value else words(bold(one.accept))
    return CheckItem(
        words(strong(ranked(one)), BREAK, accept, BREAK, Phrase(how, "small")),
        tick=False,
        number=str(one.number),
        pen=tuple(labels("setup").accepted),
        ring=one.reaction,
    )


def _out_of_limits(sheet: Sheet) -> Iterator[Block]:
    yield Listed(tuple(words(one) for one in sheet.content.out_of_limits), numbered=True)
    yield Paragraph(words(labels("setup").plans_note, strong(plans_code(sheet.content)), "."))


# --- the lines of a machine -------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class SheetLine:
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

    tools: tuple[SheetLine, ...]
    plain: tuple[SheetLine, ...]
    settings: tuple[SheetLine, ...]
    stages: tuple[PartSet, ...]


def lines_of(block: MachineBlock) -> MachineLines:
    """The lines of a machine, tools before settings; every part and setting once."""
    parts = [SheetLine(one.name, "", one.pieces, one.size, to_set=False) for one in block.parts]
    for one in block.sets:
        if len(one.sizes) <= FEW:
            parts += [
                SheetLine(f"{one.name} {i}", "", one.pieces // len(one.sizes), size, to_set=False)
                for i, size in enumerate(one.sizes, start=1)
            ]
    settings = [SheetLine(one.name, one.where, 0, one.value, to_set=True) for one in block.settings]
    return MachineLines(
        tools=tuple(one for one in parts if not one.value.plain),
        plain=tuple(one for one in parts + settings if one.value.plain),
        settings=tuple(one for one in settings if not one.value.plain),
        stages=tuple(one for one in block.sets if len(one.sizes) > FEW),
    )
