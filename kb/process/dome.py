"""The dome as it is formed from the flat bottom."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from kb.process.profile import BaseSizes, DomeSizes, domed_panel, flat_panel
from kb.units import Mm, Mm2, Ratio


@dataclass(frozen=True, slots=True)
class Doming:
    """What doming does to the metal: stretch of the surface [-], thickness [mm], sheet drawn in [mm2]."""

    stretch: Ratio
    wall: Mm
    drawn: Mm2


def doming(*, base: BaseSizes, dome: DomeSizes, draw_in: Ratio) -> Doming:
    """The metal of the dome.

    Args:
        base: Base sizes.
        dome: Domer sizes.
        draw_in: Share of the dome's extra surface that is drawn in over the nose, not stretched [-].

    Returns:
        Stretch, thickness, and the surface that the dome has beyond the flat base by its metal.

    Source:
        Derived: volume of the metal; the share is a setting of the plant.

    Example:
        >>> base = BaseSizes(
        ...     inside_radius=33.0, nose_radius=1.6, chime_angle=36.0, chime_radius=6.0, stand_radius=23.0,
        ...     gauge=0.26, wall=0.1)
        >>> dome = DomeSizes(depth=10.0, radius=45.0, corner_radius=1.6, leg_angle=4.0)
        >>> float(doming(base=base, dome=dome, draw_in=1.0).wall)
        0.26
    """
    flat = flat_panel(base).area_inside()
    stretch = domed_panel(base, dome, wall=base.gauge).area_inside() / flat - 1
    wall = base.gauge / (1 + (1 - draw_in) * stretch)
    return Doming(stretch, wall, flat * np.maximum((1 + stretch) * wall / base.gauge - 1, 0.0))
