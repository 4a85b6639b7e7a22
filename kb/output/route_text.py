"""A route as a table for a terminal: as wide as there is room, complete at 80 columns."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import click

from kb.book.conversion import NOT_A_NUMBER, exact_number, percent
from kb.book.finding import one_line
from kb.checks.by_station import (
    STAGES_IN_FULL,
    ResultRow,
    RouteReport,
    Scatter,
    Section,
    row_figures,
    shown,
    stage_figures,
)
from kb.checks.judge import Verdict
from kb.checks.words import margin_words, number
from kb.route.station import ESTIMATE
from kb.route.stations import STATIONS

NARROWEST, WIDEST = 60, 160
_NUMBER = 10
_UNIT = 7
_LIMIT = 20
_MARGIN = 9
_CELLS = 10
_NAME = 30
_WORDS = 34
_SCATTER = ("mean", "std dev", "0.135 %", "99.865 %")

MOST_TIGHT = 5
"""Values nearest their limits that are listed again at the end."""

_STAGE_COLUMNS = {
    one.key: tuple(each.name for each in one.declared if each.column)
    for station in STATIONS
    for one in station.results
}
"""Results that are columns where many stages are printed one line each, by the key of the stages."""


@dataclass(frozen=True, slots=True)
class _Layout:
    width: int
    coloured: bool

    @property
    def wide(self) -> bool:
        """Whether the limit has room beside the values."""
        return self.width >= 2 + _WORDS + self._beside

    @property
    def _beside(self) -> int:
        return 3 * _NUMBER + _UNIT + _LIMIT + _MARGIN + 1 + _CELLS + 1 + _NAME

    @property
    def words(self) -> int:
        """Columns for the words of a row."""
        room = self.width - 2 - (self._beside if self.wide else 3 * _NUMBER + _UNIT)
        return min(room, 56)

    def bold(self, text: str) -> str:
        """A title."""
        return click.style(text, bold=True) if self.coloured else text

    def alarm(self, text: str) -> str:
        """Something outside its limit."""
        return click.style(text, fg="red", bold=True) if self.coloured else text


def as_table(route: RouteReport, *, width: int, coloured: bool = False) -> str:
    """A route as a table."""
    layout = _Layout(max(NARROWEST, min(width, WIDEST)), coloured)
    spec = route.format
    lines = [
        layout.bold(one_line(f"{spec.id}  {spec.title}, revision {spec.revision}, {spec.status}")),
        *textwrap.wrap(
            "Low and high are the worst corners of the tolerances. The margin is the distance of the worst "
            "corner from its limit, in % of the limit; between two limits, in % of half their difference.",
            layout.width,
        ),
    ]
    for group in _grouped(route.sections):
        lines.append("")
        lines += _section(group[0], layout) if len(group) == 1 else _stages(group, layout)
    lines += _notes(route, layout)
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _grouped(sections: Sequence[Section]) -> Iterator[list[Section]]:
    """Sections one by one, but the members of a long list together."""
    by_kind: dict[str, list[Section]] = {}
    for one in sections:
        by_kind.setdefault(one.station.split("[")[0], []).append(one)
    for members in by_kind.values():
        listed = [one for one in members if "[" in one.station]
        if len(listed) > STAGES_IN_FULL:
            yield members
        else:
            yield from ([one] for one in members)


# --- a section row by row ---------------------------------------------------------------------


def _section(section: Section, layout: _Layout, title: str = "") -> Iterator[str]:
    title = one_line(title or section.title)
    heads = "".join(f"{word:>{_NUMBER}}" for word in ("nominal", "low", "high")) + " " * _UNIT
    if layout.wide:
        heads += f"  {'limit':{_LIMIT - 2}}{'margin':>{_MARGIN}}"
    room = layout.words + 2
    if len(title) > room:
        yield layout.bold(title)
        title = ""
    yield layout.bold(f"{title:{room}}") + heads
    for row, count in _tightest(section.rows):
        yield from _row(row, layout, f" (tightest of {count})" if count > 1 else "")
    for sentence in section.says:
        yield from textwrap.wrap(sentence, layout.width, initial_indent="  ", subsequent_indent="  ")


def _tightest(rows: Sequence[ResultRow]) -> Iterator[tuple[ResultRow, int]]:
    """Rows; of the values that one check alone measures, the tightest, with how many there are."""
    groups: dict[str, list[ResultRow]] = {}
    for row in rows:
        groups.setdefault(row.key or row.verdicts[0].rule.name, []).append(row)
    for members in groups.values():
        yield min(members, key=_margin_of), len(members)


def _margin_of(row: ResultRow) -> float:
    """The least margin of a row; below all others where one cannot be computed."""
    margins = [one.margin for one in row.verdicts]
    return min((-math.inf if math.isnan(m) else m for m in margins), default=math.inf)


def _row(row: ResultRow, layout: _Layout, after: str = "") -> Iterator[str]:
    first, *more = textwrap.wrap(one_line(row.said) + after, layout.words - 1) or [""]
    line = f"  {first:{layout.words}}{_numbers(row)}"
    judged = sorted(row.verdicts, key=lambda one: one.margin)
    if layout.wide:
        beside = [_beside(one, row, layout) for one in judged] or [""]
        yield line + beside[0]
        blank = " " * len(line)
        yield from (blank + other for other in beside[1:])
    else:
        yield line
    yield from (f"  {words}" for words in more)
    if not layout.wide:
        for one in judged:
            yield f"    limit {_limit(one, row)}, margin {_margin(one, layout)} [{one.rule.name}]"
    if row.scatter is not None and not math.isnan(row.scatter.mean) and row.spread.low != row.spread.high:
        texts = zip(_SCATTER, _scatter(row, row.scatter), strict=True)
        yield "    " + ", ".join(f"{word} {text}" for word, text in texts)


def _numbers(row: ResultRow) -> str:
    texts = (_dash(one) for one in row_figures(row))
    unit = "" if row.show == "-" else row.show
    return "".join(f"{text:>{_NUMBER}}" for text in texts) + f" {unit:{_UNIT - 1}}"


def _dash(figure: str) -> str:
    return "–" if figure == NOT_A_NUMBER else figure


def _scatter(row: ResultRow, one: Scatter) -> list[str]:
    deviation = shown(row, one.deviation) - shown(row, 0.0)
    mean, low, high = row_figures(row, one.mean, one.low, one.high)
    return [_dash(text) for text in (mean, number(deviation, figures=2), low, high)]


def _limit(verdict: Verdict, row: ResultRow) -> str:
    least, most = (None if v is None else exact_number(shown(row, v)) for v in (verdict.least, verdict.most))
    if least is not None and most is not None:
        return least if least == most else f"{least} to {most}"
    return f"≥ {least}" if least is not None else f"≤ {most}"


def _beside(verdict: Verdict, row: ResultRow, layout: _Layout) -> str:
    return f"  {_limit(verdict, row):{_LIMIT - 2}}{_margin(verdict, layout, _MARGIN)} [{verdict.rule.name}]"


def _margin(verdict: Verdict, layout: _Layout, width: int = 0) -> str:
    margin = verdict.margin
    if not verdict.has_margin:
        return f"{'–':>{width}} {'':{_CELLS}}"
    text = margin_words(margin) if math.isfinite(margin) else "–"
    if not verdict.passed:
        return layout.alarm(f"{text:>{width}} {'OUTSIDE':{_CELLS}}")
    filled = round(max(0.0, min(margin, 1.0)) * _CELLS)
    return f"{text:>{width}} {'█' * filled}{'·' * (_CELLS - filled)}"


# --- a long list of stations, one line each ---------------------------------------------------


def _stages(sections: Sequence[Section], layout: _Layout) -> Iterator[str]:
    listed = [one for one in sections if "[" in one.station]
    title = listed[0].title.partition(",")[0]
    rows = [{row.key.rpartition(".")[2]: row for row in one.rows} for one in listed]
    names = _STAGE_COLUMNS[listed[0].station.partition("[")[0]]
    columns = [_stage_column(name, [each[name] for each in rows]) for name in names]
    columns.insert(0, ["", "stage", "", *(str(i + 1) for i in range(len(listed)))])
    yield layout.bold(f"{title}, {len(listed)} stages, nominal")
    widths = [max(map(len, column)) for column in columns]
    for cells in zip(*columns, strict=True):
        yield "  " + " ".join(f"{cell:>{width}}" for cell, width in zip(cells, widths, strict=True))
    judged = [row for one in sections for row in one.rows if row.verdicts]
    if judged:
        yield ""
        yield from _section(Section("", "", tuple(_by_check(judged))), layout, f"{title}, checked")


def _stage_column(name: str, rows: Sequence[ResultRow]) -> list[str]:
    first, _, second = name.partition("_")
    unit = "" if rows[0].show == "-" else rows[0].show
    return [first, second, unit, *map(_dash, stage_figures(rows))]


def _by_check(rows: Iterable[ResultRow]) -> Iterator[ResultRow]:
    """Rows without their keys, one for each verdict, so that those of one check are together."""
    for row in rows:
        for one in row.verdicts:
            yield ResultRow("", one.what, row.unit, row.show, row.spread, row.scatter, (one,), one.basis)


# --- what is said below -----------------------------------------------------------------------


def _notes(route: RouteReport, layout: _Layout) -> Iterator[str]:
    judged = [one for part in route.sections for row in part.rows for one in row.verdicts if one.has_margin]
    judged.sort(key=lambda one: -math.inf if math.isnan(one.margin) else one.margin)
    yield from ("", layout.bold("Nearest their limits"))
    for one in judged[:MOST_TIGHT]:
        words = textwrap.shorten(
            one_line(one.what), layout.width - _MARGIN - _CELLS - _NAME, placeholder="..."
        )
        yield f"  {_margin(one, layout, _MARGIN)} {words} [{one.rule.name}]"
    if route.cans:
        yield from ("", layout.bold(f"What drives the main results ({route.cans} cans, seed {route.seed})"))
        for words, shares in route.drivers:
            inputs = ", ".join(
                f"{one_line(key.removeprefix('format.'))} {percent(share)}" for key, share in shares[:6]
            )
            yield from textwrap.wrap(
                f"{words}: {inputs or 'no toleranced input moves it'}",
                layout.width,
                initial_indent="  ",
                subsequent_indent="    ",
            )
    yield ""
    for note in _said(route):
        yield from textwrap.wrap(note, layout.width)


def _said(route: RouteReport) -> Iterator[str]:
    if any(row.basis == ESTIMATE for section in route.sections for row in section.rows):
        words = "An estimate ranks choices; it is no proof of a can."
        if route.uncalibrated:
            settings = ", ".join(route.uncalibrated)
            words += f" Strength is not calibrated on the plant's trials yet (settings {settings})."
        yield words
    if route.cans:
        yield (
            "Shares are of the variance, by moving one input at a time over its tolerance. Scatter: sizes "
            "normal within their tolerances and independent of one another."
        )
        missing = max(
            (row.scatter.missing for one in route.sections for row in one.rows if row.scatter), default=0
        )
        if missing:
            words = f"In up to {missing} of {route.cans} cans a result could not be computed"
            yield f"{words}; they are left out of it."
