"""Necking and flanging: reductions, walls, the force of each neck stage, the stretch of the flange edge."""

from __future__ import annotations

import numpy as np

from kb.process.domain import not_negative, positive
from kb.process.material import slab_stress
from kb.units import Deg, Mm, MPa, Ratio


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
        is between them and is found by measuring necks.

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
        without a draw pad: no wrinkles up to a step of 18 to 22 gauges (from memory, medium confidence).

    Note:
        An estimate: flange and neck are alike in that hoop compression folds a wall held on one side. Pilot
        and inside air hold the other side, so a neck may take more.

    Example:
        >>> print(pleating(before=52.0, after=50.0, wall=0.2))
        10.0
    """
    positive(before=before, after=after, wall=wall)
    return (before - after) / wall


def flange_diameter(*, plug_diameter: Mm, width: Mm) -> Mm:
    """Outside diameter of the flange.

    Args:
        plug_diameter: inside diameter of the neck, as a plug gauge finds it [mm].
        width: flange width from the plug diameter to the edge [mm].

    Returns:
        Flange diameter [mm].

    Raises:
        ValueError: if a length is not above zero.

    Source:
        Definition.

    Example:
        >>> print(flange_diameter(plug_diameter=52.4, width=2.0))
        56.4
    """
    positive(plug_diameter=plug_diameter, width=width)
    return plug_diameter + 2 * width


def edge_strain(*, neck_diameter: Mm, flange_diameter: Mm) -> Ratio:
    """Stretch of the flange's edge over its length before flanging.

    Args:
        neck_diameter: diameter of the neck's edge before flanging [mm].
        flange_diameter: outside diameter of the flange [mm].

    Returns:
        Engineering hoop strain [-].

    Raises:
        ValueError: if a diameter is not above zero.

    Source:
        Definition of engineering strain.

    Note:
        The elongation of a tensile test is no limit for it: published flanges stretch several times
        as far as full-hard sheet does in the tensile test.

    Example:
        >>> print(edge_strain(neck_diameter=50.0, flange_diameter=54.0))
        0.08
    """
    positive(neck_diameter=neck_diameter, flange_diameter=flange_diameter)
    return (flange_diameter - neck_diameter) / neck_diameter


def edge_wall(*, wall: Mm, edge_strain: Ratio) -> Mm:
    """Thickness of the flange's edge.

    Args:
        wall: neck wall before flanging [mm].
        edge_strain: engineering hoop strain of the edge [-].

    Returns:
        Thickness of the edge [mm].

    Raises:
        ValueError: if the wall is not above zero or the edge is squeezed to nothing.

    Source:
        Derived: volume constancy, the free edge thinning and shortening alike.

    Example:
        >>> print(edge_wall(wall=0.21, edge_strain=0.1025))
        0.2
    """
    positive(wall=wall, stretch=1 + edge_strain)
    return wall / np.sqrt(1 + edge_strain)
