"""Limits of cup drawing and of one ironing pass.

W. F. Hosford and R. M. Caddell, Metal Forming: Mechanics and Metallurgy, 3rd ed., Cambridge University
Press 2007, chapters on ideal work and on cup drawing. From memory: the forms with high confidence, the
efficiency of 0.74 to 0.79 with medium confidence.

All numbers are ratios. Tolerance: the digits that the book prints for its two round results (e and
0.63), else half a unit of the last digit of a value worked by hand from the printed form.
"""

from __future__ import annotations

import math

import pytest

from kb.process import draw, material


def test_ideal_isotropic_sheet_draws_to_e() -> None:
    """With no loss an isotropic sheet has the limiting draw ratio e, 2.72."""
    ratio = draw.limiting_ratio_from_anisotropy(mean_anisotropy=1.0, efficiency=1.0)
    assert ratio == pytest.approx(2.72, abs=0.005)
    assert ratio == pytest.approx(math.e)


@pytest.mark.parametrize(("anisotropy", "ratio"), [(1.0, 2.096), (0.7, 1.978), (0.6, 1.938)])
def test_real_sheet(anisotropy: float, ratio: float) -> None:
    """At an efficiency of 0.74 the limit falls with the sheet's resistance to thinning."""
    # by hand for 0.7: sqrt(1.7 / 2) = 0.92195, times 0.74 = 0.68225, exp = 1.978
    limit = draw.limiting_ratio_from_anisotropy(mean_anisotropy=anisotropy, efficiency=0.74)
    assert limit == pytest.approx(ratio, abs=0.0005)


def test_anisotropy_of_an_isotropic_sheet() -> None:
    """A sheet alike in all directions has mean anisotropy 1."""
    assert material.mean_anisotropy(r0=1.0, r45=1.0, r90=1.0) == 1.0
