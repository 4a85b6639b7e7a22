"""Hardening that saturates, against numerical integration.

E. Voce, The relationship between stress and strain for homogeneous deformation, Journal of the Institute of
Metals 74 (1948) 537-562 (from memory, high confidence). The law is fixed by its own properties: it starts
at the start, ends at saturation, and its slope falls in proportion to the stress still missing.

Stresses in MPa. Tolerance: 1e-9 of the integration, 1e-6 of a central difference.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad

from kb.process import material

SHEET = {"start": 285.0, "saturation": 345.0, "scale": 0.45}


def test_law() -> None:
    """The slope of the law is the missing stress over the scale, at every strain."""
    for strain in (0.1, 0.6, 2.0):
        step = 1e-5
        above, below = (material.flow_stress(strain=strain + d, **SHEET) for d in (step, -step))
        missing = SHEET["saturation"] - material.flow_stress(strain=strain, **SHEET)
        assert (above - below) / (2 * step) == pytest.approx(missing / SHEET["scale"], rel=1e-6)


def test_ends() -> None:
    """The law starts at the start and ends at saturation."""
    assert material.flow_stress(strain=0.0, **SHEET) == SHEET["start"]
    assert material.flow_stress(strain=50.0, **SHEET) == pytest.approx(SHEET["saturation"])


@pytest.mark.parametrize(("begin", "end"), [(0.0, 0.3), (0.75, 1.8), (1.1, 1.1 + 1e-4)])
def test_mean_is_the_integral(begin: float, end: float) -> None:
    """The mean over a station is the integral of the law over its strain."""
    area, _ = quad(lambda strain: material.flow_stress(strain=strain, **SHEET), begin, end)
    mean = material.mean_flow_stress(strain_from=begin, strain_to=end, **SHEET)
    assert mean == pytest.approx(area / (end - begin), rel=1e-9)


def test_mean_over_no_strain() -> None:
    """Without a strain the mean is the law itself, in an array beside strains that are not nought too."""
    ends = np.array([0.5, 0.5 + 1e-300, np.nextafter(0.5, 1.0), 0.9])
    means = material.mean_flow_stress(strain_from=0.5, strain_to=ends, **SHEET)
    assert means[:3] == pytest.approx(material.flow_stress(strain=0.5, **SHEET))
    assert means[3] > means[0]
