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

from kb.process import blank, draw, material
from tests.cups import blank_of_cup

EXAMPLE_20_1 = {"disc": 150.0, "gauge": 3.2, "shear_strength": 310.0}
EXAMPLE_20_3 = {"blank": 138.0, "punch": 75.0, "gauge": 2.4}
EXAMPLE_20_4 = {"tensile": 300.0}


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
    assert 100 * material.reduction(before=before, after=after) == pytest.approx(45.65, abs=0.005)
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


def test_feasibility_problem() -> None:
    """A cup 5.0 in wide and 3.8 in high needs a 10.05 in blank, so its draw ratio passes 2."""
    # question and answer: qammunity.org/7641082
    size = blank_of_cup(mean_diameter=5.0, height=3.8)  # inches in, inches out
    assert size == pytest.approx(10.05, abs=0.005)
    assert draw.draw_ratio(before=size, after=5.0) == pytest.approx(2.01, abs=0.005)
