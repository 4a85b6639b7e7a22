"""Single sheet metal questions with worked answers on public question pages, undated.

curioustab.com question 65922 (blank of a cup); studyadda.com metal forming question 389687 (blanking
force); a public multiple-choice question on
the greatest ironing reduction, whose answer 0.632 was seen without a stable address.

Units of the sources are mm, MPa, kN. Tolerances: half a unit of the last digit printed.
"""

from __future__ import annotations

import pytest

from kb.process import blank, draw
from tests.cups import blank_of_cup


def test_curioustab_65922_blank() -> None:
    """A cup 25 mm wide and 15 mm high needs a blank of 46.1 mm, a draw ratio of about 1.84."""
    size = blank_of_cup(mean_diameter=25.0, height=15.0)
    assert size == pytest.approx(46.1, abs=0.05)
    assert draw.draw_ratio(before=46.0, after=25.0) == pytest.approx(1.84, abs=0.005)
    assert draw.draw_ratio(before=size, after=25.0) == pytest.approx(1.84, abs=0.005)


def test_studyadda_389687_force() -> None:
    """A disc of 20 mm and 1.5 mm at 300 MPa takes 28.3 kN."""
    force = blank.cutting_force(diameter=20.0, gauge=1.5, shear_strength=300.0)
    assert force / 1000 == pytest.approx(28.3, abs=0.05)
