"""What base, shoulder and end hold, by the shell solver; solved once, kept in the user's cache folder."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from functools import cache, partial
from pathlib import Path
from typing import TypeAlias, TypeGuard

import numpy as np

import kb.process
from kb.cache import announced, cache_folder, digest, keep_entry, made_by, read_entry
from kb.process import neck
from kb.process.dome import doming
from kb.process.meridian import LineSegment, Meridian
from kb.process.profile import BaseSizes, DomeSizes, NeckSizes
from kb.process.profile import neck as neck_shape
from kb.process.shell import (
    EndSizes,
    LinearFlow,
    Metal,
    NoBalance,
    SaturatingFlow,
    axial_curve,
    base_profile,
    end_profile,
    plate_curve,
    pressure_curve,
)
from kb.process.shell.material import Array
from kb.process.shell.response import NearbyResults, Sizes, Solve
from kb.route.body import base_sizes, dome_sizes, end_sizes
from kb.route.case import Case
from kb.units import Mm, MPa, N, Number
from kb.workers import shared

STEPS = {
    "inside_radius": 0.1,
    "nose_radius": 0.1,
    "chime_angle": 1.0,
    "chime_radius": 0.5,
    "stand_radius": 0.1,
    "gauge": 0.004,
    "depth": 0.1,
    "radius": 1.0,
    "corner_radius": 0.2,
    "leg_angle": 1.0,
    "draw_in": 0.05,
    "yield_strength": 8.0,
    "wall": 0.0025,
    "modulus": 2000.0,
    "poisson": 0.01,
    "rise": 8.0,
    "rise_strain": 0.005,
    "friction": 0.05,
    "pressure": 0.1,
    "body_radius": 0.1,
    "shoulder_radius": 0.5,
    "angle": 2.0,
    "neck_radius": 0.5,
    "plug_radius": 0.1,
    "exponent": 0.1,
    "panel_radius": 0.1,
    "countersink_radius": 0.03,
    "flat": 0.1,
    "panel_height": 0.1,
    "chuck_wall_angle": 1.0,
}
"""A step of each size [mm, deg, -, MPa]: about a tolerance, and far above what the solver cannot resolve."""

_ALIKE = {"gauge": 0.04, "yield_strength": 40.0, "wall": 0.02}
"""Bases of one shape whose metal rounds to the same multiples of these share what a size does [mm, MPa]."""

_PRESSURES = (0.1, 0.2, 0.6)  # inside a filled can: least, usual, largest [MPa]
_TOP = 25.0  # height at which the wall is clamped [mm]; 20 or 40 mm change no result by 0.5 %
_WALL_GRID = 0.005  # formats whose thin walls are nearest to one multiple of this share solutions [mm]
_STRENGTH_GRID = 10.0  # the same for the flow stress of the baked wall [MPa]
_BELOW, _STRAIGHT = 15.0, 3.0  # lengths of wall and straight neck that are solved with a shoulder [mm]
_RADIUS = 0.02  # moves of the inside radius below this [mm] change nothing
_SHARES = 24  # of the limit, evenly up to the last, at which the growth is kept
_LAST_SHARE = 0.99
_FINENESS, _STEP = 0.7, 0.6  # within 0.5 % of the finest mesh and step
_PRESS_STEP = 0.15  # of the path under a force; longer ones scatter by 1 %
_COARSE = 0.5  # for what a size does, where the error of the mesh is alike in both solutions


@dataclass(frozen=True, slots=True)
class BaseStrength:
    """What a base holds, each a number or samples: an axisymmetric estimate.

    Attributes:
        reversal: pressure at which the dome reverses [MPa]
        load: force on a flat plate [N]
    """

    reversal: MPa
    load: N
    _growth: Array

    def curve(self) -> list[tuple[float, float]]:
        """Growth [mm] and pressure [MPa] of a single base, from none to 99 % of the reversal pressure."""
        shares = np.linspace(0.0, _LAST_SHARE, _SHARES + 1)
        growth = np.concatenate([[0.0], np.ravel(self._growth)])
        return list(zip(growth.tolist(), (shares * float(self.reversal)).tolist(), strict=True))

    def growth_at(self, pressure: MPa) -> Mm:
        """How far the base is down at a pressure [mm]; not-a-number above 99 % of the reversal pressure."""
        place = np.asarray(pressure / self.reversal * _SHARES / _LAST_SHARE)
        curve = np.concatenate([np.zeros_like(self._growth[:1]), self._growth])
        curve = np.broadcast_to(
            curve.reshape(len(curve), *curve.shape[1:] or (1,) * place.ndim), (len(curve), *place.shape)
        )
        known = (place >= 0) & (place <= _SHARES)
        below = np.clip(np.where(known, place, 0.0).astype(int), 0, _SHARES - 1)[np.newaxis]
        low, high = np.take_along_axis(curve, below, 0)[0], np.take_along_axis(curve, below + 1, 0)[0]
        return np.where(known, low + (place - below[0]) * (high - low), np.nan)[()]


def base_strength(case: Case, *, wall: Mm) -> BaseStrength:
    """What the base of a case holds, with a thin wall above the chime."""
    reversal, load, *growth = _respond(_solve_base, case, {"wall": wall})
    return BaseStrength(reversal, load, np.asarray(growth))


def filled_base_load(case: Case, *, wall: Mm, pressure: MPa) -> N:
    """What the base of a filled can holds on a plate [N]; below 100 kPa the pressure is not counted."""
    low, usual, high = _PRESSURES
    more = {"wall": wall, "pressure": np.clip(pressure, low, high)}
    held = _respond(_solve_filled, case, more, {"pressure": usual})[0]
    return np.where(np.less(pressure, low), base_strength(case, wall=wall).load, held)[()]


def _respond(solve: Solve, case: Case, more: Mapping[str, Number], fixed: Sizes | None = None) -> Array:
    """Results of a base, from solutions about the case as it is written."""
    sizes = {**_sizes(case), **more}
    anchor = {**_anchor(case.written or case), **(fixed or {})}
    inside = sizes["inside_radius"]
    near = np.abs(inside - anchor["inside_radius"]) < _RADIUS
    sizes["inside_radius"] = np.where(near, anchor["inside_radius"], inside)
    alike = {**_anchor(case.origin or case.written or case), **(fixed or {})}
    alike |= {name: round(round(alike[name] / by) * by, 6) for name, by in _ALIKE.items()}
    return _response(solve, tuple(anchor.items()), (*alike.items(), ("fineness", _COARSE))).at(sizes)


def shoulder_load(case: Case, *, wall: Mm, strength: MPa) -> N:
    """What the shoulder of an empty can holds along the axis [N].

    Args:
        case: the case
        wall: thick wall below the shoulder [mm]
        strength: flow stress of the baked wall [MPa]
    """
    written = case.written or case
    metal = written.stock
    baked = float(metal.hardening.saturation * metal.yield_after_bake / metal.yield_strength)
    thick = float(written.format.ironing.rings[-1].bore - written.format.punch.neck_diameter) / 2
    anchor = {
        **{name: round(float(value), 6) for name, value in _neck(written).items()},
        "wall": round(round(thick / _WALL_GRID) * _WALL_GRID, 6),
        "yield_strength": float(round(baked / _STRENGTH_GRID) * _STRENGTH_GRID),
    }
    sizes = {**_neck(case), "wall": wall, "yield_strength": strength}
    before = sizes["body_radius"]
    near = np.abs(before - anchor["body_radius"]) < _RADIUS
    sizes["body_radius"] = np.where(near, anchor["body_radius"], before)
    return _response(_solve_shoulder, tuple(anchor.items())).at(sizes)[0]


def end_pressure(case: Case) -> MPa:
    """Pressure at which the seamed end buckles: an axisymmetric estimate [MPa].

    Without room for the groove it is that of a groove without a flat bottom; `end.groove-room` fails.
    """
    anchor = tuple((name, round(float(value), 6)) for name, value in _end(case.written or case).items())
    return _response(_solve_end, anchor).at(_end(case))[0]


def _end(case: Case) -> dict[str, Number]:
    """The numbers of a case that move what its end holds."""
    end, metal = end_sizes(case), case.end_stock
    return {
        **{one.name: getattr(end, one.name) for one in fields(end)},
        "flat": np.maximum(end.flat, 0.0),
        "yield_strength": metal.yield_after_bake,
        "modulus": metal.modulus,
        "poisson": metal.poisson,
    }


def _neck(case: Case) -> dict[str, Number]:
    """The numbers of a case that move what its shoulder holds."""
    spec = case.format.neck
    return {
        "body_radius": case.format.punch.neck_diameter / 2,
        "shoulder_radius": spec.shoulder_radius,
        "angle": spec.angle,
        "neck_radius": spec.neck_radius,
        "plug_radius": spec.plug_diameter / 2,
        "exponent": case.setting["neck-wall-exponent"],
        "modulus": case.stock.modulus,
        "poisson": case.stock.poisson,
    }


_Named: TypeAlias = tuple[tuple[str, float], ...]


@cache
def _response(solve: Solve, anchor: _Named, alike: _Named | None = None) -> NearbyResults:
    """Results about a part; what moves it is read at a part alike, if there is one."""
    like = _response(solve, alike) if alike else None
    return NearbyResults(solve, dict(anchor), STEPS, alike=like, relative=_ALIKE)


def _sizes(case: Case) -> dict[str, Number]:
    """The numbers of a case that move what its base holds."""
    base, dome = base_sizes(case, wall=0.0), dome_sizes(case)
    return {
        **{one.name: getattr(base, one.name) for one in fields(base) if one.name != "wall"},
        **{one.name: getattr(dome, one.name) for one in fields(dome)},
        "draw_in": case.setting["dome-draw-in"],
        "yield_strength": case.stock.yield_after_bake,
        "modulus": case.stock.modulus,
        "poisson": case.stock.poisson,
        "rise": case.setting["baked-rise"],
        "rise_strain": case.setting["baked-rise-strain"],
        "friction": case.setting["stand-friction"],
    }


def _anchor(case: Case) -> dict[str, float]:
    """Everything that one solution is made of, alike for all formats with one base."""
    thin = float(case.format.ironing.rings[-1].bore - case.format.punch.wall_diameter) / 2
    wall = round(thin / _WALL_GRID) * _WALL_GRID
    sizes: dict[str, Number] = {**_sizes(case), "wall": wall}
    return {name: round(float(value), 6) for name, value in sizes.items()}


# --- one solution -----------------------------------------------------------------------------


_One: TypeAlias = Callable[[Sizes], tuple[float, ...]]
"""The results of one part."""


def _kept(results: int = 1, *, share: bool = False) -> Callable[[_One], Solve]:
    """The same solutions, each made once by any process of the user.

    Args:
        results: how many results a part has
        share: whether several are made on all cores at once; worth it for what takes long
    """

    def declare(solve: _One) -> Solve:
        seen: dict[str, tuple[float, ...]] = {}

        def solved(parts: Sequence[Sizes]) -> list[tuple[float, ...]]:
            named = {
                digest([solve.__name__, sizes, _program()]): sizes
                for sizes in ({name: round(float(value), 9) for name, value in one.items()} for one in parts)
            }
            folder = cache_folder("bases")
            for name in named.keys() - seen.keys():
                entry = read_entry(folder, name)
                if _whole(entry):
                    seen[name] = _numbers(entry)
            new = [name for name in named if name not in seen]
            make = partial(_solved_or_nothing, solve, results)
            parts = [named[one] for one in new]
            made = shared(make, parts) if share else map(make, parts)
            for name, found in zip(new, announced(made, len(new)), strict=True):
                keep_entry(folder, name, found)
                seen[name] = _numbers(found)
            return [seen[name] for name in named]

        return solved

    return declare


def _numbers(found: list[float | None]) -> tuple[float, ...]:
    return tuple(np.nan if one is None else one for one in found)


def _whole(found: object) -> TypeGuard[list[float | None]]:
    return isinstance(found, list) and all(one is None or isinstance(one, float) for one in found)


def _solved_or_nothing(solve: _One, results: int, sizes: Sizes) -> list[float | None]:
    """Results as JSON has them; nothing of a part that does not close, or whose solution is lost."""
    try:
        found = solve(sizes)
    except (ValueError, NoBalance):
        return [None] * results
    return [float(one) if np.isfinite(one) else None for one in found]


@cache
def _program() -> list[str]:
    """What solves: versions of the libraries, and a digest of the physics."""
    here = Path(kb.process.__file__).parent
    shapes = (here / f"{name}.py" for name in ("dome", "meridian", "neck", "profile"))
    return made_by([Path(__file__), *here.glob("shell/*.py"), *shapes], ["numpy", "scipy"])


@_kept(2 + _SHARES, share=True)
def _solve_base(sizes: Sizes) -> tuple[float, ...]:
    """Reversal, load on a plate, growth at shares of the reversal pressure."""
    profile, metal = _profile(sizes), _metal(sizes)
    fineness = sizes.get("fineness", _FINENESS)
    curve = pressure_curve(profile, metal, fineness=fineness, step=_STEP)
    plate = plate_curve(profile, metal, friction=sizes["friction"], step=_PRESS_STEP)
    reversal = curve.limit or np.nan
    shares = np.linspace(0.0, _LAST_SHARE, _SHARES + 1)[1:]
    growth = (float(curve.growth_at(share * reversal)) for share in shares)
    return (reversal, plate.limit or np.nan, *growth)


@_kept(share=True)
def _solve_filled(sizes: Sizes) -> tuple[float, ...]:
    """Load on a plate under a pressure inside."""
    pressure, friction = sizes["pressure"], sizes["friction"]
    curve = plate_curve(
        _profile(sizes), _metal(sizes), friction=friction, pressure=pressure, step=_PRESS_STEP
    )
    return (curve.limit or np.nan,)


@_kept()
def _solve_shoulder(sizes: Sizes) -> tuple[float, ...]:
    """Load along the axis; the wall is clamped below the shoulder and the neck in the seam."""
    before, plug, wall = sizes["body_radius"], sizes["plug_radius"], sizes["wall"]
    thick = neck.wall_after(wall=wall, before=2 * before, after=2 * plug, exponent=sizes["exponent"])
    shoulder = neck_shape(
        NeckSizes(
            body_radius=before,
            wall=wall,
            shoulder_height=0.0,
            shoulder_radius=sizes["shoulder_radius"],
            angle=sizes["angle"],
            neck_radius=sizes["neck_radius"],
            plug_radius=plug,
            neck_wall=thick,
        )
    )
    foot = float(shoulder.top())
    ends = (
        LineSegment(before, -_BELOW, before, 0.0, wall, wall),
        LineSegment(plug, foot, plug, foot + _STRAIGHT, thick, thick),
    )
    flow = LinearFlow(yield_strength=sizes["yield_strength"])
    metal = Metal(modulus=sizes["modulus"], poisson=sizes["poisson"], flow=flow)
    profile = Meridian((ends[0], *shoulder.pieces, ends[1]))
    return (axial_curve(profile, metal, step=_PRESS_STEP).limit or np.nan,)


@_kept()
def _solve_end(sizes: Sizes) -> tuple[float, ...]:
    """Pressure at which the end buckles; the seam clamps the top of the chuck wall."""
    flow = LinearFlow(yield_strength=sizes["yield_strength"])
    metal = Metal(modulus=sizes["modulus"], poisson=sizes["poisson"], flow=flow)
    end = EndSizes(**{one.name: sizes[one.name] for one in fields(EndSizes)})
    end = replace(end, flat=max(end.flat, 0.0))
    curve = pressure_curve(end_profile(end), metal, fineness=_FINENESS, step=_STEP)
    return (curve.limit or np.nan,)


def _profile(sizes: Sizes) -> Meridian:
    base = BaseSizes(**{one.name: sizes[one.name] for one in fields(BaseSizes)})
    dome = DomeSizes(**{one.name: sizes[one.name] for one in fields(DomeSizes)})
    formed = doming(base=base, dome=dome, draw_in=sizes["draw_in"])
    return base_profile(base, dome, wall=formed.wall, top=_TOP, drawn=formed.drawn)


def _metal(sizes: Sizes) -> Metal:
    flow = SaturatingFlow(
        final=sizes["yield_strength"] + sizes["rise"], rise=sizes["rise"], strain=sizes["rise_strain"]
    )
    return Metal(modulus=sizes["modulus"], poisson=sizes["poisson"], flow=flow)
