"""Quantities between units: read back as printed, exact factors, and slips named by what was meant."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.book import conversion
from kb.book.conversion import in_unit
from kb.book.misreading import likely_slip
from kb.book.quantity import QuantityFault, format_in, parse
from kb.folders import shipped


def slip(value: float, low: float, high: float, canonical: str, unit: str | None = None) -> str | None:
    """The words of the slip that a number out of band looks like."""
    found = likely_slip(value, low, high, canonical, unit)
    return found.words if found else None


def refused(text: str, canonical: str) -> QuantityFault:
    """The fault a text is refused with."""
    with pytest.raises(QuantityFault) as caught:
        parse(text, canonical)
    return caught.value


# --- round trips ------------------------------------------------------------------------------

NUMBERS = st.decimals(min_value=0, max_value=9999, places=3)
SIDES = st.decimals(min_value=0, max_value=9, places=3)


@settings(deadline=None)
@given(NUMBERS, SIDES, SIDES, st.sampled_from(["mm", "in", "um", "cm"]))
def test_what_is_printed_reads_back_the_same(
    nominal: Decimal, below: Decimal, above: Decimal, unit: str
) -> None:
    """The three printed numbers of any form read back as the same limits and target, to the last bit."""
    for text in (
        f"{nominal} {unit}",
        f"{nominal} ±{above} {unit}",
        f"{nominal} +{above}/-{below} {unit}",
        f"{nominal} to {nominal + above} {unit}",
    ):
        found = parse(text, "mm")
        low, target, high = (parse(f"{part} {unit}", "mm").nominal for part in found.written)
        assert (low, target, high) == (found.low, found.nominal, found.high)
        assert Decimal(found.written[0]) <= Decimal(found.written[1]) <= Decimal(found.written[2])
    unequal = parse(f"{nominal} +{above}/-{below} {unit}", "mm")
    assert unequal.written == (f"{nominal - below:f}", f"{nominal}", f"{nominal + above:f}")


@settings(deadline=None)
@given(
    st.decimals(min_value="0.1", max_value=99, places=3),
    st.decimals(min_value=0, max_value=1, places=3),
    st.integers(1, 4),
    st.integers(1, 4),
)
def test_a_dual_quantity_made_by_rounding_agrees(
    inches: Decimal, side: Decimal, decimals: int, fine: int
) -> None:
    """Millimetres rounded from inches, value and tolerance each to its own decimals, always agree."""
    value, tolerance = (
        round(Decimal(number) * Decimal("25.4"), places)
        for number, places in ((inches, decimals), (side, fine))
    )
    parse(f"{value} ±{tolerance} mm ({inches} ±{side} in)", "mm")
    parse(f"{inches} ±{side} in ({value} ±{tolerance} mm)", "mm")
    parse(f"{value} mm ({inches} in)", "mm")


@settings(deadline=None)
@given(st.decimals(min_value=1, max_value=99, places=3), st.integers(2, 900))
def test_a_dual_quantity_off_by_more_than_rounding_is_refused(inches: Decimal, off: int) -> None:
    """Two thousandths of an inch or more beside the truth are seen."""
    wrong = (inches + Decimal(off) / 1000) * Decimal("25.4")
    assert refused(f"{wrong} mm ({inches} in)", "mm").name == "units.dual"


# --- units ------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def authority() -> pint.UnitRegistry[Fraction]:
    """The definitions of schema/units.txt as pint understands them."""
    registry: pint.UnitRegistry[Fraction] = pint.UnitRegistry(None, non_int_type=Fraction)
    registry.load_definitions(shipped("schema") / "units.txt")
    return registry


def test_pairs_kept_at_hand_are_what_pint_answers(authority: pint.UnitRegistry[Fraction]) -> None:
    """Each factor that is kept to save loading pint is pint's own, exactly."""
    for (unit, wanted), factor in conversion.KEPT.items():
        begin, end = (authority.parse_units(conversion._listed(name)) for name in (unit, wanted))
        assert authority.convert(Fraction(1), begin, end) == factor, (unit, wanted)
        assert authority.convert(Fraction(0), begin, end) == 0


# Factors fixed by definition or law: the international yard and pound of 1959 (inch 25.4 mm, pound
# 453.59237 g), the standard acceleration of free fall 9.80665 m/s2 (pound-force), SI prefixes, and the
# Fahrenheit scale with its freezing point at 32.
@pytest.mark.parametrize(
    ("unit", "canonical", "factor", "offset"),
    [
        ("in", "mm", Fraction("25.4"), 0),
        ("thou", "mm", Fraction("0.0254"), 0),
        ("lb", "g", Fraction("453.59237"), 0),
        ("oz", "g", Fraction("453.59237") / 16, 0),
        ("lbf", "N", Fraction("0.45359237") * Fraction("9.80665"), 0),
        ("psi", "MPa", Fraction("0.45359237") * Fraction("9.80665") / Fraction("25.4") ** 2, 0),
        ("bar", "MPa", Fraction("0.1"), 0),
        ("degF", "degC", Fraction(5, 9), Fraction(-160, 9)),
        ("kg/m3", "g/cm3", Fraction(1, 1000), 0),
        ("/s", "1/min", Fraction(60), 0),
        ("%", "-", Fraction(1, 100), 0),
        ("", "-", Fraction(1), 0),
        ("J", "J", Fraction(1), 0),
    ],
)
def test_factors_are_exact(unit: str, canonical: str, factor: Fraction, offset: Fraction) -> None:
    """Conversion uses the defined factors as fractions, with nothing rounded."""
    assert conversion.factor_and_offset(unit, canonical) == (factor, offset)
    back = conversion.factor_and_offset(canonical, unit)
    assert back == (1 / factor, -offset / factor)


def test_every_unit_of_the_list_belongs_to_one_dimension() -> None:
    """Each unit that may be written fits exactly one canonical unit, and each of those can be written."""
    for unit in conversion.names():
        fitting = [
            name for name, canonical in conversion.CANONICAL.items() if conversion.fits(unit, canonical)
        ]
        assert fitting == [conversion.dimension_of(unit)], unit
    writable = {conversion.written(canonical) for canonical in conversion.CANONICAL.values()}
    assert writable <= conversion.names() | {""}


def test_bases_and_long_names_cannot_be_written() -> None:
    """Stepping stones of the list, such as kelvin, are no units of a spec."""
    assert (
        not {"kelvin", "metre", "K", "per_minute", "percent", "1/min", "volumes_of_gas"} & conversion.names()
    )


def test_a_number_changes_its_unit_and_back() -> None:
    """The door swings both ways, and refuses another dimension."""
    assert in_unit(0.62, "MPa", "kPa") == 620.0
    assert in_unit(620.0, "kPa", "MPa") == 0.62
    assert in_unit(66.04, "mm", "in") == pytest.approx(2.6, rel=1e-15)
    assert in_unit(10.0, "degC", "degF") == pytest.approx(50.0, rel=1e-15)
    assert in_unit(0.42, "-", "%") == 42.0
    with pytest.raises(conversion.DimensionError):
        in_unit(1.0, "mm", "N")


@pytest.mark.parametrize(
    ("value", "unit", "decimals", "text"),
    [
        (0.097, "mm", 4, "0.0970 mm"),
        (0.125, "mm", 2, "0.13 mm"),
        (-0.125, "mm", 2, "-0.13 mm"),
        (-0.001, "mm", 2, "0.00 mm"),
        (300.4, "1/min", 0, "300 /min"),
        (23.2e-6, "1/K", 7, "0.0000232 /K"),
        (0.05, "-", 2, "0.05"),
        (2.0, "%", 1, "2.0 %"),
        (330_000.0, "mm3", 0, "330000 mm3"),
    ],
)
def test_a_number_is_shown_as_a_spec_would_have_it(value: float, unit: str, decimals: int, text: str) -> None:
    """Decimals are kept, halves go away from zero, and there is no minus nothing."""
    assert format_in(value, unit, decimals) == text


# --- slips ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "band", "canonical", "unit", "words"),
    [
        (2.6, (20, 200), "mm", None, "looks like inches written as mm"),
        (1677.4, (20, 200), "mm", "in", "looks like mm written as inches"),
        (33.02, (50, 90), "mm", None, "looks like a radius in place of a diameter"),
        (3.0, (0.8, 2), "mm", None, "looks like a diameter in place of a radius"),
        (97.0, (0.05, 0.5), "mm", None, "looks like µm written as mm"),
        (9.7e-5, (0.05, 0.5), "mm", "um", "looks like mm written as µm"),
        (0.06604, (20, 200), "mm", None, "looks like metres written as mm"),
        (660.4, (20, 200), "mm", None, "looks like a decimal point in the wrong place"),
        (620.0, (0.4, 1), "MPa", None, "looks like kPa written as MPa"),
        (0.09, (0.5, 0.75), "MPa", "kPa", "looks like psi written as kPa"),
        (4.27, (0.5, 0.75), "MPa", "psi", "looks like kPa written as psi"),
        (0.9, (500, 2000), "N", None, "looks like kN written as N"),
        (900_000.0, (500, 2000), "N", "kN", "looks like N written as kN"),
        (200.0, (500, 2000), "N", None, "looks like lbf written as N"),
        (2.0, (0.001, 0.1), "-", "", "looks like percent written as a plain fraction"),
        (0.0002, (0.001, 0.1), "-", "%", "looks like a plain fraction written as percent"),
        (39.0, (0, 10), "degC", None, "looks like degF written as degC"),
        (2720.0, (1, 5), "g/cm3", None, "looks like kg/m3 written as g/cm3"),
        (330.0, (3e5, 4e5), "mm3", None, "looks like ml written as mm3"),
        (10_300.0, (5, 20), "g", None, "looks like mg written as g"),
        (5.0, (200, 400), "1/min", None, "looks like /s written as /min"),
        (15.0, (20, 50), "deg", None, "looks like a half angle in place of the whole angle"),
    ],
)
def test_a_slip_is_named(
    value: float, band: tuple[float, float], canonical: str, unit: str | None, words: str
) -> None:
    """A number out of band that one common slip brings back is called that slip."""
    assert slip(value, *band, canonical, unit) == words


@pytest.mark.parametrize(("value", "band"), [(66.0, (20, 200)), (1e9, (20, 200)), (11.0, (20, 21))])
def test_no_slip_is_made_up(value: float, band: tuple[float, float]) -> None:
    """A number in band, or one that nothing common explains, is called nothing."""
    assert slip(value, *band, "mm") is None
