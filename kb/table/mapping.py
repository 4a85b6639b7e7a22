"""Which column of a plant's table is which value of a size format."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from pathlib import Path
from typing import Any, TypeVar

from kb.book import source
from kb.book.compose import described, leaves
from kb.book.finding import one_line
from kb.book.tree import Document, Scalar
from kb.table.grid import Grid, TableFault

_NAMED = re.compile(r"(?P<key>[a-z_0-9.\[\]]+?)(?: (?P<side>[+-]))?(?: \[(?P<unit>[^\]]*)\])?")
T = TypeVar("T")

_TOP = ("sheet", "header", "separator", "decimal", "encoding", "like", "columns", "values")
_PLAIN = ("like", "sheet", "separator", "encoding", "decimal")
_COLUMN = ("column", "unit", "tolerance", "minus", "plus")


@dataclass(frozen=True)
class TableColumn:
    """The column of one value; of a quantity also its unit, and its tolerance or the columns that have it."""

    name: str
    unit: str = ""
    tolerance: str = ""
    minus: str = ""
    plus: str = ""


@dataclass(frozen=True)
class TableMap:
    """How to read a table.

    Attributes:
        columns: the column of each value, by key of a size format; `lines[]` for a list in one cell
        values: what each format has that the table does not say, as text by key
        like: id of the format that gives what neither has
        sheet, header, separator, encoding: as `read_grid` takes them
        decimal: the decimal sign of numbers that are text
    """

    columns: Mapping[str, TableColumn] = field(default_factory=dict)
    values: Mapping[str, str] = field(default_factory=dict)
    like: str = ""
    sheet: str = ""
    header: int = 1
    separator: str = ""
    encoding: str = "utf-8"
    decimal: str = "."


def read_map(path: Path) -> TableMap:
    """Read a map.

    Raises:
        TableFault: if the file cannot be read, or names what no size format has.
    """
    reading = source.read(path, one_line(str(path)))
    document = reading.document
    if document is None:
        first = reading.findings[0]
        raise TableFault(f"{first.place.file}:{first.place.span.line}: {first.message}")
    data = document.data(lambda one: one.text)
    _known(document, data, _TOP, "")
    for name in ("columns", "values"):
        if not isinstance(data.get(name, {}), dict):
            raise _at(document, name, f"{name} is a group of keys")
    columns = {key: _column(document, key, one) for key, one in data.get("columns", {}).items()}
    values = {key: _value(document, key, one) for key, one in data.get("values", {}).items()}
    if not columns:
        raise TableFault(f"{document.file} has no columns")
    for key in [*columns, *values]:
        group = "columns" if key in columns else "values"
        if not is_value(key):
            near = get_close_matches(key, leaves(), n=1)
            hint = f"; did you mean {near[0]}?" if near else ""
            raise _at(document, f"{group}.{key}", f"a size format has no key {one_line(key)}{hint}")
    plain = {name: data[name] for name in _PLAIN if name in data}
    for name, text in plain.items():
        if not isinstance(text, str):
            raise _at(document, name, f"{name} is one value")
    if plain.get("decimal", ".") not in {".", ","}:
        raise _at(document, "decimal", 'decimal is "." or ","')
    if len(plain.get("separator", ",")) != 1:
        raise _at(document, "separator", "separator is one character")
    header = str(data.get("header", "1"))
    if not re.fullmatch(r"[1-9][0-9]{0,2}", header):
        raise _at(document, "header", "header is the number of a row")
    return TableMap(_lists(columns), _lists(values), header=int(header), **plain)


def _lists(given: Mapping[str, T]) -> dict[str, T]:
    """The same under the keys of the values; a list of texts is one cell, whose key ends with `[]`."""
    return {f"{key}[]" if f"{key}[]" in leaves() else key: one for key, one in given.items()}


def is_value(key: str) -> bool:
    """Whether a key names one value of a size format, or with `[]` a list of texts in one cell."""
    return described(key) is not None or key in leaves() or f"{key}[]" in leaves()


def _column(document: Document, key: str, written: Any) -> TableColumn:
    if isinstance(written, str):
        return TableColumn(" ".join(written.split()))
    place = f"columns.{key}"
    if not isinstance(written, dict) or not all(isinstance(one, str) for one in written.values()):
        raise _at(document, place, "give the name of a column, or a group with column and unit")
    _known(document, written, _COLUMN, place)
    if "column" not in written:
        raise _at(document, place, "column is missing")
    name, minus, plus = (" ".join(written.get(one, "").split()) for one in ("column", "minus", "plus"))
    found = TableColumn(name, written.get("unit", ""), written.get("tolerance", ""), minus, plus)
    if found.tolerance and (found.minus or found.plus):
        raise _at(document, place, "give a tolerance, or the columns that have it")
    if bool(found.minus) != bool(found.plus):
        raise _at(document, place, "minus and plus belong together")
    return found


def _value(document: Document, key: str, written: Any) -> str:
    if isinstance(written, list) and all(isinstance(one, str) for one in written):
        return "; ".join(written)
    if not isinstance(written, str):
        raise _at(document, f"values.{key}", "one value is needed here; write dots in the key")
    return written


def _known(document: Document, given: Mapping[str, Any], allowed: tuple[str, ...], above: str) -> None:
    for key in given:
        if key not in allowed:
            near = get_close_matches(key, allowed, n=1)
            hint = f"did you mean {near[0]}?" if near else f"keys: {', '.join(allowed)}"
            raise _at(document, f"{above}.{key}".lstrip("."), f"{one_line(key)} is not a key here; {hint}")


def _at(document: Document, key: str, message: str) -> TableFault:
    node = document.node(key)
    place = document.place(key) if isinstance(node, Scalar) else document.key_place(key)
    return TableFault(f"{document.file}:{place.span.line}: {message}")


def fitted(table_map: TableMap, grid: Grid) -> TableMap:
    """The map with list values under `[]`, after a look whether the table has each of its columns.

    Raises:
        TableFault: if the table lacks a column.
    """
    for key, column in table_map.columns.items():
        for name in (column.name, column.minus, column.plus):
            if name and name not in grid.columns:
                near = get_close_matches(name, grid.columns, n=1)
                hint = f"did you mean {near[0]}?" if near else f"columns: {', '.join(grid.columns[:12])}"
                raise TableFault(one_line(f"{key}: column {name} is not in the table; {hint}"))
    if "id" not in table_map.columns:
        raise TableFault("no column has the id of a format; map one to `id`")
    return table_map


def map_of_columns(grid: Grid) -> TableMap:
    """The map of a table whose columns are named by the keys of a format, as `export` writes them.

    Raises:
        TableFault: if no column is named so.
    """
    columns: dict[str, TableColumn] = {}
    sides: dict[str, dict[str, str]] = {}
    for name in grid.columns:
        found = _NAMED.fullmatch(name)
        if found is None or not is_value(found["key"]):
            continue
        if found["side"]:
            sides.setdefault(found["key"], {})["minus" if found["side"] == "-" else "plus"] = name
        else:
            columns[found["key"]] = TableColumn(name, found["unit"] or "")
    if "id" not in columns:
        raise TableFault("no column is named `id`; say in a map which column is which: --map MAP.yaml")
    both = {key: one for key, one in sides.items() if len(one) == 2 and key in columns}
    return TableMap(columns | {key: replace(columns[key], **one) for key, one in both.items()})
