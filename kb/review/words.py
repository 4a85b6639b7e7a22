"""A review in words: the parts that text and Markdown print, in the order of reading.

What got better is in the record and not in these parts: no reviewer has to act on it. Rows that say the
same of many stages or formats are one row.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from itertools import zip_longest
from typing import NamedTuple, TypeVar

from kb.book.conversion import percent
from kb.book.finding import one_line, place_words
from kb.changeover.times import minutes
from kb.checks.words import folder_of, margin_words, number, plural, some
from kb.history.change_types import RE_EXPRESSED
from kb.history.value_diff import ChangedFile, ValueChange
from kb.review.model import (
    CheckMoved,
    CheckState,
    Effect,
    FormerPart,
    LineTouched,
    MarginMoved,
    MarginState,
    PairMoved,
    Review,
    SheetMoved,
    Touched,
)

T = TypeVar("T")

MOST_ALIKE = 3
"""Files or findings of which the same is said that are listed one by one; more are one line."""

MOST_PAIRS = 10
"""Rows for the changeovers of one line; the rest is a count."""

MOST_EFFECTS = 5
"""Effects in the first lines of a review."""

MINUTES_A_YEAR = 365 * 24 * 60

BETTER: tuple[CheckState, ...] = ("eased", "fixed")
"""States of a finding that nobody has to act on."""

_GRAVEST: tuple[MarginState, ...] = ("now fails", "still fails", "spent", "near", "now passes", "moved")

FORMER: dict[FormerPart, str] = {
    "limit": "the former limit",
    "setting": "the former setting",
    "target": "the former target",
    "material": "the former metal",
    "end": "the former end",
    "plant": "the former numbers of the plant",
    "line": "the former ranges of the line",
}
"""What a value is checked against, as it was."""


class Row(NamedTuple):
    """Cells of a table, or one sentence; rows that share a group are below its title."""

    cells: tuple[str, ...]
    group: str = ""


class ReviewSection(NamedTuple):
    """A part of a review; where room is short, parts of lowest rank are the last to lose rows."""

    title: str
    rank: int
    rows: list[Row]
    heads: tuple[str, ...] = ()


CHECKS = "Checks"


def sections(review: Review) -> list[ReviewSection]:
    """The parts that have something to say."""
    main, beside = _results(review.touched)
    heads = ("result", "where", "old → new", "change")
    approvals = (f"{one.owner}: {'; '.join(one.because)}" for one in review.approvals)
    found = [
        ReviewSection("What changed", 4, list(_changes(review)), ("value", "old → new", "change", "where")),
        ReviewSection("What it does", 6, main, heads),
        ReviewSection("Changeovers", 7, list(_changeovers(review.lines)), ("changeover", "was", "now")),
        ReviewSection("More results that moved", 10, beside, heads),
        ReviewSection("Margins", 5, list(_margins(review.touched)), ("now", "limit", "old → new", "margin")),
        ReviewSection(CHECKS, 1, list(_checks(review)), ("now", "where", "finding", "check")),
        ReviewSection("Passes now, fails at the former numbers", 1, _sentences(_former(review))),
        ReviewSection("Where it is used", 8, _sentences(_used(review))),
        ReviewSection("Related values not changed", 9, _sentences(_prompts(review))),
        ReviewSection("Not checked", 3, _sentences(review.not_judged)),
        ReviewSection("Approval required from", 2, _sentences(approvals)),
    ]
    return [one for one in found if one.rows]


def _signed(value: float) -> str:
    return f"{'+' if value > 0 else ''}{number(value, figures=3)}"


def _sentences(said: Iterable[str]) -> list[Row]:
    return [Row((one_line(one),)) for one in said]


def _groups(things: Iterable[T], key: Callable[[T], Hashable]) -> list[list[T]]:
    """Things that are alike in a key, together, in the order in which each key comes first."""
    found: dict[Hashable, list[T]] = {}
    for one in things:
        found.setdefault(key(one), []).append(one)
    return list(found.values())


# --- the first lines --------------------------------------------------------------------------


def effects(review: Review) -> list[str]:
    """The gravest effects: coil a year, weakest margin, minutes of a changeover, in turns."""
    sorts = (_coil(review), _weakest(review), _longer(review))
    turns = (one for turn in zip_longest(*sorts) for one in turn if one is not None)
    return [one for one, _ in zip(turns, range(MOST_EFFECTS), strict=False)]


def _coil(review: Review) -> Iterator[str]:
    """Change of the metal bought; a year is one of a line that makes this format alone, at its speed."""
    speeds = {one.id: one for one in review.lines}
    found = [
        (effect, one) for one in review.touched for effect in one.effects if effect.key == "blank.coil_mass"
    ]
    for effect, one in sorted(found, key=lambda each: -abs(each[0].change)):
        share = f" ({percent(effect.share, signed=True)})" if effect.share is not None else ""
        line = next((speeds[line] for line in one.lines if line in speeds), None)
        year = ""
        if line is not None:
            tonnes = effect.change / 1e6 * line.speed * MINUTES_A_YEAR
            year = f"; {_signed(tonnes)} t in a year of line {line.id} at {line.speed:.0f} cans/min, no stops"
        money = next((each for each in one.effects if each.key == "metal.cost-year"), None)
        cost = f"; {money.words} {_signed(money.change)} {money.unit}" if money else ""
        yield f"{one.id}: coil {_signed(effect.change)} kg per 1000 cans{share}{year}{cost}"


def _weakest(review: Review) -> Iterator[str]:
    worst = (group[0] for group in _worse_margins(review.touched))
    for one, margin in sorted(worst, key=lambda each: each[1].after):
        yield (
            f"{one.id}: margin of {margin.what} {_margin_before(margin)} → {margin_words(margin.after)} "
            f"({margin.new}; {margin.limit})"
        )


def _longer(review: Review) -> Iterator[str]:
    rows = [row for line in review.lines for row in _pairs(line.moved, MOST_PAIRS) if len(row) > 1]
    return (f"changeover {formats}: {before} → {now}" for formats, before, now in rows)


# --- what changed -----------------------------------------------------------------------------


def _changes(review: Review) -> Iterator[Row]:
    if review.kinds:
        yield Row((f"Kind of change: {', '.join(review.kinds)}",))
    for group in _groups(review.files, _alike):
        if len(group) > MOST_ALIKE:
            yield Row((_as_one(group),))
        else:
            yield from (row for one in group for row in _file(one))


def _alike(one: ChangedFile) -> Hashable:
    """What files have in common that are listed as one; a file with values is alike to none."""
    if one.changes or one.rewritten or one.was:
        return one.file
    return one.kind, one.states, one.unmeaning


def _as_one(group: Sequence[ChangedFile]) -> str:
    one = group[0]
    what = "files with errors" if not one.kind else f"files of kind {one.kind}"
    states = ", ".join([*one.states, *one.unmeaning])
    names = [each.id for each in group] if one.kind else []
    files = f"{len(group)} {what} under {one_line(folder_of([each.file for each in group]))}: {states}"
    return f"{files}: {some(names)}" if names else files


def _file(one: ChangedFile) -> Iterator[Row]:
    was = f", was {one.was}" if one.was else ""
    title = f"{one_line(one.file)}: {one_line(one.title)}{was}: {', '.join(one.states)}"
    sentences = [f"UNIT CHANGED, value equal: {each.words} {each.old} → {each.new}" for each in one.rewritten]
    if one.unmeaning:
        what = ", ".join(one.unmeaning)
        sentences.append(what if one.kind == "sheet-codes" else f"no change in meaning: {what}")
    yield from (Row(_change(change), title) for change in one.changes)
    yield from (Row((words,), title) for words in sentences or ([] if one.changes else [""]))


def _change(one: ValueChange) -> tuple[str, ...]:
    loud = f"; UNIT CHANGED, was {one.rewritten}" if one.rewritten else ""
    moved = [RE_EXPRESSED] if "re-expressed" in one.kinds else []
    moved += [one.difference] if one.difference else []
    moved += [f"{percent(one.share, signed=True)} of the tolerance band"] if one.share is not None else []
    moved += [one.band] if one.band else []
    if one.overlap is not None and one.overlap < 1:
        moved.append(f"{percent(one.overlap)} of the old band still allowed")
    place = one.new_place or one.old_place
    older = "" if one.new_place else " in the older version"
    return (
        f"{one.station}: {one.words}",
        f"{one.old or '(not there)'} → {one.new or '(gone)'}{loud}",
        f"{'; '.join(moved)} [{', '.join(one.kinds)}]".lstrip(),
        f"{place_words(place).rpartition('/')[2]}{older}" if place else "",
    )


# --- results ----------------------------------------------------------------------------------


class _Moved(NamedTuple):
    format: str
    effect: Effect


def _results(touched: Sequence[Touched]) -> tuple[list[Row], list[Row]]:
    """Results that moved: the main ones, and the others."""
    moved = [_Moved(one.id, effect) for one in touched for effect in one.effects]
    groups = _groups(moved, lambda one: (one.effect.station.partition(",")[0], _bare(one.effect.words)))
    rows: tuple[list[Row], list[Row]] = ([], [])
    for group in groups:
        rows[not group[0].effect.main].append(_result(group))
    return rows


def _bare(words: str) -> str:
    """The name of a value without the number of its stage or ring, and without its machine."""
    return re.sub(r" at [\w-]+/[\w-]+$", "", re.sub(r"\b(stage|ring) \d+", r"\1", words))


def _result(group: Sequence[_Moved]) -> Row:
    most = max(group, key=lambda one: abs(one.effect.share or 0.0))
    formats = list(dict.fromkeys(one.format for one in group))
    stages = len({one.effect.key or one.effect.station for one in group})
    station = most.effect.station if stages == 1 else most.effect.station.partition(",")[0]
    where = some(formats, 1) if len(formats) == 1 else f"{len(formats)} formats"
    place = f"{where}, {station}" if stages == 1 else f"{where}, {stages} {_stations(station)}"
    member = most.effect.station if len(formats) == 1 else f"{most.format}, {most.effect.station}"
    largest = "" if len(group) == 1 else f"largest, {member}: "
    unit = f" {most.effect.unit}" if most.effect.unit else ""
    change = _range([one.effect.change for one in group]) + unit
    if most.effect.share is not None:
        change += f" ({_range([100 * (one.effect.share or 0.0) for one in group])} %)"
    words = most.effect.words if len(group) == 1 else _bare(most.effect.words)
    return Row((words, place, f"{largest}{most.effect.old} → {most.effect.new}{unit}", change))


def _stations(title: str) -> str:
    """The plural of a station that a can meets several times."""
    return "neck stages" if title == "Neck" else "rings" if title == "Ironing" else f"{title.lower()} results"


def _range(values: Sequence[float]) -> str:
    """The least and the largest move.

    Example:
        >>> _range([-0.6, -0.3]), _range([2.0, 2.0])
        ('−0.300 to −0.600', '+2.00')
    """
    least, most = (_signed(one) for one in (min(values, key=abs), max(values, key=abs)))
    if min(values) < 0 < max(values):
        least, most = _signed(min(values)), _signed(max(values))
    return least if least == most else f"{least} to {most}"


# --- margins ----------------------------------------------------------------------------------


def _worse(one: MarginMoved) -> bool:
    return one.before is None or one.after < one.before


def _margin_before(one: MarginMoved) -> str:
    return "not checked" if one.before is None else margin_words(one.before)


def _worse_margins(touched: Sequence[Touched]) -> list[list[tuple[Touched, MarginMoved]]]:
    """Margins that are worse, those of one limit together; the worst of each and the gravest group first."""
    moved = [(one, margin) for one in touched for margin in one.margins if _worse(margin)]
    groups = _groups(moved, lambda each: (each[1].state, each[1].check, _bare(each[1].what)))
    for group in groups:
        group.sort(key=lambda each: each[1].after)
    groups.sort(key=lambda group: (_GRAVEST.index(group[0][1].state), group[0][1].after))
    return groups


def _margins_to_list(touched: Sequence[Touched]) -> Iterator[tuple[Touched, MarginMoved, list[str]]]:
    """Of a limit in many formats the worst margin with the names of the others; of a few each margin once."""
    for group in _worse_margins(touched):
        formats = {one.id for one, _ in group}
        if len(formats) > MOST_ALIKE:
            worst, margin = group[0]
            yield worst, margin, [one.id for one in touched if one.id in formats - {worst.id}]
        else:
            for alike in _groups(group, lambda each: (each[0].id, each[1].old, each[1].new)):
                yield (*alike[0], [])


def _margins(touched: Sequence[Touched]) -> Iterator[Row]:
    for one, margin, others in _margins_to_list(touched):
        rest = f"; {one.id} is the worst of {len(others) + 1}: {some(others)}" if others else f"; {one.id}"
        owner = f" (owner {margin.owner})" if margin.owner else ""
        yield Row(
            (
                margin.state,
                f"{margin.what}: {margin.limit}{owner} [{margin.check}]{rest}",
                f"{margin.old} → {margin.new}",
                f"{_margin_before(margin)} → {margin_words(margin.after)}",
            )
        )
    for one in touched:
        for what_if in one.what_ifs:
            if not what_if.fails:  # a limit that fails has a finding, with the same ways
                ways = "; or ".join(what_if.ways) or "no single change restores it"
                yield Row((f"{one.id}: To restore {what_if.aim}, {what_if.what} ({what_if.check}): {ways}",))
        if one.not_asked:
            yield Row((f"{one.id}: {one.not_asked} more reduced margins (no fix calculated)",))


# --- checks -----------------------------------------------------------------------------------


def worst_first(checks: Sequence[CheckMoved]) -> Iterator[tuple[CheckMoved, str]]:
    """Findings to act on; of many of one check the worst, with the names of the others."""
    acted_on = [one for one in checks if one.state not in BETTER]
    for group in _groups(acted_on, lambda one: (one.state, one.finding.severity, one.finding.name)):
        if len(group) <= MOST_ALIKE:
            yield from ((one, "") for one in group)
        else:
            yield min(group, key=_margin), f"the worst of {len(group)}: {some(_subjects(group))}"


def _margin(one: CheckMoved) -> float:
    measure = one.finding.measure
    return 0.0 if measure is None or measure.margin is None else measure.margin


def _subjects(group: Sequence[CheckMoved]) -> list[str]:
    """Formats or files of findings, each once, with their number."""
    names = _groups((one.finding.subject or one.finding.place.file for one in group), str)
    return [each[0] if len(each) == 1 else f"{each[0]} ({len(each)})" for each in names]


def _checks(review: Review) -> Iterator[Row]:
    for one, rest in worst_first(review.checks):
        finding = one.finding
        gone = one.state in {"gone with its format", "no longer checked"}
        lines = [one.words, rest]
        if not gone:
            lines += [f"limit: {one_line(finding.source)}"] if finding.source else []
            lines += [f"fix: {fix}" for fix in finding.fixes]
        where = f"{place_words(finding.place)}{' in the older version' if gone else ''}"
        yield Row((f"{one.state}\n{finding.severity}", where, "\n".join(filter(None, lines)), finding.name))


def _former(review: Review) -> Iterator[str]:
    for one in review.former:
        because = " and ".join(FORMER[part] for part in one.because)
        yield f"{one.format}: {one.what} {one.value}; {one.limit}, at {because} [{one.check}]"


# --- changeovers and use ----------------------------------------------------------------------


def _changeovers(lines: Sequence[LineTouched]) -> Iterator[Row]:
    for line in lines:
        title = f"line {line.id}: {len(line.moved)} of {plural(line.compared, 'changeover')} changed"
        yield from (Row(cells, title) for cells in _pairs(line.moved, MOST_PAIRS))


def _pairs(moved: Sequence[PairMoved], most: int) -> Iterator[tuple[str, ...]]:
    """Changeovers that take longer or have no plan: formats, class and minutes before, and now."""
    worse = [one for one in moved if one.after is None or one.before is None or one.after > one.before]
    groups = _groups(worse, _before_after)
    for pairs in groups[:most]:
        more = f" (and {len(pairs) - 1} more)" if len(pairs) > 1 else ""
        yield f"{pairs[0].old} → {pairs[0].new}{more}", *_before_after(pairs[0])
    left = sum(map(len, groups[most:]))
    if left:
        yield (f"{left} more",)


def _before_after(one: PairMoved) -> tuple[str, str]:
    kind = one.kind_after if one.kind_after != one.kind_before else ""
    why = f" ({one.why})" if one.why else ""
    return _stop(one.kind_before, one.before), f"{_stop(kind, one.after)}{why}"


def _stop(kind: str, length: float | None) -> str:
    return f"{kind} {'no plan' if length is None else f'{minutes(60 * length)} min'}".lstrip()


def _used(review: Review) -> Iterator[str]:
    """Lines and changeovers, sheets, formats that share, waivers."""
    for line in review.lines:
        formats = some(line.formats) or "changeover steps changed"
        counts = [f"changeovers touched: {line.counted}"]
        counts += [f"{line.came} came"] if line.came else []
        counts += [f"{line.went} went"] if line.went else []
        yield f"line {line.id}: {formats}; {', '.join(counts)}"
    for group in _groups(review.sheets, lambda sheet: (sheet.line, _unrecorded(sheet))):
        if len(group) > MOST_ALIKE:
            codes = "; ".join(f"{sheet.format} {_codes(sheet)}" for sheet in group)
            yield f"{len(group)} sheets of line {group[0].line}{_unrecorded(group[0])}: {codes}"
        else:
            for sheet in group:
                yield f"sheet {sheet.format}/{sheet.line}: {_codes(sheet)}{_unrecorded(sheet)}"
    for one in review.touched:
        for shared in one.sharing:
            sides = (("still", shared.still), ("no more", shared.parted), ("newly", shared.joined))
            names = "; ".join(f"{word} {some(names)}" for word, names in sides if names)
            yield f"{one.id} shares {shared.what} with: {names}"
        yield from (f"{one.id} has a waiver: {waiver}" for waiver in one.waivers)


def _codes(sheet: SheetMoved) -> str:
    gone = f"none ({sheet.why or 'no longer made on this line'})"
    return f"{sheet.old or 'none'} → {sheet.new or gone}"


def _unrecorded(sheet: SheetMoved) -> str:
    return ", not recorded yet" if sheet.new and not sheet.recorded and sheet.status == "released" else ""


def _prompts(review: Review) -> Iterator[str]:
    for one in review.prompts:
        beside = f" Think of: {', '.join(one.beside)}." if one.beside else ""
        moved = f"{some(one.formats)}: {', '.join(one.moved)} moved; not moved: {', '.join(one.still)}."
        yield f"{moved} {one.why}{beside} ({one.source})"
