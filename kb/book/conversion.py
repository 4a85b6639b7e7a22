"""The units a spec may be written in, and their exact conversion.

The list is schema/units.txt; pint reads it, knows the dimensions and does the arithmetic in fractions, so
that 2.600 in is 66.04 mm and not a hair more. pint sees names of the list alone, never text from a spec
(its parser of expressions would calculate it). Loading it costs more than reading a whole
spec, so the answers wanted in every spec are kept here, and a test asks pint for them again.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction
from functools import cache
from typing import TYPE_CHECKING

from kb.errors import SizebookError
from kb.folders import shipped

if TYPE_CHECKING:
    import pint


_DIMENSIONS: dict[str, tuple[str, str]] = {
    "length": ("mm", "66.04 mm"),
    "volume": ("mm3", "330 ml"),
    "force": ("N", "1.0 kN"),
    "pressure": ("MPa", "620 kPa"),
    "work": ("J", "2.5 J"),
    "angle": ("deg", "30 deg"),
    "mass": ("g", "10.2 g"),
    "density": ("g/cm3", "2.72 g/cm3"),
    "temperature": ("degC", "4 degC"),
    "time": ("s", "15 min"),
    "rate": ("1/min", "300 /min"),
    "area": ("mm2", "310 cm2"),
    "speed": ("mm/s", "9.6 m/s"),
    "acceleration": ("mm/s2", "300 m/s2"),
    "expansion": ("1/K", "23.2e-6 /K"),
    "carbonation": ("volumes", "3.7 volumes"),
    "price": ("1/kg", "3.10 /kg"),
    "energy of metal": ("MJ/kg", "170 MJ/kg"),
    "fraction": ("-", "0.05 or 5 %"),
}
"""Each dimension, the unit its numbers have inside kb, and an example of a text."""

CANONICAL: dict[str, str] = {dimension: unit for dimension, (unit, _) in _DIMENSIONS.items()}

ANY = "any"
"""In place of a canonical unit: whichever belongs to the unit that is written."""

# Spellings that cannot be names of units in the list, and their names there.
_SPELLED: dict[str, str] = {
    "%": "percent",
    "/s": "per_second",
    "/min": "per_minute",
    "/h": "per_hour",
    "/K": "per_kelvin",
    "m/s": "metre_per_second",
    "mm/s": "millimetre_per_second",
    "m/s2": "metre_per_second_squared",
    "mm/s2": "millimetre_per_second_squared",
    "g/cm3": "gram_per_cubic_centimetre",
    "kg/m3": "kilogram_per_cubic_metre",
    "/kg": "per_kilogram",
    "/t": "per_tonne",
    "/lb": "per_pound",
    "MJ/kg": "megajoule_per_kilogram",
    "GJ/t": "gigajoule_per_tonne",
    "kWh/kg": "kilowatt_hour_per_kilogram",
}
_INSIDE: dict[str, str] = {"1/min": "/min", "1/K": "/K", "1/kg": "/kg", "-": "", ANY: ""}
"""How a canonical unit is written after a number in a spec, where the two differ."""

_MISSPELT = {
    "in": "\" '' inch inches",
    "thou": "mil mils",
    "um": "micron microns",
    "ml": "cc ccm",
    "l": "liter",
    "mm3": "mm³ mm^3",
    "lb": "lbs",
    "g": "gr",
    "deg": "° degrees",
    "degC": "C °C",
    "degF": "F °F",
    "MPa": "N/mm2 N/mm² N/mm^2",
    "g/cm3": "g/cc g/cm³ g/cm^3",
    "kg/m3": "kg/m³ kg/m^3",
    "volumes": "vol vols volume",
    "/min": "rpm spm cpm 1/min",
    "/s": "1/s",
    "/h": "1/h",
    "/K": "1/K",
    "s": "sec",
    "h": "hr",
    "%": "pct",
}
_MEANT = {written: unit for unit, texts in _MISSPELT.items() for written in texts.split()}
"""What people write for a unit of the list."""

KEPT: dict[tuple[str, str], Fraction] = {
    ("in", "mm"): Fraction(254, 10),
    ("um", "mm"): Fraction(1, 1000),
    ("µm", "mm"): Fraction(1, 1000),
    ("cm", "mm"): Fraction(10),
    ("m", "mm"): Fraction(1000),
    ("cm2", "mm2"): Fraction(100),
    ("ml", "mm3"): Fraction(1000),
    ("cl", "mm3"): Fraction(10_000),
    ("l", "mm3"): Fraction(1_000_000),
    ("cm3", "mm3"): Fraction(1000),
    ("kN", "N"): Fraction(1000),
    ("kPa", "MPa"): Fraction(1, 1000),
    ("bar", "MPa"): Fraction(1, 10),
    ("GPa", "MPa"): Fraction(1000),
    ("psi", "MPa"): Fraction(8_896_443_230_521, 1_290_320_000_000_000),
    ("lbf", "N"): Fraction(44_482_216_152_605, 10_000_000_000_000),
    ("thou", "mm"): Fraction(254, 10_000),
    ("mg", "g"): Fraction(1, 1000),
    ("kg", "g"): Fraction(1000),
    ("kg/m3", "g/cm3"): Fraction(1, 1000),
    ("min", "s"): Fraction(60),
    ("h", "s"): Fraction(3600),
    ("day", "s"): Fraction(86_400),
    ("m/s", "mm/s"): Fraction(1000),
    ("m/s2", "mm/s2"): Fraction(1000),
    ("%", "-"): Fraction(1, 100),
}
"""What pint answers for the pairs met in every spec."""


class DimensionError(SizebookError):
    """A unit of another dimension than the wanted one."""


@cache
def names() -> frozenset[str]:
    """Every unit that may be written in a spec."""
    return frozenset(_long_names().values()) | frozenset(_SPELLED)


@cache
def factor_and_offset(unit: str, wanted: str) -> tuple[Fraction, Fraction]:
    """The exact way from one unit to another: number × factor + offset.

    Both are units of the list or canonical ones, "" for a bare number. The offset is 0 but for temperatures.

    Raises:
        DimensionError: if the two measure different things.
    """
    if unit == wanted or _INSIDE.get(wanted, wanted) == _INSIDE.get(unit, unit):
        return Fraction(1), Fraction(0)
    if kept := KEPT.get((unit, wanted)):
        return kept, Fraction(0)
    if kept := KEPT.get((wanted, unit)):
        return 1 / kept, Fraction(0)
    registry = _registry()
    begin, end = registry.parse_units(_listed(unit)), registry.parse_units(_listed(wanted))
    if begin.dimensionality != end.dimensionality:
        raise DimensionError(unit, wanted)
    offset = registry.convert(Fraction(0), begin, end)
    return Fraction(registry.convert(Fraction(1), begin, end) - offset), Fraction(offset)


def in_unit(value: float, unit_from: str, unit_to: str) -> float:
    """A number in another unit.

    A number that is not finite remains.

    Raises:
        DimensionError: if the two units measure different things.

    Example:
        >>> in_unit(0.62, "MPa", "kPa")
        620.0
    """
    factor, offset = factor_and_offset(unit_from, unit_to)
    if (factor == 1 and not offset) or not math.isfinite(value):
        return value
    if offset:
        return float(Fraction(value) * factor + offset)
    above, below = value.as_integer_ratio()  # rounds as a fraction does, and needs a third of its time
    return (above * factor.numerator) / (below * factor.denominator)


@cache
def dimension_of(unit: str) -> str:
    """The dimension of a unit of the list, by the name `CANONICAL` has for it."""
    for dimension, canonical in CANONICAL.items():
        if unit in (canonical, written(canonical)) or (unit, canonical) in KEPT:
            return dimension
    return next(dimension for dimension, canonical in CANONICAL.items() if fits(unit, canonical))


def units_of_canonical(canonical: str) -> tuple[str, ...]:
    return tuple(sorted(unit for unit in names() if fits(unit, canonical)))


def written(unit: str) -> str:
    """How a unit is written after a number in a spec: `/min` for 1/min, nothing for a bare number."""
    return _INSIDE.get(unit, unit)


def wanted_words(canonical: str) -> str:
    """What is wanted, with an example: `a length, such as 66.04 mm`."""
    for dimension, (unit, example) in _DIMENSIONS.items():
        if unit == canonical:
            return f"{with_article(dimension)}, such as {example}"
    return f"a number with its unit, such as {_DIMENSIONS['length'][1]}"


def with_article(noun: str) -> str:
    """A noun after `a` or `an`."""
    return f"{'an' if noun[:1] in 'aeiou' else 'a'} {noun}"


def meant(unit: str, wanted: str) -> str | None:
    """The unit of the list that an unknown one probably means; one of the wanted dimension goes first."""
    if guess := _MEANT.get(unit) or _long_names().get(unit):
        return guess
    known = {name.lower(): name for name in sorted(names()) if fits(name, wanted)}
    if guess := known.get(unit.lower()):
        return guess
    if any(sign in unit[1:] for sign in "*/^()"):
        return None
    import difflib  # noqa: PLC0415 - for faults alone

    known |= {long: name for long, name in _long_names().items() if name in known.values()}
    near = difflib.get_close_matches(unit.lower(), known, n=1, cutoff=0.5)
    return known[near[0]] if near else None


@cache
def fits(unit: str, wanted: str) -> bool:
    if wanted == ANY:
        return True
    try:
        factor_and_offset(unit, wanted)
    except DimensionError:
        return False
    return True


def _listed(unit: str) -> str:
    """The name pint knows a unit by."""
    inside = _INSIDE.get(unit, unit)
    if inside == "":
        return "dimensionless"
    if inside not in names():
        raise KeyError(unit)
    return _SPELLED.get(inside, inside)


@cache
def _long_names() -> dict[str, str]:
    """From what a written unit is called in the list, to how it is written; one entry per spelling."""
    found: dict[str, str] = {}
    for line in (shipped("schema") / "units.txt").read_text(encoding="utf-8").splitlines():
        parts = [part.strip() for part in line.split("#")[0].split("=")]
        for number, unit in enumerate(parts[2:]):
            found[parts[0] if number == 0 else unit] = unit
    return found


@cache
def _registry() -> pint.UnitRegistry[Fraction]:
    """The units of our list alone."""
    import pint  # noqa: PLC0415 - a tenth of a second, spent at an unusual unit alone

    registry: pint.UnitRegistry[Fraction] = pint.UnitRegistry(None, non_int_type=Fraction)
    registry.load_definitions(shipped("schema") / "units.txt")
    return registry


_READER = {
    "degC": "°C",
    "degF": "°F",
    "deg": "°",
    "mm3": "mm³",
    "mm2": "mm²",
    "cm2": "cm²",
    "um": "µm",
    "1/min": "/min",
    "1/kg": "/kg",
    "-": "",
}


def reader_unit(unit: str) -> str:
    """A unit as a reader writes it.

    Example:
        >>> reader_unit("um"), reader_unit("-"), reader_unit("kPa")
        ('µm', '', 'kPa')
    """
    return _READER.get(unit, written(unit))


def alike(one: float, other: float, scale: float = 0.0) -> bool:
    """Whether two numbers are the same but for the rounding of doubles."""
    return abs(one - other) <= 1e-12 * max(abs(one), abs(other), scale)


def same_value(one: object, other: object) -> bool:
    """Whether two values are the same: texts, numbers, None, or least, target and most in the unit inside.

    Example:
        >>> same_value((0.1 + 0.2, 1.0, 2.0), (0.3, 1.0, 2.0)), same_value("a", "b"), same_value(None, 1.0)
        (True, False, False)
    """
    if one == other:
        return True
    if isinstance(one, tuple) and isinstance(other, tuple):
        return len(one) == len(other) and all(map(same_value, one, other))
    return isinstance(one, float) and isinstance(other, float) and alike(one, other)


def moved(old: float, new: float, *, figures: int = 4) -> bool:
    """Whether a number moved by at least the last place that a reader sees of it.

    Example:
        >>> moved(3.4451, 3.4549), moved(3.4449, 3.4451), moved(3.44, 3.45)
        (True, False, True)
        >>> moved(3.44511, 3.44549), moved(0.0, 0.0), moved(0.0, 1e-9)
        (False, False, True)
    """
    finest = min((_places(one, figures) for one in (old, new) if one), default=0)
    return bool(old or new) and abs(new - old) >= 10**-finest * (1 - 1e-9)


def _places(value: float, figures: int) -> int:
    """Decimals that a number is shown with."""
    power = math.floor(math.log10(abs(value)))
    return max(0, min(figures - 1 - power, max(4, -power) if abs(value) < 0.1 else 3))


def number(value: float, *, figures: int = 4) -> str:
    """A number with about `figures` significant figures and no exponent.

    Example:
        >>> number(0.09735), number(1422.94), number(-0.2863), number(12.0), number(-0.0000031)
        ('0.0974', '1423', '−0.286', '12.00', '−0.000003')
    """
    if not math.isfinite(value):
        return NOT_A_NUMBER
    if value == 0:
        return "0"
    return f"{value:.{_places(value, figures)}f}".replace("-", "−")


NOT_A_NUMBER = "not a number"

PERCENT_FIGURES = 2
"""Significant figures of a percentage."""

FINEST = {"mm": 3}
"""Most decimals of a unit, where two numbers do not need more to look different: what gauges show."""

_MOST_FIGURES = 6


def numbers(
    values: Sequence[float], *, show: str = "", tolerance: float = 0.0, apart: bool = True
) -> list[str]:
    """Numbers of one quantity with the same decimals: to the second figure of its tolerance.

    A percentage has two figures, a number without a tolerance four.
    Zeros at the end of all of several numbers are left out.

    Args:
        values: the numbers, in the unit that is shown
        show: the unit that is shown
        tolerance: half the band of the quantity, in the same unit; 0 where it has none
        apart: whether numbers that differ get more decimals until they look different, up to six figures

    Example:
        >>> numbers([-5.1839, -2.3712], tolerance=2.81), numbers([0.09702, 0.096], show="mm", tolerance=0.001)
        (['−5.2', '−2.4'], ['0.097', '0.096'])
        >>> numbers([41.49, 72.04], show="%"), numbers([41.93, 42.31, 42.0], show="%"), numbers([0.0, -0.3])
        (['41', '72'], ['41.9', '42.3', '42.0'], ['0', '−0.3'])
    """
    finite = [one for one in values if math.isfinite(one)]
    largest = max(map(abs, finite), default=0.0) or 1.0
    most = _places(largest, _MOST_FIGURES)
    least = min(_places(largest, PERCENT_FIGURES if show == "%" else 4), FINEST.get(show, most))
    if math.isfinite(tolerance) and tolerance > 0:
        places = max(0, 1 - int(f"{tolerance:.1e}".split("e")[1]))
        least = min(places, least if show == "%" else FINEST.get(show, most))
    distinct = len({f"{one:.9g}" for one in finite})
    for places in range(least, most + 1) if apart else ():
        if len({_fixed(one, places) for one in finite}) == distinct:
            least = places
            break
    texts = [_fixed(one, least) for one in values]
    while len(texts) > 1 and least and all(text.endswith("0") or "." not in text for text in texts):
        least -= 1
        texts = [_fixed(one, least) for one in values]
    return texts


def _fixed(value: float, places: int) -> str:
    if not math.isfinite(value):
        return NOT_A_NUMBER
    text = f"{value:.{places}f}" if value else "0"
    return (text if float(text) else text.lstrip("-")).replace("-", "−")


def percent(ratio: float, *, signed: bool = False) -> str:
    """A ratio as a percentage with two significant figures; with its plus if it is signed.

    Example:
        >>> percent(0.0489), percent(-0.128), percent(42.74), percent(0.5, signed=True)
        ('4.9 %', '−13 %', '4300 %', '+50 %')
    """
    value = float(f"{100 * ratio:.{PERCENT_FIGURES}g}")
    return f"{'+' if signed and value > 0 else ''}{number(value, figures=PERCENT_FIGURES)} %"


def exact_number(value: float) -> str:
    """A number that someone wrote, without zeros at its end; a computed one has four figures.

    Example:
        >>> exact_number(10.0), exact_number(0.05), exact_number(66.255), exact_number(2.0838571)
        ('10', '0.05', '66.255', '2.084')
    """
    for figures in range(4, _MOST_FIGURES + 1):
        text = number(value, figures=figures)
        if math.isfinite(value) and alike(float(text.replace("−", "-")), value):
            return text.rstrip("0").rstrip(".") if "." in text else text
    return number(value)
