from __future__ import annotations

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
    """A dome just like the trial's reverses at the trial's pressure, whatever the power."""
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
