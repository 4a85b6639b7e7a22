"""Flanging: how wide the flange stands and how far its edge is stretched."""

from __future__ import annotations

import numpy as np

from kb.process.domain import positive
from kb.units import Mm, Ratio


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
