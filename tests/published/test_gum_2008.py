"""A calibration line with the uncertainty of its coefficients and of what it predicts.

JCGM 100:2008, Guide to the expression of uncertainty in measurement, H.3: calibration of a thermometer,
eleven readings in degrees Celsius and their corrections, reference temperature 20 degrees.

Tolerance: the printed digits.
"""

from __future__ import annotations

import numpy as np
import pytest

from kb.process.calibration import straight_line

READING = np.array([21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511])
CORRECTION = -np.array([0.171, 0.169, 0.166, 0.159, 0.164, 0.165, 0.156, 0.157, 0.159, 0.161, 0.160])
LINE = straight_line(estimate=READING - 20.0, measured=CORRECTION)


def test_coefficients() -> None:
    """Correction at 20 degrees and its slope, each with its standard uncertainty."""
    assert LINE.intercept == pytest.approx(-0.1712, abs=0.00005)
    assert LINE.intercept_uncertainty == pytest.approx(0.0029, abs=0.00005)
    assert LINE.slope == pytest.approx(0.00218, abs=0.000005)
    assert LINE.slope_uncertainty == pytest.approx(0.00067, abs=0.000005)
    assert LINE.residual == pytest.approx(0.0035, abs=0.00005)
    assert LINE.correlation == pytest.approx(-0.930, abs=0.0005)


def test_prediction_at_30_degrees() -> None:
    """The correction at 30 degrees and its standard uncertainty, with the correlation."""
    at, low, high = 10.0, LINE.intercept_uncertainty, LINE.slope_uncertainty
    assert LINE.intercept + at * LINE.slope == pytest.approx(-0.1494, abs=0.00005)
    doubt = np.sqrt(low**2 + (at * high) ** 2 + 2 * at * low * high * LINE.correlation)
    assert doubt == pytest.approx(0.0041, abs=0.00005)
