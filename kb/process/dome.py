"""What the dome and the end hold before they turn out.

Published shell formulas are far from a real dome, whose stand and nose do much of the work: the bounds here
bracket it, and only scaling from the plant's own trial predicts it.
"""

from __future__ import annotations

import numpy as np

from kb.process.domain import not_negative, positive
from kb.units import Mm, MPa, N, Ratio


def sphere_buckling_classical(*, radius: Mm, wall: Mm, modulus: MPa, poisson: Ratio) -> MPa:
    """Pressure on its outside at which a perfect sphere buckles.

    Args:
        radius: Dome radius [mm].
        wall: Metal thickness in the dome [mm].
        modulus: Young's modulus [MPa].
        poisson: Poisson's ratio [-].

    Returns:
        Classical buckling pressure [MPa].

    Raises:
        ValueError: if radius, wall or modulus is not above zero.

    Source:
        Zoelly, Ueber ein Knickungsproblem an der Kugelschale, ETH Zurich 1915; the same as the classical
        pressure of NASA SP-8032 (1969), section 4.2.1.1.

    Note:
        The dome bulges into the can, so the pressure in the can loads its outside.
        Elastic: for a can it is far above the limit from yielding.

    Example:
        >>> print(sphere_buckling_classical(radius=44.45, wall=0.273, modulus=69000.0, poisson=0.33))
        3.18
    """
    positive(radius=radius, wall=wall, modulus=modulus)
    return 2 * modulus / np.sqrt(3 * (1 - poisson**2)) * (wall / radius) ** 2


def sphere_buckling_lower_bound(
    *, radius: Mm, wall: Mm, modulus: MPa, poisson: Ratio, base_diameter: Mm
) -> MPa:
    """Pressure that tested clamped spherical caps were sure to carry.

    Args:
        radius: Dome radius [mm].
        wall: Metal thickness in the dome [mm].
        modulus: Young's modulus [MPa].
        poisson: Poisson's ratio [-].
        base_diameter: Diameter at which the sphere ends [mm].

    Returns:
        Lower bound to the buckling pressure [MPa].

    Raises:
        ValueError: if a dimension or the modulus is not above zero or the base is wider than the sphere.

    Source:
        NASA SP-8032, Buckling of Thin-Walled Doubly Curved Shells, August 1969, section 4.2.1.1,
        equations 1 to 4: 0.14 + 3.2/lambda^2 of the classical pressure.

    Note:
        For lambda above 2; held at the classical pressure where the bound would exceed it, near 1.93.
        For information, never a verdict: an illustrative can dome comes out near 0.51 MPa although cans
        hold 0.62 MPa, because stand and nose stiffen the edge.

    Example:
        >>> bound = sphere_buckling_lower_bound(
        ...     radius=44.45, wall=0.273, modulus=69000.0, poisson=0.33, base_diameter=45.72)
        >>> print(bound)
        0.513
    """
    classical = sphere_buckling_classical(radius=radius, wall=wall, modulus=modulus, poisson=poisson)
    positive(base_diameter=base_diameter)
    not_negative(radius_less_half_base=radius - base_diameter / 2)
    half_angle = np.arcsin(base_diameter / (2 * radius))
    shallowness = (12 * (1 - poisson**2)) ** 0.25 * np.sqrt(radius / wall) * 2 * np.sin(half_angle / 2)
    return classical * np.minimum(0.14 + 3.2 / shallowness**2, 1)


def flat_end_collapse(*, radius: Mm, wall: Mm, yield_strength: MPa) -> MPa:
    """Pressure at which a flat panel, held fast at its edge, collapses plastically.

    Args:
        radius: Radius of the panel [mm].
        wall: Metal thickness [mm].
        yield_strength: Yield strength as used, after baking [MPa].

    Returns:
        Collapse pressure [MPa].

    Raises:
        ValueError: if an argument is not above zero.

    Source:
        Hopkins and Prager, The load carrying capacities of circular plates, J. Mech. Phys. Solids 2
        (1953) 1-13: 11.26 M0/a^2 with M0 = Y t^2/4 (from memory, high confidence).

    Note:
        Ignores countersink, panel step and membrane stretching, all of which help: a strict lower
        bound for a beverage end.

    Example:
        >>> flat_end_collapse(radius=20.0, wall=0.2, yield_strength=400.0)
        0.1126
    """
    positive(radius=radius, wall=wall, yield_strength=yield_strength)
    return 11.26 * _plastic_moment(wall=wall, yield_strength=yield_strength) / radius**2


def reversal_from_trial(
    *,
    trial_pressure: MPa,
    trial_wall: Mm,
    trial_yield: MPa,
    trial_stand: Mm,
    wall: Mm,
    yield_strength: MPa,
    stand_diameter: Mm,
    exponent: Ratio,
) -> MPa:
    """Dome reversal pressure scaled from the plant's own trial of the same profile.

    Args:
        trial_pressure: Reversal pressure measured in the trial [MPa].
        trial_wall: Dome thickness in the trial [mm].
        trial_yield: Yield strength after baking in the trial [MPa].
        trial_stand: Stand diameter in the trial [mm].
        wall: Dome thickness to estimate for [mm].
        yield_strength: Yield strength after baking to estimate for [MPa].
        stand_diameter: Stand diameter to estimate for [mm].
        exponent: Power on thickness over stand diameter, the plant's own setting [-].

    Returns:
        Reversal pressure expected [MPa].

    Raises:
        ValueError: if an argument is not above zero.

    Source:
        Derived: similarity of a plastic shell, pressure as yield times (thickness over size) to a power;
        the power runs from 1.5 to 2 (from memory, medium confidence).

    Note:
        An estimate near the trial. Says nothing about a change of profile: dome radius, depth, nose and
        leg must be those of the trial, grown with the stand.

    Example:
        >>> reversal_from_trial(
        ...     trial_pressure=0.64, trial_wall=0.25, trial_yield=270.0, trial_stand=47.0,
        ...     wall=0.20, yield_strength=270.0, stand_diameter=47.0, exponent=2.0)
        0.4096
    """
    positive(trial_pressure=trial_pressure, trial_wall=trial_wall, trial_yield=trial_yield)
    positive(trial_stand=trial_stand, wall=wall, yield_strength=yield_strength)
    positive(stand_diameter=stand_diameter, exponent=exponent)
    slenderness_ratio = (wall / stand_diameter) / (trial_wall / trial_stand)
    return trial_pressure * (yield_strength / trial_yield) * slenderness_ratio**exponent


def _plastic_moment(*, wall: Mm, yield_strength: MPa) -> N:
    """Bending moment per unit of length at which the sheet is plastic right through [N]."""
    return yield_strength * wall**2 / 4
