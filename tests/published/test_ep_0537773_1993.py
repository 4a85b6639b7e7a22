"""European patent application EP 0 537 773 A1, necking of two-piece containers, 1993 (year from memory).

Neck diameters seen in public text in millimetres to two decimals, from 211 through 209 and 207 1/2 to 206.
"""

from __future__ import annotations

import pytest

from kb.process.size_code import nominal_mm

PUBLISHED_MM = {"211": 68.26, "209": 65.09}
PUBLISHED_206_MM = 60.34
PUBLISHED_207_HALF_MM = 62.71


@pytest.mark.parametrize(("code", "millimetres"), PUBLISHED_MM.items())
def test_diameters(code, millimetres):
    """The printed millimetres are the codes, rounded to two decimals."""
    assert nominal_mm(code=code) == pytest.approx(millimetres, abs=0.005)


def test_206_is_printed_with_a_slip():
    """206 is 60.325 mm; the text has 60.34, a hundredth and a half too much."""
    assert PUBLISHED_206_MM - nominal_mm(code="206") == pytest.approx(0.015)


def test_half_sixteenth_is_between_its_neighbours():
    """207 1/2, which has no plain code, is half way from 207 to 208 to two decimals."""
    middle = (nominal_mm(code="207") + nominal_mm(code="208")) / 2
    assert middle == pytest.approx(PUBLISHED_207_HALF_MM, abs=0.005)
