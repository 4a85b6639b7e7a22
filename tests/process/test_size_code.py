from __future__ import annotations

import pytest

from kb.process.size_code import nominal_inches, nominal_mm

SIZES = {
    "200": 50.8,
    "202": 53.975,
    "204": 57.15,
    "206": 60.325,
    "209": 65.0875,
    "211": 68.2625,
    "300": 76.2,
    "307": 87.3125,
    "413": 122.2375,
    "603": 157.1625,
    "1012": 273.05,
}


@pytest.mark.parametrize(("code", "millimetres"), SIZES.items())
def test_size_by_hand(code, millimetres):
    """Whole inches and sixteenths, times 25.4, to the last digit."""
    assert nominal_mm(code=code) == pytest.approx(millimetres, abs=1e-9)


def test_sixteenths_count_up_to_the_next_inch():
    """From 200 to 300 each code is a sixteenth above the last."""
    codes = [f"2{sixteenths:02}" for sixteenths in range(16)] + ["300"]
    inches = [nominal_inches(code=code) for code in codes]
    assert inches == [2 + step / 16 for step in range(17)]


@pytest.mark.parametrize(
    "code",
    [
        "",
        "2",
        "21",
        "20211",
        "2.11",
        "+11",
        "-211",
        " 211",
        "211 ",
        "211\n",
        "2l1",
        "011",
        "0211",
        "207½",
        "２１１",
        "2１１",
    ],
)
def test_what_is_not_a_code_is_refused_in_one_line(code):
    """Wrong length, signs, blanks, letters, leading zeros and digits of other scripts are no size code."""
    with pytest.raises(ValueError, match="size code") as fault:
        nominal_inches(code=code)
    assert "\n" not in str(fault.value)


@pytest.mark.parametrize("code", ["216", "299", "1016"])
def test_sixteen_sixteenths_are_refused(code):
    """Sixteen sixteenths would be the next inch, so the code is a slip."""
    with pytest.raises(ValueError, match="the most is 15"):
        nominal_mm(code=code)
