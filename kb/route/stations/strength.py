"""Strength of the closed can: published bounds, and the plant's trial scaled to this can."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from kb.process import dome, strength
from kb.route.case import Case
from kb.route.station import Results, Station, result
from kb.route.stations.dome import Domed
from kb.route.stations.filled import Filled
from kb.route.stations.ironing import Ironed
from kb.units import MPa, N, Ratio

TRIAL = ("dome-trial-gauge", "dome-trial-pressure", "dome-trial-stand", "dome-trial-yield")
"""Settings of the plant's trial of dome reversal."""

AXIAL = ("axial-calibration",)


@dataclass(frozen=True, slots=True)
class Strength:
    """Estimates of strength; labelled so until the plant has calibrated them."""

    reversal: MPa = result(
        "dome reversal, scaled from the plant's trial (estimate)",
        "kPa",
        main=True,
        drivers="dome reversal",
        calibrated_by=TRIAL,
    )
    reversal_cap_low: MPa = result("dome reversal, spherical-cap lower bound (estimate)", "kPa")
    reversal_cap_high: MPa = result("dome reversal, perfect sphere (estimate)", "kPa")
    reversal_flat: MPa = result("dome reversal, flat clamped plate (estimate)", "kPa")
    axial_empty: N = result(
        "axial load, empty (estimate)", "kN", main=True, drivers="axial load", calibrated_by=AXIAL
    )
    axial_full: N = result("axial load at room pressure (estimate)", "kN", main=True, calibrated_by=AXIAL)
    knock_down: Ratio = result("knock-down factor of the wall's buckling load")


def take_strength(case: Case, ironed: tuple[Ironed, ...], domed: Domed, filled: Filled) -> Strength:
    """Estimates: published bounds, and the plant's own trial scaled to this can."""
    last = ironed[-1]
    spec, stock, setting = case.format.dome, case.stock, case.setting
    radius = case.format.punch.wall_diameter / 2 + last.thin / 2
    sphere = spec.radius + domed.wall / 2
    return Strength(
        reversal=dome.reversal_from_trial(
            trial_pressure=setting["dome-trial-pressure"],
            trial_wall=setting["dome-trial-gauge"],
            trial_yield=setting["dome-trial-yield"],
            trial_stand=setting["dome-trial-stand"],
            wall=domed.wall,
            yield_strength=stock.yield_after_bake,
            stand_diameter=spec.stand_diameter,
            exponent=setting["dome-trial-exponent"],
        ),
        reversal_cap_low=dome.sphere_buckling_lower_bound(
            radius=sphere,
            wall=domed.wall,
            modulus=stock.modulus,
            poisson=stock.poisson,
            base_diameter=2 * spec.radius * np.sin(np.radians(domed.edge_angle)),
        ),
        reversal_cap_high=dome.sphere_buckling_classical(
            radius=sphere, wall=domed.wall, modulus=stock.modulus, poisson=stock.poisson
        ),
        reversal_flat=dome.flat_end_collapse(
            radius=spec.stand_diameter / 2, wall=domed.wall, yield_strength=stock.yield_after_bake
        ),
        axial_empty=setting["axial-calibration"]
        * strength.axial_buckling_load(
            radius=radius, wall=last.thin, modulus=stock.modulus, poisson=stock.poisson
        ),
        axial_full=setting["axial-calibration"]
        * strength.axial_buckling_load(
            radius=radius,
            wall=last.thin,
            modulus=stock.modulus,
            poisson=stock.poisson,
            pressure=np.maximum(filled.room_pressure, 0.0),
        ),
        knock_down=strength.knock_down(radius=radius, wall=last.thin),
    )


STATION = Station(
    id="strength",
    title="Strength",
    blocks=("targets",),
    interface=("targets.dome_reversal", "targets.axial_load"),
    results=(Results("strength", "Strength", Strength, take_strength),),
)
