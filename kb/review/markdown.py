"""A review as Markdown: one comment on a merge request, found again by a hidden mark and written anew.

What does not fit is left out from the end of each part, the parts that decide last, and counted.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain
from typing import NamedTuple
from urllib.parse import quote

from kb.book.finding import Place
from kb.checks.wording import margin_words
from kb.checks.words import number
from kb.report.markdown import escaped
from kb.report.outcome import plural
from kb.review.model import Change, ChangedFile, CheckMoved, MarginMoved, Review, Spanned, Touched

MOST_BYTES = 32_000
"""Bytes of a comment, so many characters at most.

Source:
    Refusals that hosts word themselves, as quoted in public issue threads: "less than 32768 characters"
    (2016, 2024) and "maximum is 65536 characters" (2018 to 2023); a smaller or greater host's limit is given
    with --most-bytes.
"""

LEAST_BYTES = 8_192
"""Room for the verdict, the headings and the counts of what is left out."""

_LEFT_OUT = 160
"""Bytes kept for each part's last line, should rows be left out."""

_BAR = 24
"""Signs in the bar that shows two tolerance bands."""


class Row(NamedTuple):
    """A line of a part; `heading` is written before the first of those that share it."""

    heading: str
    text: str


class Part(NamedTuple):
    """A part of the comment; the parts of lowest rank are the last to lose rows."""

    title: str
    rank: int
    rows: list[Row]
    folded: bool = False


def as_markdown(
    review: Review, *, as_of: datetime.date, marker: str | None = None, most_bytes: int = MOST_BYTES
) -> str:
    """A review as Markdown.

    Args:
        review: the review
        as_of: day on which it was made
        marker: names this comment among others; the book's folder when left out
        most_bytes: how long it may be, in UTF-8

    Returns:
        The comment. Its first line is the mark that `hidden_mark` tells; it does not show.
    """
    head = "\n".join(_head(review, as_of, hidden_mark(review.head.shown if marker is None else marker)))
    parts = [part for part in _parts(review) if part.rows]
    tail = "".join(f"\n{escaped(words)}" for words in review.thresholds) if review.touched else ""
    room = most_bytes - _size(head) - _size(tail) - _LEFT_OUT
    kept = _kept(parts, room)
    body = "".join(_written(part, kept[part.title]) for part in parts)
    left = sum(len(part.rows) - kept[part.title] for part in parts)
    more = f"\n{plural(left, 'line')} left out for length; `sizebook review` tells all.\n" if left else ""
    return f"{head}\n{body}{more}{tail}\n"


def hidden_mark(marker: str) -> str:
    """The line by which a comment is found again; no text can close it or stand for another.

    Example:
        >>> hidden_mark("specs"), hidden_mark("a--> b")
        ('<!-- sizebook review: specs -->', '<!-- sizebook review: a%2D%2D%3E%20b -->')
    """
    name = quote(marker or ".", safe="/", errors="surrogateescape").replace("--", "%2D%2D")
    return f"<!-- sizebook review: {name} -->"


def _head(review: Review, as_of: datetime.date, mark: str) -> Iterator[str]:
    yield from (mark, f"**sizebook review** – **{escaped(review.verdict)}**", "")
    yield f"{escaped(review.base.words)} → {escaped(review.head.words)}, judged as of {as_of.isoformat()}"
    if review.kinds:
        yield from ("", f"Kind of change: {', '.join(review.kinds)}")


# --- room -------------------------------------------------------------------------------------


def _size(text: str) -> int:
    return len(text.encode())


def _kept(parts: Sequence[Part], room: int) -> dict[str, int]:
    """How many rows of each part there is room for, from the part of the lowest rank on."""
    kept = {}
    room -= sum(_size(_written(part, 0)) + _LEFT_OUT for part in parts)
    for part in sorted(parts, key=lambda one: one.rank):
        kept[part.title] = 0
        heading = ""
        for row in part.rows:
            size = _size(row.text) + (_size(row.heading) if row.heading != heading else 0)
            if size > room:
                break
            room, heading = room - size, row.heading
            kept[part.title] += 1
    return kept


def _written(part: Part, kept: int) -> str:
    lines = [f"\n<details><summary>{part.title}</summary>\n" if part.folded else f"\n### {part.title}\n"]
    heading = ""
    for row in part.rows[:kept]:
        if row.heading != heading:
            heading = row.heading
            lines.append(heading)
        lines.append(row.text)
    left = len(part.rows) - kept
    if left:
        lines.append(f"\n{plural(left, 'line')} left out here.\n")
    return "".join([*lines, "\n</details>\n" if part.folded else ""])


def _parts(review: Review) -> Iterator[Part]:
    """The parts in the order of reading."""
    touched = review.touched
    yield Part("Before reading on", 0, _bullets(review.notes))
    yield Part("What changed", 4, [row for one in review.files for row in _file(one)])
    yield Part("What it does", 6, [row for one in touched for row in _effects(one)])
    yield Part("More results that moved", 9, [row for one in touched for row in _beside(one)], folded=True)
    yield Part("Margins", 5, [row for one in touched for row in _margins(one)])
    yield Part("Checks", 1, list(_checks(review)))
    yield Part("Where it is used", 7, _bullets(_used(review)))
    yield Part("Not moved, but usually moves", 8, _bullets(_prompts(review)))
    approvals = (f"{one.owner}: {'; '.join(one.because)}" for one in review.approvals)
    yield Part("Whose word is needed", 2, _bullets(approvals))
    yield Part("Not judged", 3, _bullets(review.not_judged))


# --- rows -------------------------------------------------------------------------------------


def _bullets(lines: Iterable[str]) -> list[Row]:
    return [Row("\n", f"- {escaped(line)}\n") for line in lines]


def _table(title: str, *heads: str) -> str:
    return f"\n{title}\n\n| {' | '.join(heads)} |\n|{' --- |' * len(heads)}\n"


def _cells(*cells: str) -> str:
    return f"| {' | '.join(cells)} |\n"


def _lines(*words: str) -> str:
    return "<br>".join(filter(None, words))


def _at(place: Place | None) -> str:
    return "" if place is None else escaped(f"{place.file}:{place.span.line}:{place.span.column}")


def _signed(share: float) -> str:
    return f"{'+' if share > 0 else ''}{number(100 * share, figures=3)} %"


def _file(one: ChangedFile) -> Iterator[Row]:
    was = f", was {one.was}" if one.was else ""
    title = f"**{escaped(one.file)}** {escaped(f'{one.title}{was}')}: {', '.join(one.states)}"
    if one.changes:
        heading = _table(title, "station", "what", "old", "new", "change", "was, now", "where")
        yield from (Row(heading, _change(change)) for change in one.changes)
    else:
        yield Row("", f"\n{title}\n")
    said = [f"{change.words} {change.old} → {change.new}" for change in one.rewritten]
    rows = [f"UNIT CHANGED, value equal: {words}" for words in said]
    if one.unmeaning:
        what = ", ".join(one.unmeaning)
        rows.append(what if one.kind == "sheet-codes" else f"no change in meaning: {what}")
    yield from _bullets(rows)


def _change(one: Change) -> str:
    loud = f"**UNIT CHANGED**, was {escaped(one.rewritten)}" if one.rewritten else ""
    moved = [escaped(one.difference)] if one.difference else []
    moved += [f"{_signed(one.share)} of the band"] if one.share is not None else []
    moved += [escaped(one.band)] if one.band else []
    if one.overlap is not None and one.overlap < 1:
        moved.append(f"{number(100 * one.overlap, figures=2)} % of the old band still allowed")
    bars = ""
    if one.was and one.now and one.overlap is not None and (one.difference or one.band):
        bars = _lines(*(f"<code>{bar}</code>" for bar in _bars(one.was, one.now)))
    where = _at(one.new_place) or f"{_at(one.old_place)} in the older version"
    return _cells(
        escaped(one.station),
        _lines(escaped(one.words), ", ".join(one.kinds)),
        escaped(one.old or "(not there)"),
        _lines(escaped(one.new or "(gone)"), loud),
        _lines(*moved),
        bars,
        where,
    )


def _bars(was: Spanned, now: Spanned) -> Iterator[str]:
    """Both tolerance bands on one scale, the target marked."""
    low, high = min(was.least, now.least), max(was.most, now.most)
    if high <= low:
        return
    for one in (was, now):
        least, target, most = (
            round((value - low) / (high - low) * (_BAR - 1)) for value in (one.least, one.target, one.most)
        )
        signs = ["·"] * least + ["-"] * (most + 1 - least) + ["·"] * (_BAR - 1 - most)
        signs[least], signs[most] = "(", ")"
        signs[target] = "+"
        yield "".join(signs)


def _named(one: Touched) -> str:
    was = f" (was {one.was})" if one.was else ""
    return f"**{escaped(f'{one.id}{was}')}**, through {escaped(', '.join(one.because))}"


def _effects(one: Touched) -> Iterator[Row]:
    heading = _table(_named(one), "station", "result", "old", "new", "change")
    for effect in (each for each in one.effects if each.main):
        unit = f" {effect.unit}" if effect.unit else ""
        alike = f"and {effect.alike} more stages" if effect.alike else ""
        share = f", {_signed(effect.share)}" if effect.share is not None else ""
        yield Row(
            heading,
            _cells(
                escaped(effect.station),
                _lines(escaped(effect.words), alike),
                escaped(f"{effect.old}{unit}"),
                escaped(f"{effect.new}{unit}"),
                escaped(f"{effect.difference}{share}"),
            ),
        )
    beside = sum(not each.main for each in one.effects)
    told = [f"{beside} more moved as far"] if beside else []
    told += [f"{one.folded} moved by less"] if one.folded else []
    if told:
        yield from _bullets([f"{one.id}: {'; '.join(told)}"])


def _beside(one: Touched) -> Iterator[Row]:
    heading = _table(_named(one), "station", "result", "old", "new", "unit")
    for effect in one.effects:
        if not effect.main:
            words = (effect.station, effect.words, effect.old, effect.new, effect.unit)
            yield Row(heading, _cells(*(escaped(word) for word in words)))


def _margins(one: Touched) -> Iterator[Row]:
    heading = _table(f"**{escaped(one.id)}**", "now", "limit", "old", "new", "margin", "where from")
    yield from (Row(heading, _margin(margin)) for margin in one.margins)
    said = [f"{one.still} more are near and did not move"] if one.still else []
    for what_if in one.what_ifs:
        if not what_if.fails:  # else the finding names the same ways
            ways = "; or ".join(what_if.ways) or "no one number does it"
            said.append(f"To have {what_if.aim}, {what_if.what} ({what_if.check}): {ways}")
    said += [f"{one.not_asked} more spent margins, for which nothing was sought"] if one.not_asked else []
    yield from _bullets(f"{one.id}: {words}" for words in said)


def _margin(one: MarginMoved) -> str:
    before = "not judged" if one.before is None else margin_words(one.before)
    state = f"**{one.state}**" if one.state in {"now fails", "spent"} else one.state
    return _cells(
        state,
        _lines(escaped(one.what), escaped(one.limit), escaped(one.check)),
        escaped(one.old),
        escaped(one.new),
        f"{before} → {margin_words(one.after)}",
        escaped(f"{one.source} (owner {one.owner})" if one.owner else "the specs"),
    )


def _checks(review: Review) -> Iterator[Row]:
    heading = "\n| now | where | finding | check |\n| --- | --- | --- | --- |\n"
    yield from (Row(heading, _check(one)) for one in review.checks)
    if review.unchanged:
        yield from _bullets([f"{plural(len(review.unchanged), 'finding')} as before"])


def _check(one: CheckMoved) -> str:
    finding = one.finding
    gone = one.state in {"cured", "gone with its format", "no longer judged"}
    more = []
    if not gone:
        more = [f"limit&#58; {escaped(finding.source)}"] if finding.source else []
        more += [f"fix&#58; {escaped(fix)}" for fix in finding.fixes]
    return _cells(
        _lines(f"**{one.state}**" if one.state == "newly fails" else one.state, finding.severity),
        _lines(_at(finding.place), "in the older version" if gone else ""),
        _lines(escaped(one.words), *more),
        escaped(finding.name),
    )


# --- lists ------------------------------------------------------------------------------------


def _used(review: Review) -> Iterator[str]:
    for line in review.lines:
        yield f"line {line.id}: {_some(line.formats)}; changeovers touched: {line.changeovers}"
        for pair in line.moved:
            yield f"{pair.old} to {pair.new}: {_minutes(pair.before)} → {_minutes(pair.after)}"
    for sheet in review.sheets:
        new = sheet.new or f"none ({sheet.why or 'not made on this line any more'})"
        kept = ", not recorded yet" if sheet.new and not sheet.recorded and sheet.status == "released" else ""
        yield f"sheet {sheet.format}/{sheet.line}: {sheet.old or 'none'} → {new}{kept}"
    for one in review.touched:
        for shared in one.sharing:
            sides = (("still", shared.still), ("no more", shared.parted), ("newly", shared.joined))
            told = "; ".join(f"{word} {_some(names)}" for word, names in sides if names)
            yield f"{one.id} shares {shared.what} with: {told}"
        yield from (f"{one.id} has a waiver: {waiver}" for waiver in one.waivers)


def _prompts(review: Review) -> Iterator[str]:
    for one in review.prompts:
        beside = f" Think of: {', '.join(one.beside)}." if one.beside else ""
        moved = f"{_some(one.formats)}: {', '.join(one.moved)} moved; not moved: {', '.join(one.still)}."
        yield f"{moved} {one.why}{beside} ({one.source})"


def _minutes(value: float | None) -> str:
    return "no plan" if value is None else f"{number(value, figures=3)} min"


def _some(names: Sequence[str], most: int = 6) -> str:
    more = [f"{len(names) - most} more"] if len(names) > most else []
    return ", ".join(chain(names[:most], more))
