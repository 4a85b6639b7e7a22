"""Can Manufacturers Institute, Voluntary Can and End Dimension Reference Manual, 202 beverage can, undated.

Sample sheet on cancentral.com/beverage-cans/standards, seen in public text, inches.
"""

from __future__ import annotations

import pytest

from kb.process.seam import plug_chuck_clearance
from kb.process.size_code import nominal_inches, nominal_mm

MM_PER_INCH = 25.4
BODY_OUTSIDE_IN, BODY_TOLERANCE_IN = 2.602, 0.007
FLANGED_HEIGHT_IN, HEIGHT_TOLERANCE_IN = 4.812, 0.015
PLUG_IN, PLUG_TOLERANCE_IN = 2.063, 0.007
CURL_IN = 2.340


def test_height_code_is_the_flanged_height():
    """211x413: the height code is inside the tolerance of the flanged height."""
    assert nominal_inches(code="413") == pytest.approx(FLANGED_HEIGHT_IN, abs=HEIGHT_TOLERANCE_IN)


def test_diameter_codes_are_names_only():
    """Neither the 211 body nor the 202 neck or curl measures what its code says, far outside tolerance."""
    assert nominal_inches(code="211") - BODY_OUTSIDE_IN > 10 * BODY_TOLERANCE_IN
    assert nominal_inches(code="202") - PLUG_IN > 8 * PLUG_TOLERANCE_IN
    assert CURL_IN - nominal_inches(code="202") > 0.2


def test_plug_tolerance_is_room_at_the_chuck():
    """A chuck that fits the smallest neck has 0.014 in, 0.356 mm, to spare in the largest."""
    smallest, largest = (PLUG_IN + side * PLUG_TOLERANCE_IN for side in (-1, 1))
    clearance = plug_chuck_clearance(
        plug_diameter=largest * MM_PER_INCH, chuck_diameter=smallest * MM_PER_INCH
    )
    assert clearance == pytest.approx(0.356, abs=5e-4)
    assert nominal_mm(code="202") > largest * MM_PER_INCH
