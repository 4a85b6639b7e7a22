"""W. F. Hosford and J. L. Duncan, The Aluminum Beverage Can, Scientific American, September 1994, 48-53.

Pressure seen in public text: a can must hold more than 90 psi. Can dimensions are those in use, not the
article's; yield of body stock from a public sheet-stock patent claim, above 42 ksi.
"""

from __future__ import annotations

import pytest

from kb.process.gas import can_pressure
from kb.process.strength import hoop_stress

MPA_PER_PSI = 0.006894757
CAN_MUST_HOLD_PSI = 90
HOOP_AT_90_PSI_MPA = 211.1  # radius 33 mm, wall 0.097 mm; to the last digit
BODY_STOCK_YIELD_KSI = 42


def test_wall_at_ninety_psi():
    """At 90 psi the hoop stress of a common wall is 211.1 MPa, below the yield of body stock."""
    stress = hoop_stress(pressure=CAN_MUST_HOLD_PSI * MPA_PER_PSI, radius=33.0, wall=0.097)
    assert stress == pytest.approx(HOOP_AT_90_PSI_MPA, abs=0.05)
    assert stress < BODY_STOCK_YIELD_KSI * 1000 * MPA_PER_PSI


def test_beer_being_pasteurised_stays_under_ninety_psi():
    """Beer of 2.6 volumes at 60 degC, drink 355 ml and headspace 16 ml, is inside what the can must hold."""
    pressure = can_pressure(temperature=60.0, volumes=2.6, liquid_volume=355e3, headspace_volume=16e3)
    assert 75 < pressure / MPA_PER_PSI < CAN_MUST_HOLD_PSI
