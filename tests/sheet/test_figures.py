"""Exact decimals, and limits rounded into the band."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from kb.sheet.figures import (
    ExactLimits,
    converted,
    decimals_in,
    decimals_of,
    exact,
    inward,
    number_of,
    rounded,
)

INCH = Fraction(10, 254)


@pytest.mark.parametrize(
    ("number", "decimals", "way", "text"),
    [
        ("0.0970", 4, "near", "0.0970"),
        ("7", 0, "near", "7"),
        ("1.005", 2, "near", "1.01"),
        ("-0.5", 0, "near", "−1"),
        ("-0.004", 2, "near", "0.00"),
        ("2.0551", 3, "up", "2.056"),
        ("2.0559", 3, "down", "2.055"),
        ("-2.0551", 3, "up", "−2.055"),
        ("-2.0551", 3, "down", "−2.056"),
        ("0.001", 2, "up", "0.01"),
    ],
)
def test_numbers_are_rounded_the_way_required(number: str, decimals: int, way: str, text: str) -> None:
    """Halves go away from zero, limits where the rounding says so, zeros stay, the minus is a true one."""
    assert rounded(exact(number), decimals, way) == text  # type: ignore[arg-type]


def test_noise_of_the_machine_moves_no_limit() -> None:
    """A computed 137.46 that is a hair more is not rounded up to the next step."""
    assert rounded(exact(137.41 + 0.05), 2, "up") == "137.46"
    assert rounded(exact(0.1 + 0.2), 1, "up") == "0.3"


@given(
    numerator=st.integers(-(10**9), 10**9),
    decimals=st.integers(0, 6),
    way=st.sampled_from(["near", "up", "down"]),
)
def test_a_printed_number_is_within_a_step_of_the_exact_one(numerator: int, decimals: int, way: str) -> None:
    """Rounding moves by less than one step, up never down and down never up."""
    number = Fraction(numerator, 10**7)
    printed = number_of(rounded(number, decimals, way))  # type: ignore[arg-type]
    step = Fraction(1, 10**decimals)
    assert abs(printed - number) <= (step / 2 if way == "near" else step)
    assert way != "up" or printed >= number
    assert way != "down" or printed <= number
    assert decimals_of(rounded(number, decimals, way).replace("−", "-")) == decimals  # type: ignore[arg-type]


sizes = st.decimals(min_value="0.05", max_value="300", places=3).map(str).map(exact)


@given(target=sizes, side=st.integers(0, 400), decimals=st.integers(1, 4))
def test_the_band_in_inches_is_inside_the_band_in_millimetres(
    target: Fraction, side: int, decimals: int
) -> None:
    """No can that passes by the inches fails by the millimetres, for any band and decimals."""
    half = Fraction(side, 10**decimals)
    primary = ExactLimits(target - half, target, target + half)
    shown = inward(converted(primary, INCH, Fraction(0)), decimals_in(decimals, INCH))
    if shown is None:
        return
    least, aim, most = (number_of(one) / INCH for one in shown)
    if side:
        assert primary.least is not None
        assert primary.most is not None
        assert primary.least <= least <= aim <= most <= primary.most
        assert least < most


@given(low=sizes, high=sizes, decimals=st.integers(0, 4))
def test_a_band_that_rounding_would_close_is_left_out(low: Fraction, high: Fraction, decimals: int) -> None:
    """There is a text exactly where two different printed limits lie inside the band."""
    assume(low < high)
    least, most = (
        number_of(rounded(one, decimals, way))
        for one, way in ((low, "up"), (high, "down"))  # type: ignore[arg-type]
    )
    assert (inward(ExactLimits(low, None, high), decimals) is None) == (least >= most)


@given(target=sizes, decimals=st.integers(0, 3))
def test_steps_in_inches_are_as_fine_as_in_millimetres(target: Fraction, decimals: int) -> None:
    """A step of the last inch decimal is at most one of the last millimetre decimal, and above its tenth."""
    step = Fraction(1, 10 ** decimals_in(decimals, INCH)) / INCH
    assert Fraction(1, 10 ** (decimals + 1)) < step <= Fraction(1, 10**decimals)


def test_a_target_outside_the_inward_limits_is_drawn_to_them() -> None:
    """A target at its own limit is printed as the limit is."""
    shown = inward(ExactLimits(exact("1.004"), exact("1.004"), exact("1.020")), 2)
    assert shown == ("1.01", "1.01", "1.02")


def test_one_sided_limits_leave_the_other_side_empty() -> None:
    """What is not there is no text."""
    assert inward(ExactLimits(exact("620"), None, None), 0) == ("620", "", "")
    assert inward(ExactLimits(None, exact("7"), None), 0) == ("", "7", "")
