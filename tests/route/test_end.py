"""The end: its groove, its mass, and the pressure at which it buckles."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import fields

import numpy as np
import pytest

from kb.process.shell import EndSizes
from kb.route import take
from kb.route.assemble import Assembled
from kb.route.body import end_sizes
from kb.route.case import Case

REFERENCE = {
    "end.gauge": 0.208,
    "end.panel_diameter": 44.408,
    "end.panel_corner_radius": 0.396,
    "end.countersink_radius": 0.396,
    "end.panel_height": 2.286,
    "end.countersink": 6.858,
    "end.chuck_wall_angle": 12.0,
    "end.chuck_diameter": 48.72,
    "end_stock.yield_after_bake": 345.0,
    "end_stock.modulus": 69_600.0,
}
"""The end that solid elements were computed for, as a file of an end has it."""


@pytest.fixture
def case(formats: Mapping[str, Assembled]) -> Case:
    """The demo's 330 ml can with its 202 end."""
    return formats["b211-330"].case


def buckling(case: Case, **moved: float) -> float:
    """Pressure at which the end of a case buckles with other sizes [MPa]."""
    other = case.with_nominals({f"end.{name}": value for name, value in moved.items()})
    return float(take(other).loose_end.buckling)  # type: ignore[arg-type]


def test_an_end_file_gives_the_sizes_of_the_shell(case: Case) -> None:
    """The sizes that a file of an end declares are those of the reference in the middle of the metal."""
    found = end_sizes(case.put(REFERENCE))
    wanted = EndSizes(
        panel_radius=21.6,
        corner_radius=0.5,
        countersink_radius=0.5,
        flat=0.0,
        panel_height=2.286,
        depth=6.858,
        chuck_wall_angle=12.0,
        gauge=0.208,
    )
    for one in fields(EndSizes):
        assert float(getattr(found, one.name)) == pytest.approx(getattr(wanted, one.name), abs=2e-3)


def test_the_end_buckles_where_solid_elements_say(case: Case) -> None:
    """From the file of the end to the result: 0.728 MPa of the reference, to 3 %."""
    reference = case.with_nominals(REFERENCE)
    assert float(take(reference).loose_end.buckling) == pytest.approx(0.728, rel=0.03)  # type: ignore[arg-type]


def test_what_makes_an_end_hold_more(case: Case) -> None:
    """Thicker metal, a narrower groove and a higher panel hold more; a smaller panel in one chuck less."""
    usual, end = buckling(case), case.end
    assert buckling(case, gauge=float(end.gauge) + 0.01) > 1.05 * usual
    assert buckling(case, panel_diameter=float(end.panel_diameter) + 0.08) > usual
    assert buckling(case, panel_diameter=float(end.panel_diameter) - 0.3) < usual
    assert buckling(case, panel_height=float(end.panel_height) + 0.2) > usual


def test_samples_are_single_ends(case: Case) -> None:
    """Ends within the tolerances, computed together, are those solved alone, to 0.5 %."""
    gauges = np.array([0.204, 0.208, 0.212])
    together = take(case.put({"end.gauge": gauges})).loose_end.buckling
    alone = [buckling(case, gauge=float(gauge)) for gauge in gauges]
    assert together == pytest.approx(alone, rel=0.005)


def test_an_end_without_room_for_its_groove_shows_in_its_flat(case: Case) -> None:
    """A panel that is too large leaves less than no flat; its pressure is that of a groove without one."""
    wide = take(case.with_nominals({"end.panel_diameter": 48.5})).loose_end
    assert float(wide.flat) < 0
    assert np.isfinite(wide.buckling)


def test_the_mass_of_an_end_is_that_of_its_cut_edge(case: Case) -> None:
    """Disc of the cut edge times gauge times density; the rest of the mass is tab, coating and compound."""
    end = take(case.put({"end.cut_edge": 73.0, "end.gauge": 0.208, "end.mass": 2.60})).loose_end
    assert end.shell_mass == pytest.approx(math.pi / 4 * 7.3**2 * 0.0208 * 2.65, rel=1e-12)
    assert end.added_mass == pytest.approx(2.60 - 2.307, abs=0.001)
