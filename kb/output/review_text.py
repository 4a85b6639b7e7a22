"""A review as lines of text, in the order in which a reviewer reads it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import click

from kb.book.finding import Place, one_line
from kb.checks.words import margin_words, number, plural
from kb.history.change_types import RE_EXPRESSED
from kb.output.document import review_entry
from kb.output.text import entry_lines
from kb.review.model import ChangedFile, Outcome, Review, Spanned, Touched, ValueChange
from kb.review.words import former_words, line_words, pair_words, signed, some, together, used

MOST_MARGINS = 8
"""Margins of one format that are told one by one; the rest is a count."""

MOST_PAIRS = 6
"""Lines for the changeovers of one line; the rest is a count."""

_COLOURS: dict[Outcome, str] = {"blocked": "red", "needs approval": "yellow", "passes": "green"}

_BAR = 32
"""Signs in the bar that shows two tolerance bands."""


def review_text(review: Review, *, coloured: bool = False) -> str:
    """A review as text.

    Args:
        review: the review
        coloured: whether to colour what blocks

    Returns:
        The verdict first, then meaning, effects, margins, checks, use, prompts, approvals.
    """
    head = review.verdict
    if coloured:
        head = click.style(head, fg=_COLOURS[review.outcome], bold=True)
    lines = [head, f"before: {review.base.label}", f"now: {review.head.label}", *review.notes]
    if review.kinds:
        lines.append(f"kind of change: {', '.join(review.kinds)}")
    for title, part in (
        ("What changed", [line for one in together(review.files) for line in _file(one)]),
        ("What it does", list(_does(review))),
        ("Checks", list(_checks(review, coloured=coloured))),
        ("Passes now, fails at the former numbers", [f"  {one}" for one in former_words(review)]),
        ("Where it is used", [f"  {one}" for one in used(review)]),
        ("Related values not changed", list(_prompts(review))),
        ("Not checked", [f"  {one_line(one)}" for one in review.not_judged]),
        ("Approval required from", [f"  {one.owner}: {'; '.join(one.because)}" for one in review.approvals]),
    ):
        if part:
            lines += ["", click.style(title, bold=True) if coloured else title, *part]
    if review.touched or review.lines:
        lines += ["", *review.thresholds]
    return "\n".join(lines) + "\n"


def _at(place: Place | None) -> str:
    if place is None:
        return ""
    return f"{one_line(place.file)}:{place.span.line}:{place.span.column}"


# --- what changed -----------------------------------------------------------------------------


def _file(one: ChangedFile | str) -> Iterator[str]:
    if isinstance(one, str):
        yield f"  {one}"
        return
    was = f", was {one.was}" if one.was else ""
    yield f"  {one_line(one.file)}: {one_line(one.title)}{was}: {', '.join(one.states)}"
    for change in one.rewritten:
        words_of_change = f"{change.words} {change.old} → {change.new}"
        yield f"    UNIT CHANGED, value equal: {words_of_change} ({_at(change.new_place)})"
    if one.unmeaning:
        what = ", ".join(one.unmeaning)
        yield f"    {what}" if one.kind == "sheet-codes" else f"    no change in meaning: {what}"
    station = ""
    for change in one.changes:
        if change.station != station:
            station = change.station
            yield f"    {station}"
        yield from _change(change)


def _change(one: ValueChange) -> Iterator[str]:
    old, new = one.old or "(not there)", one.new or "(gone)"
    loud = f" UNIT CHANGED, was {one.rewritten}" if one.rewritten else ""
    yield f"      {one.words}: {old} → {new}{loud} [{', '.join(one.kinds)}]"
    words_of_change = [RE_EXPRESSED] if "re-expressed" in one.kinds else []
    words_of_change += [one.difference] if one.difference else []
    if one.share is not None:
        words_of_change.append(f"{signed(100 * one.share)} % of the tolerance band")
    words_of_change += [one.band] if one.band else []
    if one.overlap is not None and one.overlap < 1:
        words_of_change.append(f"{number(100 * one.overlap, figures=2)} % of the old band still allowed")
    where = _at(one.new_place) or f"{_at(one.old_place)} in the older version"
    yield f"        {'; '.join([*words_of_change, where])}"
    if one.was and one.now and one.overlap is not None and (one.difference or one.band):
        yield from _bars(one.was, one.now)


def _bars(was: Spanned, now: Spanned) -> Iterator[str]:
    """Both tolerance bands on one scale."""
    low, high = min(was.least, now.least), max(was.most, now.most)

    def at(value: float) -> int:
        return round((value - low) / (high - low) * (_BAR - 1))

    for name, one in (("was", was), ("now", now)):
        signs = [" "] * _BAR
        signs[at(one.least) : at(one.most) + 1] = ["-"] * (at(one.most) + 1 - at(one.least))
        signs[at(one.least)], signs[at(one.most)] = "[", "]"
        signs[at(one.target)] = "+"
        yield f"        {name} |{''.join(signs)}|"


# --- what it does -----------------------------------------------------------------------------


def _does(review: Review) -> Iterator[str]:
    for one in review.touched:
        yield from _touched(one)
    for line in review.lines:
        if not line.compared:
            continue
        yield f"  {line_words(line)}"
        for formats, before, now in pair_words(line.moved, MOST_PAIRS):
            yield f"    {formats}: {before} → {now}" if before else f"    {formats}"


def _touched(one: Touched) -> Iterator[str]:
    was = f" (was {one.was})" if one.was else ""
    still = "" if one.effects or one.margins or one.folded else "; no result changed"
    yield f"  {one.id}{was}: through {', '.join(one.because)}{still}"
    station = ""
    main = [effect for effect in one.effects if effect.main]
    for effect in main:
        if effect.station != station:
            station = effect.station
            yield f"    {station}"
        share = f", {signed(100 * effect.share)} %" if effect.share is not None else ""
        alike = f" (and {effect.alike} more stages)" if effect.alike else ""
        unit = f" {effect.unit}" if effect.unit else ""
        yield f"      {effect.words}: {effect.old} → {effect.new}{unit} ({effect.difference}{share}){alike}"
    beside = len(one.effects) - len(main)
    rest = [f"{plural(beside, 'more result')} moved as far"] if beside else []
    rest += [f"{one.folded} changed by less"] if one.folded else []
    if rest:
        yield f"    {'; '.join(rest)}"
    yield from _margins(one)
    for what_if in one.what_ifs:
        if what_if.fails:
            continue  # the finding names the same ways
        yield f"    To restore {what_if.aim}: {what_if.what} [{what_if.check}]"
        yield from (f"      {one_line(way)}" for way in what_if.ways)
        if not what_if.ways:
            yield "      no single change restores it"
    if one.not_asked:
        yield f"    {one.not_asked} more reduced margins (no fix calculated)"


def _margins(one: Touched) -> Iterator[str]:
    if one.margins:
        yield "    Margins"
    for margin in one.margins[:MOST_MARGINS]:
        before = "not judged" if margin.before is None else margin_words(margin.before)
        whose = f"; {one_line(margin.source)} (owner {margin.owner})" if margin.owner else ""
        yield (
            f"      {margin.state}: {margin.what} {margin.old} → {margin.new}, {margin.limit}: "
            f"margin {before} → {margin_words(margin.after)} [{margin.check}]{whose}"
        )
    more = len(one.margins) - MOST_MARGINS
    words_of_change = [f"{more} more moved"] if more > 0 else []
    words_of_change += [f"{one.still} more are near and did not change"] if one.still and one.margins else []
    if words_of_change:
        yield f"      {'; '.join(words_of_change)}"


# --- checks, use, the rest --------------------------------------------------------------------


def _checks(review: Review, *, coloured: bool) -> Iterator[str]:
    for one in review.checks:
        yield from (f"  {line}" for line in entry_lines(review_entry(one), coloured=coloured))
    if review.unchanged:
        yield f"  {plural(len(review.unchanged), 'finding')} as before"


def _prompts(review: Review) -> Iterator[str]:
    for one in review.prompts:
        yield f"  {some(one.formats)}: {_list(one.moved)} moved; not moved: {_list(one.still)}"
        beside = f" Think of: {_list(one.beside)}." if one.beside else ""
        yield f"    {one.why}{beside} ({one.source})"


def _list(words: Iterable[str]) -> str:
    return ", ".join(words)
