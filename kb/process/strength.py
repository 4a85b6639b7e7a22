"""What the ironed wall carries: filling pressure in tension, stacking and seaming load in buckling.

All results are estimates from shell theory until they are calibrated on plant trials.
"""

from __future__ import annotations

import numpy as np

from kb.process.domain import not_negative, positive
from kb.units import Mm, MPa, N, Ratio

# Increase of the buckling coefficient over (p/E)(R/t)^2: round points through a second-hand reading
# of the curve in NASA SP-8007. The curve is smooth in log-log, so that is how it is read between them.
_PRESSURE_PARAMETER = np.array([0.02, 0.03, 0.05, 0.07, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.7, 1, 1.5, 2, 3, 5])
_COEFFICIENT_GAIN = (
    np.array([29, 40, 58, 74, 94, 116, 136, 162, 180, 191, 210, 227, 245, 253, 263, 269]) / 1000
)


def hoop_stress(*, pressure: MPa, radius: Mm, wall: Mm) -> MPa:
    """Hoop stress in the wall of a pressurised can.

    Args:
        pressure: Gauge pressure in the can [MPa].
        radius: Radius to the middle of the wall [mm].
        wall: Wall thickness [mm].

    Returns:
        Hoop stress, tension positive [MPa].

    Raises:
        ValueError: if radius or wall is not above zero.

    Source:
        Thin-shell equilibrium, pR/t; Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells,
        2nd ed. (from memory, high confidence).

    Note:
        Away from dome and seam. A negative pressure gives compression.

    Example:
        >>> hoop_stress(pressure=0.62, radius=33.0, wall=0.10)
        204.6
    """
    positive(radius=radius, wall=wall)
    return pressure * radius / wall


def baked_strength(*, strength: MPa, yield_strength: MPa, yield_after_bake: MPa) -> MPa:
    """Strength of the ironed wall once its coatings are baked.

    Args:
        strength: Flow stress of the wall as ironed [MPa].
        yield_strength: Yield strength of the coil [MPa].
        yield_after_bake: Yield strength of the coil after baking [MPa].

    Returns:
        Flow stress of the wall after baking [MPa].

    Raises:
        ValueError: if a strength is not above zero.

    Source:
        Rule: the wall softens by the same share as the coil on its certificate. Common practice, no
        source; it gives a loss near the 20 to 40 MPa that US patent 10 577 683 states for ironed sheet.

    Note:
        An estimate until walls cut from baked cans are tested.

    Example:
        >>> print(baked_strength(strength=350.0, yield_strength=280.0, yield_after_bake=252.0))
        315.0
    """
    positive(strength=strength, yield_strength=yield_strength, yield_after_bake=yield_after_bake)
    return strength * yield_after_bake / yield_strength


def buckling_stress_classical(*, wall: Mm, radius: Mm, modulus: MPa, poisson: Ratio) -> MPa:
    """Axial stress at which a perfect, long, unpressurised tube buckles.

    Args:
        wall: Wall thickness [mm].
        radius: Radius to the middle of the wall [mm].
        modulus: Young's modulus [MPa].
        poisson: Poisson's ratio [-].

    Returns:
        Classical buckling stress [MPa].

    Raises:
        ValueError: if wall, radius or modulus is not above zero.

    Source:
        Timoshenko and Gere, Theory of Elastic Stability, 2nd ed., axially compressed cylinders
        (from memory, high confidence); the same in NASA SP-8007.

    Note:
        Never reached by a real can: multiply by `knock_down`. Elastic, so doubtful near yield.

    Example:
        >>> print(buckling_stress_classical(wall=0.1, radius=33.0, modulus=69000.0, poisson=0.33))
        127.9
    """
    positive(wall=wall, radius=radius, modulus=modulus)
    return modulus * wall / (radius * np.sqrt(3 * (1 - poisson**2)))


def knock_down(*, radius: Mm, wall: Mm) -> Ratio:
    """Share of the classical buckling stress that tested tubes were sure to carry.

    Args:
        radius: Radius to the middle of the wall [mm].
        wall: Wall thickness [mm].

    Returns:
        Knock-down factor, a lower bound to tests [-].

    Raises:
        ValueError: if radius or wall is not above zero.

    Source:
        NASA SP-8007, Buckling of Thin-Walled Circular Cylinders, revised August 1968, axial compression
        (number of the equation not seen; form confirmed in public code that implements it).

    Note:
        Fitted for R/t below 1500; a can is near 330. Beyond that the answer is an extrapolation.

    Example:
        >>> print(knock_down(radius=33.0, wall=0.1))
        0.3885
    """
    positive(radius=radius, wall=wall)
    return 1 - 0.901 * (1 - np.exp(-np.sqrt(radius / wall) / 16))


def pressure_gain(*, pressure: MPa, radius: Mm, wall: Mm, modulus: MPa) -> Ratio:
    """Rise of the axial buckling coefficient because the can is pressurised.

    Args:
        pressure: Gauge pressure in the can [MPa].
        radius: Radius to the middle of the wall [mm].
        wall: Wall thickness [mm].
        modulus: Young's modulus [MPa].

    Returns:
        Amount to add to the buckling coefficient, stress R/(E t) [-].

    Raises:
        ValueError: if pressure is negative, or radius, wall or modulus is not above zero.

    Source:
        NASA SP-8007, revised August 1968, curve of the increase in the axial-compressive buckling
        coefficient over (p/E)(R/t)^2, read second-hand from points in public code; good to about 5 %.

    Note:
        Read in log-log between (p/E)(R/t)^2 of 0.02 and 5; below that a straight line to zero at no
        pressure, which is below the curve; above it the last value. Does not hold with suction.

    Example:
        >>> print(pressure_gain(pressure=0.25, radius=33.0, wall=0.1, modulus=69000.0))
        0.179
    """
    not_negative(pressure=pressure)
    positive(radius=radius, wall=wall, modulus=modulus)
    parameter = pressure / modulus * (radius / wall) ** 2
    within = np.clip(parameter, _PRESSURE_PARAMETER[0], _PRESSURE_PARAMETER[-1])
    gain = np.exp(np.interp(np.log(within), np.log(_PRESSURE_PARAMETER), np.log(_COEFFICIENT_GAIN)))
    return gain * np.clip(parameter / _PRESSURE_PARAMETER[0], 0, 1)


def axial_buckling_load(*, radius: Mm, wall: Mm, modulus: MPa, poisson: Ratio, pressure: MPa = 0.0) -> N:
    """Axial load at which the thin wall buckles, empty or under pressure.

    Args:
        radius: Radius to the middle of the wall [mm].
        wall: Thin wall thickness [mm].
        modulus: Young's modulus [MPa].
        poisson: Poisson's ratio [-].
        pressure: Gauge pressure in the can; none for an empty can [MPa].

    Returns:
        Load from outside on top of the can [N].

    Raises:
        ValueError: if pressure is negative, or radius, wall or modulus is not above zero.

    Source:
        NASA SP-8007, revised August 1968, pressurised cylinders in axial compression: buckling stress
        from `knock_down` plus `pressure_gain`, plus the lift of the pressure on the end
        (from memory, high confidence).

    Note:
        An estimate of the wall alone until calibrated on plant trials: neck, dome and dents may fail
        first, and the stress is not checked against yield.

    Example:
        >>> print(axial_buckling_load(radius=33.0, wall=0.1, modulus=69000.0, poisson=0.33) / 1000)
        1.030
    """
    classical = 1 / np.sqrt(3 * (1 - poisson**2))
    gain = pressure_gain(pressure=pressure, radius=radius, wall=wall, modulus=modulus)
    coefficient = knock_down(radius=radius, wall=wall) * classical + gain
    return 2 * np.pi * modulus * wall**2 * coefficient + pressure * np.pi * radius**2
