"""Numbers as a reader sees them: the reader's unit, digits that mean something, a true minus."""

from __future__ import annotations

import math

from kb.book.quantity import in_unit


def in_reader_unit(value: float, *, unit: str, show: str) -> float:
    """A value of the unit inside in the reader's unit."""
    return value if unit == show else in_unit(value, unit, show)


def number(value: float, *, figures: int = 4) -> str:
    """A number with about `figures` significant figures and no exponent.

    Example:
        >>> number(0.09735), number(1422.94), number(-0.2863), number(12.0), number(-0.0000031)
        ('0.0974', '1423', '−0.286', '12.00', '−0.000003')
    """
    if not math.isfinite(value):
        return "not a number"
    if value == 0:
        return "0"
    power = math.floor(math.log10(abs(value)))
    places = max(0, min(figures - 1 - power, max(4, -power) if abs(value) < 0.1 else 3))
    return f"{value:.{places}f}".replace("-", "−")


def quantity(value: float, *, unit: str, show: str) -> str:
    """A value with its unit, in the reader's unit.

    Example:
        >>> quantity(0.3897, unit="-", show="%"), quantity(620.0, unit="N", show="N")
        ('38.97 %', '620.0 N')
    """
    if show == "count":
        return f"{value:.0f}"
    told = number(in_reader_unit(value, unit=unit, show=show))
    return told if show == "-" else f"{told} {show}"
