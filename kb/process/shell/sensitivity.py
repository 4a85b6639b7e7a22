"""What each size of a base does to its strength."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, replace

from kb.process.profile import BaseSizes, DomeSizes
from kb.process.shell.material import Metal
from kb.process.shell.parts import base_profile
from kb.process.shell.strength import plate_curve, pressure_curve
from kb.units import Mm, MPa, N, Ratio

LENGTH_CHANGE, THICKNESS_CHANGE, ANGLE_CHANGE = 0.1, 0.01, 1.0
"""Changes that the results are for [mm, mm, deg]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sensitivity:
    """What a size of the base does when it grows by 0.1 mm or 1 degree; a thickness by 0.01 mm.

    Attributes:
        size: name of the size in BaseSizes or DomeSizes
        change: the change [mm or deg]
        reversal: change of the pressure at which the dome reverses [MPa]
        growth: change of the base growth at the pressure of the question [mm]
        load: change of the load that the base holds on a plate [N]
    """

    size: str
    change: float
    reversal: MPa
    growth: Mm
    load: N


def base_sensitivities(
    base: BaseSizes,
    dome: DomeSizes,
    *,
    metal: Metal,
    wall: Mm,
    top: Mm,
    pressure: MPa,
    friction: Ratio,
    fineness: Ratio = 1.0,
) -> tuple[Sensitivity, ...]:
    """Differences over half a change on each side of each size.

    Args:
        base: sizes of nose and chime
        dome: sizes of the dome
        metal: elastic constants and flow curve
        wall: thickness of the domed metal [mm]
        top: height above the stand at which the wall is clamped [mm]
        pressure: pressure at which the growth is compared [MPa]
        friction: largest friction force over contact force on the plate [-]
        fineness: number of elements over the usual number [-]

    Returns:
        One for each size. The thickness of the domed metal follows the gauge in proportion.

    Raises:
        MissingExtra: if SciPy is not installed.
        ValueError: if a base at one end of a change does not close, or nothing gives.
        NoBalance: if a solution is lost before its limit.

    Note:
        Near a size at which the strength is largest the difference is near zero on both sides of it.
        Then only the curve over the size says what a larger change does.
    """

    def strength(base: BaseSizes, dome: DomeSizes) -> tuple[float, float, float]:
        domed = wall * base.gauge / gauge
        profile = base_profile(base, dome, wall=domed, top=top)
        curve = pressure_curve(profile, metal, fineness=fineness)
        plate = plate_curve(profile, metal, friction=friction, fineness=2 * fineness)
        if curve.limit is None or plate.limit is None:
            raise ValueError("nothing gives, so no size changes the strength")
        return curve.limit, float(curve.growth_at(pressure)), plate.limit

    gauge = base.gauge
    found = []
    for size, change, less, more in _changes(base, dome):
        below, above = strength(*less), strength(*more)
        reversal, growth, load = (b - a for a, b in zip(below, above, strict=True))
        found.append(Sensitivity(size=size, change=change, reversal=reversal, growth=growth, load=load))
    return tuple(found)


def _changes(
    base: BaseSizes, dome: DomeSizes
) -> Iterator[tuple[str, float, tuple[BaseSizes, DomeSizes], tuple[BaseSizes, DomeSizes]]]:
    """Each size, its change, and the bases half a change below and above."""
    for field in (*fields(BaseSizes), *fields(DomeSizes)):
        name = field.name
        change = ANGLE_CHANGE if name.endswith("_angle") else LENGTH_CHANGE
        change = THICKNESS_CHANGE if name in {"gauge", "wall"} else change
        pair = []
        for half in (-change / 2, change / 2):
            if hasattr(base, name):
                pair.append((replace(base, **{name: getattr(base, name) + half}), dome))
            else:
                pair.append((base, replace(dome, **{name: getattr(dome, name) + half})))
        yield name, change, pair[0], pair[1]
