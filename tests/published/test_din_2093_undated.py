"""Disc springs of the standard list of DIN 2093, forces of Almen and Laszlo, 1936.

From memory, high confidence: spring 50 x 25.4 x 3, free cone 1.1 mm, has 12 000 N at 0.825 mm (the formula
gives 11 976 N). Spring 50 x 25.4 x 2, free cone 1.4 mm, has 4760 N at 1.05 mm (4762 N). E is 206 GPa and
Poisson's ratio 0.3.

Almen and Laszlo let the cross-section turn as a rigid body and divide the modulus by 1 - nu^2, as if no
ring could contract along the cone. A shell lets it contract. So the shell agrees with the formula
at Poisson's ratio 0. At 0.3 it is between the formula and the formula without that factor.
"""

from __future__ import annotations

from functools import partial

import numpy as np
import pytest

from kb.process.meridian import Meridian
from kb.process.shell import Metal
from kb.process.shell.element import Shell
from kb.process.shell.loads import Loading, Memory, balance
from kb.process.shell.mesh import mesh_meridian
from kb.process.shell.path import State, follow
from tests.process.shell.samples import line

OUTER, INNER, MODULUS = 50.0, 25.4, 206_000.0
SPRINGS = [(3.0, 1.1, 0.825, 12_000.0), (2.0, 1.4, 1.05, 4760.0)]
"""Thickness, free cone, travel [mm], listed force [N]."""


def almen_laszlo(thickness: float, cone: float, travel: float, poisson: float) -> float:
    """Force of a disc spring [N]."""
    ratio = OUTER / INNER
    shape = ((ratio - 1) / ratio) ** 2 / ((ratio + 1) / (ratio - 1) - 2 / np.log(ratio)) / np.pi
    stiffness = 4 * MODULUS / (1 - poisson**2) * thickness**4 / (shape * OUTER**2)
    height, way = cone / thickness, travel / thickness
    return float(stiffness * way * ((height - way) * (height - way / 2) + 1))


def shell_force(thickness: float, cone: float, travel: float, poisson: float) -> float:
    """Force of the same spring as a shell, pressed at its inner edge."""
    spring = Meridian((line(INNER / 2, cone, OUTER / 2, 0.0, thickness),))
    shell = Shell(mesh_meridian(spring), Metal(modulus=MODULUS, poisson=poisson))
    rest = np.zeros((len(shell.mesh), 3))
    fixed, down = np.zeros_like(rest, dtype=bool), rest.copy()
    fixed[-1, 1] = True
    down[0, 1] = -1.0
    states = follow(
        partial(balance, shell, Loading(force_rate=down)),
        State(rest, 0.0, Memory(shell.untouched())),
        fixed=fixed,
        longest=0.05,
        until=lambda states: bool(-states[-1].q[0, 1] >= travel),
    )
    return float(np.interp(travel, [-s.q[0, 1] for s in states], [s.load for s in states]))


@pytest.mark.parametrize(("thickness", "cone", "travel", "force"), SPRINGS)
def test_the_formula_gives_the_listed_force(
    thickness: float, cone: float, travel: float, force: float
) -> None:
    """The formula that the shell is compared with gives the listed force, to its rounding."""
    assert almen_laszlo(thickness, cone, travel, 0.3) == pytest.approx(force, rel=0.003)


@pytest.mark.parametrize(("thickness", "cone", "travel", "force"), SPRINGS)
def test_the_shell_is_the_formula_without_lateral_contraction(
    thickness: float, cone: float, travel: float, force: float
) -> None:
    """At Poisson's ratio 0 the shell has the force of the formula, to 1 %."""
    shell = shell_force(thickness, cone, travel, 0.0)
    assert shell == pytest.approx(almen_laszlo(thickness, cone, travel, 0.0), rel=0.01)


@pytest.mark.parametrize(("thickness", "cone", "travel", "force"), SPRINGS)
def test_the_shell_is_softer_than_the_list_by_less_than_the_square_of_poisson(
    thickness: float, cone: float, travel: float, force: float
) -> None:
    """At Poisson's ratio 0.3 the shell is below the listed force, by less than the formula's own factor."""
    shell = shell_force(thickness, cone, travel, 0.3)
    assert (1 - 0.3**2) * force < shell < force
