"""Draw limit and holder pressure of a forming handbook.

H. Tschaetsch, Metal Forming Practise: Processes, Machines, Tools, Springer 2006, chapter on deep drawing;
holder pressure after E. Siebel. Formulas from memory, medium confidence; no worked number of the book
was at hand, so values are worked by hand from the printed forms.

Units of the source are mm and N/mm2. Tolerance: half a unit of the last digit of the hand-worked value.
"""

from __future__ import annotations

import pytest

from kb.process import draw

INCH = 25.4  # mm
GOOD, POORER = {"bound": 2.15, "slope": 1.0}, {"bound": 2.0, "slope": 1.1}
CAN = {"punch_diameter": 3.5 * INCH, "gauge": 0.011 * INCH}  # d/t = 318


@pytest.mark.parametrize(("sheet", "ratio"), [(GOOD, 2.05), (POORER, 1.89)], ids=["good", "poorer"])
def test_limit_at_a_hundred_gauges(sheet: dict[str, float], ratio: float) -> None:
    """A punch of a hundred gauges loses 0.10 of a good sheet's ratio and 0.11 of a poorer one's."""
    limit = draw.limiting_ratio_from_thickness(punch_diameter=100.0, gauge=1.0, **sheet)
    assert limit == pytest.approx(ratio)


@pytest.mark.parametrize(("sheet", "ratio"), [(GOOD, 1.832), (POORER, 1.650)], ids=["good", "poorer"])
def test_limit_of_can_sheet(sheet: dict[str, float], ratio: float) -> None:
    """Can sheet is thin for its punch, yet a first draw of 1.571 keeps within both limits."""
    limit = draw.limiting_ratio_from_thickness(**CAN, **sheet)
    assert limit == pytest.approx(ratio, abs=0.0005)
    assert draw.draw_ratio(before=5.5, after=3.5) < limit
