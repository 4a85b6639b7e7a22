"""Ironing: gap, reductions, stress and force at a ring, and how far tools and wall give."""

from __future__ import annotations

import numpy as np

from kb.process.domain import not_negative, positive
from kb.process.material import slab_stress, strain
from kb.units import Deg, DegC, Joule, Mm, Mm3, MPa, N, PerKelvin, Ratio


def gap(*, bore: Mm, punch_diameter: Mm) -> Mm:
    """Gap between ironing ring and punch: the wall, before tools and wall give.

    Args:
        bore: bore of the ring [mm].
        punch_diameter: punch diameter where the wall is ironed [mm].

    Returns:
        Gap on the radius [mm].

    Raises:
        ValueError: if a diameter is not above zero.

    Source:
        Definition.

    Note:
        Holds for tools at one temperature; state which.

    Example:
        >>> print(gap(bore=66.034, punch_diameter=65.840))
        0.097
    """
    positive(bore=bore, punch_diameter=punch_diameter)
    return (bore - punch_diameter) / 2


def friction_factor(*, half_angle: Deg, die_friction: Ratio, punch_friction: Ratio) -> Ratio:
    """Net friction term of a ring: what the ring holds back less what the punch carries along.

    Args:
        half_angle: entry angle of the ring against the axis [deg].
        die_friction: coefficient of friction on the ring [-].
        punch_friction: coefficient of friction on the punch [-].

    Returns:
        B*, negative when the punch is the rougher of the two [-].

    Raises:
        ValueError: if the angle is not above zero or a coefficient is negative.

    Source:
        Dieter, Mechanical Metallurgy, 3rd ed. 1988, ch. 19, tube drawing on a moving mandrel
        (from memory, medium to high confidence).

    Example:
        >>> print(friction_factor(half_angle=45.0, die_friction=0.08, punch_friction=0.05))
        0.03
    """
    positive(half_angle=half_angle)
    not_negative(die_friction=die_friction, punch_friction=punch_friction)
    return (die_friction - punch_friction) / np.tan(np.radians(half_angle))


def exit_stress(
    *,
    flow_stress: MPa,
    wall_in: Mm,
    wall_out: Mm,
    half_angle: Deg,
    die_friction: Ratio,
    punch_friction: Ratio,
) -> MPa:
    """Stress in the wall as it leaves the ring.

    Args:
        flow_stress: mean flow stress in the ring [MPa].
        wall_in: wall before the ring [mm].
        wall_out: wall after the ring, not above the wall before [mm].
        half_angle: entry angle of the ring against the axis [deg].
        die_friction: coefficient of friction on the ring [-].
        punch_friction: coefficient of friction on the punch [-].

    Returns:
        Axial stress in the exiting wall [MPa].

    Raises:
        ValueError: if a wall or the angle is not above zero, a coefficient or the flow stress is
            negative, or the wall grows in the ring.

    Source:
        Dieter, Mechanical Metallurgy, 3rd ed. 1988, ch. 19, tube drawing on a moving mandrel:
        plane strain, so 2/sqrt(3) times the flow stress (from memory, medium to high confidence).

    Note:
        Leaves out redundant shear. The wall tears when this stress reaches the strength of the
        exiting wall. An estimate until calibrated on plant trials.

    Example:
        >>> print(exit_stress(flow_stress=300.0, wall_in=0.160, wall_out=0.105,
        ...                   half_angle=8.0, die_friction=0.05, punch_friction=0.05))
        145.9
    """
    term = friction_factor(half_angle=half_angle, die_friction=die_friction, punch_friction=punch_friction)
    thinning = strain(before=wall_in, after=wall_out)
    return slab_stress(flow_stress=2 / np.sqrt(3) * flow_stress, friction_term=term, strain=thinning)


def wall_tension(*, stress: MPa, mean_diameter: Mm, wall_out: Mm) -> N:
    """Force that the wall carries out of the ring.

    Args:
        stress: axial stress in the exiting wall [MPa].
        mean_diameter: diameter to the middle of the exiting wall [mm].
        wall_out: exiting wall [mm].

    Returns:
        Tension in the wall [N].

    Raises:
        ValueError: if a length is not above zero.

    Source:
        Definition: stress times the area of the ring of metal.

    Note:
        The ram pushes with more than this, see `ram_force`: punch friction carries part of the load.

    Example:
        >>> print(wall_tension(stress=145.9, mean_diameter=66.145, wall_out=0.105))
        3183.4
    """
    positive(mean_diameter=mean_diameter, wall_out=wall_out)
    return stress * np.pi * mean_diameter * wall_out


def ram_force(
    *,
    tension: N,
    land_pressure: MPa,
    bore: Mm,
    land: Mm,
    half_angle: Deg,
    die_friction: Ratio,
    punch_friction: Ratio,
) -> N:
    """Push of the ram at one ring: what the ring holds back.

    Args:
        tension: tension of the wall at the end of the ring's cone [N].
        land_pressure: pressure of the wall on the land; none where the ring does no work [MPa].
        bore: bore of the ring [mm].
        land: length of the land [mm].
        half_angle: entry angle of the ring against the axis [deg].
        die_friction: coefficient of friction on the ring [-].
        punch_friction: coefficient of friction on the punch [-].

    Returns:
        Ram force [N].

    Raises:
        ValueError: if the bore, the land or the angle is not above zero, or a coefficient is negative.

    Source:
        Derived from the slab of `exit_stress`. Each slice of the cone adds p dA (1 + B) to the tension,
        with B the net friction term. The ring holds back p dA (1 + die friction / tan angle). The two are
        in one ratio along the cone. The land adds its friction.

    Note:
        The ram pushes the wall by its tension and by punch friction. Outside its range below a net
        friction term of -1, as `exit_stress`. An estimate until calibrated on plant trials.

    Example:
        >>> print(ram_force(tension=1000.0, land_pressure=0.0, bore=66.0, land=0.5, half_angle=45.0,
        ...                 die_friction=0.2, punch_friction=0.4))
        1500.0
    """
    positive(bore=bore, land=land)
    net = friction_factor(half_angle=half_angle, die_friction=die_friction, punch_friction=punch_friction)
    held = friction_factor(half_angle=half_angle, die_friction=die_friction, punch_friction=0.0)
    return tension * (1 + held) / (1 + net) + die_friction * land_pressure * np.pi * bore * land


def ideal_work(*, flow_stress: MPa, strain: Ratio, volume: Mm3) -> Joule:
    """Work that thins a volume of wall without friction or redundant shear: no ram does it with less.

    Args:
        flow_stress: mean flow stress over the strain [MPa].
        strain: true thickness strain, counted positive [-].
        volume: volume of the thinned wall [mm3].

    Returns:
        Ideal plastic work [J].

    Raises:
        ValueError: if an argument is negative.

    Source:
        Hosford and Caddell, Metal Forming, 3rd ed. 2007, ideal work; in plane strain 2/sqrt(3) times the
        flow stress (from memory, high confidence).

    Example:
        >>> print(ideal_work(flow_stress=300.0, strain=0.5, volume=2000.0))
        346.41
    """
    not_negative(flow_stress=flow_stress, strain=strain, volume=volume)
    return 2 / np.sqrt(3) * flow_stress * strain * volume / 1000


def hoop_stress_at_bore(*, pressure: MPa, bore: Mm, outside_diameter: Mm) -> MPa:
    """Tension round the bore of a ring under even pressure.

    Args:
        pressure: pressure on the bore [MPa].
        bore: bore of the ring [mm].
        outside_diameter: outside diameter of the ring [mm].

    Returns:
        Hoop stress at the bore [MPa].

    Raises:
        ValueError: if the bore is not above zero or the ring has no thickness.

    Source:
        Lamé's thick cylinder, Timoshenko, Strength of Materials, part II
        (from memory, high confidence).

    Note:
        For pressure over the full width of the ring; on a narrow land it is an upper bound.

    Example:
        >>> print(hoop_stress_at_bore(pressure=60.0, bore=50.0, outside_diameter=100.0))
        100.0
    """
    positive(bore=bore, ring_thickness=outside_diameter - bore)
    return pressure * (outside_diameter**2 + bore**2) / (outside_diameter**2 - bore**2)


def ring_growth(*, pressure: MPa, bore: Mm, outside_diameter: Mm, modulus: MPa, poisson: Ratio) -> Mm:
    """How far the bore of a ring opens under even pressure, on the radius.

    Args:
        pressure: pressure on the bore [MPa].
        bore: bore of the ring, a diameter [mm].
        outside_diameter: outside diameter of the ring [mm].
        modulus: modulus of elasticity of the ring [MPa].
        poisson: Poisson's ratio of the ring [-].

    Returns:
        Growth of the bore's radius, which is what it adds to the wall; the bore itself, a
        diameter, grows by twice as much [mm].

    Raises:
        ValueError: if the bore or the modulus is not above zero or the ring has no thickness.

    Source:
        Lamé's thick cylinder with free ends, Timoshenko, Strength of Materials, part II
        (from memory, high confidence).

    Note:
        For pressure over the full width of the ring; on a narrow land it is an upper bound.

    Example:
        >>> print(ring_growth(
        ...     pressure=60.0, bore=50.0, outside_diameter=100.0, modulus=200000.0, poisson=0.3))
        0.01475
    """
    positive(modulus=modulus)
    hoop = hoop_stress_at_bore(pressure=pressure, bore=bore, outside_diameter=outside_diameter)
    return bore / 2 * (hoop + poisson * pressure) / modulus


def thermal_growth(*, diameter: Mm, expansion: PerKelvin, rise: DegC) -> Mm:
    """How much a tool's diameter grows as it warms up.

    Args:
        diameter: diameter at the reference temperature [mm].
        expansion: coefficient of linear expansion [1/K].
        rise: rise of temperature, a difference and not a reading [degC].

    Returns:
        Growth of the diameter; the wall loses half of a punch's growth [mm].

    Raises:
        ValueError: if the diameter is not above zero.

    Source:
        Definition of the coefficient of expansion; reference temperature 20 degC is ISO 1.

    Example:
        >>> print(thermal_growth(diameter=66.0, expansion=11.5e-6, rise=20.0))
        0.01518
    """
    positive(diameter=diameter)
    return diameter * expansion * rise
