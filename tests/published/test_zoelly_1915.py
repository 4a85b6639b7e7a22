"""R. Zoelly, Ueber ein Knickungsproblem an der Kugelschale, dissertation, ETH Zurich, 1915.

From memory, high confidence, in the form textbooks and Hutchinson, Buckling of spherical shells revisited,
Proc. R. Soc. A 472 (2016) 20160577, give it: 1.21 E (t/R)^2 for Poisson's ratio 0.3.
"""

from __future__ import annotations

import pytest

from kb.process.dome import sphere_buckling_classical

TEXTBOOK_COEFFICIENT = 1.21  # printed to two decimals


def test_textbook_coefficient():
    """With Poisson's ratio 0.3 the coefficient is the textbook's, to its two decimals."""
    pressure = sphere_buckling_classical(radius=100.0, wall=1.0, modulus=1e4, poisson=0.3)
    assert pressure == pytest.approx(TEXTBOOK_COEFFICIENT, abs=0.005)


def test_sphere_stress_is_the_cylinders():
    """The sphere buckles at the membrane stress, pR/2t, at which a cylinder of its radius does."""
    pressure = sphere_buckling_classical(radius=44.45, wall=0.273, modulus=69e3, poisson=0.33)
    stress = pressure * 44.45 / (2 * 0.273)
    assert stress == pytest.approx(69e3 * 0.273 / 44.45 / (3 * (1 - 0.33**2)) ** 0.5)
