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
        The safe form: a press is rated with it. The 0.7 allows for friction. The formula does not fall to
        zero when nothing is drawn, so it is of no use for draw ratios near 1. A monitor is set by
        `drawing_force_estimate`.

    Example:
        >>> print(drawing_force(blank_diameter=138.0, punch_diameter=75.0, gauge=2.4, tensile=300.0))
        193396.4
    """
    positive(blank_diameter=blank_diameter, punch_diameter=punch_diameter, gauge=gauge, tensile=tensile)
    return np.pi * punch_diameter * gauge * tensile * (blank_diameter / punch_diameter - 0.7)


def drawing_force_estimate(
    *,
    rim_diameter: Mm,
    punch_diameter: Mm,
    gauge: Mm,
    flow_stress: MPa,
    bend_stress: MPa,
    die_radius: Mm,
    friction: Ratio,
    holder_force: N = 0.0,
) -> N:
    """Greatest punch force, from the flange's work, friction and bending at the die radius.

    Args:
        rim_diameter: diameter of the rim when the force is greatest [mm].
        punch_diameter: punch diameter [mm].
        gauge: sheet thickness [mm].
        flow_stress: mean flow stress of the flange [MPa].
        bend_stress: flow stress of the metal at the die radius [MPa].
        die_radius: radius of the draw die's edge [mm].
        friction: coefficient of friction on die and draw pad [-].
        holder_force: force of the draw pad [N].

    Returns:
        Drawing force [N].

    Raises:
        ValueError: if a length is not above zero, a stress, the friction or the holder force is negative,
            or the rim is smaller than the punch.

    Source:
        E. Siebel and H. Beisswaenger, Tiefziehen, 1955, as in handbooks of forming: ideal work of the
        flange times 1.1, friction under the holder on both sides, friction over a quarter turn of the die
        edge, then bending and unbending, flow stress times gauge over twice the radius to mid-wall
        (from memory, medium confidence).

    Note:
        An estimate near the real force, for setting a force monitor. A press is rated with `drawing_force`,
        which is the higher and so the safe one. Estimate until calibrated on plant trials.

    Example:
        >>> print(drawing_force_estimate(
        ...     rim_diameter=100.0, punch_diameter=50.0, gauge=1.0, flow_stress=300.0, bend_stress=0.0,
        ...     die_radius=5.0, friction=0.0))
        36648.8
    """
    positive(rim_diameter=rim_diameter, punch_diameter=punch_diameter, gauge=gauge, die_radius=die_radius)
    not_negative(flow_stress=flow_stress, bend_stress=bend_stress, friction=friction)
    not_negative(holder_force=holder_force, draw=rim_diameter - punch_diameter)
    flange = 1.1 * flow_stress * np.log(rim_diameter / punch_diameter)
    held = 2 * friction * holder_force / (np.pi * rim_diameter * gauge)
    bending = bend_stress * gauge / (2 * die_radius + gauge)
    section = np.pi * (punch_diameter + gauge) * gauge
    return section * ((flange + held) * np.exp(friction * np.pi / 2) + bending)


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
        Some texts print the cube. For can sheet the result is 1 to 2 MPa.

    Example:
        >>> print(holder_pressure(draw_ratio=2.0, punch_diameter=200.0, gauge=1.0, tensile=400.0))
        2.0
    """
    positive(punch_diameter=punch_diameter, gauge=gauge, tensile=tensile)
    not_negative(draw_ratio_above_1=draw_ratio - 1)
    return tensile / 400 * ((draw_ratio - 1) ** 2 + punch_diameter / (200 * gauge))


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


def rim_thickness(*, gauge: Mm, before: Mm, after: Mm, mean_anisotropy: Ratio, clearance: Mm) -> Mm:
    """Thickness of the rim after a draw: what a free rim would take, at most what the die lets through.

    Args:
        gauge: thickness of the rim before the draw [mm].
        before: diameter before [mm].
        after: diameter after [mm].
        mean_anisotropy: mean plastic strain ratio of the sheet [-].
        clearance: gap between draw die and punch, on each side [mm].

    Returns:
        Thickness of the rim [mm].

    Raises:
        ValueError: if a length is not above zero or the strain ratio is negative.

    Source:
        Derived: the edge of a free rim is squeezed round alone. By the definition of the strain ratio its
        thickness strain is the hoop strain over 1 + R. A gap smaller than that irons the rim.

    Note:
        The holder's pressure is left out; it thickens the rim less. Ears are pinched first.

    Example:
        >>> print(rim_thickness(gauge=0.2, before=100.0, after=64.0, mean_anisotropy=1.0, clearance=0.3))
        0.25
        >>> print(rim_thickness(gauge=0.2, before=100.0, after=64.0, mean_anisotropy=1.0, clearance=0.22))
        0.22
    """
    positive(gauge=gauge, before=before, after=after, clearance=clearance)
    not_negative(mean_anisotropy=mean_anisotropy)
    return np.minimum(gauge * (before / after) ** (1 / (1 + mean_anisotropy)), clearance)


def ear_growth(*, strain_before: Ratio, strain_after: Ratio, share: Ratio) -> Ratio:
    """Growth of the metal in the ears when a cup is drawn again.

    Args:
        strain_before: hoop strain of the rim after the first draw [-].
        strain_after: hoop strain after both draws [-].
        share: how far the ears follow the strain: 0 not at all, 1 in proportion [-].

    Returns:
        Metal of the ears after the redraw over the metal before it [-].

    Raises:
        ValueError: if the first strain is not above zero, or another argument is negative.

    Source:
        Rule: ears are a share of the height that grows in proportion to hoop strain. Common practice, no
        source; the share is a plant setting, found by measuring cups and redrawn cups.

    Example:
        >>> print(ear_growth(strain_before=0.4, strain_after=0.6, share=1.0))
        1.5
    """
    positive(strain_before=strain_before)
    not_negative(strain_after=strain_after, share=share)
    return 1 + share * (strain_after / strain_before - 1)
