"""Piston motion to the second order, with an example.

J. Torset, message on piston formulas, January 1998, audifans.com/archives/1998/01/msg02701.html: with a
crank of 0.1 m, a rod of 0.2 m and 1 rad/s the acceleration vanishes at about 68.5 degrees; at the dead
centres it is R w^2 (1 + R/L) and -R w^2 (1 - R/L), counted away from the far dead centre.

Units of the source are m, rad/s. The printed angle solves the second-order formula, ours the exact one,
so the tolerance on the angle is 1 degree; the dead centres agree exactly. Its distance s = 0.042 m does
not follow from its own formula, see test_printed_slips.py.
"""

from __future__ import annotations

import math

import pytest
from scipy.optimize import brentq

from kb.process import ram

CRANK, ROD = 100.0, 200.0  # mm
SPEED = 60 / (2 * math.pi)  # strokes per minute at 1 rad/s


def test_angle_without_acceleration() -> None:
    """The exact angle is within a degree of the printed one, which the second order reproduces."""
    ratio = CRANK / ROD
    second_order = math.degrees(brentq(lambda a: math.cos(a) + ratio * math.cos(2 * a), 0.5, 1.5))
    assert second_order == pytest.approx(68.5, abs=0.05)
    exact = ram.peak_velocity_angle(crank_radius=CRANK, rod=ROD)
    assert exact == pytest.approx(67.700, abs=0.0005)
    assert exact == pytest.approx(68.5, abs=1.0)


@pytest.mark.parametrize(("angle", "outward"), [(0.0, 1 + 0.5), (180.0, -(1 - 0.5))])
def test_dead_centres(angle: float, outward: float) -> None:
    """At the dead centres the acceleration is R w^2 (1 + R/L) and R w^2 (1 - R/L)."""
    toward_far_centre = ram.acceleration(crank_radius=CRANK, rod=ROD, angle=angle, speed=SPEED)
    assert -toward_far_centre == pytest.approx(CRANK * outward)
