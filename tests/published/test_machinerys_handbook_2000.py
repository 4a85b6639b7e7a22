"""Blank diameters of drawn shells.

Machinery's Handbook, 26th ed., Industrial Press 2000, Determining blank diameters for drawn shells. From
memory: the formulas D = sqrt(d^2 + 4 d h) and its forms with corner radii (coefficients 1.72 and
0.56) with high confidence; the example of a shell 1 1/2 in wide and 2 in high, 3.78 in, with medium
confidence.

Units of the source are inches. Tolerance: half a unit of the last digit printed; the exact forms are also
held against an integration of the profile.
"""

from __future__ import annotations

import math

import pytest
from scipy.integrate import quad

from kb.process import blank

SHELL = {"mean_diameter": 60.0, "height": 100.0, "corner_radius": 8.0}


def swept(*pieces: tuple[float, float]) -> float:
    """Diameter of the disc that has the area of the pieces, each a pair of profile length and mean radius."""
    area = sum(2 * math.pi * radius * length for length, radius in pieces)
    return math.sqrt(4 * area / math.pi)


def corner(centre: float, radius: float, outward: float) -> tuple[float, float]:
    """Quarter circle of the profile, its mean radius from the axis integrated numerically."""
    moment, _ = quad(lambda angle: centre + outward * radius * math.cos(angle), 0, math.pi / 2)
    return math.pi / 2 * radius, moment / (math.pi / 2)


def test_example() -> None:
    """A shell 1 1/2 in wide and 2 in high takes a blank of 3.78 in."""
    assert blank.blank_diameter(mean_diameter=1.5, height=2.0) == pytest.approx(3.78, abs=0.006)


def test_printed_coefficients() -> None:
    """The printed 1.72 and 0.56 differ from the exact form by less than a hundredth of a per cent."""
    d, h, r = SHELL["mean_diameter"], SHELL["height"], SHELL["corner_radius"]
    printed = math.sqrt(d**2 + 4 * d * h - 1.72 * d * r - 0.56 * r**2)
    assert blank.blank_diameter(**SHELL) == pytest.approx(printed, rel=1e-4)


def test_cup_by_integration() -> None:
    """The exact form is the integrated area of bottom, corner and wall."""
    d, h, r = SHELL["mean_diameter"], SHELL["height"], SHELL["corner_radius"]
    flat = d / 2 - r
    size = swept((flat, flat / 2), corner(flat, r, 1.0), (h - r, d / 2))
    assert blank.blank_diameter(**SHELL) == pytest.approx(size, rel=1e-12)
    assert size == pytest.approx(163.523, abs=0.0005)


def test_step_rule_for_sharp_bends() -> None:
    """The handbook rule for d < 10 r, with its rounded 0.7, comes within 0.03 % of the exact form."""
    d, h, r = SHELL["mean_diameter"], SHELL["height"], SHELL["corner_radius"]
    rule = math.sqrt((d - 2 * r) ** 2 + 4 * d * (h - r) + 2 * math.pi * r * (d - 0.7 * r))
    assert rule == pytest.approx(163.556, abs=0.0005)
    assert blank.blank_diameter(**SHELL) == pytest.approx(rule, rel=3e-4)
