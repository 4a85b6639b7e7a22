"""Machine Design, Aluminum Cans: A Lesson in Product Development, 9 December 2009, article 21832055.

Pressures seen in public text: 45 psi normally, 90 psi during pasteurization, 110 psi in the trunk of a car in
summer. The article gives no carbonation; 3.7 volumes is a common soft drink (from memory).
"""

from __future__ import annotations

import pytest

from kb.process.gas import can_pressure

MPA_PER_PSI = 0.006894757
NORMAL_PSI = 45
HOT_BOOT_PSI = 110
SOFT_DRINK = {"volumes": 3.7, "liquid_volume": 355e3, "headspace_volume": 16e3}


def test_normal_pressure_at_room_temperature():
    """A soft drink at 20 degC is at the normal pressure; 5 % because the article rounds to 5 psi."""
    assert can_pressure(temperature=20.0, **SOFT_DRINK) / MPA_PER_PSI == pytest.approx(NORMAL_PSI, rel=0.05)


def test_hot_boot():
    """The same can passes 110 psi between 50 and 60 degC, as hot as a closed car gets."""
    warm, hot = (can_pressure(temperature=t, **SOFT_DRINK) / MPA_PER_PSI for t in (50.0, 60.0))
    assert warm < HOT_BOOT_PSI < hot
