"""Strength of the closed can: its base by the shell solver, its wall by a formula with a knock-down."""

from __future__ import annotations

import functools
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from kb.book.conversion import number
from kb.errors import installed
from kb.process import strength
from kb.route.bases import BaseStrength, base_strength, filled_base_load, shoulder_load
from kb.route.case import Case
from kb.route.station import Results, Station, basis, computed, result, with_basis
from kb.route.stations.filled import Filled
from kb.route.stations.ironing import Ironed
from kb.route.stations.seam import END
from kb.units import Mm, MPa, N, Number, Ratio

if TYPE_CHECKING:
    from kb.route.stations import Route

REVERSAL, BASE_LOAD, WALL_LOAD, SHOULDER_LOAD = (
    "dome-calibration",
    "base-load-calibration",
    "axial-calibration",
    "shoulder-load-calibration",
)
"""Settings: measured over computed."""

_LOADS = (WALL_LOAD, BASE_LOAD, SHOULDER_LOAD)


@dataclass(frozen=True)
class Strength:
    """Estimates of strength; labelled so until the plant has calibrated them.

    The base is solved when one of its results is read. Without the extra `strength` they are None.
    """

    case: Case
    wall: Mm
    thick_wall: Mm
    baked_strength: MPa
    room_pressure: MPa
    warmest_pressure: MPa
    wall_empty: N = result("axial load of the wall, empty", "kN", calibrated_by=(WALL_LOAD,))
    wall_full: N = result("axial load of the wall at room pressure", "kN", calibrated_by=(WALL_LOAD,))
    knock_down: Ratio = result("knock-down factor of the wall's buckling load")

    @computed(
        "dome reversal",
        "kPa",
        main=True,
        drivers="dome reversal",
        calibrated_by=(REVERSAL,),
    )
    def reversal(self) -> MPa | None:
        """Pressure at which the dome reverses."""
        base = self.base
        return None if base is None else self.case.setting[REVERSAL] * base.reversal

    @computed("base growth at the warmest temperature", main=True, estimate=True)
    def growth_warmest(self) -> Mm | None:
        """Growth of the base under the pressure of the warmest filled can."""
        return None if self.base is None else self.base.growth_at(self.warmest_pressure)

    @computed("base growth at design pressure", estimate=True)
    def growth_design(self) -> Mm | None:
        """Growth of the base under the design pressure."""
        return None if self.base is None else self.base.growth_at(self.case.plant.design_pressure)

    @computed("axial load of the base, empty", "kN", calibrated_by=(BASE_LOAD,))
    def base_empty(self) -> N | None:
        """Load that the base holds on a plate."""
        base = self.base
        return None if base is None else self.case.setting[BASE_LOAD] * base.load

    @computed("axial load of the base at room pressure", "kN", calibrated_by=(BASE_LOAD,))
    def base_full(self) -> N | None:
        """Load that the base of the filled can holds on a plate."""
        if self.base is None:
            return None
        return self.case.setting[BASE_LOAD] * filled_base_load(
            self.case, wall=self.wall, pressure=self.room_pressure
        )

    @computed("axial load of the shoulder, empty", "kN", calibrated_by=(SHOULDER_LOAD,))
    def shoulder_empty(self) -> N | None:
        """Load that the shoulder holds along the axis; pressure inside stiffens it."""
        if not installed("strength"):
            return None
        load = shoulder_load(self.case, wall=self.thick_wall, strength=self.baked_strength)
        return self.case.setting[SHOULDER_LOAD] * load

    @computed(
        "axial load, empty",
        "kN",
        main=True,
        drivers="axial load",
        calibrated_by=_LOADS,
    )
    def axial_empty(self) -> N | None:
        """The least of wall, base and shoulder."""
        return _least(self.wall_empty, self.base_empty, self.shoulder_empty)

    @computed(
        "axial load at room pressure",
        "kN",
        main=True,
        calibrated_by=_LOADS,
    )
    def axial_full(self) -> N | None:
        """The least of wall and base of the filled can, and of the shoulder of the empty one."""
        return _least(self.wall_full, self.base_full, self.shoulder_empty)

    @cached_property
    def base(self) -> BaseStrength | None:
        """The base as solved, without calibration; None without the extra `strength`."""
        return base_strength(self.case, wall=self.wall) if installed("strength") else None


def _least(*loads: N | None) -> N | None:
    """The least load; None where one is not computed."""
    known = [one for one in loads if one is not None]
    return functools.reduce(np.minimum, known) if len(known) == len(loads) else None


def take_strength(case: Case, ironed: tuple[Ironed, ...], filled: Filled) -> Strength:
    """Estimates of strength, those of the base when they are read."""
    last, stock = ironed[-1], case.stock
    radius = case.format.punch.wall_diameter / 2 + last.thin / 2
    empty, full = (
        case.setting[WALL_LOAD]
        * strength.axial_buckling_load(
            radius=radius, wall=last.thin, modulus=stock.modulus, poisson=stock.poisson, pressure=pressure
        )
        for pressure in (0.0, np.maximum(filled.room_pressure, 0.0))
    )
    return Strength(
        case=case,
        wall=last.thin,
        thick_wall=last.thick,
        baked_strength=filled.baked_strength,
        room_pressure=filled.room_pressure,
        warmest_pressure=filled.warmest_pressure,
        wall_empty=empty,
        wall_full=full,
        knock_down=strength.knock_down(radius=radius, wall=last.thin),
    )


def strength_sentences(route: Route, calibrated: Mapping[str, int]) -> Iterator[str]:
    """Which part governs the axial load, and which fails first under pressure, as far as it is computed.

    Args:
        route: the route
        calibrated: settings that are calibrated for the format, each with its number of trials
    """
    one = route.strength

    def said(what: str, setting: str) -> str:
        return with_basis(what, basis((setting,), calibrated))

    wall, base, shoulder = one.wall_full, one.base_full, one.shoulder_empty
    for when, loads in (
        ("Empty", {"wall": one.wall_empty, "base": one.base_empty, "shoulder": shoulder}),
        ("Filled, at room temperature", {"wall": wall, "base": base, "shoulder of the empty can": shoulder}),
    ):
        if known := _known(loads):
            least = min(known, key=known.__getitem__).partition(" ")[0]
            each = ", ".join(
                said(f"{part} {number(load / 1000, figures=3)} kN", setting)
                for (part, load), setting in zip(known.items(), _LOADS, strict=True)
            )
            yield f"{when}, the {least} governs the axial load: {each}."
    design = float(route.case.plant.design_pressure)
    if known := _known({"dome": one.reversal, "end": route.loose_end.buckling}):
        (first, gives), (second, later) = sorted(known.items(), key=lambda part: part[1])
        holds = (
            "both hold"
            if gives >= design
            else f"only the {second} holds"
            if later >= design
            else "neither holds"
        )
        setting = {"dome": REVERSAL, "end": END}
        yield (
            f"Under rising pressure the {first} fails first, at {said(_kpa(gives), setting[first])}, then "
            f"the {second}, at {said(_kpa(later), setting[second])}. At the design pressure of "
            f"{_kpa(design)} {holds}."
        )


def _known(values: Mapping[str, Number | None]) -> dict[str, float]:
    """The values as single numbers; nothing if one is not computed."""
    numbers = {name: math.nan if one is None else float(one) for name, one in values.items()}
    return numbers if all(map(math.isfinite, numbers.values())) else {}


def _kpa(pressure: MPa) -> str:
    return f"{number(1000 * float(pressure), figures=3)} kPa"


STATION = Station(
    id="strength",
    title="Strength",
    blocks=("targets",),
    plots=("growth",),
    interface=("targets.dome_reversal", "targets.axial_load"),
    results=(Results("strength", "Strength", Strength, take_strength, says=strength_sentences),),
)
