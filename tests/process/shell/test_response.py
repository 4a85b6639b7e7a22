"""Results at many sizes from few solutions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import pytest

from kb.process.shell.response import NearbyResults

ANCHOR = {"gauge": 0.262, "strength": 262.0, "radius": 50.0}
STEPS = {"gauge": 0.004, "strength": 8.0, "radius": 2.0}


class Solver:
    """A formula in place of the shell: powers of gauge and strength, largest at a radius of 51."""

    def __init__(self) -> None:
        self.asked: list[Mapping[str, float]] = []

    def __call__(self, parts: Sequence[Mapping[str, float]]) -> list[tuple[float, ...]]:
        """Pressure and load of each."""
        return [self.one(sizes) for sizes in parts]

    def one(self, sizes: Mapping[str, float]) -> tuple[float, ...]:
        """Pressure and load."""
        self.asked.append(dict(sizes))
        if not 0 < sizes["radius"] < 60:
            return np.nan, np.nan
        power = (sizes["gauge"] / 0.262) ** 1.5 * sizes["strength"] / 262
        return 600 * power * np.exp(-(((sizes["radius"] - 51) / 20) ** 2)), 800 * power


def test_products_of_powers_are_met_between_the_solutions() -> None:
    """Gauge and strength within a step give the formula's own values, to 0.01 %, in samples of both."""
    gauge, strength = np.array([0.258, 0.260, 0.262, 0.265]), np.array([254.0, 270.0, 262.0, 258.0])
    pressure, load = NearbyResults(Solver(), ANCHOR, STEPS).at({"gauge": gauge, "strength": strength})
    power = (gauge / 0.262) ** 1.5 * strength / 262
    assert load == pytest.approx(800 * power, rel=1e-4)
    assert pressure == pytest.approx(600 * np.exp(-((1 / 20) ** 2)) * power, rel=1e-4)


def test_a_result_that_turns_is_met_at_its_turn() -> None:
    """The pressure is largest at the radius of 51, between two solutions, and falls on both sides."""
    radius = np.array([48.0, 50.0, 51.0, 52.0])
    pressure, _ = NearbyResults(Solver(), ANCHOR, STEPS).at({"radius": radius})
    assert pressure == pytest.approx(600 * np.exp(-(((radius - 51) / 20) ** 2)), rel=1e-9)
    assert np.argmax(pressure) == 2


def test_only_what_moves_is_solved() -> None:
    """The part alone is one solution, a size that moves adds two; a size further off those on its side."""
    solver = Solver()
    response = NearbyResults(solver, ANCHOR, STEPS)
    response.at({"gauge": 0.262})
    assert len(solver.asked) == 1
    response.at({"gauge": np.array([0.259, 0.262])})
    assert [one["gauge"] for one in solver.asked] == pytest.approx([0.262, 0.258, 0.266])
    response.at({"gauge": 0.270})
    assert [one["gauge"] for one in solver.asked[3:]] == pytest.approx([0.278])
    assert all(one["radius"] == 50.0 for one in solver.asked)


def test_far_values_lie_between_far_solutions() -> None:
    """At 4 and 10 steps the solution is met, from there on the logarithm runs straight."""
    _, load = NearbyResults(Solver(), ANCHOR, STEPS).at({"gauge": 0.262 + 0.004 * np.array([4, 7, 10, 13])})
    solved = 800 * (1 + 0.004 / 0.262 * np.array([4, 10])) ** 1.5
    assert load[[0, 2]] == pytest.approx(solved)
    assert load[1] == pytest.approx(np.sqrt(solved[0] * solved[1]))
    assert load[3] == pytest.approx(solved[1] * np.sqrt(solved[1] / solved[0]))


def test_a_part_that_does_not_close_has_no_result() -> None:
    """Radii of 58 and 60 mm have no solution: what is beyond 52 mm is nothing, what is within is known."""
    pressure, _ = NearbyResults(Solver(), {**ANCHOR, "radius": 54.0}, STEPS).at(
        {"radius": np.array([54.0, 55.0, 61.0])}
    )
    assert np.isfinite(pressure[:2]).all()
    assert np.isnan(pressure[2])


@pytest.mark.parametrize("value", [0.2580, 0.2621, 0.2900])
def test_samples_are_singles(value: float) -> None:
    """A sample among others has the value that it has alone."""
    response = NearbyResults(Solver(), ANCHOR, STEPS)
    alone = response.at({"gauge": value, "radius": 51.0})
    among = response.at({"gauge": np.array([0.25, value, 0.30]), "radius": 51.0})
    assert among[:, 1] == pytest.approx(alone, rel=1e-12)


def test_parts_alike_share_what_moves_them() -> None:
    """A second part of the same shape needs one solution of its own; both have the formula's values."""
    solver = Solver()
    alike = NearbyResults(solver, {**ANCHOR, "gauge": 0.28}, STEPS)
    gauges = {0.262: np.array([0.258, 0.266]), 0.27: np.array([0.266, 0.274])}
    asked = []
    for gauge, near in gauges.items():
        part = NearbyResults(solver, {**ANCHOR, "gauge": gauge}, STEPS, alike=alike, relative={"gauge"})
        _, load = part.at({"gauge": near})
        assert load == pytest.approx(800 * (near / 0.262) ** 1.5, rel=1e-4)
        asked.append(len(solver.asked))
    assert asked == [4, 5]


def test_a_part_whose_like_does_not_close_is_read_from_itself() -> None:
    """Where the part alike has no solution, the steps are taken at the part."""
    solver = Solver()
    alike = NearbyResults(solver, {**ANCHOR, "radius": 61.0}, STEPS)
    part = NearbyResults(solver, {**ANCHOR, "radius": 56.0}, STEPS, alike=alike)
    assert np.isfinite(part.at({"gauge": 0.263})).all()
