"""The metal of a shell: elastic, then plastic with isotropic hardening, in plane stress."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Protocol, TypeAlias

import numpy as np
from numpy.typing import NDArray

Array: TypeAlias = NDArray[Any]

_ROUNDS = 30
_TOLERANCE = 1e-11


class FlowCurve(Protocol):
    """Stress at which the metal yields on, over its equivalent plastic strain."""

    def __call__(self, strain: Array) -> tuple[Array, Array]:
        """Flow stress [MPa] and its slope [MPa] at an equivalent plastic strain [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LinearFlow:
    """Flow stress that rises evenly from the yield strength.

    Attributes:
        yield_strength: flow stress before any plastic strain [MPa]
        slope: rise for a plastic strain of 1 [MPa]; 0 for perfectly plastic metal
    """

    yield_strength: float
    slope: float = 0.0

    def __call__(self, strain: Array) -> tuple[Array, Array]:
        """Flow stress and slope [MPa]."""
        return self.yield_strength + self.slope * strain, np.full_like(strain, self.slope)


@dataclass(frozen=True, slots=True, kw_only=True)
class SaturatingFlow:
    """Flow stress final - rise * exp(-plastic strain / strain).

    Attributes:
        final: flow stress after much plastic strain [MPa]
        rise: how far the yield strength is below it [MPa]
        strain: plastic strain over which the rest of the rise falls to 1/e [-]

    Source:
        Voce, The relationship between stress and strain for homogeneous deformation, J. Inst. Metals 74
        (1948) 537-562 (the form, from memory).
    """

    final: float
    rise: float
    strain: float

    def __call__(self, strain: Array) -> tuple[Array, Array]:
        """Flow stress and slope [MPa]."""
        missing = self.rise * np.exp(-strain / self.strain)
        return self.final - missing, missing / self.strain


@dataclass(frozen=True, slots=True, kw_only=True)
class Metal:
    """Metal of a shell.

    Attributes:
        modulus: Young's modulus [MPa]
        poisson: Poisson's ratio [-]
        flow: flow curve; none for metal that stays elastic
    """

    modulus: float
    poisson: float
    flow: FlowCurve | None = None


@dataclass(frozen=True, slots=True)
class Plastic:
    """What the metal remembers at each point [-].

    Attributes:
        total: meridional plus hoop plastic strain
        apart: meridional less hoop plastic strain
        length: equivalent plastic strain
    """

    total: Array
    apart: Array
    length: Array

    @classmethod
    def none(cls, shape: tuple[int, ...]) -> Plastic:
        """Metal that never yielded."""
        return cls(np.zeros(shape), np.zeros(shape), np.zeros(shape))


@dataclass(frozen=True, slots=True)
class Response:
    """Meridional and hoop stress, the stiffness that joins them to the strains [MPa], the new memory.

    The stiffness is (meridian to meridian, meridian to hoop, hoop to hoop).
    """

    along: Array
    hoop: Array
    stiffness: tuple[Array, Array, Array]
    plastic: Plastic


def respond(metal: Metal, *, along: Array, hoop: Array, plastic: Plastic) -> Response:
    """Stress and consistent stiffness at logarithmic strains, at every point at once.

    Args:
        metal: elastic constants and flow curve
        along: meridional strain [-]
        hoop: hoop strain [-]
        plastic: memory at the start of the step

    Returns:
        The response.

    Source:
        Simo and Hughes, Computational Inelasticity, 1998, section 3.4: backward Euler, von Mises plasticity
        in plane stress (from memory, high confidence). Without shear the equations part into the sum s
        and the difference d of the two stresses: (von Mises stress)^2 = (s^2 + 3 d^2) / 4.
    """
    bulk, shear = metal.modulus / (1 - metal.poisson), metal.modulus / (1 + metal.poisson)
    total, apart = along + hoop, along - hoop
    s, d = bulk * (total - plastic.total), shear * (apart - plastic.apart)
    if metal.flow is None:
        return _response(s, d, (bulk, shear), 0.0, plastic)
    limit, _ = metal.flow(plastic.length)
    yields = s**2 + 3 * d**2 > 4 * limit**2
    if not yields.any():
        return _response(s, d, (bulk, shear), 0.0, plastic)

    ratio, slope = _return_ratio(metal.flow, s[yields], d[yields], plastic.length[yields], (bulk, shear))
    multiplier = np.zeros_like(s)
    multiplier[yields] = ratio
    soft_bulk, soft_shear = bulk / (1 + bulk * multiplier / 2), shear / (1 + 1.5 * shear * multiplier)
    s, d = s * soft_bulk / bulk, d * soft_shear / shear
    mises = np.sqrt((s**2 + 3 * d**2) / 4)
    hardening = np.zeros_like(s)
    hardening[yields] = 4 * slope * mises[yields] ** 2 / (1 - slope * ratio)
    taken = yields / (soft_bulk * s**2 + 9 * soft_shear * d**2 + 2 * hardening + ~yields)
    memory = Plastic(total - s / bulk, apart - d / shear, plastic.length + multiplier * mises)
    return _response(s, d, (soft_bulk, soft_shear), taken, memory)


def _response(
    s: Array, d: Array, moduli: tuple[Array | float, Array | float], taken: Array | float, plastic: Plastic
) -> Response:
    """Turn sums and differences into meridian and hoop; plastic flow takes `taken` v v from the stiffness."""
    bulk, shear = moduli
    v_sum, v_apart = bulk * s, 3 * shear * d
    sums, mixed, aparts = bulk - taken * v_sum**2, -taken * v_sum * v_apart, shear - taken * v_apart**2
    mean = (sums + aparts) / 2
    return Response(
        (s + d) / 2, (s - d) / 2, (mean + mixed, (sums - aparts) / 2 + 0 * mixed, mean - mixed), plastic
    )


def _return_ratio(
    flow: FlowCurve, s: Array, d: Array, length: Array, moduli: tuple[float, float]
) -> tuple[Array, Array]:
    """Plastic strain over von Mises stress that brings trial stresses to the flow curve; its slope."""
    bulk, shear = moduli
    ratio = np.zeros_like(s)
    for _ in range(_ROUNDS):
        fade_s, fade_d = 1 / (1 + bulk * ratio / 2), 1 / (1 + 1.5 * shear * ratio)
        square_s, square_d = (s * fade_s) ** 2, 3 * (d * fade_d) ** 2
        mises = np.sqrt((square_s + square_d) / 4)
        limit, slope = flow(length + ratio * mises)
        miss = mises - limit
        if np.all(np.abs(miss) <= _TOLERANCE * limit):
            break
        fall = -(square_s * fade_s * bulk / 2 + square_d * fade_d * 1.5 * shear) / (4 * mises)
        # Newton's method on 1/limit - 1/mises, which is nearly straight where miss is far from it
        rate = fall * limit / mises - slope * (mises + ratio * fall) * mises / limit
        ratio = np.maximum(ratio - miss / rate, 0.0)
    return ratio, slope
