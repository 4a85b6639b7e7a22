"""What a change does to the results of the routes: metal, walls, forces, neck, strength, seam, capacity."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from kb.book.conversion import moved, reader_unit
from kb.book.records import Setting
from kb.checks.by_station import STAGES_IN_FULL, ResultRow, Section, route_report, shown
from kb.checks.judge import Verdict
from kb.checks.words import number
from kb.review.model import Effect
from kb.review.thresholds import Thresholds
from kb.route.assemble import Assembled
from kb.route.settings import OPTIONAL
from kb.route.stations import STATIONS

Judged = tuple[Assembled, Sequence[Verdict], Mapping[str, Setting]]
"""A format whose every stage was judged, with its verdicts and the plant's settings."""

_MAIN = frozenset(
    one.result_key(each.name)
    for station in STATIONS
    for one in station.results
    for each in one.declared
    if each.main
)
"""Results that a reviewer reads first; `[]` is every ring or stage."""


@dataclass(frozen=True, slots=True)
class _Moved:
    """A row before and now, with what is found of the move."""

    section: Section
    row: ResultRow
    effect: Effect


def effects(old: Judged, new: Judged, least: Thresholds) -> tuple[tuple[Effect, ...], int]:
    """Results that moved.

    Args:
        old: the format before
        new: the format now
        least: from when on a result is told

    Returns:
        Those that moved enough, in process order, and how many more moved by less.
    """
    if same_route(old[0], new[0]):
        return (), 0
    before = {_key(section, row): row for section in route_report(*old).sections for row in section.rows}
    found = [
        _Moved(section, row, effect)
        for section in route_report(*new).sections
        for row in section.rows
        if (was := before.get(_key(section, row))) is not None
        and (effect := _effect(section, was, row)) is not None
    ]
    significant = [one for one in found if least.is_significant(one.effect.share, one.effect.of_band)]
    return tuple(_folded(significant)), len(found) - len(significant)


def same_route(old: Assembled, new: Assembled) -> bool:
    """Whether nothing that a route is computed from has changed."""
    one, other = (
        replace(side.case, setting={k: v for k, v in side.case.setting.items() if k not in OPTIONAL})
        for side in (old, new)
    )
    return one == other


def _key(section: Section, row: ResultRow) -> tuple[str, str]:
    return section.station, row.key or row.words


def _effect(section: Section, old: ResultRow, new: ResultRow) -> Effect | None:
    """The move of one result; nothing below the last place shown, or when it cannot be computed."""
    before, after = shown(old, old.spread.nominal), shown(new, new.spread.nominal)
    if not (math.isfinite(before) and math.isfinite(after) and moved(before, after)):
        return None
    difference = after - before
    window = _window(new)
    return Effect(
        station=section.title,
        words=new.words,
        key=new.key,
        old=number(before),
        new=number(after),
        unit="" if new.show in {"-", "count"} else reader_unit(new.show),
        difference=f"{'+' if difference > 0 else ''}{number(difference, figures=3)}",
        share=difference / abs(before) if before else None,
        of_band=(new.spread.nominal - old.spread.nominal) / window if window else None,
        main=re.sub(r"\[\d+\]", "[]", new.key) in _MAIN,
    )


def _window(row: ResultRow) -> float:
    """The window that a result's limits leave, in the unit inside; 0 without one."""
    widths = [one.most - one.least for one in row.verdicts if one.least is not None and one.most is not None]
    return min((one for one in widths if one > 0), default=0.0)


def _folded(moved: Sequence[_Moved]) -> Iterator[Effect]:
    """Effects with the stages of a long row of like stations told once, by the one that moved most."""
    groups: dict[tuple[str, str], list[_Moved]] = {}
    for one in moved:
        groups.setdefault(_like(one), []).append(one)
    for one in moved:
        group = groups[_like(one)]
        if len(group) <= STAGES_IN_FULL:
            yield one.effect
        elif one is group[0]:
            most = max(group, key=lambda each: abs(each.effect.share or 0.0))
            yield replace(most.effect, alike=len(group) - 1)


def _like(one: _Moved) -> tuple[str, str]:
    """What the results of like stations have in common."""
    return one.section.station.partition("[")[0], one.effect.key.rpartition(".")[2] or one.effect.words
