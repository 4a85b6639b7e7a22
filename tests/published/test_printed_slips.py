"""Formulas and results in print that do not reproduce, and why.

Seen on public pages: a blank formula with its radius inside the root; a blank formula that belongs to no
cup. Each test shows the printed number, the slip, and what the book's formula says.
"""

from __future__ import annotations

import math

import pytest

from tests.cups import blank_of_cup

MM_PER_M = 1000.0


def printed_blank_15_to_20(d: float, h: float, r: float) -> float:
    """The blank for 15 r <= d < 20 r as a page prints it: the correction of 0.5 r slid under the root."""
    return math.sqrt(d**2 + 4 * d * h - 0.5 * r)


def meant_blank_15_to_20(d: float, h: float, r: float) -> float:
    """The same rule as press handbooks have it: the correction of 0.5 r outside the root."""
    return math.sqrt(d**2 + 4 * d * h) - 0.5 * r


CUP = (60.0, 100.0, 4.0)  # d, h, r in mm: d = 15 r
CUP_IN_METRES = tuple(length / MM_PER_M for length in CUP)


def test_radius_under_the_root_depends_on_the_unit() -> None:
    """Squared length less a length: the same cup needs another blank in metres than in millimetres."""
    in_mm = printed_blank_15_to_20(*CUP)
    in_metres = printed_blank_15_to_20(*CUP_IN_METRES) * MM_PER_M
    assert in_mm == pytest.approx(166.126, abs=0.0005)
    assert in_metres == pytest.approx(160.0, abs=0.0005)


def test_valid_blank_formulas_do_not_depend_on_the_unit() -> None:
    """The rule as meant and the exact form give one cup one blank, in either unit."""
    assert meant_blank_15_to_20(*CUP_IN_METRES) * MM_PER_M == pytest.approx(meant_blank_15_to_20(*CUP))
    exact, exact_in_metres = (
        blank_of_cup(mean_diameter=d, height=h, corner_radius=r) for d, h, r in (CUP, CUP_IN_METRES)
    )
    assert exact_in_metres * MM_PER_M == pytest.approx(exact)
    assert meant_blank_15_to_20(*CUP) == pytest.approx(exact, rel=5e-3)


def test_blank_formula_that_belongs_to_no_cup() -> None:
    """sqrt(d^2 + 4dh + 6.28 r (d + 2r) + 8 r^2) fits neither reading of its letters."""
    d, h, r = 60.0, 100.0, 8.0
    printed = math.sqrt(d**2 + 4 * d * h + 6.28 * r * (d + 2 * r) + 8 * r**2)
    assert printed == pytest.approx(178.7, abs=0.05)
    wall_to_wall = blank_of_cup(mean_diameter=d, height=h, corner_radius=r)
    flat_and_straight = blank_of_cup(mean_diameter=d + 2 * r, height=h + r, corner_radius=r)
    assert wall_to_wall == pytest.approx(163.5, abs=0.05)
    assert flat_and_straight == pytest.approx(193.7, abs=0.05)
