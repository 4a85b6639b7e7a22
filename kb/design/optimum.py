"""The least value of a goal within rules, with its proof: what binds, and what each rule costs.

Knows no cans. Numbers are scaled by their ranges; ranges are rules like the others, so that they have a
price too. The method is sequential quadratic programming from several starts, always the same ones. The
residual of the optimality conditions proves a local optimum; it claims no more than "no better found".
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence, Set
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from kb.errors import SizebookError
from kb.units import Samples

STEP = 1e-6
"""Step of the differences that give the slopes, as a share of a number's range."""

BINDS = 1e-6
"""A rule with no more room than this binds."""

HOLDS = 1e-7
"""How far outside a rule a result may be, from rounding in the method."""


NEAR = 0.01
"""A rule that has no more room than this above the tightest may be part of a conflict."""


class Infeasible(SizebookError):  # noqa: N818 - printed in one line
    """No values within the ranges hold every rule."""

    def __init__(self, room: Samples) -> None:
        super().__init__("no values within the ranges hold every rule")
        self.room = room


@dataclass(frozen=True)
class Problem:
    """A goal to make small within rules.

    Attributes:
        goal: values of the goal; takes points (m, n), gives (m,)
        rules: room inside each rule, negative outside, of the order of one; takes points (m, n), gives (m, k)
        low: lower end of each number's range (n,)
        high: upper end of each number's range (n,)
        equal: how many of the rules, the last ones, must have no room at all
    """

    goal: Callable[[Samples], Samples]
    rules: Callable[[Samples], Samples]
    low: Samples
    high: Samples
    equal: int = 0

    def widened(self, by: Samples) -> Problem:
        """The same problem with more room in each rule, less where `by` is negative (k,)."""
        return replace(self, rules=lambda points: self.rules(points) + by)


@dataclass(frozen=True)
class Optimum:
    """The best point found.

    Attributes:
        point: the values (n,)
        goal: the goal there
        room: room inside each rule (k,)
        prices: how much the goal falls for one unit more room in each rule (k,); 0 where a rule does not bind
        range_prices: likewise for the low and high ends of the ranges (2, n), per unit of the number
        residual: slope of the goal that the prices do not explain, as a share of that slope
        starts: starts tried, and how many of them came to this goal
    """

    point: Samples
    goal: float
    room: Samples
    prices: Samples
    range_prices: Samples
    residual: float
    starts: tuple[int, int]


def least(problem: Problem, start: Samples, *, starts: int = 1, steps: int = 200) -> Optimum:
    """The point with the least goal that holds every rule.

    Args:
        problem: goal, rules and ranges
        start: where to begin (n,)
        starts: how many starts; those after the first are spread evenly over the ranges
        steps: most steps from one start

    Returns:
        The best point found, with prices.

    Raises:
        Infeasible: if no start leads to a point that holds every rule.
    """
    scaled = _Scaled(problem)
    first = scaled.shares(np.asarray(start, dtype=float))
    found, closest = [], None
    for begin in _spread(first, starts):
        point = scaled.descend(begin, steps)
        room = scaled.room(point)
        worst = scaled.worst(room)
        if worst >= -HOLDS:
            found.append((scaled.goal(point), tuple(point)))
        if closest is None or worst > closest[0]:
            closest = (worst, room)
    if not found:
        assert closest is not None
        raise Infeasible(closest[1])
    goal, best = min(found)
    same = sum(one <= goal + 1e-6 * max(abs(goal), 1.0) for one, _ in found)
    return scaled.optimum(np.array(best), (starts, same))


def price(problem: Problem, at: Optimum, rule: int, by: float) -> float:
    """How much the goal falls for one unit more room in a rule, found by solving again with `by` more room.

    Not-a-number where the problem with less room (`by` negative) has no answer.
    """
    more = np.zeros(len(at.room))
    more[rule] = by
    try:
        return (at.goal - least(problem.widened(more), at.point).goal) / by
    except Infeasible:
        return float("nan")


class Widest(NamedTuple):
    """The most room that rules can have at once.

    Attributes:
        room: that room, below zero where they cannot all hold
        point: where (n,)
        tight: the rules that let none have more
    """

    room: float
    point: Samples
    tight: NDArray[np.intp]


def widest(
    problem: Problem, start: Samples, *, among: NDArray[np.bool_] | None = None, most: float = 1.0
) -> Widest:
    """The most room that rules can have at once.

    Args:
        problem: rules and ranges; the goal does not count
        start: where to begin (n,)
        among: the rules that shall have it (k,); the others only hold. Default: all
        most: as far as room is looked for
    """
    here = problem.rules(start[None])[0]
    share = np.ones(len(here)) if among is None else among.astype(float)
    least_room = float(np.min(here))
    with_room = Problem(
        goal=lambda points: -points[:, -1],
        rules=lambda points: problem.rules(points[:, :-1]) - points[:, -1:] * share,
        low=np.append(problem.low, -2 * max(1.0, abs(least_room))),
        high=np.append(problem.high, most),
    )
    found = least(with_room, np.append(start, min(least_room, most)))
    return Widest(-found.goal, found.point[:-1], np.flatnonzero(found.prices * share > BINDS))


def conflict(
    problem: Problem, start: Samples, groups: Sequence[Hashable] | None = None
) -> list[tuple[int, float]]:
    """The smallest set of rules that cannot hold together, and how far each would have to give alone.

    Args:
        problem: a problem that no point solves
        start: where to begin (n,)
        groups: a label for each rule; rules of one label give together. Default: each rule alone

    Returns:
        Index of a rule of each label, found by dropping one label at a time: without any one of them the rest
        can hold. Beside each the room that it lacks when all others hold; not-a-number where they cannot.
    """
    most, point, _ = widest(problem, start)
    room = problem.rules(point[None])[0]
    labels = list(groups) if groups is not None else list(range(len(room)))
    tight = [int(i) for i in np.argsort(room) if room[i] < max(most, 0.0) + NEAR]
    kept = list(dict.fromkeys(labels[i] for i in tight))
    loose = set(labels) - set(kept)
    for one in tuple(kept):
        fewer = [label for label in kept if label != one]
        if widest(_only(problem, labels, {*loose, *fewer}), point).room < -HOLDS:
            kept = fewer
    return [(next(i for i in tight if labels[i] == one), _lacks(problem, labels, one, point)) for one in kept]


def _lacks(problem: Problem, labels: Sequence[Hashable], one: Hashable, point: Samples) -> float:
    """How much room the rules of a label lack at best when all others hold."""
    own = np.array([label == one for label in labels])
    inside = widest(_only(problem, labels, set(labels) - {one}), point)
    if inside.room < -HOLDS:
        return float("nan")
    return -widest(problem, inside.point, among=own).room


def _only(problem: Problem, labels: Sequence[Hashable], some: Set[Hashable]) -> Problem:
    """The rules of some labels."""
    kept = [i for i, label in enumerate(labels) if label in some]
    return replace(problem, rules=lambda points: problem.rules(points)[:, kept], equal=0)


def _spread(first: Samples, count: int) -> list[Samples]:
    """The first start, then points spread evenly by fractions of the powers of one root, always the same."""
    if count == 1:
        return [first]
    ratio = 2.0
    for _ in range(60):  # the root of x**(n+1) = x + 1
        ratio = (1 + ratio) ** (1 / (len(first) + 1))
    powers = ratio ** -np.arange(1, len(first) + 1)
    more = [np.asarray((0.5 + powers * i) % 1) for i in range(1, count)]
    return [first, *more]


class _Scaled:
    """A problem with its numbers as shares of their ranges and its rules in one list with the ranges."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.low = np.asarray(problem.low, dtype=float)
        self.width = np.asarray(problem.high, dtype=float) - self.low
        self._seen: tuple[bytes, Samples, Samples] | None = None

    def shares(self, point: Samples) -> Samples:
        return np.clip((point - self.low) / self.width, 0.0, 1.0)

    def points(self, shares: Samples) -> Samples:
        return self.low + shares * self.width

    @cached_property
    def goal_scale(self) -> float:
        """The size of the goal, or of its slope where it is zero in the middle of the ranges."""
        middle = np.full(len(self.low), 0.5)
        return max(abs(self.goal(middle)), float(np.max(np.abs(self.slopes(middle)[0]))), 1e-12)

    def _around(self, shares: Samples) -> tuple[Samples, Samples]:
        """Goal and rules at a point and one step to either side in each number: (1 + 2n,), (1 + 2n, k)."""
        key = shares.tobytes()
        if self._seen is None or self._seen[0] != key:
            step = STEP * np.eye(len(shares))
            points = self.points(np.concatenate([shares[None], shares + step, shares - step]))
            with np.errstate(all="ignore"):
                goal = np.asarray(self.problem.goal(points), dtype=float)
                room = np.asarray(self.problem.rules(points), dtype=float)
            self._seen = key, goal, np.nan_to_num(room, nan=-1e3, posinf=1e3, neginf=-1e3)
        return self._seen[1:]

    def goal(self, shares: Samples) -> float:
        return float(self._around(shares)[0][0])

    def room(self, shares: Samples) -> Samples:
        return self._around(shares)[1][0]

    def slopes(self, shares: Samples) -> tuple[Samples, Samples]:
        """Slopes of the goal (n,) and of the rules (k, n), by shares."""
        count = len(shares)
        goal, room = self._around(shares)
        up, down = slice(1, 1 + count), slice(1 + count, None)
        return (goal[up] - goal[down]) / (2 * STEP), ((room[up] - room[down]) / (2 * STEP)).T

    def worst(self, room: Samples) -> float:
        """The room of the rule with least, or how far off the rules are that must have none."""
        equal = self.problem.equal
        open_rules, exact = (room[:-equal], room[-equal:]) if equal else (room, room[:0])
        return float(min(np.min(open_rules, initial=np.inf), -np.max(np.abs(exact), initial=0.0) + 1e-12))

    def descend(self, begin: Samples, steps: int) -> Samples:
        from scipy.optimize import minimize  # noqa: PLC0415 - half a second to import

        equal, scale = self.problem.equal, self.goal_scale
        count = len(self.room(begin)) - equal
        identity = np.eye(len(begin))
        constraints = [
            {
                "type": "ineq",
                "fun": lambda x: np.concatenate([self.room(x)[:count], x, 1 - x]),
                "jac": lambda x: np.vstack([self.slopes(x)[1][:count], identity, -identity]),
            }
        ]
        if equal:
            constraints.append(
                {
                    "type": "eq",
                    "fun": lambda x: self.room(x)[count:],
                    "jac": lambda x: self.slopes(x)[1][count:],
                }
            )
        result = minimize(
            lambda x: self.goal(x) / scale,
            begin,
            jac=lambda x: self.slopes(x)[0] / scale,
            constraints=constraints,
            method="SLSQP",
            options={"maxiter": steps, "ftol": 1e-11},
        )
        return np.clip(np.asarray(result.x, dtype=float), 0.0, 1.0)

    def optimum(self, shares: Samples, starts: tuple[int, int]) -> Optimum:
        """The point with its prices: by least squares over what binds, none of them negative."""
        from scipy.optimize import lsq_linear  # noqa: PLC0415

        goal, rules = self.slopes(shares)
        room = self.room(shares)
        identity, equal, count = np.eye(len(shares)), self.problem.equal, len(room)
        slopes = np.vstack([rules, identity, -identity])
        all_room = np.concatenate([room, shares, 1 - shares])
        free = np.zeros(len(all_room), dtype=bool)
        free[count - equal : count] = equal > 0
        binding = np.flatnonzero(free | (all_room <= BINDS))
        prices = np.zeros(len(all_room))
        if len(binding):
            fit = lsq_linear(
                slopes[binding].T,
                goal,
                bounds=(np.where(free[binding], -np.inf, 0.0), np.full(len(binding), np.inf)),
                tol=1e-14,
            )
            prices[binding] = fit.x
        size = float(np.linalg.norm(goal)) or 1.0
        residual = float(np.linalg.norm(goal - slopes.T @ prices)) / size
        return Optimum(
            point=self.points(shares),
            goal=self.goal(shares),
            room=room,
            prices=prices[:count],
            range_prices=prices[count:].reshape(2, -1) / self.width,
            residual=residual,
            starts=starts,
        )
