"""Circles packed in rectangles, a puzzle with its solution.

K. Duisenberg, Problem of the Week, Packing Circles, 12 May 2000, solution page
(ken.duisenberg.com/potw/archive/arch00/000512sol.html): unit circles in a 10 x 10 square are 100 in rows
and columns, 105 with all rows staggered, 106 with two rows laid square among nine staggered ones; 110 fit
staggered in a rectangle of 22.5 x (1 + 2 sqrt 3).

The source has no unit; the numbers are counts, so nothing is tolerated.
"""

from __future__ import annotations

import math

import pytest

from kb.process import pallet

BEST_KNOWN = 106


def test_square_pattern() -> None:
    """A 10 x 10 square holds 100 unit circles in rows and columns."""
    assert pallet.square_layer(length=10.0, width=10.0, diameter=1.0) == 100


def test_staggered_pattern() -> None:
    """All rows staggered it holds 105."""
    assert pallet.staggered_layer(length=10.0, width=10.0, diameter=1.0) == 105


def test_best_of_the_plain_patterns_is_not_the_optimum() -> None:
    """The three plain patterns miss the mixed one by a single circle."""
    count, words = pallet.best_layer(length=10.0, width=10.0, diameter=1.0)
    assert (count, words) == (105, "staggered, rows across the width")
    assert count == BEST_KNOWN - 1


@pytest.mark.parametrize("scale", [1.0, 66.2, 0.1, 52.40 / 3])
def test_exact_fit(scale: float) -> None:
    """110 circles fill their rectangle exactly, in every unit."""
    length, width = scale * (1 + 2 * math.sqrt(3)), scale * 22.5
    assert pallet.staggered_layer(length=length, width=width, diameter=scale) == 110
    assert pallet.staggered_layer(length=length * (1 - 1e-6), width=width, diameter=scale) < 110
    assert pallet.staggered_layer(length=length, width=width * (1 - 1e-6), diameter=scale) < 110
