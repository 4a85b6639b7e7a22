"""Calibration factors: few trials, many trials, trials whose estimates are uncertain too."""

from __future__ import annotations

import numpy as np
import pytest

from kb.process.calibration import both_uncertain, coverage, straight_line, through_origin, with_prior

RATIOS = np.array([0.92, 0.95, 0.90, 0.97, 0.93])


def test_a_prior_loses_weight_with_each_trial() -> None:
    """One trial moves the assumed factor half-way and more; five leave little of it."""
    first, all_five = (
        with_prior(ratio=RATIOS[:count], prior=1.0, prior_uncertainty=0.15, scatter=0.04) for count in (1, 5)
    )
    assert (first.factor, first.uncertainty) == pytest.approx((0.92531, 0.03865), abs=5e-6)
    assert (all_five.factor, all_five.uncertainty) == pytest.approx((0.93493, 0.01776), abs=5e-6)
    assert all_five.next_uncertainty == pytest.approx(0.04377, abs=5e-6)


def test_without_a_prior_the_interval_is_that_of_student() -> None:
    """The mean of five equal estimates, with t for four degrees of freedom."""
    pytest.importorskip("scipy")
    one = through_origin(estimate=np.ones(5), measured=RATIOS)
    assert one.factor == pytest.approx(0.934)
    assert coverage(trials=5) * one.uncertainty == pytest.approx(0.0336, abs=1e-4)


@pytest.mark.parametrize(
    ("trials", "width"),
    [
        (2, 8.985),
        (3, 2.484),
        (4, 1.591),
        (5, 1.242),
        (6, 1.049),
        (8, 0.836),
        (10, 0.715),
        (20, 0.468),
        (30, 0.373),
    ],
)
def test_few_trials_prove_little(trials: int, width: float) -> None:
    """Half the 95 % interval of a mean over its standard deviation."""
    pytest.importorskip("scipy")
    assert coverage(trials=trials) / np.sqrt(trials) == pytest.approx(width, abs=6e-4)


def test_certain_estimates_give_least_squares() -> None:
    """Where only the measured values are uncertain, both fits agree."""
    x = np.array([560.0, 600.0, 640.0, 655.0])
    y = 0.97 * x + np.array([4.0, -5.0, 3.0, -2.0])
    plain = through_origin(estimate=x, measured=y)
    fitted = both_uncertain(
        estimate=x, measured=y, estimate_uncertainty=np.zeros(4), measured_uncertainty=np.full(4, 4.0)
    )
    assert fitted.factor == pytest.approx(plain.factor, rel=1e-12)


def test_both_axes_may_change_places() -> None:
    """With both axes uncertain, the factor of the exchanged axes is the inverse."""
    x, y = np.array([560.0, 600.0, 640.0, 655.0]), np.array([548.0, 574.0, 625.0, 633.0])
    of_x, of_y = np.array([6.0, 3.0, 8.0, 5.0]), np.array([4.0, 7.0, 5.0, 6.0])
    there = both_uncertain(estimate=x, measured=y, estimate_uncertainty=of_x, measured_uncertainty=of_y)
    back = both_uncertain(estimate=y, measured=x, estimate_uncertainty=of_y, measured_uncertainty=of_x)
    assert there.factor * back.factor == pytest.approx(1.0, rel=1e-9)
    plain = through_origin(estimate=x, measured=y), through_origin(estimate=y, measured=x)
    assert plain[0].factor * plain[1].factor != pytest.approx(1.0, rel=1e-9)


@pytest.mark.parametrize("bad", [[600.0], [600.0, 0.0], [600.0, -1.0], [600.0, np.nan]])
def test_values_that_prove_nothing_are_refused(bad: list[float]) -> None:
    """One trial alone, and values that are not above zero, are errors."""
    with pytest.raises(ValueError, match=r"trials|above zero"):
        through_origin(estimate=np.array(bad), measured=np.full(len(bad), 600.0))


def test_a_line_needs_three_estimates() -> None:
    """No trials, two, or trials at one and the same estimate give no line."""
    for estimate in ([], [600.0, 610.0], [600.0] * 4):
        with pytest.raises(ValueError, match="more than one estimate"):
            straight_line(estimate=np.array(estimate), measured=np.full(len(estimate), 600.0))
