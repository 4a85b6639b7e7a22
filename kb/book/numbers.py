"""Numbers and units as a reader sees them: digits that mean something, a true minus, the usual signs."""

from __future__ import annotations

import math

from kb.book.conversion import written

_READER = {
    "degC": "°C",
    "degF": "°F",
    "deg": "°",
    "mm3": "mm³",
    "mm2": "mm²",
    "cm2": "cm²",
    "um": "µm",
    "1/min": "/min",
    "-": "",
}


def reader_unit(unit: str) -> str:
    """A unit as a reader writes it.

    Example:
        >>> reader_unit("um"), reader_unit("-"), reader_unit("kPa")
        ('µm', '', 'kPa')
    """
    return _READER.get(unit, written(unit))


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
