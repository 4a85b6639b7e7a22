"""Single sheet metal questions with worked answers on public question pages, undated.

curioustab.com question 65922 (blank of a cup); studyadda.com metal forming question 389687 (blanking
force); byjus.com answers on blanking tools of 20, 35 and 50 mm; a public multiple-choice question on
the greatest ironing reduction, whose answer 0.632 was seen without a stable address.

Units of the sources are mm, MPa, kN. Tolerances: half a unit of the last digit printed.
"""

from __future__ import annotations

import pytest

from kb.process import blank, draw


def test_curioustab_65922_blank() -> None:
    """A cup 25 mm wide and 15 mm high needs a blank of 46.1 mm, a draw ratio of about 1.84."""
    size = blank.blank_diameter(mean_diameter=25.0, height=15.0)
    assert size == pytest.approx(46.1, abs=0.05)
    assert draw.draw_ratio(before=46.0, after=25.0) == pytest.approx(1.84, abs=0.005)
    assert draw.draw_ratio(before=size, after=25.0) == pytest.approx(1.84, abs=0.005)


def test_studyadda_389687_force() -> None:
    """A disc of 20 mm and 1.5 mm at 300 MPa takes 28.3 kN."""
    force = blank.cutting_force(diameter=20.0, gauge=1.5, shear_strength=300.0)
    assert force / 1000 == pytest.approx(28.3, abs=0.05)


@pytest.mark.parametrize(
    ("die", "gauge", "allowance", "punch"),
    [
        pytest.param(50.0, 2.5, 0.06, 49.70, id="50 mm disc, 6 % a side"),
        pytest.param(20.0, 2.0, 0.03, 19.88, id="20 mm disc, 3 % a side"),
        pytest.param(35.0, 2.0, 0.040 / 2.0, 34.92, id="35 mm disc, 40 micrometres a side"),
    ],
)
def test_byjus_blanking_punch(die: float, gauge: float, allowance: float, punch: float) -> None:
    """The punch of a blanking tool is smaller than its die by a clearance on each side."""
    gap = blank.die_clearance(gauge=gauge, allowance=allowance)
    assert die - 2 * gap == pytest.approx(punch, abs=0.005)
