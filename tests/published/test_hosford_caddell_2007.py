"""The limit of cup drawing without losses.

W. F. Hosford and R. M. Caddell, Metal Forming: Mechanics and Metallurgy, 3rd ed., Cambridge University
Press 2007, chapter on cup drawing. From memory, high confidence: with no loss the limiting draw ratio of an
isotropic sheet is e, 2.72.

Tolerance: half a unit of the last digit.
"""

from __future__ import annotations

import math

import pytest

from kb.process import draw


def test_ideal_isotropic_sheet_draws_to_e() -> None:
    """With no loss an isotropic sheet has the limiting draw ratio e, 2.72."""
    ratio = draw.limiting_ratio_from_anisotropy(mean_anisotropy=1.0, efficiency=1.0)
    assert ratio == pytest.approx(2.72, abs=0.005)
    assert ratio == pytest.approx(math.e)
