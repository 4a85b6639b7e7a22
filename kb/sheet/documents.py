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
    Ring,
    Ruled,
    Signatures,
    Stage,
    Stages,
    Table,
    TableRow,
    WordCell,
    bold,
    cell,
    firm,
    strong,
    words,
)
from kb.sheet.hazards import always
from kb.sheet.labels import labels
from kb.sheet.model import CodeList, FirstOff, MachineBlock, PartSet, Sheet

FEW = 4
"""So many sizes of one kind of part are lines of their own; more are a table by stage."""


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
        "first_offs": (_first_offs(said.first_offs),),
        "out_of_limits": (Listed(tuple(words(one) for one in said.out_of_limits), numbered=True),),
        "reactions": (_reactions(sheet),),
        "release": (Signatures(tuple((one.step, one.role) for one in said.release)),),
        "notes": (hand_in(w.hand_in, said.return_to, sheet.code), Ruled(2)),
    }
    notes = {"machines": w.boxes, "first_offs": w.ranks}
    replaces = f", replaces {sheet.supersedes}" if sheet.supersedes else ""
    return PrintedDocument(
        form="sheet",
        kind=w.kind,
        tab=f"{me.title}, {me.line}, {w.kind}",
        plant=me.plant,
        title=me.title,
        strip=f"{me.line}, rev {me.revision}, {me.status}",
        foot=words(f"{me.sheet} ", bold(sheet.code), f" rev {me.revision}{replaces}"),
        lines=(f"{me.body} body, {me.end} end, {me.contents}", me.line_title),
        notes=(
            f"revision {me.revision}, {me.status}, {sheet.dates[0]}",
            f"{sheet.dates[1]}, {me.sheet}, owner {me.owner}",
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
    )


def codes_document(codes: CodeList) -> PrintedDocument:
    """The list of codes in force on a line as a document, for posting."""
    w = labels("setup").codes
    rows = []
    for one in codes.rows:
        status = () if one.status == "released" else words(", ", strong(one.status.upper()))
        unfit = words(", ", strong(one.unfit)) if one.unfit else ()
        about = words(f"{one.format}, revision {one.revision}", status, unfit)
        old = [Phrase(code, "struck") for code in one.no_longer]
        gone = words(*(each for code in old for each in (code, " "))) or words("–")
        rows.append(
            TableRow(
                (
                    cell(strong(one.title), BREAK, about),
                    cell(Phrase(one.code, "code")),
                    cell(firm(one.in_force)),
                    WordCell(gone),
                )
            )
        )
    table = Table("codes", tuple(Head(one) for one in w["heads"]), (Group(tuple(rows)),))
    return PrintedDocument(
        form="list",
        kind=w["title"],
        tab=f"{w['title']}, {codes.line_title}",
        plant=codes.plant,
        title=codes.line_title,
        strip="",
        foot=words(f"{codes.plant}, {codes.line}"),
        lines=(w["use"],),
        notes=(),
        code="",
        digest="",
        qr="",
        mark=codes.mark,
        reasons=mark_reasons(codes.mark, ()),
        made=codes.made,
        parts=(DocumentPart("codes", "", (table,)),),
    )


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
    """The shape of the rank of a first-off check."""
    shape: str = labels("setup").shapes[one.rank]
    return shape


# --- parts ------------------------------------------------------------------------------------


def _current(sheet: Sheet) -> Iterator[Block]:
    unrecorded = () if sheet.recorded else words(BREAK, strong(labels("setup").unrecorded))
    yield Paragraph(words(strong(sheet.current), BREAK, *good_until(sheet.good_until), unrecorded))


def _changed(sheet: Sheet) -> Iterator[Block]:
    me = sheet.content.identity
    yield Paragraph(words(bold(f"Revision {me.revision}:"), f" {me.why}"))
    if sheet.changed:
        yield Listed(tuple(words(one) for one in sheet.changed))


def _waivers(sheet: Sheet) -> Iterator[Block]:
    for one in sheet.content.waivers:
        head = strong(f"{one.check} up to {one.ceiling}, until {one.expires}")
        rest = f"{one.about} Limit {one.limit}. {one.reason} Approved by {one.approver}."
        yield Paragraph(words(head, BREAK, rest), "waiver")
    if not sheet.content.waivers:
        yield Paragraph(words(labels("setup").no_waivers))


def _material(sheet: Sheet) -> Iterator[Block]:
    w = labels("setup")
    cells = [(one.name, one.cell) for one in sheet.content.material if one.cell and one.cell.least]
    rows = [TableRow((cell(strong(name)), value, Pen(("",)), Pen(("",)))) for name, value in cells]
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
                one.size,
                Pen(("",) if one.number else ()),
                Pen(("",)),
            )
        )
        for one in said.pack
    ]
    heads = (Head(w.tool, span=2), Head(look="limits"), Head(w.serial, "pen"), Head(w.measured, "pen"))
    yield Table("pack", heads, (Group(tuple(rows)),))
    units = {key: [getattr(one, key).unit for one in said.pack_makes] for key in w.makes}
    # a missing value has no unit; all others of a column have the same
    titled = [", ".join([name, *dict.fromkeys(filter(None, units[key]))]) for key, name in w.makes.items()]
    makes = [
        TableRow((cell(strong(one.name)), *(WordCell(_range(getattr(one, key))) for key in w.makes)))
        for one in said.pack_makes
    ]
    after = (Head(w.after), *(Head(one, "right") for one in titled))
    title = Paragraph(words(strong(f"{w.makes_title}."), f" {w.predicted}"))
    yield OnePage((title, Table("makes", after, (Group(tuple(makes)),))))


def _range(value: Cell) -> tuple[Phrase, ...]:
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


def _line(one: LineCodes) -> TableRow:
    w = labels("setup")
    pens = (Pen(tuple(w.set), span=2),) if one.to_set else tuple(Pen((label,)) for label in w.fitted)
    pieces = f"{one.pieces}×" if one.pieces else ""
    if one.value.plain:
        where = f", {one.where}" if one.where else ""
        name = words(strong(one.name), firm(f" {pieces}" if pieces else ""), where)
        return TableRow((WordCell(name), one.value, *pens), half=True)
    name = words(strong(one.name), BREAK, one.where) if one.where else words(strong(one.name))
    return TableRow((WordCell(name), cell(firm(pieces)), one.value, *pens))


def _gauges(sheet: Sheet) -> Checklist:
    w = labels("setup")
    return Checklist(
        "gauges",
        tuple(
            CheckItem(
                words(bold(one.name), ", ", firm(one.resolution), f"; {one.type}; {w.master} {one.master}"),
                tick=False,
                pen=tuple(w.gauge_boxes),
            )
            for one in sheet.content.gauges
        ),
    )


def _first_offs(checks: tuple[FirstOff, ...]) -> Table:
    w = labels("setup")
    groups = [
        Group(tuple(_first_off(one) for one in checks if one.group == key), title=title)
        for key, title in w.groups.items()
    ]
    heads = (Head(w.check, span=2), Head(look="limits"), Head("", "pen"), Head(w.plan, "right"))
    return Table("checks", heads, tuple(one for one in groups if one.rows))


def _first_off(one: FirstOff) -> TableRow:
    w = labels("setup")
    how = words(bold(one.gauge), ", " if one.gauge and one.sample else "", one.sample)
    rank = Phrase(f"{ranked(one)} {one.rank}", "rank")
    what = words(strong(one.name), " ", rank, " ", BREAK, f"{one.where} ", BREAK, how)
    labelled = w.found if one.value else w.accepted
    many = one.boxes > 1
    pen = Pen(tuple(map(str, range(1, one.boxes + 1))) if many else tuple(labelled), below=many)
    value = one.value or WordCell(words(strong(one.accept)), span=4)
    return TableRow((cell(strong(str(one.number))), WordCell(what), value, pen, Ring(one.reaction)))


def _reactions(sheet: Sheet) -> Table:
    rows = []
    for one in sheet.content.reactions:
        checks = [words(bold(f" {i}"), f"\u00a0{text}") for i, text in enumerate(one.checks, start=1)]
        rows.append(
            TableRow(
                (
                    Ring(one.number),
                    cell(bold(f"{one.title}:"), *checks),
                    cell(one.adjust),
                    cell(one.never),
                    cell(bold(one.release), f" after {one.recheck} good"),
                )
            )
        )
    return Table("plans", tuple(Head(one) for one in labels("setup").reactions), (Group(tuple(rows)),))


# --- the lines of a machine -------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class LineCodes:
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

    tools: tuple[LineCodes, ...]
    plain: tuple[LineCodes, ...]
    settings: tuple[LineCodes, ...]
    stages: tuple[PartSet, ...]


def lines_of(block: MachineBlock) -> MachineLines:
    """The lines of a machine, tools before settings.

    Returns:
        Every part and setting once.
    """
    parts = [LineCodes(one.name, "", one.pieces, one.size, to_set=False) for one in block.parts]
    for one in block.sets:
        if len(one.sizes) <= FEW:
            parts += [
                LineCodes(f"{one.name} {i}", "", one.pieces // len(one.sizes), size, to_set=False)
                for i, size in enumerate(one.sizes, start=1)
            ]
    settings = [LineCodes(one.name, one.where, 0, one.value, to_set=True) for one in block.settings]
    return MachineLines(
        tools=tuple(one for one in parts if not one.value.plain),
        plain=tuple(one for one in parts + settings if one.value.plain),
        settings=tuple(one for one in settings if not one.value.plain),
        stages=tuple(one for one in block.sets if len(one.sizes) > FEW),
    )
