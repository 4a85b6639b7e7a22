"""IAPWS G7-04, Guideline on the Henry's Constant and Vapor-Liquid Distribution Constant for Gases, 2004.

In H2O and D2O at High Temperatures. Table of ln(kH / 1 GPa) for checking programs: carbon dioxide from
memory, high confidence; nitrogen as the public `iapws` package gives it, which is also asked here for
temperatures between.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from iapws._iapws import _Henry

from kb.process.gas import henry_iapws, nitrogen_partial_pressure, water_density

ICE_POINT = 273.15  # K
MPA_PER_GPA = 1000
CARBON_DIOXIDE_TABLE = {300: -1.7508, 400: -0.5450, 500: -0.6524, 600: -1.3489}  # K: ln(kH/GPa)
NITROGEN_300_K = 2.1716


@pytest.mark.parametrize(("kelvin", "logarithm"), CARBON_DIOXIDE_TABLE.items())
def test_carbon_dioxide_table(kelvin, logarithm):
    """Every row to its four decimals."""
    henry = henry_iapws(temperature=kelvin - ICE_POINT)
    assert math.log(henry / MPA_PER_GPA) == pytest.approx(logarithm, abs=5.1e-5)


@pytest.mark.parametrize("celsius", [2.0, 20.0, 37.0, 65.0, 120.0])
def test_carbon_dioxide_between_the_rows(celsius):
    """An independent program of the same guideline agrees to rounding."""
    assert henry_iapws(temperature=celsius) == pytest.approx(_Henry(celsius + ICE_POINT, "CO2"), rel=1e-9)


def henry_from_dose(celsius):
    """Henry's constant of nitrogen read back from a can filled to the brim [MPa]."""
    litres, grams = 0.33, 0.01
    pressure = nitrogen_partial_pressure(
        temperature=celsius, nitrogen_mass=grams, liquid_volume=litres * 1e6, headspace_volume=0.0
    )
    gas = grams / 28.014
    water = litres * 1000 * water_density(temperature=celsius) / 18.01528
    return pressure * (gas + water) / gas


def test_nitrogen_row():
    """A can without headspace shows nitrogen's Henry's constant at 300 K.

    To 2e-4: half a digit of the table, and Henry's law taken as linear in moles per litre.
    """
    found = math.log(henry_from_dose(300 - ICE_POINT) / MPA_PER_GPA)
    assert found == pytest.approx(NITROGEN_300_K, abs=2e-4)


@pytest.mark.parametrize("celsius", np.arange(6.0, 70.0, 8.0))
def test_nitrogen_between_the_rows(celsius):
    """An independent program of the same guideline agrees to the 1e-4 of that linearity."""
    assert henry_from_dose(float(celsius)) == pytest.approx(_Henry(celsius + ICE_POINT, "N2"), rel=1e-4)
