"""The can, filled and closed: capacity, headspace, pressure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from kb.process import gas, strength
from kb.process.meridian import Meridian
from kb.route.case import Case
from kb.route.station import Results, Station, result
from kb.route.stations.dome import Domed
from kb.route.stations.flange import Flanged
from kb.route.stations.ironing import Ironed
from kb.units import DegC, Gram, Mm, Mm3, MPa, Ratio, Samples

TEMPERATURES = (4.0, 20.0, 30.0, 40.0, 50.0, 60.0)
"""Where the pressure in the can is reported [degC]."""


@dataclass(frozen=True, slots=True)
class Filled:
    """The can filled and closed."""

    brimful: Mm3 = result("brimful capacity", "ml", main=True, drivers="brimful capacity")
    sealed: Mm3 = result("capacity of the closed can", "ml", main=True)
    headspace_volume: Mm3 = result("headspace", "ml")
    headspace_share: Ratio = result("headspace ÷ contents", "%")
    fill_level: Mm = result("fill height above the stand")
    headspace: Mm = result("flange top to liquid", main=True)
    finished_mass: Gram = result("body and end", main=True)
    hoop_stress: MPa = result("hoop stress in the thin wall at design pressure")
    baked_strength: MPa = result("strength of the thin wall after baking", estimate=True)
    hoop_share: Ratio = result("hoop stress ÷ baked wall strength", "%", main=True)
    fill_pressure: MPa = result("pressure when just filled", "kPa")
    room_pressure: MPa = result("pressure at 20 °C", "kPa", main=True)
    warmest_pressure: MPa = result("pressure at the highest temperature", "kPa", main=True)
    hot_pressure: MPa = result("pressure in the hot can", "kPa", main=True)


def take_filled(case: Case, ironed: tuple[Ironed, ...], domed: Domed, flanged: Flanged) -> Filled:
    """Capacity, headspace, pressure."""
    last = ironed[-1]
    spec, plant = case.format.fill, case.plant
    brimful = flanged.shape.enclosed()
    sealed = brimful - end_displaces(case)
    headspace = sealed - spec.contents
    upper = Meridian(flanged.shape.pieces[len(domed.base.pieces) :])
    level = level_of(upper, room=brimful - spec.contents)
    hoop = strength.hoop_stress(
        pressure=plant.design_pressure, radius=case.format.punch.wall_diameter / 2, wall=last.thin
    )
    baked = strength.baked_strength(
        strength=last.exit_strength,
        yield_strength=case.stock.yield_strength,
        yield_after_bake=case.stock.yield_after_bake,
    )
    return Filled(
        brimful=brimful,
        sealed=sealed,
        headspace_volume=headspace,
        headspace_share=headspace / spec.contents,
        fill_level=level,
        headspace=flanged.height - level,
        finished_mass=flanged.mass + case.end.mass,
        hoop_stress=hoop,
        baked_strength=baked,
        hoop_share=hoop / baked,
        fill_pressure=pressure_at(case, headspace, temperature=spec.temperature),
        room_pressure=pressure_at(case, headspace, temperature=plant.gauge_temperature),
        warmest_pressure=pressure_at(case, headspace, temperature=plant.warmest),
        hot_pressure=pressure_at(case, headspace, temperature=case.setting["hot-temperature"]),
    )


def pressure_at(case: Case, headspace: Mm3, *, temperature: DegC) -> MPa:
    """Inside pressure of the closed can over the air outside [MPa]."""
    spec = case.format.fill
    return gas.can_pressure(
        temperature=temperature,
        volumes=spec.carbonation,
        liquid_volume=spec.contents,
        headspace_volume=np.maximum(headspace, 1.0),
        nitrogen_mass=spec.nitrogen,
    )


def end_displaces(case: Case) -> Mm3:
    """Room the end takes below the plane of the seam's top [mm3].

    Source:
        Derived: the cone frustum of the chuck wall down to the countersink, less the raised panel.
    """
    end = case.end
    upper = case.format.neck.plug_diameter / 2 - end.gauge
    lower = upper - end.countersink * np.tan(np.radians(end.chuck_wall_angle))
    frustum = np.pi * end.countersink * (upper**2 + upper * lower + lower**2) / 3
    return frustum - np.pi / 4 * end.panel_diameter**2 * end.panel_height


def level_of(upper: Meridian, *, room: Mm3) -> Mm:
    """Height of the liquid's surface with some room above it.

    Args:
        upper: the body from the foot of its wall up to the flange
        room: volume between surface and flange [mm3]

    Returns:
        Height above the stand [mm]; never above the flange, never below the wall.

    Source:
        Derived: the room is counted down from the flange in thin frustums.
    """
    r, z = (axis[::-1] for axis in upper.points(per_arc=17))
    if np.ndim(room) > z.ndim - 1:
        r, z = r[:, np.newaxis], z[:, np.newaxis]
    slices = np.pi * (z[:-1] - z[1:]) * (r[1:] ** 2 + r[1:] * r[:-1] + r[:-1] ** 2) / 3
    above = np.concatenate([np.zeros_like(z[:1]), np.cumsum(slices, axis=0)])
    below = np.asarray(np.clip(np.sum(above < room, axis=0), 1, len(z) - 1))
    r0, z0, wanted = _pick(r, below - 1), _pick(z, below - 1), room - _pick(above, below - 1)
    widens, falls = _pick(r, below) - r0, np.maximum(z0 - _pick(z, below), 1e-12)
    share = np.clip(wanted / np.maximum(_pick(slices, below - 1), 1e-12), 0.0, 1.0)
    for _ in range(4):  # Newton's method: a cone's room grows with the cube of its height
        filled = np.pi * falls * share * (r0**2 + r0 * widens * share + (widens * share) ** 2 / 3)
        share = np.clip(share + (wanted - filled) / (np.pi * falls * (r0 + widens * share) ** 2), 0.0, 1.0)
    return z0 - share * falls


def _pick(values: Samples, index: NDArray[np.intp]) -> Samples:
    """From each column of `values` the row that `index` names."""
    columns = np.broadcast_to(values, (len(values), *index.shape))
    return np.take_along_axis(columns, index[np.newaxis], axis=0)[0]


STATION = Station(
    id="filled",
    title="Filled can",
    short="Filled",
    blocks=("fill",),
    plots=("pressure", "capacity"),
    interface=("fill",),
    results=(Results("filled", "Filled can", Filled, take_filled, checks=("format", "can")),),
)
