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


def alike(one: float, other: float, scale: float = 0.0) -> bool:
    """Whether two numbers are the same but for the rounding of doubles."""
    return abs(one - other) <= 1e-12 * max(abs(one), abs(other), scale)


def same_value(one: object, other: object) -> bool:
    """Whether two values of files are the same.

    Args:
        one: least, target and most in the unit inside; or a text, a number, None for nothing
        other: the same of another file or version

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
        return "not a number"
    if value == 0:
        return "0"
    return f"{value:.{_places(value, figures)}f}".replace("-", "−")
