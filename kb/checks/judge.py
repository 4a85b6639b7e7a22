"""Measured values against their limits, at nominal and at the worst corner."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from kb.book.records import Limit
from kb.checks.consistency.floor_keys import leaf, plain
from kb.checks.rule import Measured, Rule
from kb.route.case import Case
from kb.route.run import run
from kb.route.station import with_basis
from kb.route.stations import DECLARED, Route
from kb.route.study import Spread, Study
from kb.units import Number


class Verdict(NamedTuple):
    """One measured value judged; passing ones too. Fields as in `Measured`.

    Attributes:
        what: the quantity in trade words, with the line where there is one.
        spread: its value at nominal and at its worst corners.
        basis: what an estimate rests on; nothing for a value that is no estimate.
        limit: the plant's limit, or the check's default; None where the limit is in the specs.
    """

    rule: Rule
    at: str
    what: str
    spread: Spread
    least: float | None
    most: float | None
    against: str
    limit: Limit | None
    levers: tuple[str, ...]
    result: str = ""
    basis: str = ""

    @property
    def said(self) -> str:
        """The quantity and what its value rests on: `dome reversal (calibrated on 8 trials)`."""
        return with_basis(self.what, self.basis)

    def _sides(self) -> Iterator[tuple[float, float, float]]:
        """Margin, value and limit of each side that binds."""
        for limit, value, inward in ((self.least, self.spread.low, 1), (self.most, self.spread.high, -1)):
            if limit is not None:
                yield self._margin(inward * (value - limit), limit), value, limit

    def _margin(self, inside: float, limit: float) -> float:
        """How far inside a limit, as a fraction of it; of half the window where there are two."""
        if self.least is not None and self.most is not None and self.most > self.least:
            return inside / ((self.most - self.least) / 2)
        return inside / (abs(limit) or max(abs(self.spread.nominal), 1e-12))

    @property
    def tightest(self) -> tuple[float, float, float]:
        """Margin, value and limit of the side that binds most, at the worst corner."""
        sides = list(self._sides())
        broken = [side for side in sides if math.isnan(side[1])]
        return min(broken or sides, key=lambda side: side[0])

    @property
    def margin(self) -> float:
        """How far inside its limit at the worst corner; below zero outside, not-a-number if incomputable."""
        return self.tightest[0]

    @property
    def passed(self) -> bool:
        """Whether the worst corner is inside, up to rounding of the numbers themselves."""
        return self.margin >= -1e-9

    @property
    def has_margin(self) -> bool:
        """Whether the margin says anything: not where a valid value is at its limit by definition."""
        return self.rule.has_margin or not self.passed

    @property
    def nominal_passed(self) -> bool:
        """Whether the nominal value is inside."""
        value = self.spread.nominal
        low = -math.inf if self.least is None else self.least
        high = math.inf if self.most is None else self.most
        slack = 1e-9 * max(abs(value), 1e-9)
        return low - slack <= value <= high + slack


def judge_case(case: Case, rules: Sequence[Rule], limits: Mapping[str, Limit]) -> list[Verdict]:
    """Verdicts on the shape that the tools make, at nominal sizes; none of a check that has no limit."""
    verdicts = []
    for one in with_limits(rules, limits):
        for measured in one.measure(case):
            value = float(measured.value)
            verdicts.append(_verdict(one, measured, Spread(value, value, value), limits))
    return verdicts


def judge_route(
    study: Study,
    rules: Sequence[Rule],
    limits: Mapping[str, Limit],
    *,
    results: bool = False,
    calibrated: Mapping[str, int] = MappingProxyType({}),
) -> list[Verdict]:
    """Verdicts on a route and its runs, at nominal sizes and at each value's worst corner.

    Args:
        study: a format with its tolerances, whose shape closes
        rules: checks that read a route or a run; those without a limit give no verdict
        limits: the plant's limits by check
        results: whether the results of the route are wanted too, which then cost no route of their own
        calibrated: settings that are calibrated for the format, each with its number of trials
    """
    judged = with_limits(rules, limits)
    pairs: list[tuple[Rule, Measured]] = []

    def values(route: Route) -> list[Number]:
        # called for the screen, then for the corners: the same values in the same order
        pairs[:] = list(measure(route, judged))
        return [measured.value for _, measured in pairs]

    with np.errstate(invalid="ignore", divide="ignore"):
        spreads = study.spreads_and_results(values)[0] if results else study.spreads(values)
    return [
        _verdict(one, measured, spread, limits, calibrated)
        for (one, measured), spread in zip(pairs, spreads, strict=True)
    ]


def with_limits(rules: Sequence[Rule], limits: Mapping[str, Limit]) -> Sequence[Rule]:
    """The checks that run here and have a limit: the plant's, the check's default, or one in the specs."""
    return [one for one in rules if one.runs and one.has_limit(limits)]


def measure(route: Route, rules: Sequence[Rule]) -> Iterator[tuple[Rule, Measured]]:
    """What the checks measure on a route, and on its run on each line."""
    runs = [run(route, line) for line in route.case.lines]
    for one in rules:
        if one.reads == "route":
            yield from ((one, measured) for measured in one.measure(route))
        elif one.reads == "run":
            yield from ((one, measured) for on in runs for measured in one.measure(on))


def _verdict(
    one: Rule,
    measured: Measured,
    spread: Spread,
    limits: Mapping[str, Limit],
    calibrated: Mapping[str, int] = MappingProxyType({}),
) -> Verdict:
    limit = one.limit_in(limits)
    scale = _one_number(measured.scale)
    least, most = (limit.least, limit.most) if limit else (measured.least, measured.most)
    if limit and measured.least is not None:
        # no plant's limit reaches below what makes a shape at all
        least = max(_one_number(measured.least), -math.inf if least is None else _one_number(least))
    return Verdict(
        rule=one,
        at=measured.at,
        what=measured.what,
        spread=spread,
        least=None if least is None else _one_number(least) * scale,
        most=None if most is None else _one_number(most) * scale,
        against=measured.against,
        limit=limit,
        levers=one.levers_of(measured),
        result=_station_result(one, measured.result),
        basis=DECLARED[plain(measured.result)].basis(calibrated) if measured.result else "",
    )


def _station_result(rule: Rule, key: str) -> str:
    if key and leaf(f"route.{key}") is None:
        raise ValueError(f"{rule.name} names {key}, and no station has this result")
    return key


def _one_number(number: Number) -> float:
    """A number that is the same in all samples, as limits are."""
    return number if isinstance(number, float) else float(np.ravel(number)[0])
