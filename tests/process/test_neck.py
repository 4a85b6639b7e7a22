from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from kb.process import material, neck

NECK = {"before": 65.93, "after": 52.57}


def test_schedule_ends_on_body_and_plug() -> None:
    """The schedule starts at the body and ends at the neck, to the last digit."""
    for stages in (1, 5, 12, 15):
        schedule = neck.equal_schedule(stages=stages, **NECK)
        assert len(schedule) == stages + 1
        assert schedule[0] == NECK["before"]
        assert schedule[-1] == NECK["after"]


def test_schedule_takes_the_same_share_everywhere() -> None:
    """Every stage of the schedule takes the same share off the diameter before it."""
    schedule = neck.equal_schedule(stages=12, **NECK)
    taken = material.reduction(before=schedule[:-1], after=schedule[1:])
    assert taken == pytest.approx(np.full(12, taken[0]))


def test_schedule_of_samples() -> None:
    """Samples of the body keep their shape behind the axis of the stages, each on its own schedule."""
    bodies = np.array([[65.90, 65.93, 65.96], [65.91, 65.94, 65.97]])
    schedule = neck.equal_schedule(before=bodies, after=52.57, stages=12)
    assert schedule.shape == (13, 2, 3)
    assert np.array_equal(schedule[0], bodies)
    assert np.all(schedule[-1] == 52.57)
    alone = neck.equal_schedule(before=65.94, after=52.57, stages=12)
    assert schedule[:, 1, 1] == pytest.approx(alone, rel=1e-15)


def test_schedule_without_a_stage_is_refused() -> None:
    """A neck takes at least one stage."""
    with pytest.raises(ValueError, match="stages must be above zero"):
        neck.equal_schedule(stages=0, **NECK)


def test_nothing_necked() -> None:
    """A stage that takes nothing off changes neither wall nor stress."""
    same = {"before": 60.0, "after": 60.0}
    assert material.reduction(**same) == 0.0
    for exponent in (0.5, 0.8, 1.0):
        assert neck.wall_after(wall=0.16, exponent=exponent, **same) == 0.16
    for friction in (0.0, 0.05):
        assert neck.stage_stress(flow_stress=300.0, half_angle=30.0, friction=friction, **same) == 0.0


def test_wall_is_between_its_bounds() -> None:
    """Between the exponents 0.5 and 1 the wall runs from the free to the fixed neck."""
    thin = neck.wall_after(wall=0.16, **NECK, exponent=0.5)
    thick = neck.wall_after(wall=0.16, **NECK, exponent=1.0)
    walls = neck.wall_after(wall=0.16, exponent=np.linspace(0.5, 1.0, 11), **NECK)
    assert walls[0] == pytest.approx(thin)
    assert walls[-1] == pytest.approx(thick)
    assert np.all(np.diff(walls) > 0)


def test_bounds_keep_the_volume() -> None:
    """Fixed length keeps diameter times wall; free length lengthens by what the wall does not take."""
    before, after = NECK["before"], NECK["after"]
    assert neck.wall_after(wall=0.16, **NECK, exponent=1.0) * after == pytest.approx(0.16 * before)
    wall = neck.wall_after(wall=0.16, **NECK, exponent=0.5)
    length = wall / 0.16  # free in both directions the strains of wall and length are alike
    assert wall * after * length == pytest.approx(0.16 * before)


def test_wall_does_not_depend_on_the_stages() -> None:
    """Necked in twelve stages or in one the wall comes out the same."""
    wall = 0.16
    schedule = neck.equal_schedule(stages=12, **NECK)
    for before, after in pairwise(schedule):
        wall = neck.wall_after(wall=wall, before=float(before), after=float(after), exponent=0.7)
    assert wall == pytest.approx(neck.wall_after(wall=0.16, exponent=0.7, **NECK))


def test_stress_grows_with_reduction_and_friction() -> None:
    """A smaller neck and a rougher die push harder."""
    afters = np.linspace(65.0, 52.6, 10)
    by_size = neck.stage_stress(flow_stress=300.0, before=65.93, after=afters, half_angle=30.0, friction=0.05)
    assert np.all(np.diff(by_size) > 0)
    frictions = np.linspace(0.0, 0.2, 9)
    by_friction = neck.stage_stress(flow_stress=300.0, half_angle=30.0, friction=frictions, **NECK)
    assert np.all(np.diff(by_friction) > 0)


def test_without_friction_the_stress_is_flow_times_strain() -> None:
    """Without friction a stage takes 1.1 times flow stress times hoop strain."""
    stress = neck.stage_stress(flow_stress=300.0, half_angle=30.0, friction=0.0, **NECK)
    assert stress == pytest.approx(1.1 * 300.0 * np.log(NECK["before"] / NECK["after"]))


def test_growing_neck_is_refused() -> None:
    """Necking cannot widen."""
    with pytest.raises(ValueError, match="strain must not be negative"):
        neck.stage_stress(flow_stress=300.0, before=52.0, after=53.0, half_angle=30.0, friction=0.05)


def test_bending_is_the_work_of_strained_fibres() -> None:
    """The bending stress is the flow stress times the mean strain of the fibres, for each bend."""
    fibres = (np.arange(1000) + 0.5) / 1000 * 0.16 - 0.08
    mean_strain = float(np.mean(np.abs(fibres))) / 5.0
    bent = neck.bending_stress(flow_stress=345.0, wall=0.16, radius=5.0, bends=2)
    assert bent == pytest.approx(2 * 345.0 * mean_strain, rel=1e-3)
    assert neck.bending_stress(flow_stress=345.0, wall=0.16, radius=5.0, bends=0) == 0.0
    assert neck.bending_stress(flow_stress=345.0, wall=0.16, radius=10.0, bends=2) == pytest.approx(bent / 2)


FLOW, ANGLE = 300.0, 30.0  # MPa, deg


def pushed(before: float, after: float, friction: float) -> float:
    """Stress from the balance on a slice: die pressure and its friction act on the area taken off."""
    yielding = 1.1 * FLOW
    drag = 1 + friction / math.tan(math.radians(ANGLE))

    def slope(area: float, force: np.ndarray) -> np.ndarray:
        die_pressure = yielding - force / area
        return -die_pressure * drag

    # the wall is taken as even, so areas go as diameters
    run = solve_ivp(slope, (before, after), [0.0], rtol=1e-10, atol=1e-10)
    return float(run.y[0, -1]) / after


@pytest.mark.parametrize("friction", [0.0, 0.05, 0.15])
@pytest.mark.parametrize("after", [64.95, 62.0, 52.5])
def test_balance_of_forces(after: float, friction: float) -> None:
    """The closed form is the integral of the force balance, with friction and without."""
    stress = neck.stage_stress(
        flow_stress=FLOW, before=66.0, after=after, half_angle=ANGLE, friction=friction
    )
    assert stress == pytest.approx(pushed(66.0, after, friction), rel=1e-6)


@pytest.mark.parametrize(("reduction", "stress"), [(0.016, 5.8), (0.0464, 17.0), (0.20, 79.2)])
def test_stage_and_single_hit(reduction: float, stress: float) -> None:
    """At 300 MPa, friction 0.05 and 30 degrees a small stage takes 5.8 MPa, one hit of a fifth 79.2 MPa."""
    # by hand: B = 0.05 / tan 30 = 0.0866; 1.1 x 300 x 1.0866 / 0.0866 x (1 - (1 - r)^0.0866)
    assert neck.stage_stress(
        flow_stress=FLOW, before=66.0, after=66.0 * (1 - reduction), half_angle=ANGLE, friction=0.05
    ) == pytest.approx(stress, abs=0.05)
