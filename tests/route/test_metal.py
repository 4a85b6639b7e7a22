"""Scrap, money and energy of a format's metal: by hand, from the plant's file, and not without prices."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

from kb.book.load import Book
from kb.book.quantity import parse
from kb.book.records import CansOfFormat, CoilPrice, MetalEnergy, MetalPrices, MetalShare, Plant, ScrapPrice
from kb.review.effects import Thresholds, metal_effects
from kb.route.assemble import Assembled
from kb.route.case import Case
from kb.route.metal import CansAYear, MetalUse, cans_a_year, metal_use
from kb.route.study import Study
from tests.conftest import MakeBook, judged

ONE = "b211-330"
WHENCE = {"source": "Contract 7.", "owner": "metal buying", "date": "2026-10-01"}
COIL = CoilPrice(parse("3 /kg", "1/kg"), **WHENCE)
SCRAP = ScrapPrice(parse("1500 /t", "1/kg"), **WHENCE)
FULL = MetalPrices(
    currency="EUR",
    coil=(COIL,),
    scrap=SCRAP,
    primary_energy=MetalEnergy(parse("100 MJ/kg", "MJ/kg"), **WHENCE),
    remelt_energy=MetalShare(parse("5 to 10 %", "-"), **WHENCE),
    recycled=MetalShare(parse("50 to 60 %", "-"), **WHENCE),
)
ROUTE: Any = SimpleNamespace(blank=SimpleNamespace(coil_mass=12_000.0), flanged=SimpleNamespace(mass=10.0))
"""12 kg of coil for 1000 cans of 10 g: 2 kg of scrap."""


def used(
    formats: Mapping[str, Assembled], metal: MetalPrices | None, year: float | None = None
) -> MetalUse | None:
    """The metal of a format of 12 kg coil under given prices."""
    case = formats[ONE].case
    whole = replace(case, plant=replace(case.plant, metal=metal))
    return metal_use(whole, ROUTE, None if year is None else CansAYear(year, "cans a year"))


def amounts(use: MetalUse | None) -> dict[str, tuple[float, float]]:
    """The least and most value of each row by its key."""
    assert use is not None
    return {one.key: (one.low, one.high) for one in use.rows}


def test_the_amounts_are_those_worked_out_by_hand(formats: Mapping[str, Assembled]) -> None:
    """12 kg at 3.00, 2 kg of scrap at 1.50 and 100 million cans give 33.00 and 3.3 million a year."""
    found = amounts(used(formats, FULL, 100e6))
    assert found == {
        "scrap": pytest.approx((2.0, 2.0)),
        "coil-year": pytest.approx((1200.0, 1200.0)),
        "coil-cost": pytest.approx((36.0, 36.0)),
        "scrap-credit": pytest.approx((3.0, 3.0)),
        "cost": pytest.approx((33.0, 33.0)),
        "cost-year": pytest.approx((3300.0, 3300.0)),
        # 60 % recycled at 5 % and 50 % recycled at 10 % of 100 MJ: 43 and 55 MJ/kg
        "energy": pytest.approx((516.0, 660.0)),
        "recycled": pytest.approx((6.0, 7.2)),
    }


def test_each_value_of_the_plant_is_listed_with_its_source(formats: Mapping[str, Assembled]) -> None:
    """Five values are used; each names source, owner and date."""
    use = used(formats, FULL)
    assert use is not None
    assert len(use.sources) == 5
    assert all(one.endswith(": Contract 7 (owner metal buying, 2026-10-01)") for one in use.sources)
    assert use.sources[1].startswith("scrap 1500 EUR/t")


def test_a_plant_without_prices_has_no_money(formats: Mapping[str, Assembled]) -> None:
    """Without `metal` there are no rows; without a coil price no money; without cans no year."""
    assert used(formats, None, 1e6) is None
    bare = used(formats, MetalPrices("EUR"), 1e6)
    assert set(amounts(bare)) == {"scrap", "coil-year"}
    assert bare is not None
    assert bare.coil_price is None
    assert set(amounts(used(formats, MetalPrices("EUR", coil=(COIL,))))) == {"scrap", "coil-cost", "cost"}


def test_a_material_can_have_its_own_price(formats: Mapping[str, Assembled]) -> None:
    """The price of the format's own metal goes first; the price of another metal is never used."""
    own = replace(COIL, price=parse("4 /kg", "1/kg"), material=formats[ONE].case.stock.id)
    other = replace(own, material="another")
    for coil, cost in (((COIL, own), 48.0), ((other, COIL), 36.0)):
        found = amounts(used(formats, MetalPrices("EUR", coil=coil)))
        assert found["cost"] == pytest.approx((cost, cost))
    assert "cost" not in amounts(used(formats, MetalPrices("EUR", coil=(other,))))


@pytest.mark.parametrize(("text", "per_kg"), [("3000 /t", 3.0), ("1.36077711 /lb", 3.0), ("3 /kg", 3.0)])
def test_a_price_is_read_in_any_unit_of_mass(text: str, per_kg: float) -> None:
    """A price for a tonne or a pound is the same price for a kilogram."""
    assert parse(text, "1/kg").nominal == pytest.approx(per_kg)


def test_coil_is_cans_skeleton_and_trim(formats: Mapping[str, Assembled]) -> None:
    """No metal is lost: what is not in the cans is skeleton or trim, in every format."""
    for one in formats.values():
        route = one.study.nominal
        scrap = route.blank.skeleton_mass + route.trimmed.trim_mass
        assert route.blank.coil_mass == pytest.approx(1000 * route.flanged.mass + scrap, rel=1e-9)


def test_cans_a_year_come_from_the_plant_or_from_the_weeks(demo: Book) -> None:
    """The plant's number is first; without it the weeks of the book are continued for a year."""
    weeks = cans_a_year(demo, ONE)
    assert weeks is not None
    assert weeks.cans == pytest.approx((1_200_000 + 700_000) * 365.25 / 7)
    assert cans_a_year(demo, "b211-440-light") is None
    plant: Plant = demo.only("plant").record  # type: ignore[union-attr]
    written = replace(plant, metal=MetalPrices("EUR", cans=(CansOfFormat(ONE, 7, **WHENCE),)))
    spec = replace(demo.only("plant"), record=written)  # type: ignore[type-var]
    mine = replace(demo, specs={**demo.specs, "plant": {spec.id: spec}})  # type: ignore[union-attr]
    found = cans_a_year(mine, ONE)
    assert found is not None
    assert found.cans == 7


def test_an_owner_that_the_plant_has_not_is_a_finding(make_book: MakeBook) -> None:
    """The owner of a price is a role of the plant; the finding is at the price."""
    root = make_book(
        [ONE],
        [
            (
                "plant.yaml",
                "  scrap: {price: 1.70 /kg, source",
                "  scrap: {owner: cook, price: 1.70 /kg, source",
            )
        ],
    )
    text = (root / "plant.yaml").read_text(encoding="utf-8")
    line = next(one for one in text.splitlines() if "owner: cook" in one)
    fixed = line.replace("owner: metal buying, ", "")
    (root / "plant.yaml").write_text(text.replace(line, fixed), encoding="utf-8")
    found = [(one.name, one.place.key) for one in judged(root).findings]
    assert ("book.unknown-owner", "metal.scrap.owner") in found


def test_a_review_gives_the_money_that_a_thinner_coil_saves(formats: Mapping[str, Assembled]) -> None:
    """Two per cent less gauge is a main effect in money, scrap credited, by the prices of the plant."""
    old = formats[ONE]
    values = {"format.stock.gauge": 0.98 * float(old.case.format.stock.gauge)}
    new = replace(old, study=Study(old.case.with_nominals(values), old.study.inputs))
    every = Thresholds(result=0.0, band=0.0, near=1.0, margin=0.0, missing=())
    found = {one.key: one for one in metal_effects(old, new, CansAYear(1e8, "cans"), every)}
    cost, prices = found["metal.cost"], old.case.plant.metal
    assert prices is not None
    assert prices.scrap is not None
    coil = [float(one.study.nominal.blank.coil_mass) / 1000 for one in (old, new)]
    cans = [float(one.study.nominal.flanged.mass) for one in (old, new)]
    by_hand = (coil[1] - coil[0]) * float(prices.coil[0].price)
    by_hand -= (coil[1] - cans[1] - coil[0] + cans[0]) * float(prices.scrap.price)
    assert cost.change == pytest.approx(by_hand)
    assert cost.change < 0
    assert cost.main
    assert found["metal.cost-year"].change == pytest.approx(by_hand * 1e8 / 1e6)
    free = replace(old, study=Study(_without_prices(old.case), old.study.inputs))
    assert metal_effects(free, new, None, every) == []


def _without_prices(case: Case) -> Case:
    return replace(case, plant=replace(case.plant, metal=None))


def test_the_demo_prices_are_marked_as_invented(demo: Book) -> None:
    """Both prices of the demo plant say that they are invented."""
    metal = demo.plant.metal if demo.plant else None
    assert metal is not None
    assert metal.scrap is not None
    assert all(one.source.startswith("Invented") for one in (*metal.coil, metal.scrap))
