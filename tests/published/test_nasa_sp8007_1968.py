"""NASA SP-8007, Buckling of Thin-Walled Circular Cylinders, revised August 1968.

NASA Space Vehicle Design Criteria (Structures). The formulas are cited from memory. The knock-down factors
are those a public study tabulates from SP-8007; the pressure curve is a public second-hand reading of its
figure, points other than those kept in the formula.
"""

from __future__ import annotations

import pytest

from kb.process.strength import knock_down, pressure_gain

# R/t: knock-down factor, as tabulated second-hand
KNOCK_DOWN_TABLE = {1000: 0.223, 500: 0.322, 300: 0.404, 100: 0.581, 50: 0.678, 25: 0.758}
KNOCK_DOWN_TEN = 0.82  # last row of that table

# (p/E)(R/t)^2: increase of the buckling coefficient, second-hand reading
PRESSURE_FIGURE = {
    0.0259: 0.03496,
    0.0358: 0.04477,
    0.0593: 0.06488,
    0.0981: 0.09256,
    0.1753: 0.12609,
    0.3478: 0.16912,
    0.7734: 0.21656,
    0.9905: 0.22683,
    1.2212: 0.23760,
    2.5895: 0.26068,
    6.0394: 0.26886,
}


@pytest.mark.parametrize(("slenderness", "factor"), KNOCK_DOWN_TABLE.items())
def test_knock_down_table(slenderness, factor):
    """Factors agree to one in the last decimal tabulated."""
    assert knock_down(radius=float(slenderness), wall=1.0) == pytest.approx(factor, abs=0.001)


def test_last_row_of_the_table_does_not_follow_the_formula():
    """At R/t 10, far thicker than a can, the table has 0.82 where the formula gives 0.838."""
    assert knock_down(radius=10.0, wall=1.0) - KNOCK_DOWN_TEN == pytest.approx(0.018, abs=0.001)


@pytest.mark.parametrize(("parameter", "increase"), PRESSURE_FIGURE.items())
def test_pressure_figure(parameter, increase):
    """The gain follows the figure to 3 %, about what reading a printed log-log curve allows."""
    found = pressure_gain(pressure=parameter, radius=100.0, wall=1.0, modulus=1e4)
    assert found == pytest.approx(increase, rel=0.03)
