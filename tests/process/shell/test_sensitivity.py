"""What each size of a base does to its strength."""

from __future__ import annotations

from dataclasses import replace

import pytest

from kb.process.shell import plate_curve, pressure_curve
from kb.process.shell.sensitivity import base_sensitivities
from tests.process.shell.samples import BASE, DOME, DOME_WALL, TOP, base, can_metal


def test_each_size_has_the_difference_of_two_bases() -> None:
    """Each size is named once, and the depth's row is the difference of two bases 0.1 mm apart."""
    rows = base_sensitivities(
        BASE, DOME, metal=can_metal(), wall=DOME_WALL, top=TOP, pressure=0.48, friction=0.0
    )
    by_size = {row.size: row for row in rows}
    assert len(by_size) == len(rows) == 11
    low, high = (base(dome=replace(DOME, depth=DOME.depth + half)) for half in (-0.05, 0.05))
    curves = [pressure_curve(profile, can_metal()) for profile in (low, high)]
    plates = [plate_curve(profile, can_metal(), friction=0.0) for profile in (low, high)]
    depth = by_size["depth"]
    assert depth.change == 0.1
    assert depth.reversal == pytest.approx(curves[1].limit - curves[0].limit)  # type: ignore[operator]
    assert depth.growth == pytest.approx(curves[1].growth_at(0.48) - curves[0].growth_at(0.48))
    assert depth.load == pytest.approx(plates[1].limit - plates[0].limit)  # type: ignore[operator]
    assert by_size["gauge"].change == pytest.approx(0.01)
    assert by_size["gauge"].reversal > 0 > by_size["gauge"].growth
    assert by_size["chime_angle"].change == 1.0
    assert by_size["chime_angle"].reversal > 0 > by_size["chime_angle"].growth
