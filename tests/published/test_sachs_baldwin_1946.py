"""Stress in sinking a tube, against a numerical solution of the force balance.

G. Sachs and W. M. Baldwin, Stress Analysis of Tube Sinking, Transactions of the ASME 68 (1946) 655-662;
the form with the factor 1.1 as in Dieter, Mechanical Metallurgy (both from memory, medium confidence).
No worked number of the paper was at hand, so its balance of forces is integrated instead.

Tolerance: 1e-6, that of the integration.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from kb.process import neck

FLOW, ANGLE = 300.0, 30.0  # MPa, deg


def pushed(before: float, after: float, friction: float) -> float:
    """Stress from the balance on a slice: die pressure and its friction act on the area taken off."""
    yielding = 1.1 * FLOW
    drag = 1 + friction / math.tan(math.radians(ANGLE))

    def slope(area: float, force: np.ndarray) -> np.ndarray:
        die_pressure = yielding - force / area
        return -die_pressure * drag

    # the wall is taken as even, so areas go as diameters
    run = solve_ivp(slope, (before, after), [0.0], rtol=1e-10, atol=1e-10)
    return float(run.y[0, -1]) / after


@pytest.mark.parametrize("friction", [0.0, 0.05, 0.15])
@pytest.mark.parametrize("after", [64.95, 62.0, 52.5])
def test_balance_of_forces(after: float, friction: float) -> None:
    """The closed form is the integral of the force balance, with friction and without."""
    stress = neck.stage_stress(
        flow_stress=FLOW, before=66.0, after=after, half_angle=ANGLE, friction=friction
    )
    assert stress == pytest.approx(pushed(66.0, after, friction), rel=1e-6)


@pytest.mark.parametrize(("reduction", "stress"), [(0.016, 5.8), (0.0464, 17.0), (0.20, 79.2)])
def test_stage_and_single_hit(reduction: float, stress: float) -> None:
    """At 300 MPa, friction 0.05 and 30 degrees a small stage takes 5.8 MPa, one hit of a fifth 79.2 MPa."""
    # by hand: B = 0.05 / tan 30 = 0.0866; 1.1 x 300 x 1.0866 / 0.0866 x (1 - (1 - r)^0.0866)
    assert neck.stage_stress(
        flow_stress=FLOW, before=66.0, after=66.0 * (1 - reduction), half_angle=ANGLE, friction=0.05
    ) == pytest.approx(stress, abs=0.05)
