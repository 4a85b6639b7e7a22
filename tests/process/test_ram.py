from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from kb.process import ram

PRESS = {"crank_radius": 304.8, "rod": 1100.0}
SPEED = 300.0


def position(angle: float) -> float:
    """Distance of the ram pin from the centre of the crank."""
    theta, crank = math.radians(angle), PRESS["crank_radius"]
    return crank * math.cos(theta) + math.sqrt(PRESS["rod"] ** 2 - (crank * math.sin(theta)) ** 2)


def time_at(angle: float) -> float:
    """Seconds that the crank takes to an angle."""
    return angle / 360 * 60 / SPEED


def test_dead_centres() -> None:
    """At the dead centres the ram does not move."""
    still = ram.velocity(angle=np.array([0.0, 180.0, 360.0]), speed=SPEED, **PRESS)
    assert still == pytest.approx(np.zeros(3), abs=1e-8)


@pytest.mark.parametrize("angle", [7.0, 73.0, 90.0, 141.0, 222.0, 305.0])
def test_velocity_is_the_slope_of_the_position(angle: float) -> None:
    """Velocity by differences of the position, to the tolerance of the differences."""
    step = 1e-3
    before, after = (position(angle + d) for d in (-step, step))
    slope = (after - before) / time_at(2 * step)
    assert ram.velocity(angle=angle, speed=SPEED, **PRESS) == pytest.approx(slope, rel=1e-6)


@pytest.mark.parametrize("angle", [0.0, 40.0, 90.0, 180.0, 250.0])
def test_acceleration_is_the_slope_of_the_velocity(angle: float) -> None:
    """Acceleration by differences of the velocity, to the tolerance of the differences."""
    step = 1e-3
    before, after = (ram.velocity(angle=angle + d, speed=SPEED, **PRESS) for d in (-step, step))
    slope = (after - before) / time_at(2 * step)
    assert ram.acceleration(angle=angle, speed=SPEED, **PRESS) == pytest.approx(slope, rel=1e-6)


@pytest.mark.parametrize("ratio", [1.0001, 1.05, 1.5, 2.0, 3.0, 4.5, 10.0, 300.0])
def test_peak_angle_is_the_root_of_the_acceleration(ratio: float) -> None:
    """The closed form is the root of the acceleration; 1e-6 deg because its cosine cancels for long rods."""
    crank = {"crank_radius": 100.0, "rod": 100.0 * ratio}
    root = brentq(lambda angle: ram.acceleration(angle=angle, speed=60.0, **crank), 0.0, 90.0, xtol=1e-12)
    assert ram.peak_velocity_angle(**crank) == pytest.approx(root, abs=1e-6)


def test_nothing_is_faster_than_the_peak() -> None:
    """No angle of a full turn is faster than the peak."""
    angles = np.linspace(0.0, 360.0, 3601)
    speeds = np.abs(ram.velocity(angle=angles, speed=SPEED, **PRESS))
    peak = ram.peak_velocity(speed=SPEED, **PRESS)
    assert speeds.max() <= peak
    assert speeds.max() == pytest.approx(peak, rel=1e-5)


def test_long_rod_is_harmonic() -> None:
    """With a very long rod speed and acceleration are those of the sine."""
    crank, rod = 304.8, 304.8e7
    assert ram.peak_velocity_angle(crank_radius=crank, rod=rod) == pytest.approx(90.0, abs=1e-4)
    harmonic = ram.peak_velocity_harmonic(stroke=2 * crank, speed=SPEED)
    assert ram.peak_velocity(crank_radius=crank, rod=rod, speed=SPEED) == pytest.approx(harmonic)
    acceleration = ram.acceleration(crank_radius=crank, rod=rod, angle=180.0, speed=SPEED)
    assert acceleration == pytest.approx(ram.peak_acceleration_harmonic(stroke=2 * crank, speed=SPEED))


def test_harmonic_ram() -> None:
    """A stroke of 609.6 mm at 300 a minute reaches 9.576 m/s and 300.8 m/s2."""
    # 2 pi x 5 = 31.416 rad/s; x 0.3048 m = 9.576; x 31.416 again = 300.8
    assert ram.peak_velocity_harmonic(stroke=609.6, speed=300.0) / 1000 == pytest.approx(9.576, abs=5e-4)
    gain = ram.peak_acceleration_harmonic(stroke=609.6, speed=300.0) / 1000
    assert gain == pytest.approx(300.8, abs=0.05)


def test_mean_speed_is_below_the_peak() -> None:
    """Two strokes in the time of one turn make the mean speed, pi/2 below the sine's peak."""
    mean = 2 * 609.6 / ram.time_per_stroke(speed=300.0)
    assert mean * math.pi / 2 == pytest.approx(ram.peak_velocity_harmonic(stroke=609.6, speed=300.0))


def test_days_to_service() -> None:
    """Running all day at 300 a minute a tool makes 432 000 cycles; at half the share it lasts twice."""
    assert ram.days_to_service(cycles=432_000, speed=300.0, running_share=1.0) == pytest.approx(1.0)
    assert ram.days_to_service(cycles=432_000, speed=300.0, running_share=0.5) == pytest.approx(2.0)


def test_short_rod_is_refused() -> None:
    """A rod no longer than the crank cannot turn."""
    with pytest.raises(ValueError, match="rod_beyond_crank"):
        ram.velocity(crank_radius=300.0, rod=300.0, angle=10.0, speed=60.0)
    with pytest.raises(ValueError, match="rod_beyond_crank"):
        ram.peak_velocity_angle(crank_radius=300.0, rod=250.0)
