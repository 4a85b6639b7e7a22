"""The blank: its metal, its place in the strip, the force that cuts it."""

from __future__ import annotations

import numpy as np

from kb.process.domain import not_negative, positive
from kb.units import Gram, GramPerCm3, Metre, Mm, Mm3, MPa, N, Ratio


def disc_volume(*, diameter: Mm, gauge: Mm) -> Mm3:
    """Metal in a flat disc.

    Args:
        diameter: disc diameter [mm].
        gauge: sheet thickness [mm].

    Returns:
        Volume [mm3].

    Raises:
        ValueError: if a length is not above zero.

    Source:
        Definition.

    Example:
        >>> print(disc_volume(diameter=20.0, gauge=0.3))
        94.24778
    """
    positive(diameter=diameter, gauge=gauge)
    return np.pi / 4 * diameter**2 * gauge


def mass(*, volume: Mm3, density: GramPerCm3) -> Gram:
    """Mass of a volume of metal.

    Args:
        volume: metal volume [mm3].
        density: metal density [g/cm3].

    Returns:
        Mass [g].

    Raises:
        ValueError: if the volume is negative or the density is not above zero.

    Source:
        Definition; 1 cm3 is 1000 mm3.

    Example:
        >>> print(mass(volume=4000.0, density=2.72))
        10.88
    """
    not_negative(volume=volume)
    positive(density=density)
    return volume * density / 1000


def diameter_for_volume(*, volume: Mm3, gauge: Mm) -> Mm:
    """Blank that holds a given volume of metal.

    Args:
        volume: metal wanted [mm3].
        gauge: sheet thickness [mm].

    Returns:
        Blank diameter [mm].

    Raises:
        ValueError: if the volume or the gauge is not above zero.

    Source:
        Derived: `disc_volume` solved for the diameter.

    Example:
        >>> print(diameter_for_volume(volume=94.24778, gauge=0.3))
        20.0
    """
    positive(volume=volume, gauge=gauge)
    return np.sqrt(4 * volume / (np.pi * gauge))


def pitch(*, diameter: Mm, web: Mm) -> Mm:
    """Feed from blank to blank along the strip.

    Args:
        diameter: blank diameter [mm].
        web: metal left between two blanks [mm].

    Returns:
        Pitch [mm].

    Raises:
        ValueError: if the diameter is not above zero or the web is negative.

    Source:
        Definition.

    Example:
        >>> print(pitch(diameter=140.0, web=1.0))
        141.0
    """
    positive(diameter=diameter)
    not_negative(web=web)
    return diameter + web


def row_spacing(*, diameter: Mm, web: Mm) -> Mm:
    """Distance between two staggered rows, across the strip.

    Args:
        diameter: blank diameter [mm].
        web: metal left between two blanks, the same in the row and between the rows [mm].

    Returns:
        Row spacing [mm].

    Raises:
        ValueError: if the diameter is not above zero or the web is negative.

    Source:
        Derived: height of the equilateral triangle of three neighbours, pitch times sin 60 degrees.

    Example:
        >>> print(row_spacing(diameter=140.0, web=1.0))
        122.1096
    """
    return pitch(diameter=diameter, web=web) * np.sqrt(3) / 2


def strip_width(*, diameter: Mm, across: Ratio, web: Mm, edge: Mm) -> Mm:
    """Width of the strip that holds staggered rows of blanks.

    Args:
        diameter: blank diameter [mm].
        across: rows of blanks across the strip [-].
        web: metal left between two blanks [mm].
        edge: metal left between the outer blanks and the edge of the strip [mm].

    Returns:
        Strip width [mm].

    Raises:
        ValueError: if the diameter or the number of rows is not above zero, or the web or edge is
            negative.

    Source:
        Derived: one blank, the row spacings between the rows, two edges.

    Example:
        >>> print(strip_width(diameter=140.0, across=12, web=1.0, edge=1.5))
        1486.205
    """
    positive(across=across)
    not_negative(edge=edge)
    return diameter + (across - 1) * row_spacing(diameter=diameter, web=web) + 2 * edge


def utilisation(*, diameter: Mm, across: Ratio, web: Mm, edge: Mm) -> Ratio:
    """Share of the strip that leaves as blanks.

    Args:
        diameter: blank diameter [mm].
        across: rows of blanks across the strip [-].
        web: metal left between two blanks [mm].
        edge: metal left between the outer blanks and the edge of the strip [mm].

    Returns:
        Blank area over strip area, the coil's two ends not counted [-].

    Raises:
        ValueError: as `strip_width`.

    Source:
        Derived: one pitch of strip holds one blank of each row.

    Example:
        >>> print(utilisation(diameter=140.0, across=12, web=1.0, edge=1.5))
        0.8815
    """
    width = strip_width(diameter=diameter, across=across, web=web, edge=edge)
    return across * np.pi * diameter**2 / (4 * pitch(diameter=diameter, web=web) * width)


def coil_length_per_thousand(*, diameter: Mm, across: Ratio, web: Mm) -> Metre:
    """Coil fed for a thousand blanks.

    Args:
        diameter: blank diameter [mm].
        across: rows of blanks across the strip [-].
        web: metal left between two blanks [mm].

    Returns:
        Length of coil [m].

    Raises:
        ValueError: if the diameter or the number of rows is not above zero, or the web is negative.

    Source:
        Derived: a thousand pitches shared by the rows; a thousand mm is one m.

    Example:
        >>> print(coil_length_per_thousand(diameter=140.0, across=12, web=1.0))
        11.75
    """
    positive(across=across)
    return pitch(diameter=diameter, web=web) / across


def coil_mass_per_thousand(
    *, diameter: Mm, across: Ratio, web: Mm, edge: Mm, gauge: Mm, density: GramPerCm3
) -> Gram:
    """Coil used up by a thousand blanks, skeleton included.

    Args:
        diameter: blank diameter [mm].
        across: rows of blanks across the strip [-].
        web: metal left between two blanks [mm].
        edge: metal left between the outer blanks and the edge of the strip [mm].
        gauge: sheet thickness [mm].
        density: metal density [g/cm3].

    Returns:
        Mass of coil [g].

    Raises:
        ValueError: as `strip_width`; also if the gauge or the density is not above zero.

    Source:
        Derived: a thousand blank masses over the utilisation.

    Example:
        >>> print(coil_mass_per_thousand(
        ...     diameter=140.0, across=12, web=1.0, edge=1.5, gauge=0.27, density=2.72))
        12824.76
    """
    volume = disc_volume(diameter=diameter, gauge=gauge)
    share = utilisation(diameter=diameter, across=across, web=web, edge=edge)
    return 1000 * mass(volume=volume, density=density) / share


def cutting_force(*, diameter: Mm, gauge: Mm, shear_strength: MPa) -> N:
    """Force that cuts one blank, all round at once.

    Args:
        diameter: blank diameter [mm].
        gauge: sheet thickness [mm].
        shear_strength: shear strength of the sheet [MPa].

    Returns:
        Cutting force [N].

    Raises:
        ValueError: if a length or the strength is not above zero.

    Source:
        Groover, Fundamentals of Modern Manufacturing, 4th ed. 2010, ch. 20, cutting forces
        (from memory, high confidence).

    Note:
        A cutting edge ground with shear needs less.

    Example:
        >>> print(cutting_force(diameter=20.0, gauge=1.5, shear_strength=300.0))
        28274.3
    """
    positive(diameter=diameter, gauge=gauge, shear_strength=shear_strength)
    return shear_strength * np.pi * diameter * gauge
