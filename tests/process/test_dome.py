"""The metal of the dome."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from kb.process.dome import doming
from kb.process.profile import domed_panel, flat_panel
from tests.process.shell.samples import BASE, DOME


@pytest.mark.parametrize("draw_in", [0.0, 0.5, 0.9, 1.0])
def test_the_dome_keeps_its_metal(draw_in: float) -> None:
    """The dome's metal is that of the flat base and of the drawn sheet, to 3 %: surface counts inside."""
    formed = doming(base=BASE, dome=DOME, draw_in=draw_in)
    dome = domed_panel(BASE, DOME, wall=formed.wall).metal()
    assert dome == pytest.approx(flat_panel(BASE).metal() + formed.drawn * BASE.gauge, rel=0.03)


def test_sheet_that_is_only_drawn_in_does_not_thin() -> None:
    """With all of the surface drawn in the dome has the gauge; with none it thins by its stretch."""
    drawn, stretched = (doming(base=BASE, dome=DOME, draw_in=share) for share in (1.0, 0.0))
    assert drawn.wall == pytest.approx(BASE.gauge)
    assert stretched.wall == pytest.approx(BASE.gauge / (1 + stretched.stretch))
    assert stretched.drawn == pytest.approx(0.0, abs=1e-6)


def test_a_deeper_dome_stretches_more() -> None:
    """Stretch rises with the depth, in samples as in single numbers."""
    depths = np.array([10.0, 10.6, 11.2])
    stretch = doming(base=BASE, dome=replace(DOME, depth=depths), draw_in=0.9).stretch
    assert np.all(np.diff(stretch) > 0)
    assert stretch[1] == pytest.approx(doming(base=BASE, dome=DOME, draw_in=0.9).stretch)
