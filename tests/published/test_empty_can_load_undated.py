"""Load at which empty beverage cans buckled in a testing machine.

Buckling Pop Can, a public page of an engineering office, undated, vgoinc.com/general/buckling-pop-can: three
undented empty cans buckled between 135 and 190 pounds; wall 0.003 in by micrometer, outside diameter 2.65 in.

The modulus of can sheet, 69 GPa, is from memory. The micrometer shows whole thousandths of an inch, coatings
included, so the wall is known to one part in six. Load goes with the square of the wall.
"""

from __future__ import annotations

import pytest

from kb.process.strength import axial_buckling_load, buckling_stress_classical

INCH, POUND = 25.4, 4.4482216  # mm, N
WALL, OUTSIDE = 0.003 * INCH, 2.65 * INCH
CAN = {"radius": (OUTSIDE - WALL) / 2, "wall": WALL, "modulus": 69_000.0, "poisson": 0.33}
LEAST, MOST = 135 * POUND, 190 * POUND


def test_the_estimate_is_at_the_lower_edge_of_the_tests() -> None:
    """The lower bound is below every measured load, and at least 80 % of the least."""
    assert 0.80 * LEAST < float(axial_buckling_load(**CAN)) < LEAST


def test_no_can_reached_the_classical_load() -> None:
    """The best of the three cans carried a good half of what a perfect tube would."""
    perfect = float(buckling_stress_classical(**CAN)) * 3.14159265 * (OUTSIDE - WALL) * WALL
    assert MOST / perfect == pytest.approx(0.55, abs=0.05)
