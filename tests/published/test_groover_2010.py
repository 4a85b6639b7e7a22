"""Worked examples of a textbook chapter on sheet metalworking.

M. P. Groover, Fundamentals of Modern Manufacturing: Materials, Processes, and Systems, 4th ed.,
Wiley 2010, chapter 20: examples 20.1 (blanking), 20.3 (cup drawing), 20.4 (forces). Numbers of the
examples from memory, high confidence; the example numbering may differ by one between editions.
End-of-chapter problems: question and answer as seen on public question pages.

Units of the source are N, mm, MPa (examples) and inches (one problem). Tolerances: half a unit of
the last digit that the source prints.
"""

from __future__ import annotations

import pytest

from kb.process import blank, draw

EXAMPLE_20_1 = {"disc": 150.0, "gauge": 3.2, "shear_strength": 310.0, "allowance": 0.075}
EXAMPLE_20_3 = {"blank": 138.0, "punch": 75.0, "gauge": 2.4}
EXAMPLE_20_4 = {"tensile": 300.0, "yield": 175.0, "die_radius": 6.0}


def test_example_20_1_punch() -> None:
    """A 150 mm disc of 3.2 mm half-hard steel is cut by a 149.52 mm punch with 0.24 mm a side."""
    gap = blank.die_clearance(gauge=EXAMPLE_20_1["gauge"], allowance=EXAMPLE_20_1["allowance"])
    assert gap == pytest.approx(0.24, abs=0.005)
    assert EXAMPLE_20_1["disc"] - 2 * gap == pytest.approx(149.52, abs=0.005)


def test_example_20_1_force() -> None:
    """Cutting that disc takes 467 469 N."""
    force = blank.cutting_force(
        diameter=EXAMPLE_20_1["disc"],
        gauge=EXAMPLE_20_1["gauge"],
        shear_strength=EXAMPLE_20_1["shear_strength"],
    )
    assert force == pytest.approx(467_469, abs=0.5)


def test_example_20_3_measures_of_drawing() -> None:
    """A 138 mm blank on a 75 mm punch has a draw ratio of 1.84 and a reduction of 45.65 %."""
    before, after = EXAMPLE_20_3["blank"], EXAMPLE_20_3["punch"]
    assert draw.draw_ratio(before=before, after=after) == pytest.approx(1.84, abs=0.005)
    assert 100 * draw.reduction(before=before, after=after) == pytest.approx(45.65, abs=0.005)
    assert 100 * EXAMPLE_20_3["gauge"] / before == pytest.approx(1.74, abs=0.005)


def test_example_20_4_drawing_force() -> None:
    """Drawing that cup takes 193 396 N."""
    force = draw.drawing_force(
        blank_diameter=EXAMPLE_20_3["blank"],
        punch_diameter=EXAMPLE_20_3["punch"],
        gauge=EXAMPLE_20_3["gauge"],
        tensile=EXAMPLE_20_4["tensile"],
    )
    assert force == pytest.approx(193_396, abs=0.5)


def test_example_20_4_holder_force() -> None:
    """Holding that blank down takes 86 824 N."""
    force = draw.holder_force(
        blank_diameter=EXAMPLE_20_3["blank"],
        punch_diameter=EXAMPLE_20_3["punch"],
        gauge=EXAMPLE_20_3["gauge"],
        die_radius=EXAMPLE_20_4["die_radius"],
        yield_strength=EXAMPLE_20_4["yield"],
    )
    assert force == pytest.approx(86_824, abs=0.5)


@pytest.mark.parametrize(
    ("blanked", "pierced", "punch", "die"),
    [
        pytest.param(65.0, 30.0, 64.616, 30.384, id="qammunity.org/13345570"),
        pytest.param(25.0, 12.0, 24.616, 12.384, id="qammunity.org/12074781"),
    ],
)
def test_washer_problem(blanked: float, pierced: float, punch: float, die: float) -> None:
    """A 3.2 mm washer with an allowance of 0.060 takes its clearance off the punch and adds it to the die."""
    gap = blank.die_clearance(gauge=3.2, allowance=0.060)
    assert blanked - 2 * gap == pytest.approx(punch, abs=0.0005)
    assert pierced + 2 * gap == pytest.approx(die, abs=0.0005)


def test_feasibility_problem() -> None:
    """A cup 5.0 in wide and 3.8 in high needs a 10.05 in blank, so its draw ratio passes 2."""
    # question and answer: qammunity.org/7641082
    size = blank.blank_diameter(mean_diameter=5.0, height=3.8)  # inches in, inches out
    assert size == pytest.approx(10.05, abs=0.005)
    assert draw.draw_ratio(before=size, after=5.0) == pytest.approx(2.01, abs=0.005)
