"""Worked examples on the inertia of reciprocating parts.

R. S. Khurmi and J. K. Gupta, Theory of Machines, S. Chand 2005 (year from memory), chapter 15, examples
15.3 and 15.4; inputs and method as in the book's public Scilab companion (FOSSEE, textbook companion
213), results 75 degrees, 6.54 m/s and 4.19 m/s, 85.35 m/s2, 79.27 degrees.

Units of the source are m, rev/min, m/s, m/s2. The book uses the second-order formula; with a rod of more
than three cranks it differs from the exact one by less than 0.5 % in speed and 0.5 degrees in angle, and
by less than 1.5 % in acceleration, which are the tolerances.
"""

from __future__ import annotations

import pytest

from kb.process import ram

METRE = 1000.0  # mm
EXAMPLE_15_3 = {"crank_radius": 0.3 * METRE, "rod": 1.0 * METRE}
EXAMPLE_15_4 = {"crank_radius": 0.3 * METRE, "rod": 1.5 * METRE}


def test_example_15_3() -> None:
    """At 200 rev/min the piston is fastest at 75 degrees and reaches 6.54 m/s."""
    assert ram.peak_velocity_angle(**EXAMPLE_15_3) == pytest.approx(75.0, abs=0.5)
    assert ram.peak_velocity(**EXAMPLE_15_3, speed=200.0) / METRE == pytest.approx(6.54, rel=5e-3)


def test_example_15_4_at_40_degrees() -> None:
    """At 180 rev/min and 40 degrees the piston moves at 4.19 m/s and gains 85.35 m/s2 on its way in."""
    inward = -ram.velocity(**EXAMPLE_15_4, angle=40.0, speed=180.0) / METRE
    gain = -ram.acceleration(**EXAMPLE_15_4, angle=40.0, speed=180.0) / METRE
    assert inward == pytest.approx(4.19, rel=5e-3)
    assert gain == pytest.approx(85.35, rel=1.5e-2)


def test_example_15_4_without_acceleration() -> None:
    """The acceleration of that piston vanishes at 79.27 degrees."""
    assert ram.peak_velocity_angle(**EXAMPLE_15_4) == pytest.approx(79.27, abs=0.5)
