"""Scrap, money and energy of the metal of a format, where the plant's file gives prices.

No price has a default: a plant without `metal` in its file has no rows here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from kb.book.load import Book
from kb.book.quantity import as_quantity
from kb.book.records import CoilPrice, MetalEnergy, MetalShare, Plant, ScrapPrice
from kb.book.records_floor import WEEKS_A_YEAR
from kb.route.case import Case
from kb.route.stations import Route


class CansAYear(NamedTuple):
    """How many cans of a format are made a year, and who says so."""

    cans: float
    source: str


class MetalRow(NamedTuple):
    """One amount of metal, money or energy; low and high differ where a factor of the plant is a range."""

    key: str
    words: str
    low: float
    high: float
    unit: str


@dataclass(frozen=True)
class MetalUse:
    """The metal of a format.

    Attributes:
        rows: scrap, money, energy and recycled metal, each per 1000 cans or a year
        currency: of the money
        coil_price: price of its coil [currency per kg]; None without one
        sources: each value of the plant's file that the rows use, with its source, owner and date
    """

    rows: tuple[MetalRow, ...]
    currency: str
    coil_price: float | None
    sources: tuple[str, ...]


def cans_a_year(book: Book, ident: str) -> CansAYear | None:
    """Cans of a format a year: as the plant's file says, or at the mean of the weeks of the book."""
    plant = book.plant
    for one in plant.metal.cans if plant and plant.metal else ():
        if one.format == ident:
            return CansAYear(one.cans, f"cans a year {one.cans}: {_whence(one.source, one.owner, one.date)}")
    weeks = [spec.record for spec in book.of("week").values()]
    count = len({one.start[:10] for one in weeks})
    cans = sum(run.cans for one in weeks for run in one.runs if run.format == ident)
    if not cans:
        return None
    year = cans / count * WEEKS_A_YEAR
    return CansAYear(year, f"cans a year {year:.0f}: mean of the weeks of the book, planned weeks: {count}")


def metal_use(case: Case, route: Route, year: CansAYear | None) -> MetalUse | None:
    """Metal of a format at its nominal sizes; None where the plant's file has no `metal`."""
    metal = case.plant.metal
    if metal is None:
        return None
    coil = float(route.blank.coil_mass) / 1000  # kg for 1000 cans
    scrap = coil - float(route.flanged.mass)
    rows = [MetalRow("scrap", "skeleton and trim per 1000 cans", scrap, scrap, "kg")]
    sources = []
    if year is not None:
        tonnes = coil * year.cans / 1e6
        rows.append(MetalRow("coil-year", "coil a year", tonnes, tonnes, "t"))
        sources.append(year.source)
    price = _coil_price(case.plant, case.stock.id)
    if price is not None:
        cost = coil * float(price.price)
        rows.append(MetalRow("coil-cost", "cost of coil per 1000 cans", cost, cost, metal.currency))
        sources.append(_source("coil", price, metal.currency))
        words = "metal per 1000 cans, no scrap credited"
        if metal.scrap is not None:
            credit = scrap * float(metal.scrap.price)
            cost -= credit
            words = "metal per 1000 cans, scrap credited"
            rows.append(
                MetalRow("scrap-credit", "scrap credit per 1000 cans", credit, credit, metal.currency)
            )
            sources.append(_source("scrap", metal.scrap, metal.currency))
        rows.append(MetalRow("cost", words, cost, cost, metal.currency))
        if year is not None:
            thousands = cost * year.cans / 1e6
            unit = f"thousand {metal.currency}"
            rows.append(
                MetalRow("cost-year", words.replace("per 1000 cans", "a year"), thousands, thousands, unit)
            )
    if metal.primary_energy is not None:
        least, most = _energy(metal.primary_energy, metal.remelt_energy, metal.recycled)
        rows.append(MetalRow("energy", "energy in the coil per 1000 cans", coil * least, coil * most, "MJ"))
        sources.append(_source("primary energy", metal.primary_energy))
        if metal.recycled and metal.remelt_energy:
            sources.append(_source("remelt energy, share of primary", metal.remelt_energy))
    if metal.recycled is not None:
        low, high = _ends(metal.recycled)
        words = "recycled metal in the coil per 1000 cans"
        rows.append(MetalRow("recycled", words, coil * low, coil * high, "kg"))
        sources.append(_source("recycled content", metal.recycled))
    return MetalUse(tuple(rows), metal.currency, float(price.price) if price else None, tuple(sources))


def _coil_price(plant: Plant, material: str) -> CoilPrice | None:
    """The price of a material's own, or the one for every other material."""
    prices = {one.material: one for one in plant.metal.coil} if plant.metal else {}
    return prices.get(material) or prices.get("")


def _energy(
    primary: MetalEnergy, remelt: MetalShare | None, recycled: MetalShare | None
) -> tuple[float, float]:
    """Least and most energy of a kilogram of coil [MJ]; recycled metal takes the energy of remelting only."""
    (low, high), saved = _ends(primary), (0.0, 0.0)
    if remelt is not None and recycled is not None:
        share, content = _ends(remelt), _ends(recycled)
        saved = content[0] * (1 - share[1]), content[1] * (1 - share[0])
    return low * (1 - saved[1]), high * (1 - saved[0])


def _ends(one: MetalEnergy | MetalShare) -> tuple[float, float]:
    written = as_quantity(one.value)
    return written.low, written.high


def _source(words: str, one: CoilPrice | ScrapPrice | MetalEnergy | MetalShare, currency: str = "") -> str:
    written = one.price if isinstance(one, CoilPrice | ScrapPrice) else one.value
    text = as_quantity(written).text
    amount = text.replace(" /", f" {currency}/") if currency else text
    return f"{words} {amount}: {_whence(one.source, one.owner, one.date)}"


def _whence(source: str, owner: str, date: str) -> str:
    return f"{source.rstrip('.')} (owner {owner}, {date})"
