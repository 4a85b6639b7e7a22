"""Facts on the aluminium beverage can.

W. F. Hosford and J. L. Duncan, The Aluminum Beverage Can, Scientific American 271 (3), September 1994,
pages 48-53: a 5.5 in blank is drawn to a cup of about 3.5 in, redrawn to about 2.6 in; the complete can
weighs about 0.48 oz, its lid about a quarter of it. Blank and mass as seen in public excerpts; cup,
redraw and the lid's share from memory, medium confidence.

Units of the source are inches and ounces. The article rounds to one decimal of an inch.
"""

from __future__ import annotations

from kb.process import blank

INCH, OUNCE = 25.4, 28.3495  # mm, g
BLANK = 5.5  # inches
COMPLETE_CAN = 0.48  # oz
LID_SHARE = 0.25


def test_blank_mass_is_between_body_and_complete_can() -> None:
    """The blank weighs more than the trimmed body it becomes and less than the can with its lid."""
    volume = blank.disc_volume(diameter=BLANK * INCH, gauge=0.011 * INCH)
    mass = blank.mass(volume=volume, density=2.72)
    assert (1 - LID_SHARE) * COMPLETE_CAN * OUNCE < mass < COMPLETE_CAN * OUNCE
