"""R. W. Hyland and A. Wexler, The second interaction (cross) virial coefficient for moist air, 1973.

J. Res. Natl. Bur. Stand. 77A (1973) 133-147, table 3: Henry's law constants for nitrogen dissolved in water.
Seen in the public copy of the table.
"""

from __future__ import annotations

import pytest

from kb.process.gas import nitrogen_partial_pressure, water_density

MPA_PER_BAR = 0.1
# degC: 1e-6 mole fraction per bar, at 1 bar
TABLE_3 = {5: 16.42, 10: 14.89, 15: 13.51, 20: 12.52, 25: 11.61, 30: 10.88, 35: 10.23, 40: 9.67, 50: 8.90}


@pytest.mark.parametrize(("celsius", "millionths"), TABLE_3.items())
def test_nitrogen_in_water(celsius, millionths):
    """A can full to the brim holds nitrogen as the table says; 3 % as old and new data differ."""
    litres, grams = 0.33, 0.005
    pressure = nitrogen_partial_pressure(
        temperature=float(celsius), nitrogen_mass=grams, liquid_volume=litres * 1e6, headspace_volume=0.0
    )
    water = litres * 1000 * water_density(temperature=float(celsius)) / 18.01528
    fraction = grams / 28.014 / water
    assert 1e6 * fraction / (pressure / MPA_PER_BAR) == pytest.approx(millionths, rel=0.03)
