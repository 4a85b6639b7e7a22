"""A small steel cup: blank, draw ratio, clearance, forces.

Manufacturing Review 3 (2016), article mfreview160005, table 1, parameters and geometries of the deep
drawing process (mfr.edp-open.org); the page seen shows the table and not the authors.

Units of the source are mm, MPa, kN. Tolerances: half a unit of the last digit printed; the punch force is
10 %, since the article does not say which formula it used.
"""

from __future__ import annotations

import pytest

from kb.process import draw
from tests.cups import blank_of_cup

TABLE_1 = {"punch": 30.0, "height": 15.0, "gauge": 0.5, "die_bore": 31.4, "tensile": 750.0}


def test_blank() -> None:
    """A cup 30 mm wide and 15 mm high needs a blank of 52 mm."""
    size = blank_of_cup(mean_diameter=TABLE_1["punch"], height=TABLE_1["height"])
    assert size == pytest.approx(52.0, abs=0.5)


def test_draw_ratio() -> None:
    """The draw ratio of that cup is 1.73."""
    assert draw.draw_ratio(before=52.0, after=TABLE_1["punch"]) == pytest.approx(1.73, abs=0.005)


def test_clearance() -> None:
    """A die of 31.4 mm leaves 0.70 mm on each side of the punch."""
    gap = draw.clearance(die_bore=TABLE_1["die_bore"], punch_diameter=TABLE_1["punch"])
    assert gap == pytest.approx(0.70, abs=0.005)


def test_punch_force() -> None:
    """Drawing it takes some 39 kN."""
    force = draw.drawing_force(
        blank_diameter=52.0,
        punch_diameter=TABLE_1["punch"],
        gauge=TABLE_1["gauge"],
        tensile=TABLE_1["tensile"],
    )
    assert force / 1000 == pytest.approx(39.0, rel=0.10)
