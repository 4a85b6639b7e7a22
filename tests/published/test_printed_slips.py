"""Formulas and results in print that do not reproduce, and why.

Seen on public pages: a blank formula with its radius inside the root; a blank formula that belongs to no
cup; a blanking answer that splits its clearance; a piston travel that its own formula does not give
(Torset 1998). Each test shows the printed number, the slip, and what the book's formula says.
"""

from __future__ import annotations

import math

import pytest

from kb.process import blank, ram

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


def test_sound_blank_formulas_do_not_depend_on_the_unit() -> None:
    """The rule as meant and the exact form give one cup one blank, in either unit."""
    assert meant_blank_15_to_20(*CUP_IN_METRES) * MM_PER_M == pytest.approx(meant_blank_15_to_20(*CUP))
    exact, exact_in_metres = (
        blank.blank_diameter(mean_diameter=d, height=h, corner_radius=r) for d, h, r in (CUP, CUP_IN_METRES)
    )
    assert exact_in_metres * MM_PER_M == pytest.approx(exact)
    assert meant_blank_15_to_20(*CUP) == pytest.approx(exact, rel=5e-3)


def test_blank_formula_that_belongs_to_no_cup() -> None:
    """sqrt(d^2 + 4dh + 6.28 r (d + 2r) + 8 r^2) fits neither reading of its letters."""
    d, h, r = 60.0, 100.0, 8.0
    printed = math.sqrt(d**2 + 4 * d * h + 6.28 * r * (d + 2 * r) + 8 * r**2)
    assert printed == pytest.approx(178.7, abs=0.05)
    wall_to_wall = blank.blank_diameter(mean_diameter=d, height=h, corner_radius=r)
    flat_and_straight = blank.blank_diameter(mean_diameter=d + 2 * r, height=h + r, corner_radius=r)
    assert wall_to_wall == pytest.approx(163.5, abs=0.05)
    assert flat_and_straight == pytest.approx(193.7, abs=0.05)


def test_clearance_taken_once() -> None:
    """A 30 mm blank of 10 mm sheet with 6 % a side takes a 28.8 mm punch; the key takes 6 % once: 29.4 mm."""
    # studyadda.com, metal forming question 389755; 28.8 stands among the options
    gap = blank.die_clearance(gauge=10.0, allowance=0.06)
    assert 30.0 - 2 * gap == pytest.approx(28.8)
    assert 30.0 - gap == pytest.approx(29.4)


def test_piston_travel_halved() -> None:
    """The printed travel of 0.042 m at 68.5 degrees is half of what its own formula gives."""
    crank, rod, angle = 0.1, 0.2, 68.5
    theta = math.radians(angle)
    by_its_formula = crank * (1 - math.cos(theta) + crank / rod / 2 * math.sin(theta) ** 2)
    far = ram.position(crank_radius=crank, rod=rod, angle=0.0)
    exact = far - ram.position(crank_radius=crank, rod=rod, angle=angle)
    assert by_its_formula == pytest.approx(0.085, abs=0.0005)
    assert exact == pytest.approx(by_its_formula, rel=0.02)
    assert by_its_formula / 2 == pytest.approx(0.042, abs=0.001)
