"""A review as Markdown: one comment on a merge request, found again by a hidden mark and written anew.

What does not fit is left out from the end of each part, the parts that decide last, and counted.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from urllib.parse import quote

from kb.book.finding import Place
from kb.checks.words import margin_words, number, plural
from kb.history.change_types import RE_EXPRESSED
from kb.output.document import FindingEntry, review_entry
from kb.output.markdown import (
    LEFT_OUT,
    MarkdownRow,
    Part,
    bullets,
    cells,
    escaped,
    finding_cell,
    lines,
    rows_kept,
    size,
    table,
    written,
)
from kb.review.model import (
    ChangedFile,
    CheckState,
    LineTouched,
    MarginMoved,
    MarginState,
    Review,
    Spanned,
    Touched,
    ValueChange,
)
from kb.review.words import (
    MOST_ALIKE,
    former_words,
    line_words,
    pair_words,
    signed,
    some,
    together,
    used,
    worst_first,
)

MOST_BYTES = 32_000
"""Bytes of a comment, so many characters at most.

Source:
    Refusals that hosts word themselves, as quoted in public issue threads: "less than 32768 characters"
    (2016, 2024) and "maximum is 65536 characters" (2018 to 2023); a smaller or greater host's limit is given
    with --most-bytes.
"""

LEAST_BYTES = 8_192
"""Room for the verdict, the headings and the counts of what is left out."""

MOST_MARGINS = 8
"""Margins of one format that are told one by one; the rest is a count."""

MOST_PAIRS = 10
"""Rows for the changeovers of one line; the rest is a count."""

_GRAVEST: tuple[MarginState, ...] = ("now fails", "still fails", "spent", "near", "now passes", "moved")

_LOUD: tuple[CheckState, ...] = ("newly fails", "needs approval")

_BAR = 24
"""Signs in the bar that shows two tolerance bands."""


def review_markdown(
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
    tail = (
        "\n" + "<br>\n".join(escaped(words) for words in review.thresholds)
        if review.touched or review.lines
        else ""
    )
    room = most_bytes - size(head) - size(tail) - LEFT_OUT
    kept = rows_kept(parts, room)
    body = "".join(written(part, kept[part.title]) for part in parts)
    left = sum(len(part.rows) - kept[part.title] for part in parts)
    more = f"\n{plural(left, 'line')} left out for length; `sizebook review` lists all.\n" if left else ""
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
    yield f"Before: {escaped(review.base.label)}<br>"
    yield f"Now: {escaped(review.head.label)}<br>"
    yield f"Checked as of {as_of.isoformat()}"
    if review.kinds:
        yield from ("", f"Kind of change: {', '.join(review.kinds)}")


def _parts(review: Review) -> Iterator[Part]:
    """The parts in the order of reading."""
    touched = review.touched
    yield Part("Read first", 0, bullets(review.notes))
    yield Part("What changed", 4, [row for one in together(review.files) for row in _file(one)])
    yield Part("What it does", 6, [row for one in touched for row in _effects(one)])
    yield Part("Changeovers", 7, [row for one in review.lines for row in _changeovers(one)])
    yield Part("More results that moved", 10, [row for one in touched for row in _beside(one)], folded=True)
    yield Part("Margins", 5, list(_margins(touched)))
    yield Part("Checks", 1, list(_checks(review)))
    yield Part("Passes now, fails at the former numbers", 1, bullets(former_words(review)))
    yield Part("Where it is used", 8, bullets(used(review)))
    yield Part("Related values not changed", 9, bullets(_prompts(review)))
    yield Part("Not checked", 3, bullets(review.not_judged))
    approvals = (f"{one.owner}: {'; '.join(one.because)}" for one in review.approvals)
    yield Part("Approval required from", 2, bullets(approvals))


# --- rows -------------------------------------------------------------------------------------


def _at(place: Place | None) -> str:
    return "" if place is None else escaped(f"{place.file}:{place.span.line}:{place.span.column}")


def _signed(share: float) -> str:
    return f"{signed(100 * share)} %"


def _file(one: ChangedFile | str) -> Iterator[MarkdownRow]:
    if isinstance(one, str):
        yield MarkdownRow("", f"\n{escaped(one)}\n")
        return
    was = f", was {one.was}" if one.was else ""
    title = f"**{escaped(one.file)}** {escaped(f'{one.title}{was}')}: {', '.join(one.states)}"
    if one.changes:
        heading = table(title, "station", "what", "old", "new", "change", "was, now", "where")
        yield from (MarkdownRow(heading, _change(change)) for change in one.changes)
    else:
        yield MarkdownRow("", f"\n{title}\n")
    said = [f"{change.words} {change.old} → {change.new}" for change in one.rewritten]
    rows = [f"UNIT CHANGED, value equal: {words}" for words in said]
    if one.unmeaning:
        what = ", ".join(one.unmeaning)
        rows.append(what if one.kind == "sheet-codes" else f"no change in meaning: {what}")
    yield from bullets(rows)


def _change(one: ValueChange) -> str:
    loud = f"**UNIT CHANGED**, was {escaped(one.rewritten)}" if one.rewritten else ""
    moved = [RE_EXPRESSED] if "re-expressed" in one.kinds else []
    moved += [escaped(one.difference)] if one.difference else []
    moved += [f"{_signed(one.share)} of the band"] if one.share is not None else []
    moved += [escaped(one.band)] if one.band else []
    if one.overlap is not None and one.overlap < 1:
        moved.append(f"{number(100 * one.overlap, figures=2)} % of the old band still allowed")
    bars = ""
    if one.was and one.now and one.overlap is not None and (one.difference or one.band):
        bars = lines(*(f"<code>{bar}</code>" for bar in _bars(one.was, one.now)))
    where = _at(one.new_place) or f"{_at(one.old_place)} in the older version"
    return cells(
        escaped(one.station),
        lines(escaped(one.words), ", ".join(one.kinds)),
        escaped(one.old or "(not there)"),
        lines(escaped(one.new or "(gone)"), loud),
        lines(*moved),
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


def _effects(one: Touched) -> Iterator[MarkdownRow]:
    heading = table(_named(one), "station", "result", "old", "new", "change")
    for effect in (each for each in one.effects if each.main):
        unit = f" {effect.unit}" if effect.unit else ""
        alike = f"and {effect.alike} more stages" if effect.alike else ""
        share = f", {_signed(effect.share)}" if effect.share is not None else ""
        yield MarkdownRow(
            heading,
            cells(
                escaped(effect.station),
                lines(escaped(effect.words), alike),
                escaped(f"{effect.old}{unit}"),
                escaped(f"{effect.new}{unit}"),
                escaped(f"{effect.difference}{share}"),
            ),
        )
    beside = sum(not each.main for each in one.effects)
    told = [f"{beside} more results changed by as much"] if beside else []
    told += [f"{one.folded} changed by less"] if one.folded else []
    if told:
        yield from bullets([f"{one.id}: {'; '.join(told)}"])


def _beside(one: Touched) -> Iterator[MarkdownRow]:
    heading = table(_named(one), "station", "result", "old", "new", "unit")
    for effect in one.effects:
        if not effect.main:
            words = (effect.station, effect.words, effect.old, effect.new, effect.unit)
            yield MarkdownRow(heading, cells(*(escaped(word) for word in words)))


_MARGINS = ("now", "limit", "old", "new", "margin", "where from")


def _margins(touched: Sequence[Touched]) -> Iterator[MarkdownRow]:
    """Margins format by format; of many formats in one table, each limit by the format that is worst off."""
    moved = [one for one in touched if one.margins]
    if len(moved) > MOST_ALIKE:
        yield from _in_one_table(moved)
    for one in touched:
        if len(moved) <= MOST_ALIKE:
            heading = table(f"**{escaped(one.id)}**", *_MARGINS)
            yield from (MarkdownRow(heading, _margin(margin)) for margin in one.margins[:MOST_MARGINS])
            more = len(one.margins) - MOST_MARGINS
            yield from bullets([f"{one.id}: {more} more moved"] if more > 0 else [])
        yield from bullets(f"{one.id}: {words}" for words in _beside_margins(one))


def _beside_margins(one: Touched) -> Iterator[str]:
    if one.still:
        yield f"{one.still} more are near and did not change"
    for what_if in one.what_ifs:
        if not what_if.fails:  # else the finding names the same ways
            ways = "; or ".join(what_if.ways) or "no single change restores it"
            yield f"To restore {what_if.aim}, {what_if.what} ({what_if.check}): {ways}"
    if one.not_asked:
        yield f"{one.not_asked} more reduced margins (no fix calculated)"


def _in_one_table(moved: Sequence[Touched]) -> Iterator[MarkdownRow]:
    """Limits by how badly off they are; of each the format with the least margin, and how many there are."""
    groups: dict[tuple[str, str, str], list[tuple[Touched, MarginMoved]]] = {}
    for one in moved:
        for margin in one.margins:
            groups.setdefault((margin.state, margin.check, margin.what), []).append((one, margin))
    worst = [(min(group, key=lambda each: each[1].after), group) for group in groups.values()]
    worst.sort(key=lambda each: (_GRAVEST.index(each[0][1].state), each[0][1].after))
    heading = table(f"Of {len(moved)} formats", *_MARGINS)
    for (one, margin), group in worst:
        others = some([each.id for each, _ in group if each is not one])
        rest = f"{one.id} is the worst of {len(group)}: {others}" if others else one.id
        yield MarkdownRow(heading, _margin(margin, rest))


def _margin(one: MarginMoved, of: str = "") -> str:
    before = "not judged" if one.before is None else margin_words(one.before)
    state = f"**{one.state}**" if one.state in {"now fails", "spent"} else one.state
    return cells(
        state,
        lines(escaped(one.what), escaped(one.limit), escaped(one.check), f"**{escaped(of)}**" if of else ""),
        escaped(one.old),
        escaped(one.new),
        f"{before} → {margin_words(one.after)}",
        escaped(f"{one.source} (owner {one.owner})" if one.owner else "the specs"),
    )


def _changeovers(one: LineTouched) -> Iterator[MarkdownRow]:
    if one.compared:
        heading = table(f"**{escaped(line_words(one))}**", "changeover", "was", "now")
        for words in pair_words(one.moved, MOST_PAIRS):
            yield MarkdownRow(heading, cells(*(escaped(word) for word in words)))
        if not one.moved:
            yield from bullets([line_words(one)])


def _checks(review: Review) -> Iterator[MarkdownRow]:
    heading = "\n| now | where | finding | check |\n| --- | --- | --- | --- |\n"
    yield from (
        MarkdownRow(heading, _check(review_entry(one), rest)) for one, rest in worst_first(review.checks)
    )
    if review.unchanged:
        yield from bullets([f"{plural(len(review.unchanged), 'finding')} as before"])


def _check(entry: FindingEntry, rest: str) -> str:
    finding = entry.finding
    state = f"**{entry.state}**" if entry.state in _LOUD else entry.state
    return cells(
        lines(state, finding.severity),
        lines(_at(finding.place), "in the older version" if entry.gone else ""),
        finding_cell(entry, rest),
        escaped(finding.name),
    )


# --- lists ------------------------------------------------------------------------------------


def _prompts(review: Review) -> Iterator[str]:
    for one in review.prompts:
        beside = f" Think of: {', '.join(one.beside)}." if one.beside else ""
        moved = f"{some(one.formats)}: {', '.join(one.moved)} moved; not moved: {', '.join(one.still)}."
        yield f"{moved} {one.why}{beside} ({one.source})"
