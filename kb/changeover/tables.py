"""The tables of a changeover sheet: tools out, tools in, settings and supplies."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from kb.blocks import (
    BREAK,
    Cell,
    Group,
    Head,
    Pen,
    Phrase,
    Stage,
    Stages,
    Table,
    TableRow,
    WordCell,
    Words,
    cell,
    firm,
    strong,
    words,
)
from kb.changeover.sheet_model import SettingNote, ToolNote, ToolsAt
from kb.sheet.documents import FEW, size_words, three
from kb.sheet.labels import labels


def tools_out(groups: Sequence[ToolsAt]) -> Table:
    """The tools that come out, with boxes for where each goes."""
    w = labels("changeover")
    pens = (Pen((w.serials,)), *(Pen((one,)) for one in w.out_to))
    made = []
    for at in groups:
        rows = [
            TableRow(
                (WordCell(_tool(one)), cell(firm(f"{one.pieces}×")), WordCell(size_words(one.value)), *pens),
                half=True,
            )
            for one in _single(at.rows)
        ]
        made.append(_group(at, rows, w.stage_to, bare=True))
    heads = (Head(w.out_heads[0]), *(Head(one, "right") for one in w.out_heads[1:]))
    return Table("out", (*heads, *(Head("", "pen") for _ in pens)), tuple(made), cautions=True)


def tools_in(groups: Sequence[ToolsAt]) -> Table:
    """The tools that go in, with their limits."""
    w = labels("changeover")
    fitted = labels("setup").fitted
    made = []
    for at in groups:
        rows = []
        for one in sorted(_single(at.rows), key=_beside):
            unlike = (BREAK, Phrase(f"{w.look_alike} {one.look_alike}", "framed")) if one.look_alike else ()
            pens = tuple(Pen((label,)) for label in fitted)
            pieces = firm(f"{one.pieces}×")
            if _beside(one):
                name = words(strong(one.name), " ", pieces, unlike)
                rows.append(TableRow((WordCell(name), one.value, *pens), half=True))
            else:
                name = words(_tool(one), unlike)
                rows.append(TableRow((WordCell(name), cell(pieces), one.value, *pens)))
        made.append(_group(at, rows, fitted))
    heads = three(w.fit_heads[0], Head("", "pen", 2))
    return Table("machines", heads, tuple(made), cautions=True, alike=w.look_alike)


def _beside(one: ToolNote) -> bool:
    """Whether another tool fits beside this one in its row."""
    return one.value.plain and not one.also


def _group(at: ToolsAt, rows: Sequence[TableRow], pen: Sequence[str], *, bare: bool = False) -> Group:
    kinds: dict[str, list[ToolNote]] = {}
    for one in _staged(at.rows):
        kinds.setdefault(one.id, []).append(one)
    stages = tuple(
        Stages(
            f"{many[0].part}, {sum(one.pieces for one in many)}×",
            tuple(
                Stage(one.place, _one_unit(one.value) if bare else one.value, one.look_alike) for one in many
            ),
            tuple(pen),
        )
        for many in kinds.values()
    )
    note = f"{at.count} machines" if at.count > 1 else ""
    return Group(tuple(rows), at.number, at.title, note, at.cautions, stages)


def _staged(rows: Sequence[ToolNote]) -> list[ToolNote]:
    """Tools of kinds with so many places that they have a table of their own."""
    return [one for one in rows if sum(other.id == one.id for other in rows) > FEW]


def _single(rows: Sequence[ToolNote]) -> list[ToolNote]:
    staged = _staged(rows)
    return [one for one in rows if one not in staged]


def _tool(one: ToolNote) -> Words:
    also = [(BREAK, Phrase(f"{other.name} ", "small"), *size_words(other.value)) for other in one.also]
    return words(strong(one.name), *also)


def _one_unit(value: Cell) -> Cell:
    """A value in the machine's own unit alone; the other is on the setup sheet."""
    return replace(value, second=None)


def settings_table(settings: Sequence[SettingNote]) -> Table:
    """Settings and supplies that differ, from the old value to the new one."""
    w = labels("changeover")
    name, old = w.setting_heads
    heads = (Head(name), Head(old, "right"), Head(look="limits"), Head(), Head("", "pen"))
    return Table("settings", heads, (Group(tuple(_setting(one) for one in settings)),))


def _setting(one: SettingNote) -> TableRow:
    w = labels("changeover")
    where = words(" ", Phrase(one.where, "small")) if one.where else ()
    name = cell(Phrase(str(one.number), "tag"), " ", strong(one.name), where)
    is_setting = one.what == "setting"
    sign = cell(strong((w.direct if one.direct else w.search) if is_setting else ""))
    pen = Pen(tuple(w.set if is_setting else w.there))
    if not one.new.missing and not one.new.unit and not one.new.target.replace(".", "").isdecimal():
        change = WordCell(words(firm(one.old.text), " → ", strong(one.new.text)), span=5)  # no number: a name
        return TableRow((name, change, sign, pen), half=True)
    old = Phrase(one.old.text, "missing") if one.old.missing else firm(one.old.target or one.old.text)
    return TableRow((name, cell(old, firm(" →")), _one_unit(one.new), sign, pen), half=True)
