"""What to change so that a finding goes away: numbers from the route itself, the cheapest first.

For each lever of a failed check the route is taken at many values of it at once; the nearest value
that passes is rounded away from the limit, put into the format, and the whole format checked again.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal
from pathlib import PurePosixPath

import numpy as np
from numpy.typing import NDArray

from kb.book.conversion import in_unit
from kb.book.finding import Consequence, Edit
from kb.book.keys import quantity_at
from kb.book.load import FOLDERS
from kb.book.quantity import Quantity, with_target
from kb.book.records import Limit
from kb.checks.catalog import GEOMETRY, MECHANICS
from kb.checks.consistency.floor_index import items
from kb.checks.consistency.floor_keys import plain
from kb.checks.judge import Verdict, judge_case, judge_route, measure
from kb.checks.rule import Measured
from kb.checks.words import in_reader_unit, place_of, value_words
from kb.route import take
from kb.route.assemble import Assembled
from kb.route.case import Case
from kb.route.stations import STATIONS, Route
from kb.route.study import Spread, Study
from kb.units import Number, Samples

REACH = 0.4
"""How far from its present value a lever is searched, as a fraction of it."""

NEAR = (0.02, 0.08)
"""Values this far off are searched before those that are further, as fractions of the present value."""

COUNTS = 8
"""How far a whole number, such as the neck stages, is searched."""

TOOL_SIZES = tuple(f"format.{key}" for station in STATIONS for key in station.tools)
"""Keys, or blocks of keys, that are sizes of tools."""


@dataclass(frozen=True, slots=True)
class Fix:
    """One number that fixes a finding.

    Attributes:
        key: what to change.
        value: its new nominal, in the unit inside.
        edit: the value to write, as data and as a sentence.
        breaks: all checks that would newly fail.
        metal: coil it costs per 1000 cans [g].
        change: how far the number moves, as a fraction of it.
        tools: parts of the floor that change with it, for a fix of the strength of a base.
    """

    key: str
    value: float
    edit: Edit
    breaks: tuple[str, ...]
    metal: float
    change: float
    tools: tuple[str, ...] = ()

    @property
    def tool(self) -> bool:
        """Whether a tool must be ground or bought."""
        return self.key.startswith(TOOL_SIZES)

    @property
    def consequence(self) -> tuple[int, bool, float, int, float, str]:
        """What it costs, to rank by: checks that it breaks, a tool, metal, parts, the size of the move."""
        metal = round(max(self.metal, 0.0), 1)
        return len(self.breaks), self.tool, metal, len(self.tools), self.change, self.key


def fixes(
    assembled: Assembled, verdict: Verdict, standing: Sequence[Verdict], limits: Mapping[str, Limit]
) -> tuple[Fix, ...]:
    """The cheapest two fixes of a failed verdict.

    Args:
        assembled: the format
        verdict: the failed verdict
        standing: all verdicts of the format as it is
        limits: the plant's limits by check

    Returns:
        At most two fixes, those of the least consequence first.
    """
    found = []
    for key in verdict.levers:
        fix = _fix(assembled, verdict, standing, limits, key)
        if fix is not None:
            found.append(fix)
    found.sort(key=lambda fix: fix.consequence)
    return tuple(itertools.islice((fix for fix in found if _holds(assembled, verdict, limits, fix)), 2))


def _holds(assembled: Assembled, verdict: Verdict, limits: Mapping[str, Limit], fix: Fix) -> bool:
    """Whether a fix passes as a format of its own: the search takes what sizes do from the present shape."""
    if verdict.rule.needs != "strength":
        return True
    moved = with_value(assembled.study, fix.key, fix.value)
    own = Study(replace(moved.case, origin=None), moved.inputs)
    with np.errstate(all="ignore"):
        after = judge_route(own, (verdict.rule,), limits)
    return all(one.passed for one in after if one.what == verdict.what)


def _fix(
    assembled: Assembled,
    verdict: Verdict,
    standing: Sequence[Verdict],
    limits: Mapping[str, Limit],
    key: str,
) -> Fix | None:
    """One lever's fix, if it has one.

    At the new value the corners are a little wider or narrower than at the present one. A value that
    just misses is therefore searched again with the corners found there.
    """
    aim = verdict
    for _ in range(3):
        value = _nearest(assembled, aim, key)
        if value is None:
            return None
        study = with_value(assembled.study, key, value)
        after = _judged(study, limits)
        same = next((one for one in after if one.rule is verdict.rule and one.what == verdict.what), None)
        if same is None:
            return None
        if same.passed:
            return _fix_from(assembled, verdict, standing, after, same, study=study, key=key)
        aim = verdict._replace(
            spread=_shifted(verdict.spread, same.spread, _measured(assembled.case, verdict, key, value))
        )
    return None


def _shifted(present: Spread, found: Spread, sought: Number | None) -> Spread:
    """The present nominal with the corners as far off as those found are from the value that was sought."""
    nominal = found.nominal if sought is None else float(sought)
    return Spread(
        present.nominal,
        present.nominal + found.low - nominal,
        present.nominal + found.high - nominal,
    )


def _judged(study: Study, limits: Mapping[str, Limit]) -> list[Verdict]:
    """All verdicts of a format, as far as its geometry lets them come."""
    with np.errstate(all="ignore"):
        verdicts = judge_case(study.case, GEOMETRY, limits)
        if all(one.passed for one in verdicts):
            verdicts += judge_route(study, MECHANICS, limits)
    return verdicts


# --- the nearest value that passes ------------------------------------------------------------


def _nearest(assembled: Assembled, verdict: Verdict, key: str) -> float | int | None:
    """The value of a lever nearest to its present one at which the verdict would pass."""
    case = assembled.case
    try:
        now = case.at(key)
    except LookupError:
        return None  # a ring or stage this format does not have
    if isinstance(now, int):
        return next(
            (n for n in _counts_near(now) if _passes(verdict, _measured(case, verdict, key, n))), None
        )
    if not isinstance(now, float) or now == 0.0:
        return None  # a text, or nothing to search around
    start = float(now)
    steps = np.geomspace(1e-5, REACH, 80)
    found = _nearest_passing(case, verdict, key, start, steps)
    if not found:
        return None
    nearest = min(found, key=lambda value: abs(value - start))
    written = _written_quantity(assembled, key)
    if verdict.least is None or verdict.most is None:
        return _rounded(nearest, written, ROUND_CEILING if nearest > start else ROUND_FLOOR)
    # the middle of the window, for the corners and not for the nominal value
    spread = verdict.spread
    aim = (verdict.least + verdict.most - spread.low - spread.high) / 2 + spread.nominal
    beyond = start * (1 + np.copysign(steps[steps >= abs(nearest / start - 1)], nearest - start))
    middle = _middle(case, verdict, key, np.array([nearest, *beyond]), aim)
    return _rounded(middle, written, ROUND_HALF_EVEN)


def _counts_near(now: int) -> list[int]:
    return [n for step in range(1, COUNTS + 1) for n in (now + step, now - step) if n > 0]


def _nearest_passing(case: Case, verdict: Verdict, key: str, start: float, steps: Samples) -> list[float]:
    """The first values that pass below and above; near values first, as what is far takes longer."""
    ends = [0, *np.searchsorted(steps, NEAR), len(steps)]
    for low, high in itertools.pairwise(ends):
        values = (start * (1 + sign * steps[max(low - 1, 0) : high]) for sign in (-1.0, 1.0))
        sought = (_first_passing(case, verdict, key, one, start) for one in values)
        if found := [value for value in sought if value is not None]:
            return found
    return []


def _first_passing(case: Case, verdict: Verdict, key: str, values: Samples, start: float) -> float | None:
    """The first of the values that passes, refined against the last one that does not."""
    passing = np.flatnonzero(_passes(verdict, _measured(case, verdict, key, values)))
    if not len(passing):
        return None
    first = int(passing[0])
    before = values[first - 1] if first else start
    between = np.linspace(before, values[first], 60)
    refined = np.flatnonzero(_passes(verdict, _measured(case, verdict, key, between)))
    return float(between[int(refined[0])]) if len(refined) else float(values[first])


def _middle(case: Case, verdict: Verdict, key: str, values: Samples, aim: float) -> float:
    """Of values of which the first passes, the one whose measured value is nearest an aim."""

    def nearest(values: Samples) -> int:
        measured = _measured(case, verdict, key, values)
        if measured is None:
            return 0
        return int(np.argmin(np.where(_passes(verdict, measured), np.abs(measured - aim), np.inf)))

    best = nearest(values)
    between = np.linspace(values[max(best - 1, 0)], values[min(best + 1, len(values) - 1)], 61)
    return float(between[nearest(between)])


def _measured(case: Case, verdict: Verdict, key: str, values: Number) -> Number | None:
    """What the verdict's check measures, at nominal sizes, with other values of a lever."""
    with np.errstate(all="ignore"):
        changed = case.put({key: values})
        found: list[Measured]
        if verdict.rule.reads == "case":
            found = list(verdict.rule.measure(changed))
        else:
            found = [one for _, one in measure(take(changed), (verdict.rule,))]
    same = next((one for one in found if one.what == verdict.what), None)
    if same is None:
        return None
    return np.broadcast_to(same.value, np.shape(values)) if np.ndim(values) else same.value


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


def _written_quantity(assembled: Assembled, key: str) -> Quantity | None:
    part, _, rest = key.partition(".")
    return quantity_at(assembled.specs[part].record, rest)


def _rounded(value: float, written: Quantity | None, way: str) -> float:
    """A value rounded to the written decimals."""
    if written is None:
        return value
    shown = Decimal(repr(in_unit(value, written.canonical, written.unit)))
    step = Decimal(1).scaleb(-written.decimals)
    return in_unit(float(shown.quantize(step, rounding=way)), written.unit, written.canonical)


# --- the whole format judged with it ----------------------------------------------------------


def with_value(study: Study, key: str, value: float | int) -> Study:
    """A study with another nominal value, its tolerance moved along."""
    inputs = [
        replace(one, nominal=value, low=one.low + value - one.nominal, high=one.high + value - one.nominal)
        if one.key == key
        else one
        for one in study.inputs
    ]
    return Study(study.case.with_nominals({key: value}), inputs)


def _fix_from(
    assembled: Assembled,
    verdict: Verdict,
    standing: Sequence[Verdict],
    after: Sequence[Verdict],
    same: Verdict,
    *,
    study: Study,
    key: str,
) -> Fix:
    value, old = float(study.case.at(key)), float(assembled.case.at(key))
    failed_before = {one.rule.name for one in standing if not one.passed}
    breaks = tuple(sorted({one.rule.name for one in after if not one.passed} - failed_before))
    before, now = _route_or_none(assembled.study, standing), _route_or_none(study, after)
    metal = float(now.blank.coil_mass - before.blank.coil_mass) if before and now else 0.0
    effects = (_reached(verdict, same), *(_side_effects(before, now, same.what) if before and now else ()))
    written = _written_quantity(assembled, key)
    new = _as_written_number(value, written)
    words = _as_written(value, written), _as_written(old, written)
    to_write = f"set {key.removeprefix('format.')} to {words[0]} (now {words[1]})"
    tools = _tools(assembled, key) if verdict.rule.needs == "strength" else ()
    place = place_of(assembled, key)
    if PurePosixPath(place.file).parent.name == FOLDERS["body-standard"]:
        to_write += f", for every format on standard {assembled.case.format.standard}"
    edit = Edit(
        text=_fix_sentence(to_write, same, effects, breaks, tools),
        place=place,
        old=_as_written_number(old, written),
        new=new,
        unit="" if written is None or written.unit == "-" else written.unit,
        old_text=written.text if written else f"{old:g}",
        new_text=with_target(written, new) if written else f"{value:g}",
        effects=effects,
        breaks=breaks,
    )
    return Fix(key, value, edit, breaks, metal, abs(value - old) / abs(old), tools)


def _route_or_none(study: Study, standing: Sequence[Verdict]) -> Route | None:
    possible = all(one.passed for one in standing if one.rule.reads == "case")
    return study.nominal if possible else None


def _fix_sentence(
    to_write: str, same: Verdict, effects: Sequence[Consequence], breaks: Sequence[str], tools: Sequence[str]
) -> str:
    """A fix in one sentence: what to write, what the finding's quantity becomes, what moves with it."""
    parts = [f"{same.what} {value_words(same)}"]
    parts += [f"{one.what} {one.new - one.old:+.2f} {one.unit}".replace("-", "−") for one in effects[1:]]
    if breaks:
        parts.append("but then fails " + ", ".join(breaks[:3]) + (" and more" if len(breaks) > 3 else ""))
    if tools:
        parts.append(f"changes {', '.join(tools)}")
    return f"{to_write}: {'; '.join(parts)}"


def _tools(assembled: Assembled, key: str) -> tuple[str, ...]:
    """Names of the parts of the floor that change with a value."""
    if assembled.floor is None:
        return ()
    parts = (one for one in items(assembled.floor) if one.what == "part" and plain(key) in one.driven_by)
    return tuple(dict.fromkeys(one.name.split(",")[0].lower() for one in parts))


def _as_written_number(value: float | int, written: Quantity | None) -> float:
    """A value in its written unit, with its written decimals."""
    if written is None:
        return float(value)
    return round(in_unit(float(value), written.canonical, written.unit), written.decimals)


def _as_written(value: float | int, written: Quantity | None) -> str:
    if written is None:
        return f"{value:g}"
    number = f"{_as_written_number(value, written):.{written.decimals}f}"
    return number if written.unit in {"", "-"} else f"{number} {written.unit}"


def _reached(verdict: Verdict, same: Verdict) -> Consequence:
    """The quantity that the finding is about, where it is nearest its limit, in the reader's unit."""
    rule = verdict.rule
    old, new = (
        in_reader_unit(one.tightest[1], unit=rule.unit, show=rule.show)
        if rule.show != "count"
        else one.tightest[1]
        for one in (verdict, same)
    )
    return Consequence(same.what, "" if rule.show in {"-", "count"} else rule.show, float(old), float(new))


def _side_effects(before: Route, now: Route, main_words: str) -> Iterator[Consequence]:
    """Coil, trim and mass, where they move and the sentence does not begin with them."""
    for words, unit, old, new, least in (
        ("coil", "kg per 1000", before.blank.coil_mass / 1000, now.blank.coil_mass / 1000, 0.005),
        ("trim allowance", "mm", before.trimmed.allowance, now.trimmed.allowance, 0.05),
        ("body weight", "g", before.flanged.mass, now.flanged.mass, 0.005),
    ):
        if abs(float(new - old)) >= least and not words.startswith(main_words[:14]):
            yield Consequence(words, unit, float(old), float(new))
