"""Whether a quantity in another unit is the one before, within the rounding of the digits written."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from kb.book.conversion import factor_and_offset
from kb.book.quantity import Quantity

WORDS = "re-expressed within rounding of the written digits, no tool change"


def re_expressed(old: Quantity, new: Quantity) -> bool:
    """Whether two quantities in different units round to one another.

    Args:
        old: the quantity before
        new: the quantity now

    Returns:
        True where target and both tolerances, rounded to the digits written in either unit, are the same.

    Example:
        >>> from kb.book.quantity import parse
        >>> re_expressed(parse("66.030 ±0.001 mm", "mm"), parse("2.59961 ±0.00004 in", "mm"))
        True
        >>> re_expressed(parse("66.030 ±0.001 mm", "mm"), parse("2.600 ±0.00004 in", "mm"))
        False
    """
    if old.canonical != new.canonical or old.unit == new.unit or old.toleranced != new.toleranced:
        return False
    fineness = min(_half_digit(one, one.decimals) for one in (old, new))
    if abs(old.nominal - new.nominal) > fineness:
        return False
    sides = (
        (old.nominal - old.low, new.nominal - new.low, 0),
        (old.high - old.nominal, new.high - new.nominal, 2),
    )
    return all(
        abs(before - after) <= min(_half_digit(one, _decimals(one.written[end])) for one in (old, new))
        for before, after, end in sides
    )


def _half_digit(one: Quantity, decimals: int) -> float:
    """Half of the last written digit, in the unit inside; a hair more for the rounding of floats."""
    factor, _ = factor_and_offset(one.unit, one.canonical)
    return float(Fraction(1, 2 * 10**decimals) * factor) * (1 + 1e-9)


def _decimals(text: str) -> int:
    return max(0, -int(Decimal(text).as_tuple().exponent))
