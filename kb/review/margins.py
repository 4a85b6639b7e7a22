"""Margins to limits before and after, and the cheapest ways to have a spent one back."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from kb.book.records import Limit
from kb.checks.fix import fixes
from kb.checks.judge import Verdict
from kb.checks.words import limit_words, margin_moved, margin_words, place_of, quantity, quantity_moved
from kb.review.model import MarginMoved, MarginState, WhatIf
from kb.review.thresholds import Thresholds
from kb.route.assemble import Assembled

MOST_ASKED = 3
"""Spent margins of one format for which ways are computed; each takes the whole format many times."""

Key = tuple[str, str, str]


class MovedMargin(NamedTuple):
    """A margin that moved, with the verdicts it is told from."""

    margin: MarginMoved
    old: Verdict
    new: Verdict


def margins(
    assembled: Assembled, old: Sequence[Verdict], new: Sequence[Verdict], least: Thresholds
) -> tuple[list[MovedMargin], int]:
    """Limits that are near and moved, or whose margin moved far.

    Args:
        assembled: the format now
        old: its verdicts before
        new: its verdicts now
        least: from when on a margin is told

    Returns:
        Margins, the tightest first, and how many limits are near that did not move.
    """
    before = {_key(one): one for one in old}
    told, still = [], 0
    for verdict in new:
        was = before.get(_key(verdict))
        state = _state(was, verdict, least)
        if state is not None and was is not None:
            told.append(MovedMargin(_margin_moved(assembled, was, verdict, state), was, verdict))
        elif was is not None and verdict.has_margin and not verdict.margin > least.near:
            still += 1
    told.sort(key=lambda one: (one.margin.after, one.margin.check, one.margin.what))
    return told, still


def _key(one: Verdict) -> Key:
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
    return "near" if far or _value_moved(old, new) else None


def _margin_moved(assembled: Assembled, old: Verdict, new: Verdict, state: MarginState) -> MarginMoved:
    rule, limit = new.rule, new.limit
    return MarginMoved(
        state=state,
        check=rule.name,
        what=new.what,
        place=place_of(assembled, new.at),
        before=old.margin,
        after=new.margin,
        old=_value(old),
        new=_value(new),
        limit=limit_words(new),
        source=limit.source if limit else "",
        owner=limit.owner if limit else "",
    )


def _value_moved(old: Verdict, new: Verdict) -> bool:
    """Whether the value that is judged moved by at least the last place shown."""
    return quantity_moved(old.tightest[1], new.tightest[1], unit=new.rule.unit, show=new.rule.show)


def _value(one: Verdict) -> str:
    """The value that is judged, as it prints."""
    return quantity(one.tightest[1], unit=one.rule.unit, show=one.rule.show)


# --- to have it back --------------------------------------------------------------------------


def what_ifs(
    assembled: Assembled,
    moved: Sequence[MovedMargin],
    standing: Sequence[Verdict],
    limits: Mapping[str, Limit],
) -> tuple[tuple[WhatIf, ...], int]:
    """For margins that the change spent, the two cheapest ways to have them back.

    Args:
        assembled: the format now
        moved: margins that moved, the tightest first
        standing: its verdicts now
        limits: the plant's limits by check

    Returns:
        Ways for the tightest margins, and how many more were spent.
    """
    spent = [one for one in moved if one.margin.state in {"now fails", "spent"}]
    found = []
    for told, old, new in spent[:MOST_ASKED]:
        fails = told.state == "now fails"
        aim = "its limit" if fails else f"the margin of {margin_words(old.margin)}"
        ways = fixes(assembled, new if fails else _aim(new, old), standing, limits)
        found.append(WhatIf(fails, told.check, told.what, aim, tuple(way.edit.text for way in ways)))
    return tuple(found), len(spent) - len(found)


def _aim(now: Verdict, was: Verdict) -> Verdict:
    """A verdict whose limits stand so far in that only the old margin would pass."""
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
