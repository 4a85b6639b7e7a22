"""H. G. Hopkins and W. Prager, The load carrying capacities of circular plates, 1953.

J. Mech. Phys. Solids 2 (1953) 1-13.

From memory, high confidence: with Tresca's condition 6 M0/a^2 simply supported, 11.26 M0/a^2 clamped. The
clamped value is worked out again here from the moments of the paper's collapse state.
"""

from __future__ import annotations

import math

import pytest
from scipy.optimize import brentq

from kb.process.dome import flat_end_collapse

CLAMPED = 11.26
SUPPORTED = 6.0
PLATE = {"radius": 2.0, "wall": 2.0, "yield_strength": 4.0}  # so that M0/a^2 is 1


def test_coefficients():
    """With M0/a^2 of one the pressure is the printed coefficient."""
    assert flat_end_collapse(**PLATE) == pytest.approx(CLAMPED)


def test_clamped_coefficient_from_equilibrium():
    """Radial moment runs from M0 at the centre through zero to -M0 at the clamp; the load that fits is 11.26.

    Inside the circle of no radial moment, b, the hoop moment is M0, so p b^2 = 6 M0; outside it the two
    moments differ by M0, so the radial one is M0 ln(r/b) - p (r^2 - b^2)/4. Agrees to the two decimals
    printed.
    """

    def moment_at_clamp(load):
        return 0.5 * math.log(load / SUPPORTED) - (load - SUPPORTED) / 4

    load = brentq(lambda load: moment_at_clamp(load) + 1, SUPPORTED, 20)
    assert flat_end_collapse(**PLATE) == pytest.approx(load, abs=0.005)
