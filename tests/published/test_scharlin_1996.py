"""P. Scharlin (ed.), Carbon Dioxide in Water and Aqueous Electrolyte Solutions, 1996.

IUPAC Solubility Data Series 62, Oxford University Press.
Smoothing equation from memory, medium to high confidence: mole fraction at 101.325 kPa partial pressure,
ln x = -159.854 + 8741.68/T + 21.6694 ln T - 0.00110261 T, 273 to 353 K.
"""

from __future__ import annotations

import math

import pytest

from kb.process.gas import solubility, water_density

MOLAR_MASS_WATER = 18.01528  # g/mol


@pytest.mark.parametrize("celsius", [0.0, 5.0, 10.0, 20.0, 25.0, 40.0, 45.0, 50.0, 60.0, 70.0])
def test_solubility(celsius):
    """The solubility used for cans is within 2.5 % of the evaluated data, which scatter by 1 to 2 %."""
    kelvin = celsius + 273.15
    fraction = math.exp(-159.854 + 8741.68 / kelvin + 21.6694 * math.log(kelvin) - 1.10261e-3 * kelvin)
    litre = fraction / (1 - fraction) * 1000 * water_density(temperature=celsius) / MOLAR_MASS_WATER
    assert solubility(temperature=celsius) == pytest.approx(litre, rel=0.025)
