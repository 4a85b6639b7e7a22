"""Numbers as a sheet prints them: exact decimals, their zeros kept, limits rounded into the band."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from functools import cache, lru_cache
from typing import Literal, NamedTuple, TypeAlias

MOST_DECIMALS = 6
NOISE = 9
"""Decimals of a computed number beyond which it is the machine's rounding, not the can's size."""


class ExactLimits(NamedTuple):
    """A target with its limits, exact; what is not there is None."""

    least: Fraction | None
    target: Fraction | None
    most: Fraction | None


class Printed(NamedTuple):
    """The same three as decimal text, "" for what is not there."""

    least: str
    target: str
    most: str


def exact(number: float | str) -> Fraction:
    """A number as its decimals say it, without the noise of a computed one.

    Example:
        >>> exact(0.1 + 0.2), exact("0.0970")
        (Fraction(3, 10), Fraction(97, 1000))
    """
    if isinstance(number, str):
        return Fraction(Decimal(number))
    return Fraction(Decimal(repr(round(number, NOISE))))


def decimals_of(text: str) -> int:
    """How many decimals a written number has."""
    return max(0, -int(Decimal(text).as_tuple().exponent))


@cache
def decimals_in(decimals: int, factor: Fraction) -> int:
    """Decimals that keep a step in another unit as fine as it was, or finer.

    Example:
        >>> decimals_in(2, Fraction(10, 254)), decimals_in(0, Fraction(1, 100))
        (4, 2)
    """
    wanted = Fraction(10) ** decimals / abs(factor)
    found = 0
    while Fraction(10) ** found < wanted:
        found += 1
    return found


Way: TypeAlias = Literal["near", "up", "down"]


def rounded(number: Fraction, decimals: int, way: Way = "near") -> str:
    """A number with so many decimals; halves go away from zero, the minus is a true one.

    Example:
        >>> rounded(Fraction(97, 1000), 4), rounded(Fraction(-1, 8), 2), rounded(Fraction(1, 3), 2, "up")
        ('0.0970', '−0.13', '0.34')
    """
    return _text(_steps(number, decimals, way), decimals)


def _steps(number: Fraction, decimals: int, way: Way = "near") -> int:
    """A number counted in steps of its last decimal; on whole numbers, for a sheet has hundreds."""
    scaled, parts = number.numerator * 10**decimals, number.denominator
    if way == "up":
        return -(-scaled // parts)
    if way == "down":
        return scaled // parts
    whole = (2 * abs(scaled) + parts) // (2 * parts)
    return -whole if scaled < 0 else whole


def _text(steps: int, decimals: int) -> str:
    digits = f"{abs(steps):0{decimals + 1}d}"
    sign = "−" if steps < 0 else ""
    return f"{sign}{digits[:-decimals]}.{digits[-decimals:]}" if decimals else f"{sign}{digits}"


@lru_cache(maxsize=10_000)
def number_of(text: str) -> Fraction:
    """The number that a printed text says."""
    return Fraction(text.replace("−", "-"))


def inward(limits: ExactLimits, decimals: int) -> Printed | None:
    """Limits as text, rounded into the band as `inward_steps` does.

    Returns:
        The texts; nothing when no band would be left of what was one.

    Example:
        >>> inward(ExactLimits(exact("2.0559"), exact("2.0630"), exact("2.0701")), 3)
        Printed(least='2.056', target='2.063', most='2.070')
        >>> inward(ExactLimits(exact("2.0559"), None, exact("2.0562")), 3) is None
        True
    """
    steps = inward_steps(limits, decimals)
    return steps and Printed(*("" if one is None else _text(one, decimals) for one in steps))


def inward_steps(limits: ExactLimits, decimals: int) -> tuple[int | None, int | None, int | None] | None:
    """Limits in steps of their last decimal, rounded into the band: the upper limit down, the lower limit up.

    Returns:
        Least, target and most; nothing when no band would be left of what was one.
    """
    least = None if limits.least is None else _steps(limits.least, decimals, "up")
    most = None if limits.most is None else _steps(limits.most, decimals, "down")
    target = None if limits.target is None else _steps(limits.target, decimals)
    if (
        least is not None
        and most is not None
        and (least > most or (least == most and limits.least != limits.most))
    ):
        return None
    if target is not None and least is not None:
        target = max(target, least)
    if target is not None and most is not None:
        target = min(target, most)
    return least, target, most


def converted(limits: ExactLimits, factor: Fraction, offset: Fraction) -> ExactLimits:
    """Limits in another unit: number × factor + offset."""
    scaled = (None if one is None else one * factor for one in limits)
    return ExactLimits(*(one + offset if one is not None and offset else one for one in scaled))
