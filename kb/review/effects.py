"""What a change does to each format that it reaches: results, margins, ways to restore them."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from kb.book.conversion import moved, numbers, percent, reader_unit
from kb.book.load import Book
from kb.book.records import Limit, Setting
from kb.checks.by_station import ResultRow, Section, route_report, shown
from kb.checks.fix import fixes
from kb.checks.judge import Verdict
from kb.checks.report import Report
from kb.checks.words import (
    figures,
    limit_words,
    margin_moved,
    margin_words,
    place_of,
    quantities,
    quantity_moved,
)
from kb.history.value_diff import ChangedFile
from kb.review.model import Effect, MarginMoved, MarginState, Touched, WhatIf
from kb.review.reach import Reached, made_on, sharing
from kb.route.assemble import Assembled, assemble
from kb.route.metal import CansAYear, MetalRow, cans_a_year, metal_use
from kb.route.settings import OPTIONAL
from kb.route.stations import STATIONS


@dataclass(frozen=True, slots=True)
class Thresholds:
    """The plant's settings of the review; a missing one is 0, so that every move is listed.

    Attributes:
        result: least share of its old value by which a listed result moved.
        band: least share of the window between its limits, likewise.
        near: margin below which a limit is near.
        margin: least move of a listed margin.
    """

    result: float
    band: float
    near: float
    margin: float
    missing: tuple[str, ...]

    def is_significant(self, share: float | None, of_band: float | None) -> bool:
        """Whether a result that prints otherwise has moved enough."""
        far = share is None or abs(share) > self.result
        return far or (of_band is not None and abs(of_band) > self.band)

    def words(self) -> Iterator[str]:
        """The thresholds in words."""
        result, band, near, margin = (
            percent(one) for one in (self.result, self.band, self.near, self.margin)
        )
        yield (
            f"listed: results that changed by more than {result}, or by more than {band} of the range "
            "between their limits"
        )
        yield f"listed: margins below {near} that changed, or that changed by more than {margin}"
        if self.missing:
            yield f"limits.yaml has no {', '.join(self.missing)}; 0 is used"


SETTINGS = {
    "result": "review-result-move",
    "band": "review-band-move",
    "near": "review-near-limit",
    "margin": "review-margin-move",
}


def thresholds(old: Book, new: Book) -> Thresholds:
    """The thresholds of the newer book, or of the older one where the newer cannot be read."""
    limits = new.limits or old.limits
    given = limits.settings if limits else {}
    found = {key: float(given[name].value) if name in given else 0.0 for key, name in SETTINGS.items()}
    missing = tuple(name for name in SETTINGS.values() if name not in given)
    return Thresholds(**found, missing=missing)


# --- results ----------------------------------------------------------------------------------

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


def effects(old: Judged, new: Judged, least: Thresholds) -> tuple[tuple[Effect, ...], int]:
    """Results that moved by more than the thresholds, and how many moved by less."""
    if same_route(old[0], new[0]):
        return (), 0
    before = {_row_key(section, row): row for section in route_report(*old).sections for row in section.rows}
    found = [
        effect
        for section in route_report(*new).sections
        for row in section.rows
        if (was := before.get(_row_key(section, row))) is not None
        and (effect := _effect(section, was, row)) is not None
    ]
    significant = tuple(one for one in found if least.is_significant(one.share, one.of_band))
    return significant, len(found) - len(significant)


def metal_effects(old: Assembled, new: Assembled, year: CansAYear | None, least: Thresholds) -> list[Effect]:
    """Money, scrap and energy of the metal that moved, as far as both versions give prices."""
    before, after = (metal_use(one.case, one.study.nominal, year) for one in (old, new))
    if before is None or after is None:
        return []
    was = {(one.key, one.unit): one for one in before.rows}
    pairs = ((was[one.key, one.unit], one) for one in after.rows if (one.key, one.unit) in was)
    found = [_metal_effect(*pair) for pair in pairs]
    return [one for one in found if one is not None and least.is_significant(one.share, None)]


def _metal_effect(old: MetalRow, new: MetalRow) -> Effect | None:
    """The move of an amount; of a range the least move of its ends."""
    change = min(new.low - old.low, new.high - old.high, key=abs)
    ends = numbers([old.low, old.high, new.low, new.high])
    before, after = (" to ".join(dict.fromkeys(pair)) for pair in (ends[:2], ends[2:]))
    if before == after:
        return None
    share = change / abs(old.low) if old.low else None
    key, main = f"metal.{new.key}", new.key in {"cost", "cost-year"}
    return Effect("Metal", new.words, key, before, after, new.unit, change, share, of_band=None, main=main)


def same_route(old: Assembled, new: Assembled) -> bool:
    """Whether nothing that a route is computed from has changed."""
    one, other = (
        replace(side.case, setting={k: v for k, v in side.case.setting.items() if k not in OPTIONAL})
        for side in (old, new)
    )
    return one == other


def _row_key(section: Section, row: ResultRow) -> tuple[str, str]:
    return section.station, row.key or row.words


def _effect(section: Section, old: ResultRow, new: ResultRow) -> Effect | None:
    """The move of one result; nothing below the last place shown, or when it cannot be computed."""
    before, after = shown(old, old.spread.nominal), shown(new, new.spread.nominal)
    if not (math.isfinite(before) and math.isfinite(after) and moved(before, after)):
        return None
    difference = after - before
    nominal = (old.spread.nominal, new.spread.nominal)
    texts = figures(nominal, unit=new.unit, show=new.show, spread=new.spread)
    window = _window(new)
    return Effect(
        station=section.title,
        words=new.said,
        key=new.key,
        old=texts[0],
        new=texts[1],
        unit="" if new.show in {"-", "count"} else reader_unit(new.show),
        change=difference,
        share=difference / abs(before) if before else None,
        of_band=(new.spread.nominal - old.spread.nominal) / window if window else None,
        main=re.sub(r"\[\d+\]", "[]", new.key) in _MAIN,
    )


def _window(row: ResultRow) -> float:
    """The window that a result's limits leave, in the unit inside; 0 without one."""
    widths = [one.most - one.least for one in row.verdicts if one.least is not None and one.most is not None]
    return min((one for one in widths if one > 0), default=0.0)


# --- margins ----------------------------------------------------------------------------------

MOST_ASKED = 3
"""Spent margins of one format for which ways are computed; each takes the whole format many times."""

VerdictKey = tuple[str, str, str]


class MovedMargin(NamedTuple):
    """A margin that moved, with its verdicts."""

    margin: MarginMoved
    old: Verdict
    new: Verdict


def margins(
    assembled: Assembled, old: Sequence[Verdict], new: Sequence[Verdict], least: Thresholds
) -> tuple[list[MovedMargin], int]:
    """Limits that are near and moved, or whose margin moved far."""
    before = {verdict_key(one): one for one in old}
    found, still = [], 0
    for verdict in new:
        was = before.get(verdict_key(verdict))
        state = _state(was, verdict, least)
        if state is not None and was is not None:
            found.append(MovedMargin(_margin_moved(assembled, was, verdict, state), was, verdict))
        elif was is not None and verdict.has_margin and not verdict.margin > least.near:
            still += 1
    found.sort(key=lambda one: (one.margin.after, one.margin.check, one.margin.what))
    return found, still


def verdict_key(one: Verdict) -> VerdictKey:
    """Check, key and words of a value that is checked."""
    return one.rule.name, one.at, one.what


def _state(old: Verdict | None, new: Verdict, least: Thresholds) -> MarginState | None:
    if old is None or not (math.isfinite(old.margin) and math.isfinite(new.margin)):
        return None
    if old.passed != new.passed:
        return "now passes" if new.passed else "now fails"
    if not new.has_margin or not margin_moved(old.margin, new.margin):
        return None
    return _state_inside(old, new, least) if new.passed else "still fails"


def _state_inside(old: Verdict, new: Verdict, least: Thresholds) -> MarginState | None:
    """The state of a limit that is kept in both versions and has another margin."""
    far = abs(new.margin - old.margin) > least.margin
    if new.margin > least.near:
        return "moved" if far else None
    if far and new.margin < old.margin:
        return "spent"
    rule = new.rule
    moved = quantity_moved(old.tightest[1], new.tightest[1], unit=rule.unit, show=rule.show)
    return "near" if far or moved else None


def _margin_moved(assembled: Assembled, old: Verdict, new: Verdict, state: MarginState) -> MarginMoved:
    rule, limit = new.rule, new.limit
    ends = (old.tightest[1], new.tightest[1], new.tightest[2])
    values = quantities(ends, unit=rule.unit, show=rule.show, spread=new.spread)
    return MarginMoved(
        state=state,
        check=rule.name,
        what=new.said,
        place=place_of(assembled, new.at),
        before=old.margin,
        after=new.margin,
        old=values[0],
        new=values[1],
        limit=limit_words(new),
        source=limit.source if limit else "",
        owner=limit.owner if limit else "",
    )


def what_ifs(
    assembled: Assembled,
    moved: Sequence[MovedMargin],
    standing: Sequence[Verdict],
    limits: Mapping[str, Limit],
) -> tuple[tuple[WhatIf, ...], int]:
    """For spent margins the two cheapest ways to restore them, and how many more are spent."""
    spent = [one for one in moved if one.margin.state in {"now fails", "spent"}]
    found = []
    for margin, old, new in spent[:MOST_ASKED]:
        fails = margin.state == "now fails"
        aim = "its limit" if fails else f"the margin of {margin_words(old.margin)}"
        ways = fixes(assembled, new if fails else _aim(new, old), standing, limits)
        found.append(WhatIf(fails, margin.check, margin.what, aim, tuple(way.edit.text for way in ways)))
    return tuple(found), len(spent) - len(found)


def _aim(now: Verdict, was: Verdict) -> Verdict:
    """A verdict whose limits are so far inside that only the old margin passes."""
    wanted = was.margin
    least, most = now.least, now.most
    if least is not None and most is not None and most > least:
        scale = (most - least) / 2
    else:
        scale = abs(now.tightest[2]) or abs(now.spread.nominal)
    return now._replace(
        least=None if least is None else least + wanted * scale,
        most=None if most is None else most - wanted * scale,
    )


# --- formats ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class CheckedVersion:
    """One version: its book, the check of it, its ids by the ids that the reach has."""

    book: Book
    report: Report
    names: Mapping[str, str]

    def judged(self, ident: str) -> Judged | None:
        """A format of which every stage ran, with what was judged."""
        name = self.names.get(ident)
        stopped = any(one.what == name for one in self.report.skipped)
        if name is None or stopped or name not in self.report.verdicts:
            return None
        assembled = assemble(self.book, name)
        settings: Mapping[str, Setting] = self.book.limits.settings if self.book.limits else {}
        return None if assembled is None else (assembled, self.report.verdicts[name], settings)


def touched(
    reached: Reached,
    files: Sequence[ChangedFile],
    old: CheckedVersion,
    new: CheckedVersion,
    least: Thresholds,
) -> Iterator[Touched]:
    """Every format that is reached, with what happens to it."""
    for ident, because in reached.printed.items():
        changed = [one for one in files if (one.kind, one.id) == ("size-format", ident)]
        keys = [change.key for one in changed for change in one.changes]
        was, now = reached.was.get(ident), reached.now.get(ident)
        side = new if now else old
        made = Touched(
            id=ident,
            was=was if was and was != ident else "",
            title=side.book.of("size-format")[side.names[ident]].record.title,
            because=because,
            sharing=tuple(sharing(reached, ident, keys, old.book, new.book)),
            waivers=tuple(_waiver_sentences(new.book, now)),
            lines=made_on(reached, ident, old.book, new.book),
        )
        yield _in_numbers(made, old, new, least) if ident in reached.judged else made


def _in_numbers(made: Touched, old: CheckedVersion, new: CheckedVersion, least: Thresholds) -> Touched:
    """A format with what the route and its limits say; as far as both versions were judged."""
    before, after = old.judged(made.id), new.judged(made.id)
    if before is None or after is None:
        return made
    assembled, standing, _ = after
    found, folded = effects(before, after, least)
    year = cans_a_year(new.book, new.names[made.id])
    found += tuple(metal_effects(before[0], assembled, year, least))
    moved, still = margins(assembled, before[1], standing, least)
    limits = new.book.limits.limits if new.book.limits else {}
    ways, more = what_ifs(assembled, moved, standing, limits)
    return replace(
        made,
        effects=found,
        folded=folded,
        margins=tuple(one.margin for one in moved),
        still=still,
        what_ifs=ways,
        not_asked=more,
    )


def _waiver_sentences(book: Book, ident: str | None) -> Iterator[str]:
    for one in book.waivers.waivers:
        if one.format == ident:
            yield f"{one.check} until {one.expires}, approved by {one.approver}"
