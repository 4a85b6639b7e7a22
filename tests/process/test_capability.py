from __future__ import annotations

import numpy as np
import pytest

from kb.process.capability import (
    combined_uncertainty,
    contribution_shares,
    cp,
    cpk,
    cpm,
    effective_degrees_of_freedom,
    root_sum_square,
    worst_case_stack,
)

LIMITS = {"lower": 0.093, "upper": 0.101}  # mm, a thin wall


def test_centred_process_has_one_capability():
    """In the middle of the limits, and on target, the three indices agree."""
    centred = cp(spread=0.001, **LIMITS)
    assert centred == pytest.approx(4 / 3)
    assert cpk(mean=0.097, spread=0.001, **LIMITS) == pytest.approx(centred)
    assert cpm(mean=0.097, target=0.097, spread=0.001, **LIMITS) == pytest.approx(centred)


def test_drift_lowers_cpk_alike_to_either_side():
    """Off centre only the nearer limit counts; on it nothing is left; beyond it the index is negative."""
    high, low = (cpk(mean=0.097 + drift, spread=0.001, **LIMITS) for drift in (0.002, -0.002))
    assert high == pytest.approx(low)
    assert high == pytest.approx(2 / 3)
    assert cpk(mean=0.101, spread=0.001, **LIMITS) == pytest.approx(0, abs=1e-12)
    assert cpk(mean=0.102, spread=0.001, **LIMITS) < 0


def test_limits_out_of_order_are_refused():
    """Upper below lower, or no spread, is a slip, not a capability."""
    with pytest.raises(ValueError, match="upper_less_lower"):
        cp(lower=0.101, upper=0.093, spread=0.001)
    with pytest.raises(ValueError, match="spread"):
        cpm(mean=0.097, target=0.097, spread=0.0, **LIMITS)


def test_ten_equal_parts():
    """Ten parts of 0.1: worst case 1.0, root sum square 0.1 times the root of ten."""
    parts = {"coefficients": [1.0] * 10, "tolerances": [0.1] * 10}
    assert worst_case_stack(**parts) == pytest.approx(1.0)
    assert root_sum_square(**parts) == pytest.approx(0.3162, abs=5e-5)


def test_wall_from_ring_and_punch():
    """Half of ring less punch: 2 and 1 micrometre of tolerance give 1.5 at worst, 1.118 by squares."""
    gap = {"coefficients": [0.5, -0.5], "tolerances": [0.002, 0.001]}
    assert worst_case_stack(**gap) == pytest.approx(0.0015)
    assert root_sum_square(**gap) == pytest.approx(0.001118, abs=1e-6)
    assert contribution_shares(**gap) == pytest.approx([0.8, 0.2])


def test_root_sum_square_lies_between_largest_part_and_worst_case():
    """Squares never exceed the worst case nor fall below the largest part alone."""
    rng = np.random.default_rng(3)
    for _ in range(50):
        parts = {"coefficients": rng.normal(size=5), "tolerances": rng.uniform(0, 1, size=5)}
        largest = np.max(np.abs(parts["coefficients"]) * parts["tolerances"])
        assert largest <= root_sum_square(**parts) <= worst_case_stack(**parts)
        assert np.sum(contribution_shares(**parts)) == pytest.approx(1)


def test_correlation_joins_or_cancels():
    """One gauge for both sizes: its error drops out of their difference and doubles in their sum."""
    together = [[1.0, 1.0], [1.0, 1.0]]
    same = {"uncertainties": [0.002, 0.002], "correlations": together}
    assert combined_uncertainty(coefficients=[1.0, -1.0], **same) == pytest.approx(0, abs=1e-12)
    assert combined_uncertainty(coefficients=[1.0, 1.0], **same) == pytest.approx(0.004)


def test_no_correlation_is_root_sum_square():
    """The unit table of correlations changes nothing."""
    inputs = {"coefficients": [0.5, -2.0, 1.0], "uncertainties": [3.0, 1.0, 2.0]}
    independent = combined_uncertainty(**inputs)
    assert combined_uncertainty(correlations=np.eye(3), **inputs) == pytest.approx(independent)
    assert independent == pytest.approx(np.sqrt(1.5**2 + 2**2 + 2**2))


def test_combined_uncertainty_against_sampling():
    """A hundred thousand draws of correlated inputs scatter as the formula says, to 1 %."""
    widths, sensitivities = np.array([1.0, 2.0, 0.5]), np.array([1.0, -0.7, 2.0])
    correlations = np.array([[1.0, 0.6, 0.0], [0.6, 1.0, -0.3], [0.0, -0.3, 1.0]])
    covariance = correlations * np.outer(widths, widths)
    draws = np.random.default_rng(11).multivariate_normal(np.zeros(3), covariance, size=100_000)
    formula = combined_uncertainty(
        coefficients=sensitivities, uncertainties=widths, correlations=correlations
    )
    assert formula == pytest.approx(np.std(draws @ sensitivities), rel=0.01)


def test_one_exact_contribution_adds_no_doubt():
    """A part known exactly has infinite degrees of freedom and leaves the rest to decide."""
    dof = effective_degrees_of_freedom(contributions=[3.0, 4.0], degrees_of_freedom=[10.0, np.inf])
    assert dof == pytest.approx(5**4 / (3**4 / 10))


def test_lists_that_do_not_belong_together_are_refused():
    """As many coefficients as tolerances, and as many counts as contributions."""
    with pytest.raises(ValueError, match="2 contributions do not match 1"):
        root_sum_square(coefficients=[1.0, 1.0], tolerances=[0.1])
    with pytest.raises(ValueError, match="1 contributions do not match 2"):
        effective_degrees_of_freedom(contributions=[1.0], degrees_of_freedom=[4.0, 5.0])
    with pytest.raises(ValueError, match="width"):
        worst_case_stack(coefficients=[1.0], tolerances=[-0.1])
    with pytest.raises(ValueError, match="degrees_of_freedom"):
        effective_degrees_of_freedom(contributions=[1.0], degrees_of_freedom=[0.0])


def test_arrays_equal_single_numbers():
    """Each sample of an array comes out as it would alone, mixed with single numbers."""
    means, spreads = np.array([0.096, 0.097, 0.0985]), np.array([[0.001], [0.0015]])
    together = cpk(mean=means, spread=spreads, **LIMITS)
    for row, column in np.ndindex(together.shape):
        alone = cpk(mean=float(means[column]), spread=float(spreads[row, 0]), **LIMITS)
        assert together[row, column] == pytest.approx(alone)
    tolerances = [np.array([0.1, 0.2, 0.3]), 0.4]
    stack = root_sum_square(coefficients=[1.0, np.array([0.5, 1.0, 2.0])], tolerances=tolerances)
    alone = [
        root_sum_square(coefficients=[1.0, half], tolerances=[first, 0.4])
        for first, half in [(0.1, 0.5), (0.2, 1.0), (0.3, 2.0)]
    ]
    assert stack == pytest.approx(alone)
    counts = effective_degrees_of_freedom(
        contributions=[np.array([1.0, 2.0]), 1.0], degrees_of_freedom=[5.0, 5.0]
    )
    assert counts == pytest.approx([10.0, 25 / (16 / 5 + 1 / 5)])
