"""Where the metal goes: the blank's mass by zone of the finished can, trim and skeleton beside it."""

from __future__ import annotations

from kb.process import blank
from kb.process.meridian import Meridian
from kb.route.stations import Route
from kb.units import Gram, Mm3

WALL_PIECES = 3  # thin wall, step, thick wall
NECK_PIECES = 3  # shoulder, cone, neck arc


def masses(route: Route) -> dict[str, Gram]:
    """Mass of each zone of one can [g].

    Args:
        route: the format's route

    Returns:
        Zones in order from the base up, then what is trimmed off; together they are the blank.
    """
    pieces = route.flanged.shape.pieces
    base = len(route.domed.base.pieces)
    wall = base + WALL_PIECES
    neck = wall + NECK_PIECES
    zones = {
        "base": pieces[:base],
        "thin wall": pieces[base : base + 1],
        "step": pieces[base + 1 : base + 2],
        "thick wall": pieces[base + 2 : wall],
        "neck": pieces[wall : neck + 1],
        "flange": pieces[neck + 1 :],
    }
    weighed = {name: _mass(route, Meridian(part).metal()) for name, part in zones.items()}
    return weighed | {"trim": route.trimmed.trim_mass / 1000}


def _mass(route: Route, metal: Mm3) -> Gram:
    return blank.mass(volume=metal, density=route.case.stock.density)
