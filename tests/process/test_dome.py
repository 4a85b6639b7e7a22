from __future__ import annotations

import math

import numpy as np
import pytest

from kb.process.dome import (
    flat_end_collapse,
    reversal_from_trial,
    sphere_buckling_classical,
    sphere_buckling_lower_bound,
)

DOME = {"radius": 44.45, "wall": 0.273, "modulus": 69_000.0, "poisson": 0.33}
TRIAL = {"trial_pressure": 0.64, "trial_wall": 0.262, "trial_yield": 268.0, "trial_stand": 47.2}
AS_TRIED = {"wall": 0.262, "yield_strength": 268.0, "stand_diameter": 47.2}


def test_base_wider_than_sphere_is_refused():
    """No cap is wider than its sphere."""
    with pytest.raises(ValueError, match="half_base"):
        sphere_buckling_lower_bound(base_diameter=90.0, **DOME)


def test_lower_bound_never_exceeds_classical():
    """From a nearly flat dimple to a half sphere the bound stays at or under the classical pressure."""
    bases = np.linspace(0.5, 88.9, 200)
    bound = sphere_buckling_lower_bound(base_diameter=bases, **DOME)
    classical = sphere_buckling_classical(**DOME)
    assert np.all(bound <= classical)
    assert bound[0] == pytest.approx(classical)
    assert np.all(np.diff(bound) <= 0)
    assert bound[-1] > 0.14 * classical


def test_pressures_depend_on_proportions_only():
    """A dome or panel twice as large in every way holds the same pressure."""
    large = DOME | {"radius": 2 * DOME["radius"], "wall": 2 * DOME["wall"]}
    assert sphere_buckling_classical(**large) == pytest.approx(sphere_buckling_classical(**DOME))
    assert sphere_buckling_lower_bound(base_diameter=91.44, **large) == pytest.approx(
        sphere_buckling_lower_bound(base_diameter=45.72, **DOME)
    )
    assert flat_end_collapse(radius=44.0, wall=0.42, yield_strength=330.0) == pytest.approx(
        flat_end_collapse(radius=22.0, wall=0.21, yield_strength=330.0)
    )


def test_trial_repeats_itself():
    """A dome just like the trial's reverses at the trial's pressure, for every power."""
    for exponent in (1.5, 2.0):
        assert reversal_from_trial(**TRIAL, **AS_TRIED, exponent=exponent) == pytest.approx(0.64)


def test_each_change_from_the_trial_works_alone():
    """Yield counts once, thickness and stand to the power; a bigger stand weakens."""
    stronger = AS_TRIED | {"yield_strength": 1.1 * 268.0}
    thicker = AS_TRIED | {"wall": 1.1 * 0.262}
    wider = AS_TRIED | {"stand_diameter": 1.1 * 47.2}
    assert reversal_from_trial(**TRIAL, **stronger, exponent=2.0) == pytest.approx(0.64 * 1.1)
    assert reversal_from_trial(**TRIAL, **thicker, exponent=2.0) == pytest.approx(0.64 * 1.21)
    assert reversal_from_trial(**TRIAL, **wider, exponent=1.5) == pytest.approx(0.64 / 1.1**1.5)


def test_lightweighting_of_two_percent_costs_nearly_four():
    """Two per cent thinner at power 2 leaves 96.04 % of the trial's pressure."""
    thinner = AS_TRIED | {"wall": 0.98 * 0.262}
    assert reversal_from_trial(**TRIAL, **thinner, exponent=2.0) / 0.64 == pytest.approx(0.9604)


def test_arrays_equal_single_numbers():
    """Each sample of an array comes out as it would alone."""
    walls, bases = np.array([0.25, 0.26, 0.27]), np.array([[40.0], [45.72]])
    dome = DOME | {"wall": walls}
    together = sphere_buckling_lower_bound(base_diameter=bases, **dome)
    assert together.shape == (2, 3)
    for (row, column), value in np.ndenumerate(together):
        alone = DOME | {"wall": float(walls[column])}
        assert value == pytest.approx(
            sphere_buckling_lower_bound(base_diameter=float(bases[row, 0]), **alone)
        )
    scaled = reversal_from_trial(**TRIAL, **(AS_TRIED | {"wall": walls}), exponent=2.0)
    assert scaled[1] == pytest.approx(
        reversal_from_trial(**TRIAL, **(AS_TRIED | {"wall": 0.26}), exponent=2.0)
    )


@pytest.mark.parametrize("argument", [*TRIAL, *AS_TRIED, "exponent"])
def test_zero_is_refused_by_name(argument):
    """A trial or a question with a missing number is refused by the number's name."""
    arguments = TRIAL | AS_TRIED | {"exponent": 2.0}
    with pytest.raises(ValueError, match=argument):
        reversal_from_trial(**(arguments | {argument: 0.0}))


# Hemisphere of that note: E 68.9 GPa, nu 0.33, R/t 40, phi 90 degrees; arithmetic repeated by hand
HEMISPHERE = {"radius": 40.0, "wall": 1.0, "modulus": 68_900.0, "poisson": 0.33}
HEMISPHERE_CLASSICAL_MPA = 52.68
HEMISPHERE_LAMBDA_SQUARED = 261.6  # sqrt(12 * 0.8911) * 40 * 2

# Illustrative can dome: radius 1.75 in and gauge 0.01075 in of US 7 395 686, base diameter assumed
PATENT_DOME = {"radius": 1.75 * 25.4, "wall": 0.01075 * 25.4, "modulus": 69_000.0, "poisson": 0.33}
PATENT_DOME_BASE_MM = 45.72
PATENT_DOME_CLASSICAL_MPA = 3.18
PATENT_DOME_BOUND_MPA = 0.513
PATENT_DOME_BOUND_PSI = 74
MPA_PER_PSI = 0.006894757


def test_hemisphere():
    """Classical pressure and bound of a hemisphere, to the four digits worked by hand."""
    assert sphere_buckling_classical(**HEMISPHERE) == pytest.approx(HEMISPHERE_CLASSICAL_MPA, abs=0.01)
    bound = sphere_buckling_lower_bound(base_diameter=80.0, **HEMISPHERE)
    factor = 0.14 + 3.2 / HEMISPHERE_LAMBDA_SQUARED
    assert bound == pytest.approx(factor * HEMISPHERE_CLASSICAL_MPA, rel=5e-4)


def test_can_dome():
    """An illustrative dome: 0.513 MPa, 74 psi, to the digits worked (gauge rounded to 0.273 mm there)."""
    assert sphere_buckling_classical(**PATENT_DOME) == pytest.approx(PATENT_DOME_CLASSICAL_MPA, abs=0.01)
    bound = sphere_buckling_lower_bound(base_diameter=PATENT_DOME_BASE_MM, **PATENT_DOME)
    assert bound == pytest.approx(PATENT_DOME_BOUND_MPA, abs=0.001)
    assert bound / MPA_PER_PSI == pytest.approx(PATENT_DOME_BOUND_PSI, abs=0.5)


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
