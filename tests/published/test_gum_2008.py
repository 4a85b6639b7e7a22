"""JCGM 100:2008, Guide to the expression of uncertainty in measurement, example H.1.

Evaluation of measurement data, end-gauge calibration. From memory, high confidence; nanometres.
"""

from __future__ import annotations

import math

import pytest
from scipy.stats import t

from kb.process.capability import (
    combined_uncertainty,
    contribution_shares,
    effective_degrees_of_freedom,
)

# Table H.1: contribution in nm, degrees of freedom
STANDARD = (25.0, 18.0)
MEASURED_DIFFERENCE = (9.7, 25.6)
EXPANSION_DIFFERENCE = (2.9, 50.0)
TEMPERATURE_DIFFERENCE = (16.6, 2.0)
TABLE_H1 = (STANDARD, MEASURED_DIFFERENCE, EXPANSION_DIFFERENCE, TEMPERATURE_DIFFERENCE)
COMBINED_NM = 32
EFFECTIVE_DEGREES = 16  # cut down from 16.8, as these rounded rows give it
COVERAGE_99 = 2.92
EXPANDED_NM = 93

# H.1.3.2: repeatability, random and systematic comparator effects in nm, degrees of freedom
COMPARATOR = ((5.8, 24.0), (3.9, 5.0), (6.7, 8.0))

WIDTHS = [width for width, _ in TABLE_H1]
COUNTS = [count for _, count in TABLE_H1]


def test_combined_standard_uncertainty():
    """The four rows combine to 32 nm, as printed without decimals."""
    found = combined_uncertainty(coefficients=[1.0] * 4, uncertainties=WIDTHS)
    assert round(float(found)) == COMBINED_NM


def test_effective_degrees_of_freedom():
    """Welch-Satterthwaite on the same rows, cut to a whole number, gives 16."""
    found = effective_degrees_of_freedom(contributions=WIDTHS, degrees_of_freedom=COUNTS)
    assert math.floor(found) == EFFECTIVE_DEGREES


def test_expanded_uncertainty():
    """Student's factor for 99 % makes it 93 nm, give or take 1 nm as the guide rounds twice."""
    combined = combined_uncertainty(coefficients=[1.0] * 4, uncertainties=WIDTHS)
    degrees = math.floor(effective_degrees_of_freedom(contributions=WIDTHS, degrees_of_freedom=COUNTS))
    factor = t.ppf(0.995, degrees)
    assert factor == pytest.approx(COVERAGE_99, abs=0.005)
    assert factor * combined == pytest.approx(EXPANDED_NM, abs=1)


def test_comparator():
    """The difference read on the comparator: 9.7 nm with 25.6 degrees, to the digits printed.

    The guide puts its rounded 9.7 nm into the numerator of Welch-Satterthwaite; so does the comparison.
    """
    widths, counts = zip(*COMPARATOR, strict=True)
    found = combined_uncertainty(coefficients=[1.0] * 3, uncertainties=widths)
    assert found == pytest.approx(MEASURED_DIFFERENCE[0], abs=0.05)
    degrees = effective_degrees_of_freedom(contributions=widths, degrees_of_freedom=counts)
    rounded = degrees * (MEASURED_DIFFERENCE[0] / found) ** 4
    assert rounded == pytest.approx(MEASURED_DIFFERENCE[1], abs=0.05)


def test_standard_dominates():
    """The calibration of the standard brings 62 % of the variance, 625 of 1003."""
    shares = contribution_shares(coefficients=[1.0] * 4, tolerances=WIDTHS)
    assert shares[0] == pytest.approx(0.623, abs=5e-4)
