"""The one way in which a formula refuses an argument."""

from __future__ import annotations

from kb.units import Number


def positive(**arguments: Number) -> None:
    """Refuse a single number that is not above zero.

    Arrays pass: they are samples around a case whose geometry was already judged.

    Args:
        arguments: numbers by the name the caller knows them under.

    Raises:
        ValueError: if a single number is zero, negative or not a number.
    """
    for name, value in arguments.items():
        if isinstance(value, int | float) and not value > 0:
            raise ValueError(f"{name} must be above zero, not {value}")


def not_negative(**arguments: Number) -> None:
    """Refuse a single number below zero; arrays pass, as in `positive`.

    Args:
        arguments: numbers by the name the caller knows them under.

    Raises:
        ValueError: if a single number is negative or not a number.
    """
    for name, value in arguments.items():
        if isinstance(value, int | float) and not value >= 0:
            raise ValueError(f"{name} must not be negative, not {value}")
