"""What each size of the base does to its strength, through the whole route."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from kb.errors import installed
from kb.route import take
from kb.route.case import Case
from kb.units import Mm, MPa, N

CHANGES = {
    "format.dome.depth": 0.1,
    "format.dome.radius": 1.0,
    "format.dome.leg_angle": 1.0,
    "format.dome.corner_radius": 0.1,
    "format.dome.stand_diameter": 0.1,
    "format.punch.nose_radius": 0.1,
    "format.punch.chime_angle": 1.0,
    "format.punch.chime_radius": 0.1,
    "format.stock.gauge": 0.01,
}
"""Sizes of the base, each with the change that its effect is shown for [mm, deg]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BaseEffect:
    """What a change of one size of the base does, half of it taken to each side.

    Near the size at which the strength is largest an effect is near zero: a large change to any side weakens.

    Attributes:
        key: the size, a key of the case
        change: the change [mm or deg]
        reversal: change of the pressure at which the dome reverses [MPa]
        growth: change of the base growth at design pressure [mm]
        load: change of the axial load of the empty base [N]
    """

    key: str
    change: float
    reversal: MPa
    growth: Mm
    load: N


def base_effects(case: Case) -> tuple[BaseEffect, ...]:
    """What each size of the base does to its strength; nothing without the extra `strength`."""
    if not installed("strength"):
        return ()
    values = {}
    for i, (key, change) in enumerate(CHANGES.items()):
        samples = np.full(2 * len(CHANGES), float(case.at(key)))
        samples[2 * i : 2 * i + 2] += -change / 2, change / 2
        values[key] = samples
    with np.errstate(all="ignore"):
        strength = take(case.put(values)).strength
        results = (strength.reversal, strength.growth_design, strength.base_empty)
        moves = [np.diff(np.reshape(one, (-1, 2)), axis=1)[:, 0] for one in results]
    return tuple(
        BaseEffect(key=key, change=change, reversal=float(reversal), growth=float(growth), load=float(load))
        for (key, change), reversal, growth, load in zip(CHANGES.items(), *moves, strict=True)
    )
