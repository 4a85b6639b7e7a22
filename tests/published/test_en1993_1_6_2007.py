"""EN 1993-1-6:2007, Eurocode 3, Strength and Stability of Shell Structures, Annex D, pressurised cylinders.

From memory, medium confidence: elastic imperfection factor under pressure
a + (1 - a) s/(s + 0.3/sqrt(a)), s the hoop stress over the classical axial buckling stress.
"""

from __future__ import annotations

import pytest

from kb.process.strength import buckling_stress_classical, hoop_stress, knock_down, pressure_gain

CAN = {"radius": 33.0, "wall": 0.1}
MODULUS, POISSON = 69e3, 0.33


@pytest.mark.parametrize("pressure", [0.05, 0.1, 0.25, 0.4])
def test_pressure_lifts_the_factor_alike_in_both_guides(pressure):
    """Started from the same empty factor, the Eurocode and NASA curves stay within 12 %.

    The two are separate fits to tests of tanks and of cylinders, so no closer agreement is owed.
    """
    classical = buckling_stress_classical(modulus=MODULUS, poisson=POISSON, **CAN)
    empty = knock_down(**CAN)
    hoop = hoop_stress(pressure=pressure, **CAN) / classical
    eurocode = empty + (1 - empty) * hoop / (hoop + 0.3 / empty**0.5)
    gain = pressure_gain(pressure=pressure, modulus=MODULUS, **CAN)
    nasa = empty + gain * MODULUS * CAN["wall"] / CAN["radius"] / classical
    assert nasa == pytest.approx(eurocode, rel=0.12)
    assert nasa > empty
