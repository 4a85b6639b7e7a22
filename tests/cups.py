"""The blank of a plain cup, by the meridian of the cup and the disc that holds its metal."""

from __future__ import annotations

from kb.process import blank
from kb.process.profile import cup


def blank_of_cup(*, mean_diameter: float, height: float, corner_radius: float = 0.0) -> float:
    """Blank of a cup whose sizes are to the middle of a thin sheet, in any unit of length."""
    sheet = 1e-5 * mean_diameter
    shape = cup(
        punch_diameter=mean_diameter - sheet,
        punch_radius=corner_radius - sheet / 2,
        gauge=sheet,
        rim=sheet,
        wall_height=height - corner_radius,
    )
    return float(blank.diameter_for_volume(volume=shape.metal(), gauge=sheet))
