"""The papers beside a setup sheet: pack cards, pick list, readings of the first-offs, reaction plans."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from kb.blocks import (
    Block,
    Cell,
    DocumentPart,
    Group,
    Head,
    Listed,
    Paragraph,
    Pen,
    PrintedDocument,
    ReadingBoxes,
    Readings,
    Ring,
    Signatures,
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
from kb.sheet.documents import limit_words, mark_reasons, range_words, ranked, size_words
from kb.sheet.issue import plans_code
from kb.sheet.labels import labels
from kb.sheet.model import Content, FirstOff, MachineBlock, PackPart, Sheet

READING_SIDES = 2
"""Sides of A4 that the readings of a start have at most."""

NARROW = 6
"""Up to this many readings of a machine, a second check fits beside them."""


@dataclass(frozen=True, slots=True)
class Pick:
    """A part to fetch for one group of machines."""

    machine: str
    name: str
    size: Cell
    pieces: int
    store: str


def setup_papers(sheet: Sheet, kind: str) -> tuple[PrintedDocument, ...]:
    """The documents of one kind of paper beside a setup sheet: `packs`, `picks`, `readings` or `plans`."""
    if kind == "packs":
        return pack_cards(sheet)
    if kind == "picks":
        me = sheet.content.identity
        base = _paper(sheet, "picks", me.title)
        return (pick_list(base, _setup_picks(sheet.content)),)
    return (readings(sheet),) if kind == "readings" else (reaction_plans(sheet),)


def _paper(sheet: Sheet, kind: str, title: str) -> PrintedDocument:
    """What the papers of a setup sheet have in common: its code and its mark."""
    me = sheet.content.identity
    name = labels("setup").papers[kind]
    return PrintedDocument(
        form="sheet",
        kind=name,
        tab=f"{name}: {me.title}, {me.line}",
        plant=me.plant,
        title=title,
        strip=f"{me.line}, rev {me.revision}, {me.status}",
        foot=words(f"{name}, {me.sheet} ", bold(sheet.code)),
        lines=(me.line_title, labels("setup").of_sheet.format(code=sheet.code, revision=me.revision)),
        code=sheet.code,
        mark=sheet.mark,
        reasons=mark_reasons(sheet.mark, sheet.unfit),
        made=sheet.made,
    )


# --- pack cards -------------------------------------------------------------------------------


def pack_cards(sheet: Sheet) -> tuple[PrintedDocument, ...]:
    """A card of half a page for the tool pack of each machine that has one; none on a line without packs."""
    said = sheet.content
    kinds = {one.machine for one in said.pack if one.machine}
    return tuple(
        _pack_card(sheet, block, number)
        for block in said.machines
        if block.kind in kinds
        for number in range(1, block.count + 1)
    )


def _pack_card(sheet: Sheet, block: MachineBlock, number: int) -> PrintedDocument:
    w, me, name = labels("setup"), sheet.content.identity, f"{block.title}: {number}"
    blocks: tuple[Block, ...] = (
        _measured(sheet.content.pack),
        Paragraph(words(w.gap_note), "note"),
        _gaps(sheet.content),
        Signatures(tuple((one, "") for one in w.pack_signatures), across=2),
    )
    return replace(
        _paper(sheet, "packs", name),
        form="half",
        strip=f"{me.format}, {me.line}, rev {me.revision}",
        lines=(me.title,),
        parts=(DocumentPart(f"pack-{number}", "", blocks),),
        sides=1,
    )


def _measured(pack: Sequence[PackPart]) -> Table:
    w = labels("setup")
    rows = [
        TableRow(
            (
                cell(strong(f"{one.number} {one.name}")) if one.number else cell(firm(one.name)),
                WordCell(limit_words(one.size)),
                Pen(("",) if one.number else ()),
                Pen(("",)),
            )
        )
        for one in pack
    ]
    heads = (Head(w.tool), Head(w.limits), Head(w.serial, "pen"), Head(w.measured, "pen"))
    return Table("packcard", heads, (Group(tuple(rows)),))


def _gaps(said: Content) -> Table:
    w = labels("setup")
    rows = []
    for one in said.pack_makes:
        gap, thin = WordCell(range_words(one.gap)), WordCell(range_words(one.thin))
        rows.append(TableRow((cell(strong(f"{one.name}, {w.thin}")), Pen(("",)), gap, Pen(("",)), thin)))
    for last in said.pack_makes[-1:]:
        thick = WordCell(range_words(last.thick))
        rows.append(
            TableRow((cell(strong(f"{last.name}, {w.thick}")), Pen(("",)), cell("–"), Pen(("",)), thick))
        )
    heads = (Head(w.after), Head(w.gap, "pen"), Head(w.gap_wanted), Head(w.wall, "pen"), Head(w.wall_wanted))
    return Table("gaps", heads, (Group(tuple(rows)),))


# --- pick list --------------------------------------------------------------------------------


def _setup_picks(said: Content) -> Iterator[Pick]:
    for block in said.machines:
        for one in said.pack:
            if one.machine == block.kind and one.pieces:
                yield Pick(block.title, one.name, one.size, one.pieces, one.store)
        for part in block.parts:
            if part.pieces:
                yield Pick(block.title, part.name, part.size, part.pieces, part.store)
        for each in block.sets:
            for i, size in enumerate(each.sizes, start=1):
                pieces = each.pieces // len(each.sizes)
                yield Pick(block.title, f"{each.name} {i}", size, pieces, each.store)


def pick_list(base: PrintedDocument, picks: Iterable[Pick]) -> PrintedDocument:
    """The parts to fetch, machine by machine; a storage place that the floor file lacks is a box."""
    w = labels("setup")
    groups: dict[str, list[TableRow]] = {}
    for one in picks:
        store = cell(one.store) if one.store else Pen(("",))
        size = WordCell(size_words(one.size))
        row = TableRow((cell(strong(one.name)), size, cell(strong(f"{one.pieces}×")), store, Pen(("",))))
        groups.setdefault(one.machine, []).append(row)
    heads = (*(Head(one) for one in w.pick_heads), Head(w.there, "pen"))
    table = Table("picks", heads, tuple(Group(tuple(rows), title=name) for name, rows in groups.items()))
    release = Signatures(tuple((one, "") for one in w.pick_signatures), across=2)
    return replace(
        base, parts=(DocumentPart("picks", "", (Paragraph(words(w.pick_note), "note"), table, release)),)
    )


# --- readings ---------------------------------------------------------------------------------


def readings(sheet: Sheet) -> PrintedDocument:
    """A box for each reading of the first-offs, with the lowest and the highest of each machine."""
    w, me = labels("setup"), sheet.content.identity
    parts = []
    for key, title in w.groups.items():
        measured = [one for one in sheet.content.first_offs if one.group == key and one.value]
        if measured:
            wide = [_boxes(one) for one in measured if not _narrow(one)]
            narrow = [_boxes(one) for one in measured if _narrow(one)]
            blocks = (Readings(tuple(wide), 1), Readings(tuple(narrow), 2))
            parts.append(DocumentPart(f"readings-{key}", title, tuple(one for one in blocks if one.entries)))
    base = _paper(sheet, "readings", me.title)
    signed = DocumentPart(
        "readings-by", "", (Signatures(tuple((one, "") for one in w.reading_signatures), across=2),)
    )
    return replace(base, parts=(*parts, signed), sides=READING_SIDES)


def _narrow(one: FirstOff) -> bool:
    return one.cans * one.places <= NARROW


def _boxes(one: FirstOff) -> ReadingBoxes:
    places = [f"{can}{place}" for can in range(1, one.cans + 1) for place in _places(one.places)]
    limits: Words = limit_words(one.value) if one.value else ()
    machines = tuple(map(str, range(1, one.boxes + 1))) if one.boxes > 1 else ("",)
    title = words(strong(f"{one.number} {ranked(one)} "), limits)
    return ReadingBoxes(title, one.where, machines, tuple(places), tuple(labels("setup").found), one.reaction)


def _places(count: int) -> str | tuple[str]:
    """Letters of the places on a can; none where there is only one."""
    return "abcdefghijklmnopqrstuvwxyz"[:count] if count > 1 else ("",)


# --- reaction plans ---------------------------------------------------------------------------


def reaction_plans(sheet: Sheet) -> PrintedDocument:
    """The reaction plans of the plant on one page, to laminate; its code is that of the plans alone."""
    w, said = labels("setup"), sheet.content
    rows = []
    for one in said.reactions:
        checks = [words(bold(f" {i}"), f"\u00a0{text}") for i, text in enumerate(one.checks, start=1)]
        release = cell(bold(one.release), f" after {one.recheck} good")
        rows.append(
            TableRow(
                (
                    Ring(one.number),
                    cell(bold(f"{one.title}:"), *checks),
                    cell(one.adjust),
                    cell(one.never),
                    release,
                )
            )
        )
    table = Table("plans", tuple(Head(one) for one in w.reactions), (Group(tuple(rows)),))
    steps = Listed(tuple(words(one) for one in said.out_of_limits), numbered=True)
    code, name = plans_code(said), w.papers["plans"]
    return PrintedDocument(
        form="sheet",
        kind=name,
        tab=name,
        plant=said.identity.plant,
        title=name,
        strip=said.identity.plant,
        foot=words(f"{name} ", bold(code)),
        lines=(w.plans_use,),
        code=code,
        made=sheet.made,
        parts=(
            DocumentPart("plans-safety", "", (Paragraph(words(bold(said.safety))),)),
            DocumentPart("plans-out", w.heads["out_of_limits"], (steps,)),
            DocumentPart("plans-table", name, (table,)),
        ),
        sides=1,
    )
