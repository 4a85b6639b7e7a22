"""What the sheet brings along: anisotropy, earing, how it hardens and what it takes to make it flow."""

from __future__ import annotations

import numpy as np

from kb.process.domain import not_negative, positive
from kb.units import Mm, MPa, Ratio


def mean_anisotropy(*, r0: Ratio, r45: Ratio, r90: Ratio) -> Ratio:
    """Resistance of the sheet to thinning, averaged over the directions of the sheet.

    Args:
        r0: width strain over thickness strain, pulled along the rolling direction [-].
        r45: the same at 45 degrees to it [-].
        r90: the same across it [-].

    Returns:
        Mean plastic strain ratio [-].

    Raises:
        ValueError: if a strain ratio is not above zero.

    Source:
        Hosford and Caddell, Metal Forming, 3rd ed. 2007, cup-drawing chapter
        (from memory, high confidence).

    Example:
        >>> print(mean_anisotropy(r0=0.5, r45=0.9, r90=0.7))
        0.75
    """
    positive(r0=r0, r45=r45, r90=r90)
    return (r0 + 2 * r45 + r90) / 4


def reduction(*, before: Mm, after: Mm) -> Ratio:
    """Ratio taken off a diameter by a draw or a neck stage, or off a wall by ironing rings.

    Args:
        before: diameter or wall before [mm].
        after: diameter or wall after [mm].

    Returns:
        Reduction [-].

    Raises:
        ValueError: if a length is not above zero.

    Source:
        Groover, Fundamentals of Modern Manufacturing, 4th ed. 2010, ch. 20, measures of drawing
        (from memory, high confidence).

    Example:
        >>> print(reduction(before=138.0, after=75.0))
        0.4565
    """
    positive(before=before, after=after)
    return (before - after) / before


def strain(*, before: Mm, after: Mm) -> Ratio:
    """Compression round a rim that is drawn in, or thinning of a wall, counted positive.

    Args:
        before: diameter or wall before [mm].
        after: diameter or wall after [mm].

    Returns:
        True strain ln(before / after), above zero when the length shrinks [-].

    Raises:
        ValueError: if a length is not above zero.

    Source:
        Definition of true strain; the sign is ours, so that strains of stations add up.

    Example:
        >>> print(strain(before=200.0, after=100.0))
        0.6931
    """
    positive(before=before, after=after)
    return np.log(before / after)


def flow_stress(*, strain: Ratio, start: MPa, saturation: MPa, scale: Ratio) -> MPa:
    """Stress at which the sheet flows after it has been worked by a given strain.

    Args:
        strain: true strain put in since the coil, never negative [-].
        start: flow stress of the coil [MPa].
        saturation: flow stress that no further work can raise [MPa].
        scale: strain over which the remaining hardening falls to 1/e [-].

    Returns:
        Flow stress [MPa].

    Raises:
        ValueError: if the strain is negative, or a stress or the scale is not above zero.

    Source:
        E. Voce, Journal of the Institute of Metals 74 (1948) 537-562 (from memory, high confidence).

    Note:
        Full-hard sheet is near saturation; its start, saturation and scale are plant values, and
        a stress computed from them is an estimate until calibrated on plant trials.

    Example:
        >>> print(flow_stress(strain=0.0, start=280.0, saturation=340.0, scale=0.5))
        280.0
        >>> print(flow_stress(strain=0.5, start=280.0, saturation=340.0, scale=0.5))
        317.9272
    """
    not_negative(strain=strain)
    positive(start=start, saturation=saturation, scale=scale)
    return saturation - (saturation - start) * np.exp(-strain / scale)


def mean_flow_stress(
    *, strain_from: Ratio, strain_to: Ratio, start: MPa, saturation: MPa, scale: Ratio
) -> MPa:
    """Flow stress averaged over one station's strain.

    Args:
        strain_from: true strain before the station [-].
        strain_to: true strain after it [-].
        start: flow stress of the coil [MPa].
        saturation: flow stress that no further work can raise [MPa].
        scale: strain over which the remaining hardening falls to 1/e [-].

    Returns:
        Mean flow stress; the flow stress itself where the two strains are equal [MPa].

    Raises:
        ValueError: if a strain is negative, or a stress or the scale is not above zero.

    Source:
        Derived: integral of the Voce law over the strain, divided by the strain.

    Note:
        An estimate until calibrated on plant trials, as `flow_stress`.

    Example:
        >>> print(mean_flow_stress(strain_from=0.5, strain_to=0.5, start=280.0, saturation=340.0, scale=0.5))
        317.9272
        >>> print(mean_flow_stress(strain_from=0.0, strain_to=0.5, start=280.0, saturation=340.0, scale=0.5))
        302.0728
    """
    not_negative(strain_from=strain_from, strain_to=strain_to)
    positive(start=start, saturation=saturation, scale=scale)
    left = (saturation - start) * np.exp(-strain_from / scale)
    return saturation - left * mean_decay(exponent=(strain_to - strain_from) / scale)


def slab_stress(*, flow_stress: MPa, friction_term: Ratio, strain: Ratio) -> MPa:
    """Stress that pulls metal through a converging die, ideal work and friction.

    Args:
        flow_stress: mean flow stress in the die [MPa].
        friction_term: B, friction coefficient over the tangent of the die's half angle [-].
        strain: true strain of the pass, never negative [-].

    Returns:
        Stress at the exit [MPa].

    Raises:
        ValueError: if the flow stress or the strain is negative.

    Source:
        Sachs' slab solution, Dieter, Mechanical Metallurgy, 3rd ed. 1988, ch. 19. Rearranged so
        that it runs into flow stress times strain, without a division by zero, as B vanishes.

    Note:
        Leaves out redundant shear. Below B = -1 the punch would push the wall out by friction
        alone and the stress turns compressive: outside what the formula was made for.

    Example:
        >>> print(slab_stress(flow_stress=100.0, friction_term=0.0, strain=0.5))
        50.0
        >>> print(slab_stress(flow_stress=100.0, friction_term=1.0, strain=0.6931472))
        100.0
    """
    not_negative(flow_stress=flow_stress, strain=strain)
    return flow_stress * (1 + friction_term) * strain * mean_decay(exponent=friction_term * strain)


def mean_decay(*, exponent: Ratio) -> Ratio:
    """Mean of exp(-x) for x from nought to the exponent, finite and right at nought too.

    It carries every "equation divided by a vanishing friction or strain" of the slab formulas.

    Args:
        exponent: where the decay ends; may be zero or negative [-].

    Returns:
        (1 - exp(-exponent)) / exponent, and 1 where the exponent is zero [-].

    Source:
        Derived: the integral of exp(-x) divided by its range.

    Example:
        >>> print(mean_decay(exponent=0.0), mean_decay(exponent=1.0))
        1.0 0.6321
    """
    still = np.equal(exponent, 0.0)
    divisor = np.where(still, 1.0, exponent)
    # [()] turns the array that a single number became back into a number
    return np.where(still, 1.0, -np.expm1(-divisor) / divisor)[()]
