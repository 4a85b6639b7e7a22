"""W. Wagner and A. Pruss, International equations for the saturation properties of ordinary water, 1993.

In full: ... of ordinary water substance, revised according to the International Temperature Scale of 1990,
J. Phys. Chem. Ref. Data 22 (1993) 783-787. Check values from memory, high confidence; the `chemicals` and
`iapws` packages serve as independent programs of these equations and of the newer IAPWS-95 and IF97.
"""

from __future__ import annotations

import pytest
from chemicals.iapws import iapws92_Psat, iapws92_rhol_sat, iapws95_Psat
from iapws.iapws97 import _PSat_T

from kb.process.gas import saturation_pressure, water_density

ICE_POINT = 273.15  # K
# K: vapour pressure in Pa, density of the liquid in kg/m3
CHECK_VALUES = {273.16: (611.657, 999.789), 373.1243: (101_325.0, 958.365)}


@pytest.mark.parametrize("kelvin", CHECK_VALUES)
def test_check_values(kelvin):
    """Triple and boiling point, to the digits printed."""
    pressure, density = CHECK_VALUES[kelvin]
    celsius = kelvin - ICE_POINT
    assert saturation_pressure(temperature=celsius) * 1e6 == pytest.approx(pressure, rel=1e-6)
    assert water_density(temperature=celsius) * 1000 == pytest.approx(density, abs=5e-4)


@pytest.mark.parametrize("celsius", [0.01, 4.0, 20.0, 45.0, 65.0, 100.0, 200.0, 350.0])
def test_against_other_programs(celsius):
    """The same equations agree to rounding; IAPWS-95 and IF97, fitted again, to 0.05 %."""
    kelvin = celsius + ICE_POINT
    pressure = saturation_pressure(temperature=celsius) * 1e6
    assert pressure == pytest.approx(iapws92_Psat(kelvin), rel=1e-9)
    assert water_density(temperature=celsius) * 1000 == pytest.approx(iapws92_rhol_sat(kelvin), rel=1e-9)
    assert pressure == pytest.approx(iapws95_Psat(kelvin), rel=5e-4)
    assert pressure == pytest.approx(_PSat_T(kelvin) * 1e6, rel=5e-4)
