"""R. F. Weiss, Carbon dioxide in water and seawater: the solubility of a non-ideal gas, 1974.

Marine Chemistry 2 (1974) 203-215. Constants from memory, high confidence. The paper fits the same data twice,
per litre and per kilogram; the second fit is written out here and checked on the seawater value of the DOE
Handbook (1994), ln K0 = -3.5617 at 25 degC and salinity 35 (from memory, high confidence), before it judges
the first.
"""

from __future__ import annotations

import math

import pytest

from kb.process.gas import solubility_weiss, water_density

PER_KILOGRAM = (-60.2409, 93.4517, 23.3585)
PER_KILOGRAM_SALT = (0.023517, -0.023656, 0.0047036)
DOE_1994_LN_K0 = -3.5617

# mol/(L atm) x 1e-2, fresh water
FRESH_WATER_TABLE = {0: 7.758, 10: 5.366, 20: 3.910, 25: 3.397, 40: 2.370}
# Public code after Weiss: dissolved over gas concentration at 298.15 K, fresh water
OSTWALD_25 = 0.831005


def per_kilogram(celsius, salinity=0.0):
    """Logarithm of the solubility in mol/(kg atm), second fit of the paper."""
    hundreds = (celsius + 273.15) / 100
    a, b, c = PER_KILOGRAM
    salt = sum(each * hundreds**power for power, each in enumerate(PER_KILOGRAM_SALT))
    return a + b / hundreds + c * math.log(hundreds) + salinity * salt


def test_second_fit_is_remembered_rightly():
    """The fit per kilogram gives the handbook's seawater value to its four decimals."""
    assert per_kilogram(25.0, salinity=35.0) == pytest.approx(DOE_1994_LN_K0, abs=5.1e-5)


@pytest.mark.parametrize("celsius", [0.0, 4.0, 10.0, 20.0, 30.0, 40.0])
def test_both_fits_agree(celsius):
    """Per litre is per kilogram times density, to 0.03 %, the room between two fits of the same data."""
    litre = math.exp(per_kilogram(celsius)) * water_density(temperature=celsius)
    assert solubility_weiss(temperature=celsius) == pytest.approx(litre, rel=3e-4)


@pytest.mark.parametrize(("celsius", "hundredths"), FRESH_WATER_TABLE.items())
def test_fresh_water(celsius, hundredths):
    """Fresh-water values to the digits worked beforehand."""
    assert 100 * solubility_weiss(temperature=float(celsius)) == pytest.approx(hundredths, abs=6e-4)


def test_ostwald_coefficient():
    """As litres of gas per litre of water at 25 degC; six digits, as another program of the paper prints."""
    litres_per_mole = 8.314462618 * 298.15 / 101.325
    assert solubility_weiss(temperature=25.0) * litres_per_mole == pytest.approx(OSTWALD_25, rel=2e-6)
