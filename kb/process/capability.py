"""What a process or a gauge can hold: capability indices, tolerance stacks, combined uncertainty.

These serve any quantity: "same unit" stands for the unit of the size in question, and of all its limits.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from kb.process.domain import not_negative, positive
from kb.units import Number, Ratio

Same = Annotated[Number, "same unit"]

Several: TypeAlias = Sequence[Number] | NDArray[Any]
"""One number, or one array of samples, for each contribution in turn."""
SameEach = Annotated[Several, "same unit"]
RatioEach = Annotated[Several, "-"]
Correlations = Annotated[Several | None, "-"]


def cp(*, lower: Same, upper: Same, spread: Same) -> Ratio:
    """Capability if the process were centred.

    Args:
        lower: Lower limit [same unit].
        upper: Upper limit [same unit].
        spread: Standard deviation of the process [same unit].

    Returns:
        Tolerance over six standard deviations [-].

    Raises:
        ValueError: if the spread is not above zero or the limits are not in order.

    Source:
        NIST/SEMATECH e-Handbook of Statistical Methods, section 6.1.6 (from memory, high confidence).

    Note:
        Normal, stable process.

    Example:
        >>> cp(lower=8.0, upper=20.0, spread=2.0)
        1.0
    """
    positive(spread=spread, upper_less_lower=upper - lower)
    return (upper - lower) / (6 * spread)


def cpk(*, mean: Same, lower: Same, upper: Same, spread: Same) -> Ratio:
    """Capability towards the nearer limit.

    Args:
        mean: Mean of the process [same unit].
        lower: Lower limit [same unit].
        upper: Upper limit [same unit].
        spread: Standard deviation of the process [same unit].

    Returns:
        Distance to the nearer limit over three standard deviations; negative outside the limits [-].

    Raises:
        ValueError: if the spread is not above zero or the limits are not in order.

    Source:
        NIST/SEMATECH e-Handbook of Statistical Methods, section 6.1.6 (from memory, high confidence).

    Note:
        Normal, stable process; an estimate from a few cans is very uncertain.

    Example:
        >>> print(cpk(mean=16.0, lower=8.0, upper=20.0, spread=2.0))
        0.6667
    """
    positive(spread=spread, upper_less_lower=upper - lower)
    return np.minimum(upper - mean, mean - lower) / (3 * spread)


def cpm(*, mean: Same, lower: Same, upper: Same, spread: Same, target: Same) -> Ratio:
    """Capability with distance from the target counted as spread.

    Args:
        mean: Mean of the process [same unit].
        lower: Lower limit [same unit].
        upper: Upper limit [same unit].
        spread: Standard deviation of the process [same unit].
        target: Size wanted [same unit].

    Returns:
        Tolerance over six times the root mean square distance from the target [-].

    Raises:
        ValueError: if the spread is not above zero or the limits are not in order.

    Source:
        NIST/SEMATECH e-Handbook of Statistical Methods, section 6.1.6 (from memory, high confidence).

    Note:
        Normal, stable process.

    Example:
        >>> print(cpm(mean=11.0, lower=0.0, upper=30.0, spread=4.0, target=8.0))
        1.0
    """
    positive(spread=spread, upper_less_lower=upper - lower)
    return (upper - lower) / (6 * np.sqrt(spread**2 + (mean - target) ** 2))


def worst_case_stack(*, coefficients: RatioEach, tolerances: SameEach) -> Same:
    """Tolerance of a sum when everything is at its worst at once.

    Args:
        coefficients: How much the sum moves per unit of each contribution, sign free [-].
        tolerances: Half tolerance of each contribution [same unit].

    Returns:
        Half tolerance of the sum [same unit].

    Raises:
        ValueError: if a tolerance is negative or the two lists differ in length.

    Source:
        Definition.

    Example:
        >>> print(worst_case_stack(coefficients=[1.0, -1.0], tolerances=[0.3, 0.4]))
        0.7
    """
    return np.abs(_contributions(coefficients, tolerances)).sum(axis=0)


def root_sum_square(*, coefficients: RatioEach, tolerances: SameEach) -> Same:
    """Tolerance of a sum when contributions are independent and centred.

    Args:
        coefficients: How much the sum moves per unit of each contribution, sign free [-].
        tolerances: Half tolerance of each contribution [same unit].

    Returns:
        Half tolerance of the sum, at the same confidence as the contributions [same unit].

    Raises:
        ValueError: if a tolerance is negative or the two lists differ in length.

    Source:
        Derived: variances of independent contributions add.

    Note:
        Too small when a tool sits at one end of its tolerance for its whole life, as rings and punches do.

    Example:
        >>> print(root_sum_square(coefficients=[1.0, -1.0], tolerances=[0.3, 0.4]))
        0.5
    """
    return np.sqrt((_contributions(coefficients, tolerances) ** 2).sum(axis=0))


def combined_uncertainty(
    *, coefficients: RatioEach, uncertainties: SameEach, correlations: Correlations = None
) -> Same:
    """Standard uncertainty of a result from those of its inputs.

    Args:
        coefficients: How much the result moves per unit of each input, with sign [-].
        uncertainties: Standard uncertainty of each input [same unit].
        correlations: Square table of correlation coefficients; none when all are independent [-].

    Returns:
        Combined standard uncertainty [same unit].

    Raises:
        ValueError: if an uncertainty is negative or the lists differ in length.

    Source:
        JCGM 100:2008 (GUM), equations 10 and 13 (from memory, high confidence).

    Note:
        First order: for a result that bends over the width of an uncertainty, sample instead.

    Example:
        >>> print(combined_uncertainty(coefficients=[1.0, 1.0], uncertainties=[3.0, 4.0]))
        5.0
    """
    parts = _contributions(coefficients, uncertainties)
    if correlations is None:
        return np.sqrt((parts**2).sum(axis=0))
    return np.sqrt(np.einsum("i...,ij,j...->...", parts, np.asarray(correlations), parts))


def effective_degrees_of_freedom(*, contributions: SameEach, degrees_of_freedom: RatioEach) -> Ratio:
    """Degrees of freedom of a combined uncertainty.

    Args:
        contributions: Uncertainty each input brings to the result, coefficient included [same unit].
        degrees_of_freedom: Degrees of freedom of each; infinite where it is known exactly [-].

    Returns:
        Effective degrees of freedom, not rounded down [-].

    Raises:
        ValueError: if a count is not above zero or the lists differ in length.

    Source:
        JCGM 100:2008 (GUM), equation G.2b, Welch-Satterthwaite (from memory, high confidence).

    Note:
        Independent inputs, at least one of them above zero and with finite degrees of freedom.

    Example:
        >>> print(effective_degrees_of_freedom(contributions=[1.0, 1.0], degrees_of_freedom=[5.0, 5.0]))
        10.0
    """
    for count in degrees_of_freedom:
        positive(degrees_of_freedom=count)
    _same_length(contributions, degrees_of_freedom)
    fourth = _stacked(
        [part**4 / count for part, count in zip(contributions, degrees_of_freedom, strict=True)]
    )
    squares = _stacked([part**2 for part in contributions])
    return squares.sum(axis=0) ** 2 / fourth.sum(axis=0)


def contribution_shares(*, coefficients: RatioEach, tolerances: SameEach) -> Ratio:
    """Part of the variance of a sum that each contribution brings.

    Args:
        coefficients: How much the sum moves per unit of each contribution, sign free [-].
        tolerances: Half tolerance or standard deviation of each contribution [same unit].

    Returns:
        One share for each contribution in the same order; they sum to one [-].

    Raises:
        ValueError: if a tolerance is negative or the two lists differ in length.

    Source:
        Derived: squares over their sum, from `root_sum_square`.

    Note:
        Independent contributions, at least one of them above zero.

    Example:
        >>> print(contribution_shares(coefficients=[1.0, -1.0], tolerances=[3.0, 4.0]))
        [0.36 0.64]
    """
    squares = _contributions(coefficients, tolerances) ** 2
    return squares / squares.sum(axis=0)


def _contributions(coefficients: Several, widths: Several) -> NDArray[Any]:
    """Coefficient times width, first axis the contributions [same unit]."""
    for width in widths:
        not_negative(width=width)
    _same_length(coefficients, widths)
    return _stacked([each * width for each, width in zip(coefficients, widths, strict=True)])


def _stacked(numbers: Sequence[Number]) -> NDArray[Any]:
    """Numbers and samples brought to one shape, first axis the contributions."""
    return np.stack(np.broadcast_arrays(*(np.asarray(number, dtype=float) for number in numbers)))


def _same_length(first: Several, second: Several) -> None:
    """Refuse two lists that do not belong together."""
    if len(first) != len(second):
        raise ValueError(f"{len(first)} contributions do not match {len(second)}")
