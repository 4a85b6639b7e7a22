"""A format as a problem: some of its sizes free, every check a rule, coil the goal.

Each rule is a check at the worst corner of the tolerances, as `check` judges it. Which corner is worst is
read at the sizes the search begins with, and again at its result. FreeSizes that only say what the tools make
(the targets of walls and weight) follow the tools.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, NamedTuple

import numpy as np

from kb.book.keys import members
from kb.book.records import Limit
from kb.checks.catalog import GEOMETRY, MECHANICS
from kb.checks.judge import measure, with_limits
from kb.checks.rule import Measured, Rule
from kb.design.optimum import Problem
from kb.route import take
from kb.route.case import Case
from kb.route.stations import Route
from kb.route.study import Input, Study
from kb.units import Number, Samples

FOLLOWING: dict[str, Callable[[Route], Number]] = {
    "format.targets.thin_wall": lambda route: route.ironed[-1].thin,
    "format.targets.thick_wall": lambda route: route.ironed[-1].thick,
    "format.targets.body_mass": lambda route: route.flanged.mass,
}
"""FreeSizes that say what the tools make, with the result they follow."""

UNKNOWN = -1e3
"""Room of a rule whose value cannot be computed."""


class LimitSide(NamedTuple):
    """One limit of one value that a check measures.

    Attributes:
        rule: the check
        at: key of the value
        what: the quantity in trade words
        upper: whether the limit is the most allowed
        limit: the limit, in the unit of the check
        scale: what one unit of room is, in the unit of the check
        own: the plant's limit, or the check's default; None where the limit is in the specs
        against: where a limit in the specs comes from
    """

    rule: Rule
    at: str
    what: str
    upper: bool
    limit: float
    scale: float
    own: Limit | None
    against: str


@dataclass(frozen=True)
class FreeSizes:
    """Free sizes of a format, within ranges.

    Attributes:
        study: the format with its tolerances
        limits: the plant's limits by check
        keys: the free sizes
        ranges: low and high of each, in the unit inside
    """

    study: Study
    limits: Mapping[str, Limit]
    keys: tuple[str, ...]
    ranges: tuple[tuple[float, float], ...]

    @property
    def start(self) -> Samples:
        """The free sizes as they are."""
        return np.array([float(self.study.case.at(key)) for key in self.keys])

    def at(self, point: Samples) -> Study:
        """The format at other sizes: what follows the tools follows, tolerances move along."""
        values = dict(zip(self.keys, (float(one) for one in point), strict=True))
        case = self._following(self.study.case.with_nominals(values))
        moved = {key: float(case.at(key)) for key in (*values, *FOLLOWING)}
        inputs = [one.about(moved[one.key]) if one.key in moved else one for one in self.study.inputs]
        return Study(case, inputs)

    def around(self, point: Samples) -> FreeSizes:
        """The same free sizes, beginning at a point, with the worst corners there."""
        return replace(self, study=self.at(point))

    def without(self, key: str) -> FreeSizes:
        """The same sizes but one, which keeps its value."""
        kept = [(one, between) for one, between in zip(self.keys, self.ranges, strict=True) if one != key]
        return replace(self, keys=tuple(one for one, _ in kept), ranges=tuple(between for _, between in kept))

    @property
    def problem(self) -> Problem:
        """Least coil [kg per 1000 cans] with every moving rule held, at its worst corner."""
        low, high = np.array(self.ranges).T
        return Problem(
            lambda points: self._taken(points)[0],
            lambda points: self._taken(points)[1][:, self._moving],
            low,
            high,
        )

    @cached_property
    def sides(self) -> tuple[LimitSide, ...]:
        """The limits that are rules of the problem, in its order."""
        return tuple(self._all_sides[i] for i in self._moving)

    @cached_property
    def stuck(self) -> tuple[LimitSide, ...]:
        """Limits that do not hold and that no free size moves."""
        room = self._taken(self.start[None])[1][0]
        moving = set(self._moving.tolist())
        return tuple(
            side for i, side in enumerate(self._all_sides) if i not in moving and not room[i] >= -1e-9
        )

    @cached_property
    def _moving(self) -> np.ndarray:
        """Which limits move with a free size."""
        low, high = np.array(self.ranges).T
        step = 1e-4 * np.diag(high - low)
        room = self._taken(np.vstack([self.start, self.start + step, self.start - step]))[1]
        return np.flatnonzero(np.nanmax(np.abs(room - room[0]), axis=0) > 1e-9)

    # --- routes at many points and corners ------------------------------------------------------

    @cached_property
    def _judged(self) -> tuple[Sequence[Rule], Sequence[Rule]]:
        return with_limits(GEOMETRY, self.limits), with_limits(MECHANICS, self.limits)

    @cached_property
    def _corners(self) -> tuple[Samples, np.ndarray, np.ndarray]:
        """Signs of the corners, nominal first; for each value the corners where it is lowest and highest."""
        with np.errstate(all="ignore"):
            worst = self.study.worst_corners(
                lambda route: [one.value for _, one in measure(route, self._judged[1])]
            )
        nominal = np.zeros((1, len(self.study.inputs)))
        return np.vstack([nominal, worst.signs]), worst.lowest + 1, worst.highest + 1

    @cached_property
    def _all_sides(self) -> tuple[LimitSide, ...]:
        with np.errstate(all="ignore"):
            return tuple(side for side, _ in self._rows(self.start[None]))

    def _taken(self, points: Samples) -> tuple[Samples, Samples]:
        """Coil (m,) and room (m, k) at points (m, n)."""
        key = points.tobytes()
        if self._last.get("key") != key:
            scales = [side.scale for side in self._all_sides]
            with np.errstate(all="ignore"):
                inside = np.stack([inside for _, inside in self._rows(points)], axis=1)
            self._last.update(key=key, room=np.nan_to_num(inside / scales, nan=UNKNOWN))
        return self._last["coil"], self._last["room"]

    @cached_property
    def _last(self) -> dict[str, Any]:
        """The last points with their coil and room; the method reads goal and rules one after the other."""
        return {}

    def _rows(self, points: Samples) -> Iterator[tuple[LimitSide, Samples]]:
        """Each limit, and how far inside it the points are (m,), in the unit of the check."""
        signs, lowest, highest = self._corners
        count, corners = len(points), len(signs)
        plain = self._following(self._case(points.T))
        for one in self._judged[0]:
            for measured in one.measure(plain):
                value = _spread_over(measured.value, (count, 1))[:, 0]
                yield from self._limits_of(one, measured, (value, value, value), (count, 1))
        values = {one.key: self._at_corners(one, points, i, signs) for i, one in enumerate(self.study.inputs)}
        for i, key in enumerate(self.keys):
            values.setdefault(key, np.repeat(points[:, i], corners))
        moved = {key: np.repeat(plain.at(key) * np.ones(count), corners) for key in FOLLOWING}
        route = take(self._case(np.repeat(points, corners, axis=0).T).with_nominals(moved).put(values))
        self._last["coil"] = _spread_over(route.blank.coil_mass, (count, corners))[:, 0] / 1000
        for i, (one, measured) in enumerate(measure(route, self._judged[1])):
            value = _spread_over(measured.value, (count, corners))
            spreads = value[:, 0], value[:, lowest[i]], value[:, highest[i]]
            yield from self._limits_of(one, measured, spreads, (count, corners))

    def _case(self, numbers: Samples) -> Case:
        return self.study.case.with_nominals(dict(zip(self.keys, numbers, strict=True)))

    def _following(self, case: Case) -> Case:
        route: Route = take(case)
        return case.with_nominals({key: result(route) for key, result in FOLLOWING.items()})

    def _at_corners(self, one: Input, points: Samples, i: int, signs: Samples) -> Samples:
        """A toleranced number at all corners of all points (m * corners,)."""
        offset = self.study.at_corners(signs)[one.key] - one.nominal
        if one.key in self.keys:
            return (points[:, self.keys.index(one.key), None] + offset).reshape(-1)
        return np.tile(one.nominal + offset, len(points))

    def _limits_of(
        self, one: Rule, measured: Measured, spreads: Sequence[Samples], shape: tuple[int, int]
    ) -> Iterator[tuple[LimitSide, Samples]]:
        """The limits of a value, from its nominal, lowest and highest (m,) at the points."""
        nominal, low, high = spreads
        own = one.limit_in(self.limits)

        def in_unit_of_check(end: Number | None) -> Samples | None:
            return (
                None
                if end is None
                else (_spread_over(end, shape) * _spread_over(measured.scale, shape))[:, 0]
            )

        least, most = (in_unit_of_check(end) for end in ((own.least, own.most) if own else measured[3:5]))
        floor = in_unit_of_check(measured.least) if own else None
        if floor is not None:
            least = floor if least is None else np.maximum(least, floor)
        for upper, end in ((False, least), (True, most)):
            if end is None:
                continue
            scale = abs(float(end[0])) or max(abs(float(nominal[0])), 1e-12)
            if least is not None and most is not None and most[0] > least[0]:
                scale = float(most[0] - least[0]) / 2
            side = LimitSide(
                rule=one,
                at=measured.at,
                what=measured.what,
                upper=upper,
                limit=float(end[0]),
                scale=scale,
                own=own,
                against=measured.against,
            )
            yield side, end - high if upper else low - end


def free_sizes(case: Case, patterns: Sequence[str]) -> tuple[str, ...]:
    """The keys of a case under patterns such as `format.ironing.rings[].bore`."""
    return tuple(key for pattern in patterns for key, _ in members(case, pattern))


def _spread_over(number: Number, shape: tuple[int, int]) -> Samples:
    """A number as (points, corners); one number, or one for each point, is repeated."""
    array = np.asarray(number, dtype=float)
    return np.broadcast_to(array, shape) if array.ndim == 0 else array.reshape(shape)
