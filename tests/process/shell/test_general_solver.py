"""One base and one end against a general solver, where it is installed."""

from __future__ import annotations

from pathlib import Path

import pytest

from kb.process.meridian import Meridian
from kb.process.shell import LinearFlow, Metal, end_profile, pressure_curve
from tests.process.shell.general_solver import PROGRAM, limit_pressure
from tests.process.shell.samples import plain_bottom
from tests.process.shell.test_limits import END, WITHIN


@pytest.mark.slow
@pytest.mark.skipif(PROGRAM is None, reason="CalculiX (ccx) is not installed")
@pytest.mark.parametrize(
    ("profile", "yield_strength", "modulus"),
    [(plain_bottom(gauge=0.27), 265.0, 69_000.0), (end_profile(END), 345.0, 69_600.0)],
    ids=["base", "end"],
)
def test_solid_elements_give_the_same_limit(
    profile: Meridian, yield_strength: float, modulus: float, tmp_path: Path
) -> None:
    """Axisymmetric solid elements of the same profile hold the same pressure, to 3 %."""
    solid = limit_pressure(
        profile, yield_strength=yield_strength, modulus=modulus, poisson=0.33, folder=tmp_path
    )
    metal = Metal(modulus=modulus, poisson=0.33, flow=LinearFlow(yield_strength=yield_strength))
    assert pressure_curve(profile, metal).limit == pytest.approx(solid, rel=WITHIN)
