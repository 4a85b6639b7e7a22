"""Necking: stages, what each takes off, what becomes of the wall, and the push each needs."""

from __future__ import annotations

import numpy as np

from kb.process.domain import not_negative, positive
from kb.process.material import slab_stress
from kb.units import Deg, Mm, MPa, Ratio


def stage_reduction(*, before: Mm, after: Mm) -> Ratio:
    """Share of the diameter taken off by one necking stage.

    Args:
        before: neck diameter before the stage [mm].
        after: neck diameter after it [mm].

    Returns:
        Reduction of the diameter [-].

    Raises:
        ValueError: if a diameter is not above zero.

    Source:
        Definition.

    Example:
        >>> print(stage_reduction(before=50.0, after=49.0))
        0.02
    """
    positive(before=before, after=after)
    return (before - after) / before


def equal_schedule(*, before: Mm, after: Mm, stages: int) -> Mm:
    """Diameters stage by stage when every stage takes off the same share.

    Args:
        before: diameter of the body [mm].
        after: diameter of the finished neck [mm].
        stages: number of stages, at least 1.

    Returns:
        Diameters, the body first and the finished neck last: stages + 1 along the first axis,
        samples along the others [mm].

    Raises:
        ValueError: if a diameter is not above zero or there is no stage.

    Source:
        Derived: a geometric series.

    Example:
        >>> print(equal_schedule(before=100.0, after=81.0, stages=2))
        [100. 90. 81.]
    """
    positive(before=before, after=after, stages=stages)
    start, end = np.broadcast_arrays(before, after)
    done = np.arange(stages + 1).reshape(-1, *(1,) * start.ndim) / stages
    diameters = start * (end / start) ** done
    # the power leaves the last digit open; the plug's own diameter must come out
    diameters[-1] = end
    return diameters


def wall_free_length(*, wall: Mm, before: Mm, after: Mm) -> Mm:
    """Neck wall if the neck is free to lengthen as it is squeezed.

    Args:
        wall: wall before necking [mm].
        before: diameter before [mm].
        after: diameter after [mm].

    Returns:
        Wall after necking, the lower bound [mm].

    Raises:
        ValueError: if a length is not above zero.

    Source:
        Derived: volume constancy with no axial stress, thickness and length strains equal.

    Example:
        >>> print(wall_free_length(wall=0.16, before=100.0, after=64.0))
        0.2
    """
    return wall_after(wall=wall, before=before, after=after, exponent=0.5)


def wall_fixed_length(*, wall: Mm, before: Mm, after: Mm) -> Mm:
    """Neck wall if the neck keeps its length along the profile.

    Args:
        wall: wall before necking [mm].
        before: diameter before [mm].
        after: diameter after [mm].

    Returns:
        Wall after necking, the upper bound [mm].

    Raises:
        ValueError: if a length is not above zero.

    Source:
        Derived: volume constancy with no change of length.

    Example:
        >>> print(wall_fixed_length(wall=0.16, before=100.0, after=80.0))
        0.2
    """
    return wall_after(wall=wall, before=before, after=after, exponent=1.0)


def wall_after(*, wall: Mm, before: Mm, after: Mm, exponent: Ratio) -> Mm:
    """Neck wall between the two bounds.

    Args:
        wall: wall before necking [mm].
        before: diameter before [mm].
        after: diameter after [mm].
        exponent: 0.5 for a neck free to lengthen, 1 for one that keeps its length [-].

    Returns:
        Wall after necking [mm].

    Raises:
        ValueError: if a length is not above zero.

    Source:
        Derived: the two bounds are powers of the diameter ratio; the exponent of a plant's tools
        lies between them and is found by measuring necks.

    Example:
        >>> print(wall_after(wall=0.16, before=80.0, after=64.0, exponent=1.0))
        0.2
    """
    positive(wall=wall, before=before, after=after)
    return wall * (before / after) ** exponent


def stage_stress(*, flow_stress: MPa, before: Mm, after: Mm, half_angle: Deg, friction: Ratio) -> MPa:
    """Stress in the body wall that pushes one necking stage.

    Args:
        flow_stress: mean flow stress of the neck wall in the stage [MPa].
        before: neck diameter before the stage [mm].
        after: neck diameter after it, not above the diameter before [mm].
        half_angle: angle of the neck die against the axis [deg].
        friction: coefficient of friction on the die [-].

    Returns:
        Axial compression in the wall [MPa].

    Raises:
        ValueError: if a diameter or the angle is not above zero, the friction or the flow stress is
            negative, or the neck grows.

    Source:
        G. Sachs and W. M. Baldwin, Stress analysis of tube sinking, Trans. ASME 68 (1946) 655-662,
        in Dieter's slab form with the factor 1.1 (from memory, medium confidence).

    Note:
        `bending_stress` comes on top. An estimate until calibrated on plant trials.

    Example:
        >>> print(stage_stress(
        ...     flow_stress=300.0, before=50.0, after=49.2, half_angle=30.0, friction=0.05))
        5.8
    """
    positive(before=before, after=after, half_angle=half_angle)
    not_negative(friction=friction)
    term = friction / np.tan(np.radians(half_angle))
    squeeze = np.log(before / after)
    return slab_stress(flow_stress=1.1 * flow_stress, friction_term=term, strain=squeeze)


def bending_stress(*, flow_stress: MPa, wall: Mm, radius: Mm, bends: Ratio) -> MPa:
    """Stress that bends and unbends the wall at one radius of the neck die.

    Args:
        flow_stress: flow stress of the neck wall [MPa].
        wall: wall at the radius [mm].
        radius: radius to the middle of the wall [mm].
        bends: how many times the wall bends or unbends there [-].

    Returns:
        Axial compression in the wall [MPa].

    Raises:
        ValueError: if a length is not above zero, or the flow stress or the number is negative.

    Source:
        Derived: a fibre at the distance y from the middle is strained by y over the radius. The mean over
        the wall is wall / (4 radius), and the work of a rigid, plastic wall is that strain times the flow
        stress. The same in handbooks of deep drawing for the die radius (from memory, high confidence).

    Note:
        The elastic part of the bending is left out, so the estimate is on the safe side.

    Example:
        >>> print(bending_stress(flow_stress=400.0, wall=0.2, radius=5.0, bends=2))
        8.0
    """
    positive(wall=wall, radius=radius)
    not_negative(flow_stress=flow_stress, bends=bends)
    return bends * flow_stress * wall / (4 * radius)


def pleating(*, before: Mm, after: Mm, wall: Mm) -> Ratio:
    """How near one neck stage comes to pleats: step of the diameter over the wall.

    Args:
        before: neck diameter before the stage [mm].
        after: neck diameter after it [mm].
        wall: wall before the stage [mm].

    Returns:
        Diameter step over wall [-].

    Raises:
        ValueError: if a length is not above zero.

    Source:
        No closed form for pleats in a neck die is published. The measure is that of the rule for drawing
        without a blank holder: no wrinkles up to a step of 18 to 22 gauges (from memory, medium confidence).

    Note:
        An estimate: flange and neck are alike in that hoop compression folds a wall held on one side. Pilot
        and inside air hold the other side, so a neck may take more.

    Example:
        >>> print(pleating(before=52.0, after=50.0, wall=0.2))
        10.0
    """
    positive(before=before, after=after, wall=wall)
    return (before - after) / wall
