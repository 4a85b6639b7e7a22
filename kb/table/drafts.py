"""Draft formats from the rows of a table, with the result for each cell."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from typing import Any, NamedTuple

from kb.book import conversion, schema, source
from kb.book.compose import Written, as_yaml, composed, described, own_values, values_of
from kb.book.finding import Finding, one_line
from kb.book.load import Book, Spec
from kb.book.quantity import Quantity, QuantityFault, parse
from kb.book.records import INHERITED
from kb.table.grid import Grid, TableCell, TableFault
from kb.table.mapping import TableColumn, TableMap, fitted

_SLUG = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
_POSITION = re.compile(r"\[[0-9]+\]")
_FIRST = ("kind", "status")
"""Values that every draft has; the table does not change them."""
_OF_OTHER = ("kind", "id", "title", "revision", "status", "why", "label", "also_called")
"""Values of another format that are its own."""


class CellFate(NamedTuple):
    """How a cell was read: its key and value, and why they may be wrong."""

    row: int
    column: str
    cell: str
    key: str = ""
    value: str = ""
    doubt: str = ""


@dataclass
class ImportedDraft:
    """The draft of one row.

    Attributes:
        row: number of the row in the table
        ident: id of the format; "" if the row has none
        text: its file; "" if the row gives no draft
        cells: the result for each cell that is not empty
        doubts: why the row as a whole may be wrong
        missing: keys that a format needs and neither table nor map gives
        exists: whether the book has a file of this id
    """

    row: int
    ident: str = ""
    text: str = ""
    cells: list[CellFate] = field(default_factory=list)
    doubts: list[str] = field(default_factory=list)
    missing: tuple[str, ...] = ()
    exists: bool = False

    @property
    def doubtful(self) -> int:
        return len(self.doubts) + sum(bool(one.doubt) for one in self.cells)


def drafts(book: Book, grid: Grid, table_map: TableMap, name: str) -> list[ImportedDraft]:
    """A draft for each row of a table, in its order.

    A cell that is no value of its key is written as it is, for `check` to refuse: the value of another format
    never takes its place. A draft is built on the standard of its body, if the book has one, and leaves out
    what the standard gives.

    Args:
        book: the book that gets the drafts
        grid: the table
        table_map: which column is which value
        name: name of the table, for the reason of the revision

    Raises:
        TableFault: if the table lacks a column, or the book the format that gives missing values.
    """
    table_map = fitted(table_map, grid)
    base: Mapping[str, Written] = {}
    standards = list(book.of("body-standard").values())
    if table_map.like:
        spec = book.of("size-format").get(table_map.like)
        if spec is None:
            raise TableFault(f"like: format {one_line(table_map.like)} is not in the book, or has errors")
        note = f"from {table_map.like}, not in the table"
        base = {key: Written(one.yaml, note) for key, one in values_of(spec.record).items()}
        standards = [one for one in standards if one.id == spec.record.standard]
    found = [
        _draft(grid, table_map, base, standards, number=number, cells=cells, name=name)
        for number, cells in grid.rows
    ]
    known = book.ids("size-format")
    for one in found:
        rows = [other.row for other in found if one.ident and other.ident == one.ident]
        if len(rows) > 1:
            one.doubts.append(f"id {one.ident} is in rows {', '.join(map(str, rows))}; none is imported")
            one.text = ""
        one.exists = one.ident in known
    return found


def _draft(
    grid: Grid,
    table_map: TableMap,
    base: Mapping[str, Written],
    standards: Sequence[Spec],
    *,
    number: int,
    cells: Sequence[TableCell],
    name: str,
) -> ImportedDraft:
    made = ImportedDraft(number)
    by_name = dict(zip(grid.columns, cells, strict=False))
    used = {part for one in table_map.columns.values() for part in (one.name, one.minus, one.plus)}
    values: dict[str, Written] = {}
    for key, text in table_map.values.items():
        values |= dict(_written(key, TableCell(text), TableColumn(""), table_map, by_name)[0])
    for key, column in table_map.columns.items():
        cell = by_name.get(column.name, TableCell(""))
        if not cell.text:
            if cell.doubt:
                made.cells.append(CellFate(number, column.name, "", key, "", cell.doubt))
            continue
        taken, doubt = _written(key, cell, column, table_map, by_name)
        doubt = cell.doubt or doubt
        if key in _FIRST:
            taken, doubt = {}, ""
        elif key == "id":
            made.ident, doubt = _ident(cell.text, doubt)
            taken = {"id": Written(made.ident)} if made.ident else {}
        if doubt:
            taken = {at: Written(one.yaml, f"doubt: {one_line(doubt, 160)}") for at, one in taken.items()}
        values |= taken
        shown = ", ".join(one.yaml for one in taken.values())
        made.cells.append(CellFate(number, column.name, cell.text, key, shown, doubt))
    made.cells += [
        CellFate(number, column, cell.text)
        for column, cell in by_name.items()
        if column not in used and cell.text
    ]
    if not made.ident:
        made.doubts.append("the row has no id")
        return made
    lists = {key.rpartition("[")[0] for key in values if key.endswith("]")}
    kept = {
        key: one
        for key, one in base.items()
        if key.partition("[")[0] not in _OF_OTHER and key.rpartition("[")[0] not in lists
    }
    values = {
        "title": Written(made.ident),
        "revision": Written("1"),
        "why": Written(as_yaml(f"Imported from {name}, row {number}.", quoted=True)),
        **kept,
        **values,
        "kind": Written("size-format"),
        "id": Written(made.ident),
        "status": Written("draft"),
    }
    values = _without_gaps(values)
    standard = _standard_of(values, standards)
    if standard is not None:
        doubts = {key: one for key, one in values.items() if one.note.startswith("doubt: ")}
        values = {**own_values(values, standard.record), **doubts}
    made.text = composed(values)
    _judged(made, standard)
    return made


def _standard_of(values: Mapping[str, Written], standards: Sequence[Spec]) -> Spec | None:
    """The one body standard of the body that a row has; None if the book has none or several."""
    body = values.get("body", Written("")).yaml
    found = [one for one in standards if as_yaml(one.record.body, quoted=True) == body]
    return found[0] if len(found) == 1 else None


def _without_gaps(values: Mapping[str, Written]) -> dict[str, Written]:
    """Values whose lists count from 0 without a gap: an empty cell between two rings is no ring."""
    members: dict[str, list[int]] = {}
    for key in values:
        if found := _POSITION.search(key):
            members.setdefault(key[: found.start()], []).append(int(found[0][1:-1]))
    ranks = {head: {n: i for i, n in enumerate(sorted(set(all_)))} for head, all_ in members.items()}

    def moved(key: str) -> str:
        found = _POSITION.search(key)
        if not found:
            return key
        head = key[: found.start()]
        return f"{head}[{ranks[head][int(found[0][1:-1])]}]{key[found.end() :]}"

    return {moved(key): one for key, one in values.items()}


def _ident(text: str, doubt: str) -> tuple[str, str]:
    if _SLUG.fullmatch(text):
        return text, ""
    made = re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")[:64].strip("-")
    return made, f"not a valid id; {made} is used" if made else doubt or "not a valid id"


def _written(
    key: str, cell: TableCell, column: TableColumn, table_map: TableMap, by_name: Mapping[str, TableCell]
) -> tuple[dict[str, Written], str]:
    """The values that a cell gives, and why they may be wrong."""
    if key.endswith("[]"):
        parts = [one.strip() for one in re.split(r"[;,]", cell.text) if one.strip()]
        return {f"{key[:-1]}{i}]": Written(as_yaml(one, quoted=False)) for i, one in enumerate(parts)}, ""
    described_as = described(key) or {}
    if quantity := described_as.get("quantity"):
        text, doubt = _quantity(cell, column, quantity, table_map.decimal, by_name)
        return {key: Written(text)}, doubt
    if described_as.get("type") == "integer":
        whole = re.fullmatch(r"[0-9]{1,9}(?:\.0+)?", cell.text)
        if whole:
            return {key: Written(str(int(cell.text.partition(".")[0])))}, ""
        return {key: Written(_safe(cell.text))}, "not a whole number"
    quoted = bool(described_as.get("code") or described_as.get("day"))
    return {key: Written(as_yaml(one_line(cell.text), quoted=quoted))}, ""


def _quantity(
    cell: TableCell,
    column: TableColumn,
    wanted: Mapping[str, Any],
    decimal: str,
    by_name: Mapping[str, TableCell],
) -> tuple[str, str]:
    """A quantity as YAML, with the unit and tolerance of the cell, otherwise those of its column."""
    canonical = str(wanted.get("unit", conversion.ANY))
    text = cell.text if cell.number else _point(cell.text, decimal)
    own, fault = _parsed(text, canonical)
    if own is not None and (own.unit or not column.unit):
        doubt = ""
        if column.unit and own.unit != column.unit:
            doubt = f"the cell has {own.unit}, its column {column.unit}; the unit of the cell is used"
        return _as_quantity(own), doubt
    with_unit, _ = _parsed(f"{text} {column.unit}".strip(), canonical)
    if with_unit is not None and with_unit.toleranced:
        return _as_quantity(with_unit), ""
    tolerance, doubt = _tolerance(column, decimal, by_name)
    whole = " ".join(f"{text} {tolerance} {column.unit}".split())
    found, of_whole = _parsed(whole, canonical)
    if found is not None:
        return _as_quantity(found), doubt
    if re.fullmatch(r"[-+]?[0-9.,]+", text):
        if not column.unit:
            return _safe(text), "the column has no unit"
        return _safe(whole), of_whole
    return _safe(text), fault


def _parsed(text: str, canonical: str) -> tuple[Quantity | None, str]:
    """A quantity, or why the text is none."""
    try:
        return parse(text, canonical), ""
    except QuantityFault as fault:
        return None, f"{fault.message}; {fault.hint}" if fault.hint else fault.message


def _point(text: str, decimal: str) -> str:
    """A number with a decimal comma as one with a point; thousands are not set apart."""
    if decimal == ".":
        return text
    return re.sub(r"(?<=[0-9]),(?=[0-9])", ".", re.sub(r"(?<=[0-9])\.(?=[0-9]{3}\b)", "", text))


def _tolerance(column: TableColumn, decimal: str, by_name: Mapping[str, TableCell]) -> tuple[str, str]:
    if not column.plus:
        return column.tolerance, ""
    sides = []
    for name in (column.minus, column.plus):
        cell = by_name.get(name, TableCell(""))
        if not cell.text:
            return "", ""
        try:
            sides.append(abs(Decimal(_point(cell.text, decimal).replace("±", ""))))
        except InvalidOperation:
            return "", f"column {name} has no number: {one_line(cell.text, 40)}"
    minus, plus = sides
    return (f"±{plus:f}" if minus == plus else f"+{plus:f}/-{minus:f}"), ""


def _as_quantity(found: Quantity) -> str:
    return as_yaml(found.text, quoted=True) if '"' in found.text else found.text


def _safe(text: str) -> str:
    return json.dumps(one_line(text), ensure_ascii=False)


def _judged(made: ImportedDraft, standard: Spec | None) -> None:
    """Put what the schema says of a draft beside its cells, and list what it lacks."""
    reading = source.read_text(made.text, f"{made.ident}.yaml")
    if reading.document is None:
        made.doubts += [one.message for one in reading.findings]
        made.text = ""
        return
    missing = []
    document = reading.document.upon(standard.document, INHERITED) if standard else reading.document
    for finding in schema.judge(document).findings:
        if finding.name == "shape.missing-key":
            missing.append(finding.place.key)
        elif not _at_cell(made, finding):
            made.doubts.append(f"{finding.place.key}: {_words(finding)}")
    made.missing = tuple(missing)


def _at_cell(made: ImportedDraft, finding: Finding) -> bool:
    """Put a finding beside the cell that gives its value, if one does."""
    for i, one in enumerate(made.cells):
        if one.key in {finding.place.key, _POSITION.sub("[]", finding.place.key)}:
            made.cells[i] = one._replace(doubt=one.doubt or _words(finding))
            return True
    return False


def _words(finding: Finding) -> str:
    return "; ".join([finding.message, *finding.fixes[:1]])
