"""Calibration: what measured values say of an estimate, with the doubt that is left."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from kb.process.domain import positive

Values = NDArray[np.float64]

_STEPS = 200
_SETTLED = 1e-14


@dataclass(frozen=True, slots=True)
class Factor:
    """measured = factor * estimate.

    Attributes:
        factor: measured over estimate [-].
        uncertainty: standard uncertainty of the factor [-].
        scatter: standard deviation of one more trial about the factor [-].
        trials: how many trials.
    """

    factor: float
    uncertainty: float
    scatter: float
    trials: int

    @property
    def next_uncertainty(self) -> float:
        """Standard uncertainty of the ratio of one more trial [-]."""
        return math.hypot(self.uncertainty, self.scatter)


@dataclass(frozen=True, slots=True)
class FittedLine:
    """measured = intercept + slope * estimate, with standard uncertainties and their correlation."""

    intercept: float
    slope: float
    intercept_uncertainty: float
    slope_uncertainty: float
    correlation: float
    residual: float


def through_origin(*, estimate: Values, measured: Values) -> Factor:
    """Least squares through the origin.

    Args:
        estimate: estimates, shape (n,), in any one unit.
        measured: measured values, shape (n,), in the same unit.

    Returns:
        The factor.

    Raises:
        ValueError: if there are fewer than two trials, or a value is not above zero.

    Source:
        NIST Statistical Reference Datasets, linear regression without intercept.

    Example:
        >>> one = through_origin(estimate=np.array([600.0, 640.0]), measured=np.array([606.0, 634.0]))
        >>> print(f"{one.factor:.4f} {one.uncertainty:.4f}")
        0.9997 0.0097
    """
    _trials(estimate=estimate, measured=measured)
    squares = float(np.sum(estimate**2))
    factor = float(np.sum(estimate * measured)) / squares
    count = len(estimate)
    residual = np.sqrt(np.sum((measured - factor * estimate) ** 2) / (count - 1))
    size = np.sqrt(squares / count)
    return Factor(factor, float(residual / np.sqrt(squares)), float(residual / size), count)


def both_uncertain(
    *, estimate: Values, measured: Values, estimate_uncertainty: Values, measured_uncertainty: Values
) -> Factor:
    """Least squares through the origin where estimates and measured values are both uncertain.

    Args:
        estimate: estimates, shape (n,), in any one unit.
        measured: measured values, shape (n,), in the same unit.
        estimate_uncertainty: standard uncertainty of each estimate.
        measured_uncertainty: standard uncertainty of each measured value, above zero.

    Returns:
        The factor. Its uncertainty is that of the given uncertainties, or that of the residuals where they
        are larger.

    Raises:
        ValueError: if there are fewer than two trials, or a value is not above zero.

    Source:
        York, Evensen, Martinez, De Basabe Delgado, American Journal of Physics 72 (2004) 367, with the line
        held at the origin.

    Example:
        >>> x, y = np.array([600.0, 640.0]), np.array([606.0, 634.0])
        >>> small = np.full(2, 1e-6)
        >>> one = both_uncertain(
        ...     estimate=x, measured=y, estimate_uncertainty=small, measured_uncertainty=np.full(2, 5.0)
        ... )
        >>> print(f"{one.factor:.4f}")
        0.9997
    """
    _trials(estimate=estimate, measured=measured)
    _above_zero(measured_uncertainty=measured_uncertainty)
    factor = float(np.mean(measured / estimate))
    for _ in range(_STEPS):
        weight = 1 / (measured_uncertainty**2 + factor**2 * estimate_uncertainty**2)
        adjusted = weight * (estimate * measured_uncertainty**2 + factor * estimate_uncertainty**2 * measured)
        before, factor = (
            factor,
            float(np.sum(weight * adjusted * measured) / np.sum(weight * adjusted * estimate)),
        )
        if abs(factor - before) <= _SETTLED * abs(factor):
            break
    count = len(estimate)
    weight = 1 / (measured_uncertainty**2 + factor**2 * estimate_uncertainty**2)
    inner = 1 / np.sqrt(np.sum(weight * estimate**2))
    misfit = np.sum(weight * (measured - factor * estimate) ** 2) / (count - 1)
    residual = np.sqrt(np.sum((measured / estimate - factor) ** 2) / (count - 1))
    return Factor(factor, float(inner * np.sqrt(max(1.0, misfit))), float(residual), count)


def with_prior(*, ratio: Values, prior: float, prior_uncertainty: float, scatter: float) -> Factor:
    """A factor from few trials and what was assumed before them, both normal.

    Args:
        ratio: measured over estimate of each trial, shape (n,).
        prior: factor that was assumed [-].
        prior_uncertainty: its standard uncertainty [-].
        scatter: standard deviation of a trial about the factor [-].

    Returns:
        The factor.

    Raises:
        ValueError: if a value is not above zero.

    Source:
        Normal prior and normal scatter of known size: the weights are one over the squared uncertainties.

    Example:
        >>> one = with_prior(ratio=np.array([0.92]), prior=1.0, prior_uncertainty=0.15, scatter=0.04)
        >>> print(f"{one.factor:.5f} {one.uncertainty:.5f}")
        0.92531 0.03865
    """
    _above_zero(ratio=ratio)
    positive(prior=prior, prior_uncertainty=prior_uncertainty, scatter=scatter)
    weights = np.array([1 / prior_uncertainty**2, *np.full(len(ratio), 1 / scatter**2)])
    factor = float(np.sum(weights * np.array([prior, *ratio])) / np.sum(weights))
    return Factor(factor, float(1 / np.sqrt(np.sum(weights))), float(scatter), len(ratio))


def straight_line(*, estimate: Values, measured: Values) -> FittedLine:
    """Least squares with an intercept: whether the line of the trials meets the origin.

    Args:
        estimate: estimates, shape (n,), in any one unit.
        measured: measured values, shape (n,), in the same unit.

    Returns:
        The line.

    Raises:
        ValueError: if there are fewer than three trials, or all estimates are equal.

    Source:
        JCGM 100:2008 (GUM), H.3.

    Example:
        >>> line = straight_line(estimate=np.array([1.0, 2.0, 3.0]), measured=np.array([1.1, 1.9, 3.0]))
        >>> print(f"{line.intercept:.2f} {line.slope:.2f}")
        0.10 0.95
    """
    count = len(estimate)
    centre = float(np.sum(estimate)) / max(count, 1)
    spread = float(np.sum((estimate - centre) ** 2))
    if count < 3 or spread <= 0:
        raise ValueError("a line needs three trials at more than one estimate")
    slope = float(np.sum((estimate - centre) * measured)) / spread
    intercept = float(np.mean(measured)) - slope * centre
    residual = float(np.sqrt(np.sum((measured - intercept - slope * estimate) ** 2) / (count - 2)))
    squares = float(np.sum(estimate**2))
    return FittedLine(
        intercept=intercept,
        slope=slope,
        intercept_uncertainty=residual * float(np.sqrt(squares / (count * spread))),
        slope_uncertainty=residual / float(np.sqrt(spread)),
        correlation=-centre / float(np.sqrt(squares / count)),
        residual=residual,
    )


def coverage(*, trials: int, share: float = 0.95) -> float:
    """Standard uncertainties on each side that hold a share of what comes, after so many trials.

    Args:
        trials: how many trials the factor has, at least two.
        share: share that is to be held [-].

    Returns:
        Student's t for `trials - 1` degrees of freedom [-].

    Raises:
        ValueError: if there are fewer than two trials.

    Source:
        JCGM 100:2008 (GUM), G.3.

    Note:
        Needs SciPy.

    Example:
        >>> print(f"{coverage(trials=4):.3f}")
        3.182
    """
    if trials < 2:
        raise ValueError("an interval needs two trials")
    from scipy.special import stdtrit  # noqa: PLC0415  (an optional package)

    return float(stdtrit(trials - 1, (1 + share) / 2))


def _trials(*, estimate: Values, measured: Values) -> None:
    if len(estimate) != len(measured) or len(estimate) < 2:
        raise ValueError("a factor needs two trials, each with estimate and measured value")
    _above_zero(estimate=estimate, measured=measured)


def _above_zero(**values: Values) -> None:
    for name, value in values.items():
        if not np.all(value > 0):
            raise ValueError(f"each {name} must be above zero")
