from __future__ import annotations

import math

import pytest

from kb.process import pallet

PALLET = {"length": 1120.0, "width": 1420.0, "diameter": 66.2}


def placed_staggered(length: float, width: float, diameter: float) -> int:
    """Cans set down one by one: rows from the first edge on, every second row moved by half a can."""
    slack = 1e-7
    count, row = 0, 0
    while True:
        y = diameter / 2 + row * diameter * math.sqrt(3) / 2
        if y + diameter / 2 > length + slack:
            return count
        x = diameter / 2 + (diameter / 2 if row % 2 else 0.0)
        while x + diameter / 2 <= width + slack:
            count += 1
            x += diameter
        row += 1


def test_can_pallet() -> None:
    """A layer of 1120 x 1420 mm holds 390 cans of 66.2 mm staggered, 384 the other way, 336 square."""
    # 19 rows of 21 and 20: 10 x 21 + 9 x 20
    assert pallet.staggered_layer(**PALLET) == 390
    assert pallet.staggered_layer(length=1420.0, width=1120.0, diameter=66.2) == 384
    assert pallet.square_layer(**PALLET) == 336
    assert pallet.best_layer(**PALLET) == (390, "staggered, rows across the width")


def test_turned_pallet_names_the_other_pattern() -> None:
    """Turned by a right angle the same layer is named by its other side."""
    turned = {"length": 1420.0, "width": 1120.0, "diameter": 66.2}
    assert pallet.best_layer(**turned) == (390, "staggered, rows along the length")


@pytest.mark.parametrize("diameter", [52.8, 57.3, 66.0, 66.2, 84.1])
@pytest.mark.parametrize("length", [250.0, 800.0, 1000.0, 1120.0, 1200.0])
@pytest.mark.parametrize("width", [66.2, 99.3, 300.0, 1142.0, 1420.0])
def test_count_is_what_can_be_placed(length: float, width: float, diameter: float) -> None:
    """The rule counts the cans that setting them down one by one counts."""
    layer = {"length": length, "width": width, "diameter": diameter}
    assert pallet.staggered_layer(**layer) == placed_staggered(**layer)


def test_second_row_with_room_for_half_a_can() -> None:
    """With half a can to spare the second row holds as many as the first, with less one less."""
    two_rows = 1 + math.sqrt(3) / 2
    assert pallet.staggered_layer(length=two_rows, width=3.5, diameter=1.0) == 6
    assert pallet.staggered_layer(length=two_rows, width=3.49, diameter=1.0) == 5


@pytest.mark.parametrize("cans", [1, 3, 7, 10, 21, 49])
@pytest.mark.parametrize("diameter", [0.1, 52.4, 66.2, 66.23])
def test_exact_fit_counts(cans: int, diameter: float) -> None:
    """So many cans side by side fill their own width, for any last digit of the product."""
    summed = sum([diameter] * cans)
    for side in (cans * diameter, summed):
        assert pallet.square_layer(length=side, width=side, diameter=diameter) == cans * cans


def test_exact_fit_of_rows() -> None:
    """Rows that fill the length exactly all count."""
    for rows in range(1, 30):
        length = 66.2 * (1 + (rows - 1) * math.sqrt(3) / 2)
        count = pallet.staggered_layer(length=length, width=66.2 * 4.5, diameter=66.2)
        assert count == 4 * rows


def test_single_row_and_none() -> None:
    """One can fits where one can fits, none in less."""
    assert pallet.staggered_layer(length=66.2, width=66.2, diameter=66.2) == 1
    assert pallet.staggered_layer(length=66.1, width=500.0, diameter=66.2) == 0
    assert pallet.staggered_layer(length=500.0, width=66.1, diameter=66.2) == 0
    assert pallet.staggered_layer(length=5.0, width=500.0, diameter=66.2) == 0
    assert pallet.staggered_layer(length=500.0, width=5.0, diameter=66.2) == 0
    assert pallet.square_layer(length=66.1, width=500.0, diameter=66.2) == 0
    assert pallet.best_layer(length=66.1, width=500.0, diameter=66.2) == (0, "square")


def test_nothing_to_stack_is_refused() -> None:
    """A can without width or height is refused by name."""
    with pytest.raises(ValueError, match="diameter must be above zero"):
        pallet.square_layer(length=100.0, width=100.0, diameter=0.0)
