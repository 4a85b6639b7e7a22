"""Where a piston is fastest, the encyclopaedia's example.

Wikipedia, Piston motion equations, section on maximum and minimum, example with a rod of 6 in and a crank
of 2 in; the copy seen had its digits cut off. The angles 73.176 and 18.606 degrees and the angle of
88.217 degrees between rod and crank are from memory, medium confidence.

Units of the source are inches and degrees. Tolerance: 0.001 degrees, since the remembered third decimal
of the first angle is not certain; an independent root search fixes the further digits.
"""

from __future__ import annotations

import math

import pytest
from scipy.optimize import minimize_scalar

from kb.process import ram

CRANK, ROD = 2.0, 6.0  # inches: angles and ratios have no unit of length


def pin(angle: float) -> float:
    """Distance of piston pin and crank centre by the cosine rule, the angle in radians."""
    # ROD^2 = CRANK^2 + x^2 - 2 CRANK x cos(angle), the greater root for x
    half = CRANK * math.cos(angle)
    return half + math.sqrt(half**2 + ROD**2 - CRANK**2)


def fastest() -> float:
    """Angle of the steepest fall of the pin, by a search on central differences [deg]."""
    step = 1e-5
    found = minimize_scalar(
        lambda angle: (pin(angle + step) - pin(angle - step)) / (2 * step),
        bounds=(1.0, 1.5),
        method="bounded",
        options={"xatol": 1e-9},
    )
    return math.degrees(found.x)


def test_angle_of_the_crank() -> None:
    """The piston is fastest 73.176 degrees after the dead centre."""
    angle = ram.peak_velocity_angle(crank_radius=CRANK, rod=ROD)
    assert angle == pytest.approx(73.176, abs=0.001)
    # the differences blur the flat bottom of the search by some 1e-4 degrees
    assert angle == pytest.approx(fastest(), abs=1e-3)


def test_angles_of_the_rod() -> None:
    """The rod then leans 18.606 degrees and is at 88.217 degrees to the crank, not square."""
    angle = ram.peak_velocity_angle(crank_radius=CRANK, rod=ROD)
    lean = math.degrees(math.asin(CRANK * math.sin(math.radians(angle)) / ROD))
    assert lean == pytest.approx(18.606, abs=0.001)
    assert 180 - angle - lean == pytest.approx(88.217, abs=0.0015)


def test_greatest_speed() -> None:
    """The piston then moves 1.0546 times as fast as the crank pin."""
    one_radian_per_second = 60 / (2 * math.pi)
    speed = ram.peak_velocity(crank_radius=CRANK, rod=ROD, speed=one_radian_per_second)
    assert speed / CRANK == pytest.approx(1.05464, abs=5e-6)
