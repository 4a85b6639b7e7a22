"""NIST/SEMATECH e-Handbook of Statistical Methods, section 6.1.6, What is process capability?, 2012.

Example from memory, high confidence: limits 8 and 20, mean 16, standard deviation 2.
"""

from __future__ import annotations

import pytest

from kb.process.capability import cp, cpk, cpm

EXAMPLE_LOWER, EXAMPLE_UPPER, EXAMPLE_MEAN, EXAMPLE_SPREAD = 8.0, 20.0, 16.0, 2.0
EXAMPLE_CP = 1.0
EXAMPLE_CPK = 0.6667
EXAMPLE_K = 0.3333
CPM_TO_TARGET_14 = 0.7071  # not printed there: 12 / (6 sqrt(4 + 4))
LIMITS = {"lower": EXAMPLE_LOWER, "upper": EXAMPLE_UPPER, "spread": EXAMPLE_SPREAD}


def test_example():
    """Cp and Cpk of the example, to four decimals."""
    assert cp(**LIMITS) == pytest.approx(EXAMPLE_CP)
    assert cpk(mean=EXAMPLE_MEAN, **LIMITS) == pytest.approx(EXAMPLE_CPK, abs=5e-5)


def test_distance_from_the_middle():
    """The handbook's other way to Cpk, (1 - k) Cp with k from the middle of the limits, agrees."""
    assert cpk(mean=EXAMPLE_MEAN, **LIMITS) == pytest.approx((1 - EXAMPLE_K) * EXAMPLE_CP, abs=5e-5)


def test_target_in_the_middle():
    """Measured from a target of 14 the same process has 0.7071."""
    assert cpm(mean=EXAMPLE_MEAN, target=14.0, **LIMITS) == pytest.approx(CPM_TO_TARGET_14, abs=5e-5)
