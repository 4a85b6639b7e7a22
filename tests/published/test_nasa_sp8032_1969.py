"""NASA SP-8032, Buckling of Thin-Walled Doubly Curved Shells, August 1969, section 4.2.1.1, equations 1 to 4.

The equations are as transcribed in a public validation note: classical pressure 2E(t/R)^2/sqrt(3(1-nu^2)),
lambda = [12(1-nu^2)]^(1/4) sqrt(R/t) 2 sin(phi/2), bound 0.14 + 3.2/lambda^2 for lambda above 2.
"""

from __future__ import annotations

import math

import pytest

from kb.process.dome import sphere_buckling_classical, sphere_buckling_lower_bound

# Hemisphere of that note: E 68.9 GPa, nu 0.33, R/t 40, phi 90 degrees; arithmetic repeated by hand
HEMISPHERE = {"radius": 40.0, "wall": 1.0, "modulus": 68_900.0, "poisson": 0.33}
HEMISPHERE_CLASSICAL_MPA = 52.68
HEMISPHERE_LAMBDA_SQUARED = 261.6  # sqrt(12 * 0.8911) * 40 * 2

# Illustrative can dome: radius 1.75 in and gauge 0.01075 in of US 7 395 686, base diameter assumed
DOME = {"radius": 1.75 * 25.4, "wall": 0.01075 * 25.4, "modulus": 69_000.0, "poisson": 0.33}
DOME_BASE_MM = 45.72
DOME_CLASSICAL_MPA = 3.18
DOME_BOUND_MPA = 0.513
DOME_BOUND_PSI = 74
MPA_PER_PSI = 0.006894757


def test_hemisphere():
    """Classical pressure and bound of a hemisphere, to the four digits worked by hand."""
    assert sphere_buckling_classical(**HEMISPHERE) == pytest.approx(HEMISPHERE_CLASSICAL_MPA, abs=0.01)
    bound = sphere_buckling_lower_bound(base_diameter=80.0, **HEMISPHERE)
    factor = 0.14 + 3.2 / HEMISPHERE_LAMBDA_SQUARED
    assert bound == pytest.approx(factor * HEMISPHERE_CLASSICAL_MPA, rel=5e-4)


def test_can_dome():
    """An illustrative dome: 0.513 MPa, 74 psi, to the digits worked (gauge rounded to 0.273 mm there)."""
    assert sphere_buckling_classical(**DOME) == pytest.approx(DOME_CLASSICAL_MPA, abs=0.01)
    bound = sphere_buckling_lower_bound(base_diameter=DOME_BASE_MM, **DOME)
    assert bound == pytest.approx(DOME_BOUND_MPA, abs=0.001)
    assert bound / MPA_PER_PSI == pytest.approx(DOME_BOUND_PSI, abs=0.5)


def test_bound_meets_the_classical_pressure_near_its_limit():
    """At lambda 2, the end of the published range, the bound is 94 % of the classical pressure."""
    half_angle = 0.1
    poisson = 0.3
    # wall chosen so that lambda is exactly 2
    slenderness = (2 / (2 * math.sin(half_angle / 2))) ** 2 / math.sqrt(12 * (1 - poisson**2))
    shell = {"radius": 100.0, "wall": 100.0 / slenderness, "modulus": 70_000.0, "poisson": poisson}
    base = 2 * 100.0 * math.sin(half_angle)
    share = sphere_buckling_lower_bound(base_diameter=base, **shell) / sphere_buckling_classical(**shell)
    assert share == pytest.approx(0.14 + 3.2 / 4)
