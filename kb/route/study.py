"""Tolerances: one case at its nominal sizes, at worst corners, and as a seeded population.

All three are one computation, `take`, on samples. The screen moves each toleranced input alone to
its low and high limit; from it follows in which corner a result is worst, and which inputs drive it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from kb.route import take
from kb.route.case import Case
from kb.route.station import Result, iter_results
from kb.route.stations import Route
from kb.units import Number, Samples


@dataclass(frozen=True, slots=True)
class Input:
    """A toleranced number of a case: its key and limits in the unit inside."""

    key: str
    nominal: float
    low: float
    high: float

    def about(self, nominal: float) -> Input:
        """The same tolerance about another nominal number."""
        moved = nominal - self.nominal
        return Input(self.key, nominal, self.low + moved, self.high + moved)


class Spread(NamedTuple):
    """A result at nominal and at its two worst corners."""

    nominal: float
    low: float
    high: float


class Corners(NamedTuple):
    """Corners of the tolerances.

    Attributes:
        signs: (corners, inputs): -1 takes an input's low limit, +1 its high limit, 0 its nominal; or between
        lowest: (results,): the corner in which each result is lowest
        highest: (results,): the corner in which it is highest
    """

    signs: Samples
    lowest: NDArray[np.intp]
    highest: NDArray[np.intp]


class Study:
    """A case at nominal sizes with its tolerances."""

    def __init__(self, case: Case, inputs: Sequence[Input]) -> None:
        self.case = case
        self.inputs = tuple(inputs)

    @cached_property
    def nominal(self) -> Route:
        """The route at nominal sizes, in plain numbers."""
        return take(self.case)

    @cached_property
    def screen(self) -> Route:
        """The route at nominal, then with each input at its low and at its high limit alone."""
        count = 1 + 2 * len(self.inputs)
        values = {}
        for i, one in enumerate(self.inputs):
            samples = np.full(count, one.nominal)
            samples[1 + 2 * i], samples[2 + 2 * i] = one.low, one.high
            values[one.key] = samples
        return take(self.case.put(values))

    def spreads(self, results: Callable[[Route], list[Number]]) -> list[Spread]:
        """Nominal and worst corners of results.

        Each corner is computed as a route of its own. Which corner is the worst is read from the screen. A
        result that moves the same way at both limits of an input turns between them: it is taken there too,
        at the top of the parabola through the three values.

        Args:
            results: gives the results of a route, always the same ones in the same order
        """
        moves = _table(results(self.screen), 1 + 2 * len(self.inputs))
        if not self.inputs:
            return [Spread(value, value, value) for value in moves[:, 0].tolist()]
        worst = self._worst(moves)
        cornered = _table(results(take(self.case.put(self.at_corners(worst.signs)))), len(worst.signs))
        each = np.arange(len(moves))
        return [
            Spread(*spread)
            for spread in zip(
                moves[:, 0].tolist(),
                np.minimum(cornered[each, worst.lowest], moves[:, 0]).tolist(),
                np.maximum(cornered[each, worst.highest], moves[:, 0]).tolist(),
                strict=True,
            )
        ]

    def worst_corners(self, results: Callable[[Route], list[Number]]) -> Corners:
        """The corners in which results are lowest and highest, as the screen shows them.

        Args:
            results: gives the results of a route, always the same ones in the same order
        """
        return self._worst(_table(results(self.screen), 1 + 2 * len(self.inputs)))

    def _worst(self, moves: Samples) -> Corners:
        nominal = moves[:, 0]
        at_low, at_high = moves[:, 1::2] - nominal[:, None], moves[:, 2::2] - nominal[:, None]
        # -1 takes an input's low limit, +1 its high limit, 0 leaves it, a turn is between
        turn = _turn(at_low, at_high, slack=1e-9 * np.abs(nominal[:, None]))
        raising = np.where(np.maximum(at_low, at_high) <= 0, turn, np.where(at_high > at_low, 1, -1))
        lowering = np.where(np.minimum(at_low, at_high) >= 0, turn, np.where(at_high < at_low, 1, -1))
        # where a result cannot be computed at one limit, that limit is the worst corner both ways
        for side, lost in ((-1, np.isnan(at_low)), (1, np.isnan(at_high))):
            raising, lowering = np.where(lost, side, raising), np.where(lost, side, lowering)
        signs, which = np.unique(np.concatenate([lowering, raising]), axis=0, return_inverse=True)
        lowest, highest = np.split(which.reshape(-1), 2)
        return Corners(signs, lowest, highest)

    @cached_property
    def results(self) -> Mapping[str, tuple[Result, Spread]]:
        """Every result of the route by its key, at nominal and at its worst corners."""
        with np.errstate(all="ignore"):
            return self.spreads_and_results(lambda _: [])[1]

    def spreads_and_results(
        self, values: Callable[[Route], list[Number]]
    ) -> tuple[list[Spread], Mapping[str, tuple[Result, Spread]]]:
        """Spreads of some values and of every result, from one route of all corners; results are kept."""
        found: list[Result] = []

        def both(route: Route) -> list[Number]:
            # called for the screen, then for the corners: the same results in the same order
            found[:] = iter_results(route)
            return [*(one.value for one in found), *values(route)]

        spreads = self.spreads(both)
        self.results = {one.key: (one, spread) for one, spread in zip(found, spreads, strict=False)}
        return spreads[len(found) :], self.results

    def at_corners(self, signs: Samples) -> dict[str, Samples]:
        """The inputs by key, each with its number at every corner (corners,); a turn is part of the way."""
        values = {}
        for i, one in enumerate(self.inputs):
            share = signs[:, i]
            between = one.nominal + np.abs(share) * (np.where(share < 0, one.low, one.high) - one.nominal)
            values[one.key] = np.where(share == -1, one.low, np.where(share == 1, one.high, between))
        return values

    def population(self, *, count: int, sigmas: float, seed: int) -> Route:
        """The route of `count` cans whose sizes scatter within their tolerances, the same for the same seed.

        Sizes are normal about the middle of their limits, independent, and cut off at the limits. `sigmas` is
        how many standard deviations half a tolerance has.
        """
        random = np.random.default_rng(seed)
        values = {}
        for one in self.inputs:
            middle, half = (one.low + one.high) / 2, (one.high - one.low) / 2
            values[one.key] = np.clip(random.normal(middle, half / sigmas, size=count), one.low, one.high)
        return take(self.case.put(values))

    def drivers(self, result: Callable[[Route], Number]) -> list[tuple[str, float]]:
        """Keys of the inputs that drive a result, the strongest first, with their share of the variance.

        By the screen's half moves squared; shares below one in a thousand are left out.
        """
        values = np.broadcast_to(np.asarray(result(self.screen), dtype=float), (1 + 2 * len(self.inputs),))
        halves = (values[2::2] - values[1::2]) / 2
        total = float(np.sum(halves**2))
        if total == 0:
            return []
        shares = [(one.key, float(h * h / total)) for one, h in zip(self.inputs, halves, strict=True)]
        return sorted([s for s in shares if s[1] >= 0.001], key=lambda s: (-s[1], s[0]))


def _turn(at_low: Samples, at_high: Samples, *, slack: Samples) -> Samples:
    """Where results turn between the limits of an input, 0 at nominal; 0 where they do not."""
    bend = at_low + at_high
    turns = (at_low * at_high > 0) & (np.minimum(np.abs(at_low), np.abs(at_high)) > slack)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(turns, (at_low - at_high) / (2 * bend), 0.0)


def _table(values: Sequence[Number], count: int) -> Samples:
    """Results as rows of `count` samples; what is the same in all samples is repeated."""
    table = np.empty((len(values), count))
    for row, value in zip(table, values, strict=True):
        row[:] = value
    return table


@cache
def pick(key: str) -> Callable[[Route], Any]:
    """A picker of one number of a route by its key, such as `ironed[2].thin`."""
    steps = [
        (name, [int(index) for index in indexes])
        for name, *indexes in (part.replace("]", "").split("[") for part in key.split("."))
    ]

    def find(route: Route) -> Any:
        found: Any = route
        for name, indexes in steps:
            found = getattr(found, name)
            for index in indexes:
                found = found[index]
        return found

    return find
