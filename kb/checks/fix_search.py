"""The nearest values of a lever at which a failed check passes.

A lever is one number, or several that move by the same amount, such as the heights of a can.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping, Sequence
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, ROUND_UP, Decimal
from typing import Any, NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

from kb.book.conversion import in_unit
from kb.book.keys import quantity_at
from kb.book.quantity import Quantity
from kb.book.records import Limit
from kb.checks.catalog import GEOMETRY, MECHANICS
from kb.checks.judge import Verdict, judge_case, judge_route, measure
from kb.checks.rule import Measured
from kb.route import take
from kb.route.assemble import Assembled
from kb.route.case import Case
from kb.route.study import Spread, Study
from kb.units import Number, Samples

Lever: TypeAlias = tuple[str, ...]
"""Keys of numbers that move by the same amount; the first is the one that is searched."""

HEIGHTS: Lever = (
    "format.trim.height",
    "format.punch.step_height",
    "format.neck.shoulder_height",
    "format.flange.finished_height",
)
"""Heights that move together when a can becomes taller or shorter."""

Values: TypeAlias = Callable[[Any], dict[str, Any]]
"""The numbers of a lever, by key, where the first of them has a value, or samples."""

REACH = 0.4
"""How far from its present value a lever is searched, as a fraction of it."""

NEAR = (0.02, 0.08)
"""Values this far off are searched before those that are further, as fractions of the present value."""

FINE = 1000
"""Values between two that have a narrow window between them."""

WINDOW_STEPS = 40
"""Values to each side at which the ends of a window are searched, and between two of them again."""

COUNTS = 8
"""How far a whole number, such as the neck stages, is searched."""


INSIDE = 0.25
"""How far inside the one end of its window a number goes, as a share of its tolerance; at least one step."""


class Window(NamedTuple):
    """Where every check that passes keeps passing: the ends of a number; None where no check ends it."""

    low: float | None
    high: float | None


class Moved(NamedTuple):
    """A format with other values of a lever, at which a verdict passes.

    Attributes:
        values: new nominal numbers by key, in the unit inside
        study: the format with these values
        verdicts: all checks of it
        same: the verdict that passes now
        window: of a single number, where the verdict and all other checks pass
    """

    values: Mapping[str, float]
    study: Study
    verdicts: list[Verdict]
    same: Verdict
    window: Window | None = None


def nearest_passing(
    assembled: Assembled, study: Study, verdict: Verdict, lever: Lever, limits: Mapping[str, Limit]
) -> Moved | None:
    """The nearest values of a lever at which a verdict passes; the middle where it has two limits.

    At the new values the corners are a little wider or narrower than at the present ones. Values that
    just miss are therefore searched again with the corners found there.

    Args:
        assembled: the format as written, for the decimals of its numbers
        study: the format, or the format with other numbers moved already
        verdict: the failed verdict of this study
        lever: the numbers to move
        limits: the plant's limits by check
    """
    aim = verdict
    for _ in range(3):
        values = _nearest(assembled, study.case, aim, lever)
        if values is None:
            return None
        moved = with_values(study, values)
        after = judged(moved, limits)
        same = next((one for one in after if one.rule is verdict.rule and one.what == verdict.what), None)
        if same is None:
            return None
        if same.passed:
            return Moved(values, moved, after, same)
        sought = _measured(study.case, verdict, values)
        aim = verdict._replace(spread=_shifted(verdict.spread, same.spread, sought))
    return None


def centred(assembled: Assembled, found: Moved, verdict: Verdict, limits: Mapping[str, Limit]) -> Moved:
    """A moved number in the middle of the window in which all checks pass that pass where it is.

    Where one end of the window is beyond reach, the number goes inside the other end by `INSIDE`. It stays
    where its window is narrower than a step of its decimals, and where the new value fails a check.

    Args:
        assembled: the format as written, for the decimals and the tolerance of the number
        found: the format with one number moved to a value that passes
        verdict: the failed verdict, with the limits to hold
        limits: the plant's limits by check
    """
    ((key, value),) = found.values.items()
    written = written_quantity(assembled, key)
    if written is None or isinstance(assembled.case.at(key), int):
        return found
    window = _window(found, key, verdict)
    low, high = window
    step = in_unit(10.0**-written.decimals, written.unit, written.canonical)
    if low is not None and high is not None:
        aim = (low + high) / 2
    elif low is not None or high is not None:
        inside = max(INSIDE * (written.high - written.low) / 2, step)
        aim = low + inside if low is not None else float(high or 0.0) - inside
    else:
        return found
    aim = as_decimals(aim, written)
    if abs(aim - value) < step / 2:
        return found._replace(window=window)
    study = with_values(found.study, {key: aim})
    after = judged(study, limits)
    failed = {one.rule.name for one in found.verdicts if not one.passed}
    same = next((one for one in after if _is_same(one, found.same)), None)
    if same is None or not same.passed or {one.rule.name for one in after if not one.passed} - failed:
        return found
    return Moved({key: aim}, study, after, same, window)


def _is_same(one: Verdict, other: Verdict) -> bool:
    return one.rule is other.rule and one.what == other.what and one.at == other.at


def _window(found: Moved, key: str, verdict: Verdict) -> Window:
    """The window of a number around the value that was found, from all checks that pass there."""
    value = found.values[key]
    steps = np.append(0.0, np.geomspace(1e-4, REACH, WINDOW_STEPS))
    sides = [value * (1 - steps), value * (1 + steps)]
    firsts = _first_failing(found, key, sides, verdict)
    sides = [
        np.linspace(side[first - 1], side[first], WINDOW_STEPS) if first else side[:1]
        for side, first in zip(sides, firsts, strict=True)
    ]
    again = _first_failing(found, key, sides, verdict)
    low, high = (
        float(side[max((fine or 1) - 1, 0)]) if first else None
        for side, first, fine in zip(sides, firsts, again, strict=True)
    )
    return Window(low, high)


def _first_failing(found: Moved, key: str, sides: Sequence[Samples], verdict: Verdict) -> list[int | None]:
    """On each side the first value at which a check fails that passes where the number was found."""
    passing = {(one.rule.name, one.at, one.what): one for one in found.verdicts if one.passed}
    values = np.concatenate(sides)
    fails = np.zeros(len(values), dtype=bool)
    with np.errstate(all="ignore"):
        changed = found.study.case.put({key: values})
        rows = [(rule, one) for rule in GEOMETRY if rule.runs for one in rule.measure(changed)]
        rows += measure(take(changed), MECHANICS)
        for rule, one in rows:
            if (was := passing.get((rule.name, one.at, one.what))) is None:
                continue
            if _is_same(was, found.same):
                was = was._replace(least=verdict.least, most=verdict.most)
            fails |= ~_holds(was, one, len(values))
    split = np.split(fails, [len(sides[0])])
    return [int(failing[0]) + 1 if len(failing := np.flatnonzero(side[1:])) else None for side in split]


def _holds(was: Verdict, one: Measured, count: int) -> NDArray[np.bool_]:
    """Whether values hold their limits, with the corners as far off as those of a verdict."""
    value = np.broadcast_to(one.value, count)
    spread = was.spread
    own = was.limit is None  # a limit in the specs may move with the number
    ends = ((one.least, was.least), (one.most, was.most))
    least, most = (
        end if end is None or not own or moving is None else moving * np.asarray(one.scale)
        for moving, end in ends
    )
    slack = 1e-9 * (abs(spread.nominal) or 1.0)
    above = True if least is None else value + (spread.low - spread.nominal) >= least - slack
    below = True if most is None else value + (spread.high - spread.nominal) <= most + slack
    return np.broadcast_to(np.logical_and(above, below), count)


def judged(study: Study, limits: Mapping[str, Limit]) -> list[Verdict]:
    """All verdicts of a format, as far as its geometry lets them come."""
    with np.errstate(all="ignore"):
        verdicts = judge_case(study.case, GEOMETRY, limits)
        if all(one.passed for one in verdicts):
            verdicts += judge_route(study, MECHANICS, limits)
    return verdicts


def with_values(study: Study, values: Mapping[str, float]) -> Study:
    """A study with other nominal values, their tolerances moved along."""
    inputs = [one.about(values[one.key]) if one.key in values else one for one in study.inputs]
    return Study(study.case.with_nominals(values), inputs)


def written_quantity(assembled: Assembled, key: str) -> Quantity | None:
    """The number under a key as the book writes it; None for a number without a unit."""
    part, _, rest = key.partition(".")
    return quantity_at(assembled.specs[part].record, rest)


def _shifted(present: Spread, found: Spread, sought: Number | None) -> Spread:
    """The present nominal with the corners as far off as those found are from the value that was sought."""
    nominal = found.nominal if sought is None else float(sought)
    return Spread(
        present.nominal,
        present.nominal + found.low - nominal,
        present.nominal + found.high - nominal,
    )


def _nearest(assembled: Assembled, case: Case, verdict: Verdict, lever: Lever) -> dict[str, float] | None:
    """The values of a lever nearest to its present ones at which the verdict would pass."""
    try:
        present = {key: case.at(key) for key in lever}
    except LookupError:
        return None  # a ring or stage this format does not have
    now = present[lever[0]]
    if isinstance(now, int):
        counts: list[dict[str, float]] = [{lever[0]: n} for n in _counts_near(now)]
        return next((one for one in counts if _passes(verdict, _measured(case, verdict, one))), None)
    if not all(isinstance(one, float) for one in present.values()) or now == 0.0:
        return None  # a text, or no value to search around
    start = float(now)

    def at(value: Any) -> dict[str, Any]:
        return {key: one + (value - start) for key, one in present.items()}

    steps = np.geomspace(1e-5, REACH, 80)
    found = _first_values(case, verdict, at, start, steps)
    if not found:
        return None
    nearest = min(found, key=lambda value: abs(value - start))
    written = [written_quantity(assembled, key) for key in lever]
    if verdict.least is None or verdict.most is None:
        way = ROUND_CEILING if nearest > start else ROUND_FLOOR
        return at(_rounded(nearest, start, written, way))
    # the middle of the window, for the corners and not for the nominal value
    spread = verdict.spread
    aim = (verdict.least + verdict.most - spread.low - spread.high) / 2 + spread.nominal
    beyond = start * (1 + np.copysign(steps[steps >= abs(nearest / start - 1)], nearest - start))
    middle = _middle(case, verdict, at, np.array([nearest, *beyond]), aim)
    return at(_rounded(middle, start, written, ROUND_HALF_EVEN))


def _counts_near(now: int) -> list[int]:
    return [n for step in range(1, COUNTS + 1) for n in (now + step, now - step) if n > 0]


def _first_values(case: Case, verdict: Verdict, at: Values, start: float, steps: Samples) -> list[float]:
    """The first values that pass below and above; near values first, as what is far takes longer."""
    ends = [0, *np.searchsorted(steps, NEAR), len(steps)]
    for low, high in itertools.pairwise(ends):
        values = (start * (1 + sign * steps[max(low - 1, 0) : high]) for sign in (-1.0, 1.0))
        sought = (_first_passing(case, verdict, at, one, start) for one in values)
        if found := [value for value in sought if value is not None]:
            return found
    return []


def _first_passing(case: Case, verdict: Verdict, at: Values, values: Samples, start: float) -> float | None:
    """The first of the values that passes, refined against the last one that does not."""
    values = np.array([start, *values])
    measured = _measured(case, verdict, at(values))
    passing = _passes(verdict, measured)
    across = _across(verdict, measured) if measured is not None else passing
    reached = np.flatnonzero(passing | across)
    if not len(reached):
        return None
    first = max(int(reached[0]), 1)
    between = np.linspace(values[first - 1], values[first], 60 if passing[first] else FINE)
    refined = np.flatnonzero(_passes(verdict, _measured(case, verdict, at(between))))
    if len(refined):
        return float(between[int(refined[0])])
    return float(values[first]) if passing[first] else None


def _across(verdict: Verdict, measured: Number) -> NDArray[np.bool_]:
    """Where a value is on the other side of a window than the value before it: the window is between them."""
    if verdict.least is None or verdict.most is None:
        return np.zeros(np.shape(measured), dtype=bool)
    with np.errstate(invalid="ignore"):
        side = np.sign(measured - (verdict.least + verdict.most) / 2)
        return np.append(False, side[1:] * side[:-1] < 0)


def _middle(case: Case, verdict: Verdict, at: Values, values: Samples, aim: float) -> float:
    """Of values of which the first passes, the one whose measured value is nearest an aim."""

    def nearest(values: Samples) -> int:
        measured = _measured(case, verdict, at(values))
        if measured is None:
            return 0
        return int(np.argmin(np.where(_passes(verdict, measured), np.abs(measured - aim), np.inf)))

    best = nearest(values)
    between = np.linspace(values[max(best - 1, 0)], values[min(best + 1, len(values) - 1)], 61)
    return float(between[nearest(between)])


def _measured(case: Case, verdict: Verdict, values: Mapping[str, Number]) -> Number | None:
    """What the verdict's check measures, at nominal sizes, with other values of a lever."""
    with np.errstate(all="ignore"):
        changed = case.put(values)
        found: list[Measured]
        if verdict.rule.reads == "case":
            found = list(verdict.rule.measure(changed))
        else:
            found = [one for _, one in measure(take(changed), (verdict.rule,))]
    same = next((one for one in found if one.what == verdict.what), None)
    if same is None:
        return None
    shape = np.shape(next(iter(values.values())))
    return np.broadcast_to(same.value, shape) if shape else same.value


def _passes(verdict: Verdict, value: Number | None) -> NDArray[np.bool_]:
    """Whether nominal values pass when their corners are as far off as the verdict's own."""
    if value is None:
        return np.asarray(False)
    spread = verdict.spread
    low, high = value + (spread.low - spread.nominal), value + (spread.high - spread.nominal)
    with np.errstate(invalid="ignore"):
        above = True if verdict.least is None else np.greater_equal(low, verdict.least)
        below = True if verdict.most is None else np.less_equal(high, verdict.most)
    return np.asarray(np.logical_and(above, below))


def _rounded(value: float, now: float, written: Sequence[Quantity | None], way: str) -> float:
    """A value rounded to the written decimals; of several numbers, what they move by, to the coarsest."""
    quantities = [one for one in written if one is not None]
    if len(quantities) < len(written):
        return value
    if len(quantities) == 1:
        return as_decimals(value, quantities[0], way)
    coarsest = max(quantities, key=lambda one: in_unit(10.0**-one.decimals, one.unit, one.canonical))
    return now + as_decimals(value - now, coarsest, ROUND_HALF_EVEN if way == ROUND_HALF_EVEN else ROUND_UP)


def as_decimals(value: float, like: Quantity, way: str = ROUND_HALF_EVEN) -> float:
    """A value rounded to the unit and the decimals in which a number is written."""
    shown = Decimal(repr(in_unit(value, like.canonical, like.unit)))
    step = Decimal(1).scaleb(-like.decimals)
    return in_unit(float(shown.quantize(step, rounding=way)), like.unit, like.canonical)
