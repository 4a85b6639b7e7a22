"""The Standard NAFEMS Benchmarks, 1990, LE7: cylinder with a hemispherical end under internal pressure.

From memory, high confidence: mean radius 1 m, wall 25 mm, pressure 1 MPa, E 210 GPa, Poisson's ratio 0.3.
The axial stress on the outside of the cylinder near the junction is 25.86 MPa. The same shell is in
Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed., section 116: 1.293 times pR/2t at
beta x = pi/4, and a hoop peak of 1.032 times pR/t near beta x = 1.85.

Both are of thin-shell theory. Our shell counts the fibres of the outside at their own radius, 1.25 % longer.
"""

from __future__ import annotations

import numpy as np
import pytest

from kb.process.meridian import Arc, LineSegment, Meridian
from kb.process.shell import Metal
from kb.process.shell.element import Shell
from kb.process.shell.loads import MIDDLE, Loading
from kb.process.shell.mesh import mesh_meridian
from tests.process.shell.samples import loaded

RADIUS, WALL, POISSON = 1000.0, 25.0, 0.3
OUTER_AXIAL_MPA = 25.86
HOOP_SHARE, HOOP_PLACE = 1.032, 1.85
BETA = (3 * (1 - POISSON**2)) ** 0.25 / np.sqrt(RADIUS * WALL)


@pytest.fixture(scope="module")
def stresses() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Distance from the junction times beta; axial and hoop stress on the outside for 1 MPa."""
    inside = RADIUS - WALL / 2
    vessel = Meridian(
        (
            Arc(0.0, RADIUS, inside, -90.0, 0.0, WALL, WALL),
            LineSegment(inside, RADIUS, inside, 3 * RADIUS, WALL, WALL),
        )
    )
    shell = Shell(mesh_meridian(vessel, fineness=3.0), Metal(modulus=210_000.0, poisson=POISSON), layers=2)
    fixed = np.zeros((len(shell.mesh), 3), dtype=bool)
    fixed[0, [0, 2]] = True
    fixed[-1, [1, 2]] = True
    small = 1e-3
    state = loaded(shell, Loading(pressure_rate=1.0, side=MIDDLE), fixed=fixed, load=small)
    axial, hoop = shell.stress(state.q, side=1.0)
    middle = (shell.mesh.z[1:] + shell.mesh.z[:-1]) / 2 - RADIUS
    cylinder = (middle > 0) & (middle < RADIUS)
    return BETA * middle[cylinder], axial[cylinder] / small, hoop[cylinder] / small


def test_outer_axial_peak(stresses: tuple[np.ndarray, np.ndarray, np.ndarray]) -> None:
    """The axial stress on the outside peaks at 25.86 MPa, at a quarter of pi, to 1 %."""
    place, axial, _ = stresses
    assert axial.max() == pytest.approx(OUTER_AXIAL_MPA, rel=0.01)
    assert place[axial.argmax()] == pytest.approx(np.pi / 4, abs=0.05)


def test_outer_hoop_peak(stresses: tuple[np.ndarray, np.ndarray, np.ndarray]) -> None:
    """The hoop stress on the outside peaks 3.2 % above that of the plain cylinder."""
    place, _, hoop = stresses
    thin = hoop.max() * (1 + WALL / (2 * RADIUS))
    assert thin * WALL / RADIUS == pytest.approx(HOOP_SHARE, abs=0.002)
    assert place[hoop.argmax()] == pytest.approx(HOOP_PLACE, abs=0.1)
