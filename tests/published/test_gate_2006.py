"""Sheet metal questions of an engineering entrance examination.

Graduate Aptitude Test in Engineering (GATE), India, papers PI (production and industrial
engineering) 2003, 2004, 2005, 2006 and ME (mechanical engineering) 2007: questions and options as seen
on questions.examside.com; ME 2007 as seen in a book of solved papers (scribd 489261528). ME 2008 from
memory, high confidence.

Units of the source are mm, MPa and kN. An option counts as met when the formula comes within 0.15 %
of it and of no other: the papers round pi to 3.14 or 22/7.
"""

from __future__ import annotations

import pytest

from kb.process import blank
from tests.cups import blank_of_cup

ROUNDED_PI = 1.5e-3


@pytest.mark.parametrize(
    ("diameter", "gauge", "shear_strength", "options", "answer"),
    [
        pytest.param(10.0, 2.0, 400.0, (8.0, 25.13, 31.42, 125.66), 25.13, id="PI 2003"),
        pytest.param(20.0, 2.0, 350.0, (31.40, 43.98, 64.40, 91.10), 43.98, id="PI 2004"),
        pytest.param(25.0, 2.5, 350.0, (171.8, 68.75), 68.75, id="PI 2005"),
        pytest.param(10.0, 3.0, 420.0, (19.78, 39.56, 98.9, 395.6), 39.56, id="PI 2006"),
    ],
)
def test_punch_force(
    diameter: float, gauge: float, shear_strength: float, options: tuple[float, ...], answer: float
) -> None:
    """The cutting force meets one of the printed options and no other."""
    kilonewton = blank.cutting_force(diameter=diameter, gauge=gauge, shear_strength=shear_strength) / 1000
    assert [option for option in options if option == pytest.approx(kilonewton, rel=ROUNDED_PI)] == [answer]


def test_pi_2006_blank() -> None:
    """A cup 70 mm wide and 35 mm deep needs a blank of 121.24 mm."""
    assert blank_of_cup(mean_diameter=70.0, height=35.0) == pytest.approx(121.24, abs=0.005)


def test_pi_2004_blank_with_trim() -> None:
    """A cup 48.5 x 52 mm needs 115.4 mm with 2 mm of trim for each 25 mm, its small corner left out."""
    trim = 2.0 * 48.5 / 25
    assert blank_of_cup(mean_diameter=48.5, height=52.0) + trim == pytest.approx(115.4, abs=0.05)
    # the corner of 1.5 mm, which the paper's rule neglects below d/r = 20, is worth half a per cent
    exact = blank_of_cup(mean_diameter=48.5, height=52.0, corner_radius=1.5) + trim
    assert exact == pytest.approx(115.4, rel=5e-3)
    assert exact < 115.4


def test_me_2007_force_scales() -> None:
    """A blank of 1.5 times the diameter and 0.4 of the gauge takes 3.0 kN where the first took 5.0 kN."""
    first = blank.cutting_force(diameter=20.0, gauge=1.0, shear_strength=300.0)
    second = blank.cutting_force(diameter=1.5 * 20.0, gauge=0.4 * 1.0, shear_strength=300.0)
    assert 5.0 * second / first == pytest.approx(3.0)


def test_me_2008_blank() -> None:
    """A shell 100 mm wide and high with a corner of 0.4 mm needs a blank of 224 mm."""
    size = blank_of_cup(mean_diameter=100.0, height=100.0, corner_radius=0.4)
    assert size == pytest.approx(224.0, abs=0.6)  # the paper leaves the corner out: 223.6
