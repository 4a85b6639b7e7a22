"""Straight lines through data: with an intercept and through the origin.

National Institute of Standards and Technology, Statistical Reference Datasets, linear regression (year of the
set from memory): NoInt1, eleven points, y = b x; Norris, 36 points, y = a + b x. The certified values.

Tolerance: relative 1e-12 for NoInt1, 1e-10 for Norris, less than the certified digits.
"""

from __future__ import annotations

import numpy as np
import pytest

from kb.process.calibration import straight_line, through_origin

NORRIS_Y = np.array([
    0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8,
    339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9,
    10.2, 117.6, 228.9, 668.4, 449.2, 0.2,
])  # fmt: skip
NORRIS_X = np.array([
    0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9,
    338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0,
    11.1, 118.3, 229.2, 669.1, 448.9, 0.5,
])  # fmt: skip


def test_no_intercept_1() -> None:
    """The slope and its standard deviation; the residual is the scatter in units of the data."""
    x, y = np.arange(60.0, 71.0), np.arange(130.0, 141.0)
    one = through_origin(estimate=x, measured=y)
    assert one.factor == pytest.approx(2.07438016528926, rel=1e-12)
    assert one.uncertainty == pytest.approx(0.165289256198347e-01, rel=1e-12)
    assert one.scatter * np.sqrt(np.mean(x**2)) == pytest.approx(3.56753034006338, rel=1e-12)


def test_norris() -> None:
    """Intercept, slope, their standard deviations and the residual standard deviation."""
    line = straight_line(estimate=NORRIS_X, measured=NORRIS_Y)
    assert line.intercept == pytest.approx(-0.262323073774029, rel=1e-10)
    assert line.slope == pytest.approx(1.00211681802045, rel=1e-10)
    assert line.intercept_uncertainty == pytest.approx(0.232818234301152, rel=1e-10)
    assert line.slope_uncertainty == pytest.approx(0.429796848199937e-03, rel=1e-10)
    assert line.residual == pytest.approx(0.884796396144373, rel=1e-10)
