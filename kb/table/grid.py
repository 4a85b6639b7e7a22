"""A table as cells: from a CSV file or a workbook, and back."""

from __future__ import annotations

import csv
import datetime
import io
import math
import re
import zipfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import zip_longest
from pathlib import Path
from typing import Any, NamedTuple, TypeAlias

from kb.book.finding import one_line
from kb.errors import SizebookError, require

MOST_BYTES = 8 * 1024 * 1024
MOST_UNPACKED = 64 * 1024 * 1024
MOST_ROWS = 2_000
MOST_COLUMNS = 400
LONGEST_CELL = 1_000

FORMULA = ("=", "+", "-", "@", "\t", "\r")
"""Beginnings by which a spreadsheet takes a text for a formula."""

_WRITTEN = re.compile(rb"(<dcterms:(?:created|modified)[^>]*>)[^<]*<")
"""The times in the properties of a workbook."""

Value: TypeAlias = str | Decimal | None
"""What is written to a cell: a text, a number, nothing."""


class TableCell(NamedTuple):
    """What a cell says; `number` if it is a number, `doubt` is why it may be wrong."""

    text: str
    number: bool = False
    doubt: str = ""


@dataclass(frozen=True)
class Grid:
    """A table: the names of its columns, and its rows with their numbers in the file."""

    columns: tuple[str, ...]
    rows: tuple[tuple[int, tuple[TableCell, ...]], ...]


class TableFault(SizebookError):  # noqa: N818 - printed in one line
    """A table that cannot be read."""


def read_grid(
    path: Path, *, header: int = 1, sheet: str = "", separator: str = "", encoding: str = "utf-8"
) -> Grid:
    """Read a table.

    Args:
        path: a file that ends in .csv or .xlsx
        header: number of the row that has the names of the columns
        sheet: name of the sheet of a workbook. Default: the first one
        separator: what separates the cells of a CSV file. Default: the one that the header has most
        encoding: of a CSV file

    Raises:
        TableFault: if it cannot be read as a table.
        MissingExtra: if it is a workbook and `sizebook[table]` is not installed.
    """
    shown = one_line(str(path))
    suffix = path.suffix.lower()
    if suffix not in {".csv", ".xlsx"}:
        raise TableFault(f"{shown}: a table ends in .csv or .xlsx")
    if not path.is_file():
        raise TableFault(f"{shown} {'is not a file' if path.exists() else 'does not exist'}")
    if path.stat().st_size > MOST_BYTES:
        raise TableFault(f"{shown} is larger than {MOST_BYTES // 1024**2} MB")
    raw = path.read_bytes()
    if suffix == ".xlsx":
        require("table", "a workbook")
        rows = _numbered(_of_workbook(raw, sheet, shown), shown)
    else:
        rows = _numbered(_of_csv(raw, separator, encoding, header, shown), shown)
    head = next((cells for number, cells in rows if number == header), ())
    columns = tuple(" ".join(one.text.split()) for one in head)
    if not any(columns):
        raise TableFault(f"{shown}: row {header} has no column names")
    twice = sorted({one for one in columns if one and columns.count(one) > 1})
    if twice:
        raise TableFault(f"{shown}: column {one_line(twice[0])} appears twice")
    body = [
        (number, cells)
        for number, cells in rows
        if number > header and any(one.text or one.doubt for one in cells)
    ]
    if not body:
        raise TableFault(f"{shown} has no rows below its column names")
    return Grid(columns, tuple(body))


def _numbered(rows: Iterator[Sequence[TableCell]], shown: str) -> list[tuple[int, tuple[TableCell, ...]]]:
    found = []
    for number, cells in enumerate(rows, start=1):
        if number > MOST_ROWS:
            raise TableFault(f"{shown} has more than {MOST_ROWS} rows; split it")
        if len(cells) > MOST_COLUMNS:
            raise TableFault(f"{shown}: row {number} has more than {MOST_COLUMNS} columns")
        found.append((number, tuple(cells)))
    return found


def _of_csv(
    raw: bytes, separator: str, encoding: str, header: int, shown: str
) -> Iterator[Sequence[TableCell]]:
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        encoding = "utf-16"
    try:
        text = raw.decode(encoding).removeprefix("\ufeff")
    except LookupError as error:
        raise TableFault(f"encoding {one_line(encoding)} is unknown; write utf-8 or cp1252") from error
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise TableFault(
            f"{shown}: line {line} is not {encoding.upper()}; save it as UTF-8, or give `encoding` in the map"
        ) from error
    if "\0" in text:
        raise TableFault(f"{shown} is not a CSV file: it contains zero bytes")
    head = next(iter(text.splitlines()[header - 1 : header]), "")
    separator = separator or max(",;\t", key=head.count)
    try:
        for row in csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True):
            yield [_of_text(one) for one in row]
    except csv.Error as error:
        raise TableFault(f"{shown} cannot be read as CSV: {error}") from error


def _of_text(text: str) -> TableCell:
    text = text.strip()
    if len(text) > LONGEST_CELL:
        return TableCell(text[:LONGEST_CELL], doubt=f"{len(text)} characters are too long")
    if text.startswith("'") and text[1:].startswith(FORMULA):
        return TableCell(text[1:])
    if text.startswith("="):
        return TableCell(text, doubt="this is a formula, not a value")
    return TableCell(text)


def _of_workbook(raw: bytes, sheet: str, shown: str) -> Iterator[Sequence[TableCell]]:
    """The cells of a sheet; of a formula the value that was last stored, with a doubt."""
    import openpyxl  # noqa: PLC0415 - part of an extra

    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as packed:
            if sum(one.file_size for one in packed.infolist()) > MOST_UNPACKED:
                raise TableFault(f"{shown} unpacks to more than {MOST_UNPACKED // 1024**2} MB")
        books = [
            openpyxl.load_workbook(io.BytesIO(raw), read_only=True, data_only=stored)
            for stored in (False, True)
        ]
        names = books[0].sheetnames
        if sheet and sheet not in names:
            known = ", ".join(map(one_line, names))
            raise TableFault(f"{shown} has no sheet {one_line(sheet)}; it has {known}")
        written, stored = (one[sheet or names[0]] for one in books)
        for one in (written, stored):
            one.reset_dimensions()
        limits: Any = {"max_row": MOST_ROWS + 1, "max_col": MOST_COLUMNS + 1}
        for row, values in zip_longest(
            written.iter_rows(**limits), stored.iter_rows(values_only=True, **limits), fillvalue=()
        ):
            yield _without_tail(
                [_of_cell(one, value) for one, value in zip_longest(row, values, fillvalue=None)]
            )
    except TableFault:
        raise
    except Exception as error:  # a damaged workbook raises any error of its damaged part
        reason = one_line(" ".join(str(error).split()) or type(error).__name__, 160)
        raise TableFault(f"{shown} cannot be read as a workbook: {reason}") from error


def _without_tail(cells: list[TableCell]) -> list[TableCell]:
    while cells and cells[-1] == TableCell(""):
        cells.pop()
    return cells


def _of_cell(cell: Any, stored: object) -> TableCell:
    if getattr(cell, "data_type", "") == "f":
        if stored is None:
            return TableCell("", doubt="a formula without a stored value")
        return _of_value(cell, stored)._replace(doubt="a formula; this is the value it last had")
    return _of_value(cell, stored)


def _of_value(cell: Any, value: object) -> TableCell:
    if value is None:
        return TableCell("")
    if isinstance(value, datetime.date):
        return TableCell(value.isoformat()[:10])
    if isinstance(value, bool) or not isinstance(value, int | float):
        text = str(value)
        read = TableCell(text.strip()) if text.startswith("=") else _of_text(text)
        is_error = getattr(cell, "data_type", "") == "e"
        return read._replace(doubt="an error of the spreadsheet") if is_error else read
    return _of_number(value, getattr(cell, "number_format", "") or "")


def _of_number(value: float, shown_as: str) -> TableCell:
    """A number as a workbook shows it: with its zeros, and a share in percent."""
    if math.isnan(value) or abs(value) > 1e15:
        return TableCell(str(value), doubt="not a plausible number")
    number = Decimal(f"{value:.15g}")
    if "%" in shown_as:
        return TableCell(f"{(number * 100).normalize():f} %")
    zeros = re.fullmatch(r"#?,?#*0\.(0{1,9})", shown_as)
    digits = max(-int(number.as_tuple().exponent), len(zeros[1]) if zeros else 0)
    return TableCell(f"{number:.{digits}f}", number=True)


def as_csv(columns: Sequence[str], rows: Sequence[Sequence[Value]]) -> str:
    """A table as CSV; a text that a spreadsheet would take for a formula begins with an apostrophe."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(map(guarded, columns))
    writer.writerows(
        [f"{one:f}" if isinstance(one, Decimal) else guarded(one or "") for one in row] for row in rows
    )
    return out.getvalue()


def guarded(text: str) -> str:
    """A text that no spreadsheet takes for a formula.

    Example:
        >>> guarded("=1+1"), guarded("Tide lines")
        ("'=1+1", 'Tide lines')
    """
    return f"'{text}" if text.startswith(FORMULA) else text


def as_workbook(columns: Sequence[str], rows: Sequence[Sequence[Value]], title: str) -> bytes:
    """A table as a workbook with one sheet: numbers are numbers, texts are texts and never formulas.

    Raises:
        MissingExtra: if `sizebook[table]` is not installed.
    """
    require("table", "a workbook")
    import openpyxl  # noqa: PLC0415 - part of an extra

    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = title
    for row in (columns, *rows):
        sheet.append([float(one) if isinstance(one, Decimal) else guarded(one or "") for one in row])
    for line in sheet.iter_rows():
        for cell in line:
            if isinstance(cell.value, str):
                cell.data_type = "s"
    for line, row in zip(sheet.iter_rows(min_row=2), rows, strict=True):
        for cell, one in zip(line, row, strict=True):
            if isinstance(one, Decimal):
                digits = max(-int(one.as_tuple().exponent), 0)
                cell.number_format = f"0.{'0' * digits}" if digits else "0"
    sheet.freeze_panes = "B2"
    book.properties.creator = "sizebook"
    return _same_bytes(book)


def _same_bytes(book: Any) -> bytes:
    """The file of a workbook without the time at which it was written."""
    out, packed = io.BytesIO(), io.BytesIO()
    book.save(out)
    with zipfile.ZipFile(out) as old, zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as new:
        for one in old.infolist():
            info = zipfile.ZipInfo(one.filename, (2000, 1, 1, 0, 0, 0))
            info.compress_type = zipfile.ZIP_DEFLATED
            new.writestr(info, _WRITTEN.sub(b"\\g<1>2000-01-01T00:00:00Z<", old.read(one.filename)))
    return packed.getvalue()
