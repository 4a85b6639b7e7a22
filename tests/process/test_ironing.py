from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import quad

from kb.process import ironing, material

LAST_RING = {"flow_stress": 300.0, "wall_in": 0.160, "wall_out": 0.105, "half_angle": 8.0}
RING = {"pressure": 400.0, "bore": 66.034, "outside_diameter": 152.0}
CARBIDE = {"modulus": 600_000.0, "poisson": 0.22}


@pytest.mark.parametrize(
    ("die_friction", "punch_friction", "kilonewton"),
    [(0.05, 0.05, 3.18), (0.05, 0.08, 2.62), (0.08, 0.05, 3.69)],
    ids=["alike", "rougher punch", "rougher ring"],
)
def test_last_ring(die_friction: float, punch_friction: float, kilonewton: float) -> None:
    """A rougher punch relieves the wall, a rougher ring loads it; tolerance half the last digit."""
    # by hand for equal friction: 2/sqrt 3 x 300 x ln(160/105) = 145.9 MPa on 21.8 mm2
    stress = ironing.exit_stress(die_friction=die_friction, punch_friction=punch_friction, **LAST_RING)
    force = ironing.wall_tension(stress=stress, mean_diameter=66.04 + 0.105, wall_out=0.105)
    assert force / 1000 == pytest.approx(kilonewton, abs=0.005)


@pytest.mark.parametrize("die_friction", [0.0, 0.05, 0.12])
def test_no_reduction_no_stress_no_force(die_friction: float) -> None:
    """A ring that takes nothing off pulls with nothing."""
    stress = ironing.exit_stress(
        flow_stress=300.0,
        wall_in=0.105,
        wall_out=0.105,
        half_angle=8.0,
        die_friction=die_friction,
        punch_friction=0.05,
    )
    assert stress == 0.0
    assert ironing.wall_tension(stress=stress, mean_diameter=66.0, wall_out=0.105) == 0.0


def test_stress_runs_smoothly_through_equal_friction() -> None:
    """An array of frictions across the punch's own has no jump where their difference vanishes."""
    around = 0.05 + np.array([-1e-3, -1e-9, -1e-15, 0.0, 1e-15, 1e-9, 1e-3])
    stresses = ironing.exit_stress(die_friction=around, punch_friction=0.05, **LAST_RING)
    equal = 2 / math.sqrt(3) * 300.0 * math.log(0.160 / 0.105)
    assert stresses[3] == pytest.approx(equal, rel=1e-15)
    assert stresses[1:-1] == pytest.approx(np.full(5, equal), rel=1e-7)
    assert np.all(np.diff(stresses) >= 0)
    assert stresses[0] < stresses[-1]


@pytest.mark.parametrize(("die_friction", "punch_friction"), [(0.08, 0.05), (0.03, 0.09), (0.06, 0.06)])
def test_stress_is_the_integral_of_the_balance(die_friction: float, punch_friction: float) -> None:
    """The closed form is the force balance of the wedge of wall, integrated numerically."""
    flow = 2 / math.sqrt(3) * LAST_RING["flow_stress"]
    term = (die_friction - punch_friction) / math.tan(math.radians(LAST_RING["half_angle"]))
    wall_in, wall_out = LAST_RING["wall_in"], LAST_RING["wall_out"]
    # d(stress)/d(ln wall) = B stress - flow (1 + B), solved with the integrating factor wall^-B
    pull, _ = quad(lambda wall: flow * (1 + term) * wall ** (-term - 1), wall_out, wall_in)
    stress = ironing.exit_stress(die_friction=die_friction, punch_friction=punch_friction, **LAST_RING)
    assert stress == pytest.approx(pull * wall_out**term, rel=1e-9)


def test_growing_wall_is_refused() -> None:
    """A ring cannot thicken the wall."""
    with pytest.raises(ValueError, match="strain must not be negative"):
        ironing.exit_stress(
            flow_stress=300.0,
            wall_in=0.10,
            wall_out=0.11,
            half_angle=8.0,
            die_friction=0.05,
            punch_friction=0.05,
        )


def test_rings_multiply() -> None:
    """Rings of 20, 25 and 40 % take 64 % off together."""
    walls = [0.2794]
    for taken in (0.20, 0.25, 0.40):
        walls.append(walls[-1] * (1 - taken))
    total = material.reduction(before=walls[0], after=walls[-1])
    assert total == pytest.approx(0.64)
    left = [1 - material.reduction(before=a, after=b) for a, b in pairwise(walls)]
    assert math.prod(left) == pytest.approx(1 - total)


def test_three_equal_rings() -> None:
    """From 0.2794 to 0.100 mm three equal rings take 29.0 % each."""
    total = material.reduction(before=0.2794, after=0.100)
    assert 100 * (1 - (1 - total) ** (1 / 3)) == pytest.approx(29.0, abs=0.05)


def test_twice_the_size_takes_four_times_the_force() -> None:
    """Stress does not change with size, force goes as the section."""
    small = ironing.exit_stress(die_friction=0.06, punch_friction=0.08, **LAST_RING)
    doubled = {**LAST_RING, "wall_in": 0.320, "wall_out": 0.210}
    large = ironing.exit_stress(die_friction=0.06, punch_friction=0.08, **doubled)
    assert large == pytest.approx(small)
    force = ironing.wall_tension(stress=small, mean_diameter=66.1, wall_out=0.105)
    assert ironing.wall_tension(stress=large, mean_diameter=132.2, wall_out=0.210) == pytest.approx(4 * force)


def test_ring_growth_is_on_the_radius() -> None:
    """The hoop strain at the bore times its radius is the growth."""
    hoop = ironing.hoop_stress_at_bore(**RING)
    strain = (hoop + CARBIDE["poisson"] * RING["pressure"]) / CARBIDE["modulus"]
    growth = ironing.ring_growth(**RING, **CARBIDE)
    assert growth == pytest.approx(strain * RING["bore"] / 2)


def test_thin_ring_is_a_thin_shell() -> None:
    """A thin ring carries pressure times radius over thickness."""
    hoop = ironing.hoop_stress_at_bore(pressure=1.0, bore=100.0, outside_diameter=100.2)
    assert hoop == pytest.approx(1.0 * 50.0 / 0.1, rel=2e-3)


def test_hoop_stress_by_the_balance_of_the_ring() -> None:
    """Lamé's hoop stress through the ring, integrated, holds the pressure on the bore."""
    a, b, p = RING["bore"] / 2, RING["outside_diameter"] / 2, RING["pressure"]
    constant = p * a**2 / (b**2 - a**2)
    carried, _ = quad(lambda r: constant * (1 + b**2 / r**2), a, b)
    assert carried == pytest.approx(p * a)
    assert ironing.hoop_stress_at_bore(**RING) == pytest.approx(constant * (1 + b**2 / a**2))


def test_ring_without_thickness_is_refused() -> None:
    """A ring no wider than its bore is refused."""
    with pytest.raises(ValueError, match="ring_thickness"):
        ironing.hoop_stress_at_bore(pressure=1.0, bore=66.0, outside_diameter=66.0)


def test_punch_that_warms_up() -> None:
    """A 66 mm steel punch grows 15.2 micrometres in 20 degrees, a carbide one 7.3."""
    steel = ironing.thermal_growth(diameter=66.0, expansion=11.5e-6, rise=20.0)
    carbide = ironing.thermal_growth(diameter=66.0, expansion=5.5e-6, rise=20.0)
    assert 1000 * steel == pytest.approx(15.2, abs=0.05)
    assert 1000 * carbide == pytest.approx(7.3, abs=0.05)
    assert ironing.thermal_growth(diameter=66.0, expansion=11.5e-6, rise=-20.0) == -steel


def test_ram_force_balances_the_ring() -> None:
    """Wall tension and punch friction together are what the ring holds back, slice by slice of the cone."""
    flow, out, steps, cotangent = 350.0, 0.097, 20_000, 1 / math.tan(math.radians(8.0))
    die, punch, diameter = 0.05, 0.08, 66.0
    walls = np.linspace(0.160, out, steps + 1)
    tension = pushed = 0.0
    for before, after in pairwise(walls):
        middle = (before + after) / 2
        pressure = flow - tension / (np.pi * diameter * middle)
        taken = np.pi * diameter * (before - after)
        tension += pressure * taken * (1 + (die - punch) * cotangent)
        pushed += pressure * taken * punch * cotangent
    force = ironing.ram_force(
        tension=tension,
        land_pressure=0.0,
        bore=66.0,
        land=0.5,
        half_angle=8.0,
        die_friction=die,
        punch_friction=punch,
    )
    assert force == pytest.approx(tension + pushed, rel=1e-6)


def test_the_land_adds_its_friction_alone() -> None:
    """Pressure on the land adds its friction to the ram force, and nothing without friction."""
    ring = {"tension": 3000.0, "bore": 66.0, "land": 0.5, "half_angle": 8.0, "punch_friction": 0.08}
    free, pressed = (ironing.ram_force(land_pressure=p, die_friction=0.05, **ring) for p in (0.0, 200.0))
    assert pressed - free == pytest.approx(0.05 * 200.0 * math.pi * 66.0 * 0.5)
    smooth = (ironing.ram_force(land_pressure=p, die_friction=0.0, **ring) for p in (0.0, 200.0))
    assert len({float(one) for one in smooth}) == 1


def test_no_ring_does_with_less_than_the_ideal_work() -> None:
    """For any friction of the ring, the ram's work on a ring's wall is at least the ideal work."""
    for die in (0.0, 0.05, 0.2):
        for punch in (0.0, 0.05, 0.08):
            friction = {"half_angle": 8.0, "die_friction": die, "punch_friction": punch}
            stress = ironing.exit_stress(flow_stress=340.0, wall_in=0.16, wall_out=0.10, **friction)
            tension = ironing.wall_tension(stress=stress, mean_diameter=66.0, wall_out=0.10)
            force = ironing.ram_force(tension=tension, land_pressure=0.0, bore=66.0, land=0.5, **friction)
            volume = math.pi * 66.0 * 0.10 * 100.0
            ideal = ironing.ideal_work(flow_stress=340.0, strain=math.log(1.6), volume=volume)
            assert force * 100.0 / 1000 >= ideal * (1 - 1e-12)
