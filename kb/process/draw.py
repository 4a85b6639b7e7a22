"""Cupping and redrawing: ratios and their limits, forces, holder pressure, clearance."""

from __future__ import annotations

import numpy as np

from kb.process.domain import not_negative, positive
from kb.units import Mm, MPa, N, Ratio


def draw_ratio(*, before: Mm, after: Mm) -> Ratio:
    """Diameter before the draw over diameter after it.

    Args:
        before: blank or cup diameter before [mm].
        after: punch diameter of the draw [mm].

    Returns:
        Draw ratio [-].

    Raises:
        ValueError: if a diameter is not above zero.

    Source:
        Groover, Fundamentals of Modern Manufacturing, 4th ed. 2010, ch. 20, measures of drawing
        (from memory, high confidence).

    Example:
        >>> print(draw_ratio(before=138.0, after=75.0))
        1.84
    """
    positive(before=before, after=after)
    return before / after


def reduction(*, before: Mm, after: Mm) -> Ratio:
    """Share of the diameter taken off by the draw.

    Args:
        before: blank or cup diameter before [mm].
        after: punch diameter of the draw [mm].

    Returns:
        Reduction of the diameter [-].

    Raises:
        ValueError: if a diameter is not above zero.

    Source:
        Groover, Fundamentals of Modern Manufacturing, 4th ed. 2010, ch. 20, measures of drawing
        (from memory, high confidence).

    Example:
        >>> print(reduction(before=138.0, after=75.0))
        0.4565
    """
    positive(before=before, after=after)
    return (before - after) / before


def limiting_ratio_from_anisotropy(*, mean_anisotropy: Ratio, efficiency: Ratio) -> Ratio:
    """Greatest first draw ratio that the sheet's resistance to thinning allows.

    Args:
        mean_anisotropy: mean plastic strain ratio of the sheet [-].
        efficiency: share of the punch work that deforms the flange [-].

    Returns:
        Limiting draw ratio [-].

    Raises:
        ValueError: if an argument is not above zero.

    Source:
        Hosford and Caddell, Metal Forming, 3rd ed. 2007, cup-drawing chapter: ln LDR = efficiency
        times sqrt((R+1)/2) (form from memory, high confidence; efficiencies of 0.74 to 0.79 from
        memory, medium confidence).

    Note:
        An estimate until calibrated on plant trials.

    Example:
        >>> print(limiting_ratio_from_anisotropy(mean_anisotropy=1.0, efficiency=0.74))
        2.096
    """
    positive(mean_anisotropy=mean_anisotropy, efficiency=efficiency)
    return np.exp(efficiency * np.sqrt((mean_anisotropy + 1) / 2))


def limiting_ratio_from_thickness(*, punch_diameter: Mm, gauge: Mm, bound: Ratio, slope: Ratio) -> Ratio:
    """Greatest first draw ratio, falling as the sheet gets thin for its punch.

    Args:
        punch_diameter: punch diameter [mm].
        gauge: sheet thickness [mm].
        bound: limiting ratio of a very thick sheet [-].
        slope: loss of it for each thousand gauges of punch diameter [-].

    Returns:
        Limiting draw ratio [-].

    Raises:
        ValueError: if a length or the bound is not above zero, or the slope is negative.

    Source:
        H. Tschaetsch, Metal Forming Practise, 2006, deep drawing: bound 2.15 and slope 1.0 for good
        materials, 2.0 and 1.1 for poorer ones (from memory, medium confidence).

    Example:
        >>> print(limiting_ratio_from_thickness(punch_diameter=100.0, gauge=1.0, bound=2.15, slope=1.0))
        2.05
    """
    positive(punch_diameter=punch_diameter, gauge=gauge, bound=bound)
    not_negative(slope=slope)
    return bound - slope * punch_diameter / (1000 * gauge)


def drawing_force(*, blank_diameter: Mm, punch_diameter: Mm, gauge: Mm, tensile: MPa) -> N:
    """Greatest punch force of a first draw.

    Args:
        blank_diameter: blank diameter [mm].
        punch_diameter: punch diameter [mm].
        gauge: sheet thickness [mm].
        tensile: tensile strength of the sheet [MPa].

    Returns:
        Drawing force [N].

    Raises:
        ValueError: if a length or the strength is not above zero.

    Source:
        Groover, Fundamentals of Modern Manufacturing, 4th ed. 2010, ch. 20, drawing force
        (from memory, high confidence).

    Note:
        The 0.7 stands for friction; the formula does not fall to zero when nothing is drawn, so
        it is of no use for draw ratios near 1.

    Example:
        >>> print(drawing_force(blank_diameter=138.0, punch_diameter=75.0, gauge=2.4, tensile=300.0))
        193396.4
    """
    positive(blank_diameter=blank_diameter, punch_diameter=punch_diameter, gauge=gauge, tensile=tensile)
    return np.pi * punch_diameter * gauge * tensile * (blank_diameter / punch_diameter - 0.7)


def holder_force(
    *, blank_diameter: Mm, punch_diameter: Mm, gauge: Mm, die_radius: Mm, yield_strength: MPa
) -> N:
    """Force of the blank holder against wrinkles.

    Args:
        blank_diameter: blank diameter [mm].
        punch_diameter: punch diameter [mm].
        gauge: sheet thickness [mm].
        die_radius: radius of the draw die's edge [mm].
        yield_strength: yield strength of the sheet [MPa].

    Returns:
        Holder force [N].

    Raises:
        ValueError: if a length or the strength is not above zero, or the die radius is negative.

    Source:
        Groover, Fundamentals of Modern Manufacturing, 4th ed. 2010, ch. 20, holding force
        (from memory, high confidence).

    Note:
        Pressure of 1.5 % of the yield strength on the ring outside the die radius; negative, and
        without meaning, when the blank does not reach that ring.

    Example:
        >>> print(holder_force(
        ...     blank_diameter=138.0, punch_diameter=75.0, gauge=2.4, die_radius=6.0, yield_strength=175.0))
        86824.4
    """
    positive(blank_diameter=blank_diameter, punch_diameter=punch_diameter, gauge=gauge)
    positive(yield_strength=yield_strength)
    not_negative(die_radius=die_radius)
    inner = punch_diameter + 2.2 * gauge + 2 * die_radius
    return 0.015 * yield_strength * np.pi * (blank_diameter**2 - inner**2)


def holder_pressure(*, draw_ratio: Ratio, punch_diameter: Mm, gauge: Mm, tensile: MPa) -> MPa:
    """Holder pressure against wrinkles, in the form with the square of the draw ratio.

    Args:
        draw_ratio: blank diameter over punch diameter [-].
        punch_diameter: punch diameter [mm].
        gauge: sheet thickness [mm].
        tensile: tensile strength of the sheet [MPa].

    Returns:
        Pressure on the flange [MPa].

    Raises:
        ValueError: if a length or the strength is not above zero, or the draw ratio is below 1.

    Source:
        H. Tschaetsch, Metal Forming Practise, 2006, deep drawing, after Siebel
        (from memory, medium confidence).

    Note:
        Some texts print the cube, see `holder_pressure_cubic`; say which one a plant uses.

    Example:
        >>> print(holder_pressure(draw_ratio=2.0, punch_diameter=200.0, gauge=1.0, tensile=400.0))
        2.0
    """
    _holder_domain(draw_ratio, punch_diameter, gauge, tensile)
    return tensile / 400 * ((draw_ratio - 1) ** 2 + punch_diameter / (200 * gauge))


def _holder_domain(draw_ratio: Ratio, punch_diameter: Mm, gauge: Mm, tensile: MPa) -> None:
    positive(punch_diameter=punch_diameter, gauge=gauge, tensile=tensile)
    not_negative(draw_ratio_above_1=draw_ratio - 1)


def clearance(*, die_bore: Mm, punch_diameter: Mm) -> Mm:
    """Gap between draw die and punch, on each side.

    Args:
        die_bore: bore of the draw die [mm].
        punch_diameter: punch diameter [mm].

    Returns:
        Clearance on the radius [mm].

    Raises:
        ValueError: if a diameter is not above zero.

    Source:
        Definition.

    Example:
        >>> print(clearance(die_bore=31.4, punch_diameter=30.0))
        0.70
    """
    positive(die_bore=die_bore, punch_diameter=punch_diameter)
    return (die_bore - punch_diameter) / 2


def hoop_strain(*, before: Mm, after: Mm) -> Ratio:
    """Compression round the rim as it is drawn in, counted positive.

    Args:
        before: diameter before [mm].
        after: diameter after [mm].

    Returns:
        True strain ln(before / after), above zero when the diameter shrinks [-].

    Raises:
        ValueError: if a diameter is not above zero.

    Source:
        Definition of true strain; the sign is ours, so that strains of stations add up.

    Example:
        >>> print(hoop_strain(before=200.0, after=100.0))
        0.6931
    """
    positive(before=before, after=after)
    return np.log(before / after)
