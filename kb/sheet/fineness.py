"""Gauges held against the bands that only a sheet knows: those computed from a format and its tools."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction
from functools import cache
from typing import TypeAlias

from kb.blocks import Cell
from kb.book.conversion import factor_and_offset, names, reader_unit
from kb.book.finding import Finding
from kb.book.load import Book
from kb.book.records_floor import Characteristic, Floor
from kb.checks.consistency.floor import too_coarse
from kb.checks.consistency.floor_keys import leaf
from kb.sheet.model import Content

ROOTS = ("route.", "line.", "machine.")
"""Values whose band stands in no spec of the format."""


Bands: TypeAlias = Mapping[int, tuple[float, str]]
"""By position of the first-off: width of its band in the unit inside, and where the band comes from."""


def bands(book: Book, sheet: Content) -> Bands:
    """The bands of first-offs that only a sheet has.

    Args:
        book: a loaded book
        sheet: the content of one of its sheets

    Returns:
        The bands; none when the book has no floor file.
    """
    spec = book.only("floor")
    if spec is None:
        return {}
    floor: Floor = spec.record
    reads = {one.id: one.resolution.canonical for one in floor.gauges}
    cells = {(one.group, one.name, one.where): one.value for one in sheet.first_offs}
    found = {}
    for i, check in enumerate(floor.first_offs):
        if _only_here(check, reads.get(check.gauge, "")):
            band = _band(cells.get((check.group, check.name, check.where)), check)
            if band is not None:
                found[i] = (band, f"computed for {sheet.identity.sheet}")
    return found


def coarse_gauges(book: Book, sheets: Iterable[Bands]) -> Iterator[Finding]:
    """First-offs whose gauge is too coarse for the band that a sheet prints.

    Yields:
        A finding for each such first-off, of the sheet with the narrowest band.
    """
    spec = book.only("floor")
    if spec is None:
        return
    of: dict[int, list[tuple[float, str]]] = {}
    for sheet in sheets:
        for i, band in sheet.items():
            of.setdefault(i, []).append(band)
    for i, found in sorted(of.items()):
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
    unit = _unit_of(cell.unit, known.unit)
    factor, _ = factor_and_offset(unit, known.unit)
    return float((Fraction(cell.most) - Fraction(cell.least)) * factor)


@cache
def _unit_of(shown: str, inside: str) -> str:
    """The unit that a reader's unit was written for."""
    return next(one for one in (inside, *sorted(names())) if reader_unit(one) == shown)
