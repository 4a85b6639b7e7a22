"""Facts on the aluminium beverage can.

W. F. Hosford and J. L. Duncan, The Aluminum Beverage Can, Scientific American 271 (3), September 1994,
pages 48-53: a 5.5 in blank is drawn to a cup of about 3.5 in, redrawn to about 2.6 in; the complete can
weighs about 0.48 oz, its lid about a quarter of it. Blank and mass as seen in public excerpts; cup,
redraw and the lid's share from memory, medium confidence.

Units of the source are inches and ounces. The article rounds to one decimal of an inch.
"""

from __future__ import annotations

import pytest

from kb.process import blank, draw

INCH, OUNCE = 25.4, 28.3495  # mm, g
BLANK, CUP, BODY = 5.5, 3.5, 2.6  # inches
COMPLETE_CAN = 0.48  # oz
LID_SHARE = 0.25


def test_draws() -> None:
    """The first draw is 1.57, the redraw 1.35, both together 2.12."""
    first = draw.draw_ratio(before=BLANK, after=CUP)
    redraw = draw.draw_ratio(before=CUP, after=BODY)
    assert first == pytest.approx(1.571, abs=0.0005)
    assert redraw == pytest.approx(1.346, abs=0.0005)
    assert first * redraw == pytest.approx(2.115, abs=0.0005)


def test_reductions() -> None:
    """The first draw takes 36.4 % off the diameter, the redraw 25.7 %."""
    assert 100 * draw.reduction(before=BLANK, after=CUP) == pytest.approx(36.4, abs=0.05)
    assert 100 * draw.reduction(before=CUP, after=BODY) == pytest.approx(25.7, abs=0.05)


def test_hoop_strains_add_up() -> None:
    """Compression round the rim in cup and redraw adds up to that of the whole way."""
    both = draw.hoop_strain(before=BLANK, after=CUP) + draw.hoop_strain(before=CUP, after=BODY)
    assert both == pytest.approx(draw.hoop_strain(before=BLANK, after=BODY))


def test_blank_mass_lies_between_body_and_complete_can() -> None:
    """The blank weighs more than the trimmed body it becomes and less than the can with its lid."""
    volume = blank.disc_volume(diameter=BLANK * INCH, gauge=0.011 * INCH)
    mass = blank.mass(volume=volume, density=2.72)
    assert (1 - LID_SHARE) * COMPLETE_CAN * OUNCE < mass < COMPLETE_CAN * OUNCE
