"""E. Tiesinga et al., CODATA recommended values: 2018, Rev. Mod. Phys. 93 (2021) 025010.

In full: E. Tiesinga, P. J. Mohr, D. B. Newell and B. N. Taylor, CODATA recommended values of the fundamental
physical constants: 2018. Exact since the SI of 2019 and unchanged in later adjustments. The values are taken
from SciPy's copy of the tables.
"""

from __future__ import annotations

import pytest
from scipy.constants import atm, physical_constants, zero_Celsius

from kb.process import gas

MOLAR_VOLUME_ROW = "molar volume of ideal gas (273.15 K, 101.325 kPa)"


def test_constants():
    """Gas constant, atmosphere and ice point are those of the table to all digits given."""
    assert physical_constants["molar gas constant"][0] == pytest.approx(gas.GAS_CONSTANT, rel=1e-9)
    assert atm == pytest.approx(gas.STANDARD_ATMOSPHERE * 1e6)
    assert zero_Celsius == gas.ICE_POINT


def test_molar_volume():
    """The litre of carbonation is the ideal litre: table and R T/p agree to nine digits."""
    assert physical_constants[MOLAR_VOLUME_ROW][0] * 1000 == pytest.approx(gas.MOLAR_VOLUME, rel=1e-9)
    ideal = gas.GAS_CONSTANT * gas.ICE_POINT / (gas.STANDARD_ATMOSPHERE * 1e6) * 1000
    assert ideal == pytest.approx(gas.MOLAR_VOLUME, rel=1e-9)
