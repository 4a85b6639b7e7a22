"""Gauges held against the bands that only a sheet knows: those computed from a format and its tools."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction

from kb.book.conversion import factor_and_offset, names
from kb.book.finding import Finding
from kb.book.load import Book
from kb.book.records_floor import Characteristic, Floor
from kb.checks.floor import too_coarse
from kb.checks.floor_keys import leaf
from kb.sheet.model import Cell, Content
from kb.sheet.values import reader_unit

ROOTS = ("route.", "line.", "machine.")
"""Values whose band stands in no spec of the format."""


def coarse_gauges(book: Book, sheets: Iterable[Content]) -> Iterator[Finding]:
    """First-offs whose gauge is too coarse for the band that a sheet prints.

    Args:
        book: a loaded book
        sheets: what its sheets say

    Yields:
        A finding for each such first-off, of the sheet with the narrowest band.
    """
    spec = book.only("floor")
    if spec is None:
        return
    floor: Floor = spec.record
    reads = {
        one.id: spec.quantities[f"gauges[{i}].resolution"].canonical for i, one in enumerate(floor.gauges)
    }
    asked = {i: one for i, one in enumerate(floor.first_offs) if _only_here(one, reads.get(one.gauge, ""))}
    bands: dict[int, list[tuple[float, str]]] = {i: [] for i in asked}
    for said in sheets if asked else ():
        cells = {(one.group, one.name, one.where): one.value for one in said.first_offs}
        for i, check in asked.items():
            band = _band(cells.get((check.group, check.name, check.where)), check)
            if band is not None:
                bands[i].append((band, f"computed for {said.identity.sheet}"))
    for i, found in bands.items():
        yield from too_coarse(spec, i, found)


def _only_here(check: Characteristic, reads: str) -> bool:
    """Whether a first-off's band stands nowhere but on the sheet, and its gauge measures that quantity."""
    known = leaf(check.value) if check.value.startswith(ROOTS) else None
    banded = check.bound == "band" and check.within is None and not check.limit
    return banded and known is not None and known.unit == reads


def _band(cell: Cell | None, check: Characteristic) -> float | None:
    """Width of a printed band in the unit inside; nothing where a side is open."""
    known = leaf(check.value)
    if cell is None or known is None or not (cell.least and cell.most):
        return None
    unit = next(one for one in (known.unit, *sorted(names())) if reader_unit(one) == cell.unit)
    factor, _ = factor_and_offset(unit, known.unit)
    return float((Fraction(cell.most) - Fraction(cell.least)) * factor)
