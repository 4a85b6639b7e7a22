"""Published dimensions of the 202 beverage can.

Can Manufacturers Institute, Voluntary Can and End Dimension Reference Manual, 202 beverage can and end
specifications, sample sheet on cancentral.com/beverage-cans/standards; the page seen carries no year.

Units of the source are inches. Tolerances: the sheet's own, or half a unit of the last digit of a value
worked from it by hand.
"""

from __future__ import annotations

import pytest

from kb.process import neck

INCH = 25.4  # mm
BODY_OUTSIDE = 2.602
PLUG, PLUG_TOLERANCE = 2.063, 0.007
FLANGE_WIDTH, WIDTH_TOLERANCE = 0.082, 0.008
FLANGE_DIAMETER_MAX = 2.255
NECK_WALL = 0.0065  # ours, a usual thick wall; the sheet gives none


def test_flange_stays_below_its_maximum() -> None:
    """Plug diameter and two flange widths stay below the sheet's flange diameter, at their largest too."""
    nominal = neck.flange_diameter(plug_diameter=PLUG, width=FLANGE_WIDTH)
    largest = neck.flange_diameter(plug_diameter=PLUG + PLUG_TOLERANCE, width=FLANGE_WIDTH + WIDTH_TOLERANCE)
    assert nominal == pytest.approx(2.227, abs=0.0005)
    assert largest == pytest.approx(2.250, abs=0.0005)
    assert largest <= FLANGE_DIAMETER_MAX


def test_edge_strain() -> None:
    """The published flange stretches its edge by up to 9.3 %."""
    strain = neck.edge_strain(neck_diameter=PLUG * INCH, flange_diameter=FLANGE_DIAMETER_MAX * INCH)
    assert 100 * strain == pytest.approx(9.3, abs=0.05)


def test_neck_wall() -> None:
    """Necked by a mean diameter ratio of 1.254 the wall grows by a factor between 1.120 and 1.254."""
    before, after = (BODY_OUTSIDE - NECK_WALL) * INCH, (PLUG + NECK_WALL) * INCH
    assert before / after == pytest.approx(1.2542, abs=0.00005)
    thin = neck.wall_after(wall=1.0, before=before, after=after, exponent=0.5)
    thick = neck.wall_after(wall=1.0, before=before, after=after, exponent=1.0)
    assert thin == pytest.approx(1.120, abs=0.0005)
    assert thick == pytest.approx(1.254, abs=0.0005)
