"""Blank diameters of drawn shells.

Machinery's Handbook, 26th ed., Industrial Press 2000, Determining blank diameters for drawn shells. From
memory: the formulas D = sqrt(d^2 + 4 d h) and its forms with corner radii (coefficients 1.72 and
0.56) with high confidence; the example of a shell 1 1/2 in wide and 2 in high, 3.78 in, with medium
confidence.

Units of the source are inches. Tolerance: half a unit of the last digit printed.
"""

from __future__ import annotations

import math

import pytest

from tests.cups import blank_of_cup

SHELL = {"mean_diameter": 60.0, "height": 100.0, "corner_radius": 8.0}


def test_example() -> None:
    """A shell 1 1/2 in wide and 2 in high takes a blank of 3.78 in."""
    assert blank_of_cup(mean_diameter=1.5, height=2.0) == pytest.approx(3.78, abs=0.006)


def test_printed_coefficients() -> None:
    """The printed 1.72 and 0.56 differ from the exact form by less than a hundredth of a per cent."""
    d, h, r = SHELL["mean_diameter"], SHELL["height"], SHELL["corner_radius"]
    printed = math.sqrt(d**2 + 4 * d * h - 1.72 * d * r - 0.56 * r**2)
    assert blank_of_cup(**SHELL) == pytest.approx(printed, rel=1e-4)


def test_step_rule_for_sharp_bends() -> None:
    """The handbook rule for d < 10 r, with its rounded 0.7, comes within 0.03 % of the exact form."""
    d, h, r = SHELL["mean_diameter"], SHELL["height"], SHELL["corner_radius"]
    rule = math.sqrt((d - 2 * r) ** 2 + 4 * d * (h - r) + 2 * math.pi * r * (d - 0.7 * r))
    assert rule == pytest.approx(163.556, abs=0.0005)
    assert blank_of_cup(**SHELL) == pytest.approx(rule, rel=3e-4)
