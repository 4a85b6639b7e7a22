"""Densest packing of equal circles.

A. Thue, Ueber die dichteste Zusammenstellung von kongruenten Kreisen in einer Ebene, 1910 (from memory,
high confidence): no packing covers more than pi / sqrt 12, 0.9069; rows and columns cover pi / 4, 0.7854.

Tolerance: half a unit of the last digit printed; for counted layers, what the rim of a layer a thousand
circles wide can hide.
"""

from __future__ import annotations

import math

import pytest

from kb.process import blank, pallet

CIRCLE = math.pi / 4


def test_densities() -> None:
    """Staggered circles cover 0.9069 of the plane, squared ones 0.7854."""
    assert pallet.hexagonal_density() == pytest.approx(0.9069, abs=0.00005)
    assert pallet.square_density() == pytest.approx(0.7854, abs=0.00005)


def test_strip_without_web_meets_the_bound() -> None:
    """Blanks without a web in an endless strip use as much metal as the densest packing covers."""
    assert blank.utilisation_bound(diameter=140.0, web=0.0) == pytest.approx(0.9069, abs=0.00005)


@pytest.mark.parametrize("width", [0.9, 1.0, 2.2, 7.3, 31.0, 200.0, 1000.0])
@pytest.mark.parametrize("length", [1.0, 3.8, 50.0, 1000.0])
def test_no_layer_passes_the_bound(length: float, width: float) -> None:
    """No counted layer covers more than the densest packing of its area."""
    # a packing in a box, moved inward by a radius, obeys the bound with the box as it is
    count, _ = pallet.best_layer(length=length, width=width, diameter=1.0)
    assert count * CIRCLE <= length * width
    if min(length, width) >= 50:
        assert count * CIRCLE / (length * width) < pallet.hexagonal_density()


def test_wide_layers_come_near_the_bound() -> None:
    """A layer a thousand circles wide covers all but 0.2 % of what the densest packing covers."""
    count, words = pallet.best_layer(length=1000.0, width=1000.0, diameter=1.0)
    assert words.startswith("staggered")
    assert count * CIRCLE / 1e6 == pytest.approx(pallet.hexagonal_density(), rel=2e-3)
