"""What to change so that a finding goes away, by the least consequence.

Each lever of a failed check is moved to the nearest value that passes, and the whole format is checked
again. Where no single number does it, the checks that newly fail are fixed too, one number after the other.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_FLOOR
from functools import cached_property
from pathlib import PurePosixPath
from typing import NamedTuple

from kb.book.conversion import in_unit
from kb.book.finding import Consequence, Edit, NewValue
from kb.book.load import FOLDERS
from kb.book.quantity import Quantity, with_target
from kb.book.records import Limit
from kb.checks.consistency.floor_index import items
from kb.checks.consistency.floor_keys import plain
from kb.checks.fix_search import (
    HEIGHTS,
    Lever,
    Moved,
    Window,
    as_decimals,
    centred,
    judged,
    nearest_passing,
    with_values,
    written_quantity,
)
from kb.checks.judge import Verdict
from kb.checks.words import in_reader_unit, place_of, value_words
from kb.route.assemble import Assembled
from kb.route.stations import STATIONS, Route
from kb.route.study import Study

OFFERED = 2
"""Fixes that a finding offers."""

MOST_FAILED = 6
"""Checks of a format that may fail where one fix of several numbers is searched; it takes long."""

MOST_NUMBERS = 8
"""Numbers that one fix may move."""

TOOL_SIZES = tuple(f"format.{key}" for station in STATIONS for key in station.tools)
"""Keys, or blocks of keys, that are sizes of tools."""

MADE = ("format.targets.thin_wall", "format.targets.thick_wall", "format.targets.body_mass")
"""Targets that state what the tools make. A fix of several numbers may move them along."""


@dataclass(frozen=True, slots=True)
class Fix:
    """Numbers that fix a finding.

    Attributes:
        values: new nominal of each number by key, in the unit inside.
        edit: the values to write, as data and as a sentence.
        breaks: all checks that would newly fail.
        metal: coil it costs per 1000 cans [g].
        change: how far the number moves that moves furthest, as a fraction of it.
        tools: parts of the floor that change; given for several numbers, and for the strength of a base.
    """

    values: Mapping[str, float]
    edit: Edit
    breaks: tuple[str, ...]
    metal: float
    change: float
    tools: tuple[str, ...] = ()

    @property
    def tool_sizes(self) -> int:
        """Sizes of tools that must be ground or bought."""
        return sum(key.startswith(TOOL_SIZES) for key in self.values)

    @property
    def consequence(self) -> tuple[int, int, float, int, int, float, str]:
        """What it costs, to rank by: checks it breaks, tools, metal, parts, numbers, size of the move."""
        metal = round(max(self.metal, 0.0), 1)
        numbers = len(self.values)
        sizes = self.tool_sizes, metal, len(self.tools), numbers
        return len(self.breaks), *sizes, self.change, next(iter(self.values))


def fixes(
    assembled: Assembled, verdict: Verdict, standing: Sequence[Verdict], limits: Mapping[str, Limit]
) -> tuple[Fix, ...]:
    """The two fixes of a failed verdict that have the least consequence.

    Args:
        assembled: the format
        verdict: the failed verdict
        standing: all verdicts of the format as it is
        limits: the plant's limits by check

    Returns:
        At most two fixes, those of the least consequence first. Each passes as a format of its own.
    """
    search = Search(assembled, verdict, standing, limits)
    single = [(moved, search.fix(moved)) for key in verdict.levers if (moved := search.moved((key,)))]
    found = [search.fix(search.inside(moved)) for moved, _ in single]
    begun: list[Moved | None] = []
    one_does_it = any(not fix.breaks and not fix.tool_sizes for fix in found)
    if not one_does_it and len(search.failed_before) <= MOST_FAILED:
        begun += [search.moved(HEIGHTS)] if set(verdict.levers) & set(HEIGHTS) else []
        breaking = sorted((one for one in single if one[1].breaks), key=lambda one: one[1].consequence)
        begun += [moved for moved, _ in breaking[:1]]
    several = [search.fix(whole) for moved in begun if moved and (whole := search.completed(moved))]
    if several:
        found = [fix for fix in found if not fix.breaks] + several
    found.sort(key=lambda fix: fix.consequence)
    return tuple(itertools.islice(filter(search.holds, found), OFFERED))


class _Step(NamedTuple):
    """A further number, ranked by the checks that newly fail, tools, and numbers that are no target."""

    failing: int
    tool: bool
    moves_metal: bool
    key: str
    moved: Moved


@dataclass(frozen=True)
class Search:
    """The fixes of one failed verdict; arguments as for `fixes`."""

    assembled: Assembled
    verdict: Verdict
    standing: Sequence[Verdict]
    limits: Mapping[str, Limit]

    @cached_property
    def failed_before(self) -> frozenset[str]:
        return frozenset(one.rule.name for one in self.standing if not one.passed)

    def moved(self, lever: Lever) -> Moved | None:
        """The format with a lever moved until the verdict passes."""
        study = self.assembled.study
        for aim in (*self._windows(lever), self.verdict):
            moved = nearest_passing(self.assembled, study, aim, lever, self.limits)
            if moved and (same := self._same(moved.verdicts)):
                return moved._replace(same=same)
        return None

    def inside(self, moved: Moved) -> Moved:
        """A single number that breaks no check, moved from the edge of its window to the middle."""
        if len(moved.values) > 1 or self._new_failures(moved.verdicts):
            return moved
        return centred(self.assembled, moved, self.verdict, self.limits)

    def _windows(self, lever: Lever) -> Iterator[Verdict]:
        """Other failed verdicts with two limits that several numbers together fix: they give a middle."""
        if len(lever) > 1 and None in {self.verdict.least, self.verdict.most}:
            for one in self.standing:
                two_limits = one.least is not None and one.most is not None
                if not one.passed and two_limits and set(one.levers) & set(lever):
                    yield one

    def _same(self, verdicts: Sequence[Verdict]) -> Verdict | None:
        """The verdict among others, if it passes there."""
        rule, what = self.verdict.rule, self.verdict.what
        return next((one for one in verdicts if one.rule is rule and one.what == what and one.passed), None)

    def _new_failures(self, verdicts: Sequence[Verdict]) -> list[Verdict]:
        return [one for one in verdicts if not one.passed and one.rule.name not in self.failed_before]

    def completed(self, begun: Moved) -> Moved | None:
        """The format with further numbers moved, until no check newly fails; None where that has no end."""
        whole = begun
        while failing := self._new_failures(whole.verdicts):
            steps = list(self._steps(whole, failing))
            if not steps or len(whole.values) >= MOST_NUMBERS:
                return None
            step = min(steps, key=lambda one: one[:4]).moved
            whole = step._replace(values={**whole.values, **step.values})
        return whole._replace(same=self._same(whole.verdicts) or begun.same)

    def _steps(self, begun: Moved, failing: Sequence[Verdict]) -> Iterator[_Step]:
        """One further number each."""
        first = failing[0]
        for key in (*first.levers, first.at):
            if key in begun.values:
                continue
            step: Moved | None = None
            if key in MADE and key == first.at:
                step = self._followed(begun, first)
            elif key in first.levers:
                step = nearest_passing(self.assembled, begun.study, first, (key,), self.limits)
            if step is None or not self._same(step.verdicts):
                continue
            left = len(self._new_failures(step.verdicts))
            if left < len(failing):
                yield _Step(left, key.startswith(TOOL_SIZES), key not in MADE, key, step)

    def _followed(self, begun: Moved, failed: Verdict) -> Moved:
        """The format whose target states what the tools make."""
        written = written_quantity(self.assembled, failed.at)
        value = as_decimals(failed.spread.nominal, written) if written else failed.spread.nominal
        study = with_values(begun.study, {failed.at: value})
        return Moved({failed.at: value}, study, judged(study, self.limits), failed)

    def holds(self, fix: Fix) -> bool:
        """Whether a fix passes as a format of its own: the search takes strength from the present shape."""
        alone = len(fix.values) == 1
        if alone and self.verdict.rule.needs != "strength":
            return True
        moved = with_values(self.assembled.study, fix.values)
        own = judged(Study(replace(moved.case, origin=None), moved.inputs), self.limits)
        newly = {one.rule.name for one in self._new_failures(own)}
        return self._same(own) is not None and (alone or newly <= set(fix.breaks))

    def fix(self, moved: Moved) -> Fix:
        """Numbers that were moved, with their effects, as a fix."""
        study, after = moved.study, moved.verdicts
        before = _route_or_none(self.assembled.study, self.standing)
        now = _route_or_none(study, after)
        breaks = tuple(sorted({one.rule.name for one in self._new_failures(after)}))
        metal = float(now.blank.coil_mass - before.blank.coil_mass) if before and now else 0.0
        sides = _side_effects(before, now, moved.same.what) if before and now else ()
        effects = (_reached(self.verdict, moved.same), *sides)
        case = self.assembled.case
        olds = {key: float(case.at(key)) for key in moved.values}
        several = len(olds) > 1
        tools = _tools(self.assembled, olds) if several or self.verdict.rule.needs == "strength" else ()
        changes = tuple(
            _new_value(self.assembled, key, float(new), moved.window) for key, new in moved.values.items()
        )
        to_write = ", ".join(
            _to_write(self.assembled, key, new, moved.window) for key, new in moved.values.items()
        )
        if any(PurePosixPath(one.place.file).parent.name == FOLDERS["body-standard"] for one in changes):
            to_write += f", for every format on standard {case.format.standard}"
        text = _sentence(f"set {to_write}", moved.same, effects, breaks, tools)
        change = max(abs(moved.values[key] - old) / abs(old) for key, old in olds.items())
        return Fix(moved.values, Edit(text, changes, effects, breaks), breaks, metal, change, tools)


def _route_or_none(study: Study, standing: Sequence[Verdict]) -> Route | None:
    possible = all(one.passed for one in standing if one.rule.reads == "case")
    return study.nominal if possible else None


# --- a fix as data and as a sentence -------------------------------------------------------------


def _new_value(assembled: Assembled, key: str, value: float, window: Window | None) -> NewValue:
    old, written = float(assembled.case.at(key)), written_quantity(assembled, key)
    new = _as_written_number(value, written)
    return NewValue(
        place=place_of(assembled, key),
        old=_as_written_number(old, written),
        new=new,
        unit="" if written is None or written.unit == "-" else written.unit,
        old_text=written.text if written else f"{old:g}",
        new_text=with_target(written, new) if written else f"{value:g}",
        window=_written_window(written, window),
    )


def _to_write(assembled: Assembled, key: str, value: float, window: Window | None) -> str:
    written = written_quantity(assembled, key)
    words = _as_written(value, written), _as_written(float(assembled.case.at(key)), written)
    between = _window_words(written, window)
    return f"{key.removeprefix('format.')} to {words[0]} (now {words[1]}{between})"


def _written_window(
    written: Quantity | None, window: Window | None
) -> tuple[float | None, float | None] | None:
    """The ends of a window in the written unit, rounded inwards to the written decimals."""
    if written is None or window is None:
        return None
    ends = zip(window, (ROUND_CEILING, ROUND_FLOOR), strict=True)
    low, high = (
        None if end is None else _as_written_number(as_decimals(end, written, way), written)
        for end, way in ends
    )
    return low, high


def _window_words(written: Quantity | None, window: Window | None) -> str:
    ends = _written_window(written, window)
    if written is None or ends is None:
        return ""
    unit = f" {written.unit}" if written.unit else ""
    low, high = (None if end is None else f"{end:.{written.decimals}f}" for end in ends)
    if low and high:
        return f"; passes from {low} to {high}{unit}"
    return f"; passes from {low}{unit} up" if low else f"; passes up to {high}{unit}"


def _sentence(
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


def _tools(assembled: Assembled, keys: Iterable[str]) -> tuple[str, ...]:
    """Names of the parts of the floor that change with some values."""
    if assembled.floor is None:
        return ()
    drivers = {plain(key) for key in keys}
    parts = (one for one in items(assembled.floor) if one.what == "part" and drivers & set(one.driven_by))
    return tuple(dict.fromkeys(one.name.split(",")[0].lower() for one in parts))


def _as_written_number(value: float, written: Quantity | None) -> float:
    """A value in its written unit, with its written decimals."""
    if written is None:
        return value
    return round(in_unit(value, written.canonical, written.unit), written.decimals)


def _as_written(value: float, written: Quantity | None) -> str:
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
