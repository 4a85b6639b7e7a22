"""The ram: how fast it moves, by the harmonic picture or by the exact slider-crank, and tool days.

Angles of the crank run from the dead centre farthest from the crank's centre. Positions are
measured from that centre, so a ram that leaves this dead centre moves with negative velocity.
"""

from __future__ import annotations

from typing import Annotated

import numpy as np

from kb.process.domain import positive
from kb.units import Deg, Mm, MmPerS, MmPerS2, Number, PerMinute, Ratio, Second

Day = Annotated[Number, "d"]


def peak_velocity_harmonic(*, stroke: Mm, speed: PerMinute) -> MmPerS:
    """Greatest ram speed, the ram taken to move as a sine.

    Args:
        stroke: full stroke of the ram [mm].
        speed: strokes per minute [1/min].

    Returns:
        Greatest speed, at mid stroke [mm/s].

    Raises:
        ValueError: if the stroke or the speed is not above zero.

    Source:
        Derived: harmonic motion, angular speed times half the stroke.

    Example:
        >>> print(peak_velocity_harmonic(stroke=609.6, speed=300.0))
        9575.6
    """
    positive(stroke=stroke, speed=speed)
    return _angular_speed(speed) * stroke / 2


def peak_acceleration_harmonic(*, stroke: Mm, speed: PerMinute) -> MmPerS2:
    """Greatest ram acceleration, the ram taken to move as a sine.

    Args:
        stroke: full stroke of the ram [mm].
        speed: strokes per minute [1/min].

    Returns:
        Greatest acceleration, at both dead centres [mm/s2].

    Raises:
        ValueError: if the stroke or the speed is not above zero.

    Source:
        Derived: harmonic motion, angular speed squared times half the stroke.

    Example:
        >>> print(peak_acceleration_harmonic(stroke=609.6, speed=300.0))
        300825.5
    """
    positive(stroke=stroke, speed=speed)
    return _angular_speed(speed) ** 2 * stroke / 2


def time_per_stroke(*, speed: PerMinute) -> Second:
    """Time of one stroke, there and back.

    Args:
        speed: strokes per minute [1/min].

    Returns:
        Time of one stroke [s].

    Raises:
        ValueError: if the speed is not above zero.

    Source:
        Definition.

    Example:
        >>> print(time_per_stroke(speed=300.0))
        0.2
    """
    positive(speed=speed)
    return 60 / speed


def days_to_service(*, cycles: Ratio, speed: PerMinute, running_share: Ratio) -> Day:
    """Calendar days until a tool has made its cycles.

    Args:
        cycles: cycles left to the next service [-].
        speed: strokes per minute while running [1/min].
        running_share: share of the calendar in which the machine runs [-].

    Returns:
        Days to the next service [d].

    Raises:
        ValueError: if an argument is not above zero.

    Source:
        Definition; 1440 minutes to the day.

    Example:
        >>> print(days_to_service(cycles=1296000.0, speed=300.0, running_share=0.75))
        4.0
    """
    positive(cycles=cycles, speed=speed, running_share=running_share)
    return cycles / (speed * running_share * 1440)


def velocity(*, crank_radius: Mm, rod: Mm, angle: Deg, speed: PerMinute) -> MmPerS:
    """Ram velocity of a slider-crank.

    Args:
        crank_radius: radius of the crank, half the stroke [mm].
        rod: length of the connecting rod [mm].
        angle: crank angle from the far dead centre [deg].
        speed: strokes per minute [1/min].

    Returns:
        Velocity, negative while the ram comes back toward the crank [mm/s].

    Raises:
        ValueError: if the crank radius or the speed is not above zero or the rod is not longer than
            the crank radius.

    Source:
        Derived: first derivative in time of the projections of crank and rod on the line of the ram, exact.

    Example:
        >>> print(velocity(crank_radius=300.0, rod=500.0, angle=90.0, speed=60.0))
        -1884.96
    """
    positive(speed=speed)
    theta, reach = _crank(crank_radius, rod, angle)
    along = 1 + crank_radius * np.cos(theta) / reach
    return -crank_radius * _angular_speed(speed) * np.sin(theta) * along


def acceleration(*, crank_radius: Mm, rod: Mm, angle: Deg, speed: PerMinute) -> MmPerS2:
    """Ram acceleration of a slider-crank.

    Args:
        crank_radius: radius of the crank, half the stroke [mm].
        rod: length of the connecting rod [mm].
        angle: crank angle from the far dead centre [deg].
        speed: strokes per minute [1/min].

    Returns:
        Acceleration, negative toward the crank [mm/s2].

    Raises:
        ValueError: as `velocity`.

    Source:
        Derived: first derivative of `velocity` in time, exact.

    Example:
        >>> print(acceleration(crank_radius=300.0, rod=500.0, angle=90.0, speed=60.0))
        8882.6
    """
    positive(speed=speed)
    theta, reach = _crank(crank_radius, rod, angle)
    swing = crank_radius**2 * np.cos(2 * theta) / reach
    bend = crank_radius**4 * (np.sin(theta) * np.cos(theta)) ** 2 / reach**3
    return -(_angular_speed(speed) ** 2) * (crank_radius * np.cos(theta) + swing + bend)


def peak_velocity_angle(*, crank_radius: Mm, rod: Mm) -> Deg:
    """Crank angle at which the ram is fastest.

    Args:
        crank_radius: radius of the crank, half the stroke [mm].
        rod: length of the connecting rod [mm].

    Returns:
        Angle after the far dead centre; the same angle before it is the other one [deg].

    Raises:
        ValueError: if the crank radius is not above zero or the rod is not longer than it.

    Source:
        Derived: zero acceleration is a cubic in the squared sine of the angle. With n the rod over
        the crank radius, x^3 - n^2 x^2 - n^4 x + n^4 is positive at x = 0, negative at x = 1 and
        falls in between, so one root is there: the middle one of the cosine solution.

    Note:
        Exact, but for rounding that reaches 1e-6 deg on a rod of 300 crank radii. Not the angle at
        which rod and crank are square to each other.

    Example:
        >>> print(peak_velocity_angle(crank_radius=2.0, rod=6.0))
        73.1753
    """
    positive(crank_radius=crank_radius, rod_beyond_crank=rod - crank_radius)
    squared = (rod / crank_radius) ** 2
    third = np.arccos(11 / 16 - 27 / (16 * squared)) / 3
    sine_squared = squared * (1 + 4 * np.cos(third - 2 * np.pi / 3)) / 3
    # a very long rod brings it so near to 1 that rounding may pass it
    return np.degrees(np.arcsin(np.sqrt(np.minimum(sine_squared, 1.0))))


def peak_velocity(*, crank_radius: Mm, rod: Mm, speed: PerMinute) -> MmPerS:
    """Greatest ram speed of a slider-crank.

    Args:
        crank_radius: radius of the crank, half the stroke [mm].
        rod: length of the connecting rod [mm].
        speed: strokes per minute [1/min].

    Returns:
        Greatest speed, without sign [mm/s].

    Raises:
        ValueError: as `velocity`.

    Source:
        Derived: `velocity` at `peak_velocity_angle`.

    Example:
        >>> print(peak_velocity(crank_radius=2.0, rod=6.0, speed=60.0))
        13.253
    """
    angle = peak_velocity_angle(crank_radius=crank_radius, rod=rod)
    return np.abs(velocity(crank_radius=crank_radius, rod=rod, angle=angle, speed=speed))


def _angular_speed(speed: PerMinute) -> Number:
    return 2 * np.pi * speed / 60


def _crank(crank_radius: Mm, rod: Mm, angle: Deg) -> tuple[Number, Mm]:
    """Crank angle in radians and the rod's projection on the line of the ram."""
    positive(crank_radius=crank_radius, rod_beyond_crank=rod - crank_radius)
    theta = np.radians(angle)
    return theta, np.sqrt(rod**2 - (crank_radius * np.sin(theta)) ** 2)
