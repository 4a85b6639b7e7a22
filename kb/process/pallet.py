"""Palletizing: cans to a layer. Cans come whole."""

from __future__ import annotations

import numpy as np

from kb.process.domain import positive
from kb.units import Mm, Number

# An exact fit counts: a quotient this little short of a whole number is that number, for a float
# division may lose the last digit of 10 x 66.2 mm in 662 mm.
_ROUNDING = 1e-9


def square_layer(*, length: Mm, width: Mm, diameter: Mm) -> Number:
    """Cans of a layer in rows and columns.

    Args:
        length: inside length of the layer [mm].
        width: inside width of the layer [mm].
        diameter: greatest outside diameter of the can [mm].

    Returns:
        Cans in the layer.

    Raises:
        ValueError: if a length is not above zero.

    Source:
        Derived: whole cans along times whole cans across.

    Example:
        >>> print(square_layer(length=1120.0, width=1420.0, diameter=66.2))
        336.0
    """
    positive(length=length, width=width, diameter=diameter)
    return _whole(length / diameter) * _whole(width / diameter)


def staggered_layer(*, length: Mm, width: Mm, diameter: Mm) -> Number:
    """Cans of a layer in staggered rows; rows run across the width and follow along the length.

    Args:
        length: inside length of the layer, along which the rows follow each other [mm].
        width: inside width of the layer, along which each row runs [mm].
        diameter: greatest outside diameter of the can [mm].

    Returns:
        Cans in the layer.

    Raises:
        ValueError: if a length is not above zero.

    Source:
        Derived: rows half the root of three diameters apart. Every second row is moved by half a
        can: it holds as many cans as the first if half a can is left over there, otherwise one less.

    Note:
        A layer that can be built, not always the fullest: a few rows laid square among staggered
        ones may gain a can.

    Example:
        >>> print(staggered_layer(length=1120.0, width=1420.0, diameter=66.2))
        390.0
    """
    positive(length=length, width=width, diameter=diameter)
    first = _whole(width / diameter)
    second = _whole(width / diameter - 0.5)
    rows = _whole((length / diameter - 1) / (np.sqrt(3) / 2)) + 1
    room = np.minimum(first, _whole(length / diameter)) > 0
    return np.where(room, (rows + 1) // 2 * first + rows // 2 * second, 0)[()]


def fullest_layer(*, length: Mm, width: Mm, diameter: Mm) -> Number:
    """Cans in the fullest layer of the three that a palletizer can build.

    Args:
        length: inside length of the layer [mm].
        width: inside width of the layer [mm].
        diameter: space that one can takes [mm].

    Returns:
        Cans in the layer.

    Raises:
        ValueError: if a length is not above zero.

    Source:
        Derived: the greatest of `square_layer` and of `staggered_layer` both ways round.

    Example:
        >>> print(fullest_layer(length=1120.0, width=1420.0, diameter=66.2))
        390.0
    """
    square = square_layer(length=length, width=width, diameter=diameter)
    across = staggered_layer(length=length, width=width, diameter=diameter)
    along = staggered_layer(length=width, width=length, diameter=diameter)
    return np.maximum(square, np.maximum(across, along))


def best_layer(*, length: float, width: float, diameter: float) -> tuple[Number, str]:
    """Fullest layer of the three that a palletizer can build.

    Args:
        length: inside length of the layer [mm].
        width: inside width of the layer [mm].
        diameter: greatest outside diameter of the can [mm].

    Returns:
        Cans in the layer, and the pattern in words; of equal ones the square pattern comes first.

    Raises:
        ValueError: if a length is not above zero.

    Source:
        Derived: the greatest of `square_layer` and of `staggered_layer` both ways round.

    Example:
        >>> print(best_layer(length=1120.0, width=1420.0, diameter=66.2)[1])
        staggered, rows across the width
    """
    patterns = [
        (square_layer(length=length, width=width, diameter=diameter), "square"),
        (
            staggered_layer(length=length, width=width, diameter=diameter),
            "staggered, rows across the width",
        ),
        (
            staggered_layer(length=width, width=length, diameter=diameter),
            "staggered, rows along the length",
        ),
    ]
    return max(patterns, key=lambda pattern: pattern[0])


def _whole(count: Number) -> Number:
    return np.floor(count + _ROUNDING)
