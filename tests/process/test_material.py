from __future__ import annotations

import numpy as np
import pytest

from kb.process import material

SHEET = {"start": 280.0, "saturation": 340.0, "scale": 0.5}


def test_anisotropy_weighs_the_diagonal_twice() -> None:
    """The diagonal counts twice in the mean."""
    # (0.4 + 2 x 1.2 + 0.8) / 4
    assert material.mean_anisotropy(r0=0.4, r45=1.2, r90=0.8) == pytest.approx(0.9)


def test_sheet_without_hardening() -> None:
    """A sheet that starts saturated flows at one stress."""
    flat = {"start": 300.0, "saturation": 300.0, "scale": 0.5}
    assert material.flow_stress(strain=1.2, **flat) == 300.0
    assert material.mean_flow_stress(strain_from=0.2, strain_to=1.2, **flat) == 300.0


def test_mean_is_between_its_ends() -> None:
    """The mean over a station is between the stress before and after it."""
    before, after = (material.flow_stress(strain=strain, **SHEET) for strain in (0.4, 1.1))
    mean = material.mean_flow_stress(strain_from=0.4, strain_to=1.1, **SHEET)
    assert before < mean < after


def test_mean_does_not_care_for_the_direction() -> None:
    """The mean from a to b is the mean from b to a."""
    there = material.mean_flow_stress(strain_from=0.4, strain_to=1.1, **SHEET)
    back = material.mean_flow_stress(strain_from=1.1, strain_to=0.4, **SHEET)
    assert there == pytest.approx(back)


def test_means_of_two_stations_add_up() -> None:
    """Strain times mean stress of two stations is that of both together."""
    first = material.mean_flow_stress(strain_from=0.0, strain_to=0.45, **SHEET) * 0.45
    second = material.mean_flow_stress(strain_from=0.45, strain_to=0.75, **SHEET) * 0.30
    both = material.mean_flow_stress(strain_from=0.0, strain_to=0.75, **SHEET) * 0.75
    assert first + second == pytest.approx(both)


@pytest.mark.parametrize("exponent", [1e-300, 1e-12, 1e-8, -1e-8])
def test_mean_decay_near_nought(exponent: float) -> None:
    """Near nought the mean of the decay is 1 less half the exponent, to the last digits."""
    assert material.mean_decay(exponent=exponent) == pytest.approx(1 - exponent / 2, rel=1e-15)


def test_mean_decay_of_an_array() -> None:
    """An array may hold nought beside other exponents."""
    exponents = np.array([0.0, 1.0, -1.0])
    expected = [1.0, 1 - np.exp(-1.0), np.exp(1.0) - 1]
    assert material.mean_decay(exponent=exponents) == pytest.approx(expected)


def test_slab_stress_without_strain() -> None:
    """Nothing worked, no stress, with friction and without."""
    assert material.slab_stress(flow_stress=300.0, friction_term=0.5, strain=0.0) == 0.0
    assert material.slab_stress(flow_stress=300.0, friction_term=0.0, strain=0.0) == 0.0


def test_slab_stress_grows_with_friction() -> None:
    """More friction, more stress, through nought and on either side of it."""
    terms = np.linspace(-0.9, 3.0, 40)
    stresses = material.slab_stress(flow_stress=300.0, friction_term=terms, strain=0.4)
    assert np.all(np.diff(stresses) > 0)


def test_slab_stress_as_printed() -> None:
    """With friction the rearranged form is the printed (1 + B) / B (1 - section ratio ^ B)."""
    flow, term, left = 250.0, 0.4, 0.7
    printed = flow * (1 + term) / term * (1 - left**term)
    strain = float(-np.log(left))
    assert material.slab_stress(flow_stress=flow, friction_term=term, strain=strain) == pytest.approx(printed)


def test_domain() -> None:
    """Lengths, stresses and ratios that cannot be are refused by name."""
    with pytest.raises(ValueError, match="strain must not be negative"):
        material.flow_stress(strain=-0.1, **SHEET)
    with pytest.raises(ValueError, match="scale must be above zero"):
        material.mean_flow_stress(strain_from=0.0, strain_to=0.1, start=280.0, saturation=340.0, scale=0.0)


def test_anisotropy_of_an_isotropic_sheet() -> None:
    """A sheet alike in all directions has mean anisotropy 1."""
    assert material.mean_anisotropy(r0=1.0, r45=1.0, r90=1.0) == 1.0
