"""Worked examples on wiredrawing.

G. E. Dieter, Mechanical Metallurgy, 3rd ed. (SI metric), McGraw-Hill 1988, chapter 19, examples 19.1
(page 640) and 19.2 (page 645), with the results that the book's public companion notebook prints:
tbc-python.fossee.in, Mechanical_Metallurgy_by_George_E._Dieter, Chapter_19_1.ipynb.

Units of the source are MPa and degrees. Tolerance: the six digits that the notebook prints.
"""

from __future__ import annotations

import math

import pytest

from kb.process import ironing

DIE_ANGLE = 12.0  # deg, the full angle
FRICTION = 0.09
STRENGTH, EXPONENT = 1300.0, 0.3  # flow stress = 1300 strain^0.3 MPa
REDUCTION = 0.20


def friction_term() -> float:
    """B = friction times cotangent of the half angle, written as the example writes it."""
    return FRICTION / math.tan(math.radians(DIE_ANGLE / 2))


def test_example_19_1_drawing_stress() -> None:
    """A fifth off the section at 6 degrees half angle takes 240.422 MPa."""
    strain = math.log(1 / (1 - REDUCTION))
    mean_flow = STRENGTH * strain**EXPONENT / (EXPONENT + 1)
    assert friction_term() == pytest.approx(0.8563, abs=0.00005)
    assert mean_flow == pytest.approx(637.6, abs=0.05)
    stress = ironing.drawing_stress_sachs(
        flow_stress=mean_flow, area_reduction=REDUCTION, half_angle=DIE_ANGLE / 2, friction=FRICTION
    )
    assert stress == pytest.approx(240.422, abs=0.0005)


def test_example_19_2_greatest_reduction() -> None:
    """The first approximation of the greatest reduction in that die is 0.514412."""
    reduction = ironing.greatest_reduction_with_friction(friction_term=friction_term())
    assert reduction == pytest.approx(0.514412, abs=5e-7)
