"""Dies for drawing, redrawing and ironing a large steel vessel.

Chinese Journal of Mechanical Engineering 35 (2022), doi 10.1186/s10033-022-00681-9, table 8: design of
punch and die with the rules of at most 35 % off the section in one ring and 50 % in one stage. The page seen
shows the table and not the authors.

Units of the source are mm, mm2, %. Tolerances: half a unit of the last digit printed, but for the areas,
which the table rounds from its own unrounded diameters.
"""

from __future__ import annotations

import pytest

from kb.process import draw, ironing, material

BLANK = 1129.0
FIRST = {"punch_diameter": 470.51, "bore": 490.51}
REDRAW = {"punch_diameter": 332.5, "bore": 352.5}
IRONING_1 = {"punch_diameter": 332.5, "bore": 346.7}
IRONING_2 = {"punch_diameter": 332.5, "bore": 341.9}


def section(tools: dict[str, float]) -> float:
    """Section of the vessel's wall between punch and die, as the force that 1 MPa makes of it [mm2]."""
    wall = ironing.gap(**tools)
    return float(
        ironing.wall_tension(stress=1.0, mean_diameter=tools["punch_diameter"] + wall, wall_out=wall)
    )


def test_draw_ratios() -> None:
    """The first draw is 2.4, the redraw 1.42."""
    first = draw.draw_ratio(before=BLANK, after=FIRST["punch_diameter"])
    redraw = draw.draw_ratio(before=FIRST["punch_diameter"], after=REDRAW["punch_diameter"])
    assert first == pytest.approx(2.4, abs=0.05)
    assert redraw == pytest.approx(1.42, abs=0.005)


@pytest.mark.parametrize(
    ("tools", "area"),
    [(FIRST, 15_095.7), (REDRAW, 10_760.0), (IRONING_1, 7_574.9), (IRONING_2, 4_979.0)],
    ids=["first draw", "redraw", "ironing 1", "ironing 2"],
)
def test_sections(tools: dict[str, float], area: float) -> None:
    """The section between punch and die comes out as printed."""
    assert section(tools) == pytest.approx(area, rel=1e-4)


def test_reductions_of_the_section() -> None:
    """The rings take 29.6 % and 34.3 % off the section, redraw and first ring together 49.8 %."""
    first, redraw, ring_1, ring_2 = (section(tools) for tools in (FIRST, REDRAW, IRONING_1, IRONING_2))
    assert 100 * (1 - ring_1 / redraw) == pytest.approx(29.6, abs=0.05)
    assert 100 * (1 - ring_1 / first) == pytest.approx(49.8, abs=0.05)
    assert 100 * (1 - ring_2 / ring_1) == pytest.approx(34.3, abs=0.05)


def test_wall_reduction_is_nearly_that_of_the_section() -> None:
    """On a punch of one diameter the wall loses 29.0 % where the section loses 29.6 %."""
    thinner = material.reduction(before=ironing.gap(**REDRAW), after=ironing.gap(**IRONING_1))
    assert 100 * thinner == pytest.approx(29.0)
