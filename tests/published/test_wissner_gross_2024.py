"""Square against staggered circles in a narrow box.

Z. Wissner-Gross, The Fiddler, Can You Pack the Circles?, 14 June 2024, solution as on
vamshij.com/books/fiddler/read/92: in a base four circles wide, four rows hold 16 circles laid square and
14 staggered (4, 3, 4, 3); circles per area are 0.2500 and 0.2432 for unit radius.

Tolerance: half a unit of the last digit printed.
"""

from __future__ import annotations

import math

import pytest

from kb.process import pallet

DIAMETER, BASE = 2.0, 8.0  # circles of unit radius
FOUR_STAGGERED_ROWS = 2 + 3 * math.sqrt(3)


def test_four_rows_square() -> None:
    """Four rows laid square hold 16 circles, 0.2500 to the unit of area."""
    count = pallet.square_layer(length=BASE, width=BASE, diameter=DIAMETER)
    assert count == 16
    assert count / BASE**2 == pytest.approx(0.2500, abs=0.00005)


def test_four_rows_staggered() -> None:
    """Four staggered rows hold 14 circles, 0.2432 to the unit of area."""
    count = pallet.staggered_layer(length=FOUR_STAGGERED_ROWS, width=BASE, diameter=DIAMETER)
    assert count == 14
    assert count / (BASE * FOUR_STAGGERED_ROWS) == pytest.approx(0.2432, abs=0.00005)


def test_short_box_is_best_laid_square() -> None:
    """In a box of four circles by four the square pattern wins."""
    assert pallet.best_layer(length=BASE, width=BASE, diameter=DIAMETER) == (16, "square")
