"""A worked problem on rod drawing.

A. Ghosh and A. K. Mallik, Manufacturing Science, 2nd ed., East-West Press 2010 (edition and year from
memory, medium confidence), sample problem 3.7, page 126, with the results of the book's public Scilab
companion (FOSSEE, textbook companion 3250, Ex3_7.txt).

Units of the source are mm, m/min, N/mm2, kW. Tolerance: the digits that the result file prints. The
file calls the greatest reduction "mm"; it is a share of the section.
"""

from __future__ import annotations

import math

import pytest

from kb.process import ironing

PROBLEM_3_7 = {"from": 12.7, "to": 10.2, "speed": 90.0, "half_angle": 6.0, "friction": 0.1}
YIELD, YIELD_AT_HALF = 207.0, 414.0  # N/mm2, at no strain and at a strain of 0.5, linear between


def test_problem_3_7_power() -> None:
    """Drawing the rod at 90 m/min takes 25.530385 kW."""
    strain = 2 * math.log(PROBLEM_3_7["from"] / PROBLEM_3_7["to"])
    mean_flow = YIELD + (YIELD_AT_HALF - YIELD) / 0.5 * strain / 2
    stress = ironing.drawing_stress_sachs(
        flow_stress=mean_flow,
        area_reduction=1 - (PROBLEM_3_7["to"] / PROBLEM_3_7["from"]) ** 2,
        half_angle=PROBLEM_3_7["half_angle"],
        friction=PROBLEM_3_7["friction"],
    )
    newton = stress * math.pi / 4 * PROBLEM_3_7["to"] ** 2
    metre_per_second = PROBLEM_3_7["speed"] / 60
    assert newton * metre_per_second / 1000 == pytest.approx(25.530385, abs=5e-7)


def test_problem_3_7_greatest_reduction() -> None:
    """The same die can take at most 0.504749 off the section."""
    term = PROBLEM_3_7["friction"] / math.tan(math.radians(PROBLEM_3_7["half_angle"]))
    reduction = ironing.greatest_reduction_with_friction(friction_term=term)
    assert reduction == pytest.approx(0.504749, abs=5e-7)
