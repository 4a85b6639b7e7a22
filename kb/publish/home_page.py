"""The home page: a card for each line with its runs, a box for a sheet code, and four doors."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from kb.book.records_floor import Week
from kb.changeover.week import WeekPlan
from kb.publish.changeovers import LineChanges, weeks_of
from kb.publish.page import Context, Pages, Rendered, page
from kb.publish.sheet_pages import printed

SHOWN = "%Y-%m-%d %H:%M"


def home_page(context: Context) -> Rendered:
    """The page of the site's address."""
    edition = context.edition
    lines = [
        {
            "id": line,
            "title": edition.title(line, "line"),
            "weeks": [_week(context, week, changes) for week in _shown_weeks(context, line)],
            "planned": changes is not None and bool(changes.crews),
        }
        for line in edition.book.of("line")
        for changes in [edition.changes.get(line)]
    ]
    plant = edition.book.plant
    yield (
        "index.md",
        page("home.md", title="Can formats and tooling", up="", hide=("toc",), lines=lines, plant=plant),
    )


def _shown_weeks(context: Context, line: str) -> list[Week]:
    """The weeks of a line that have not ended on the day of the edition; the last one if all have."""
    weeks = sorted(weeks_of(context.edition.book, line), key=lambda one: one.start)
    day = context.edition.day.isoformat()
    return [
        one for one in weeks if max([one.start, *(run.due_at(one.start) for run in one.runs)]) >= day
    ] or weeks[-1:]


def _week(context: Context, week: Week, changes: LineChanges | None) -> dict[str, Any]:
    """A week with its runs in the order given; the reader's clock picks those of now in the browser."""
    plan = changes.weeks.get(week.id) if changes else None
    runs = list(_runs(context, week, plan)) if isinstance(plan, WeekPlan) else []
    return {
        "id": week.id,
        "title": week.title,
        "runs": runs,
        "why_not": plan if isinstance(plan, str) else "",
    }


def _runs(context: Context, week: Week, plan: WeekPlan) -> Iterator[dict[str, Any]]:
    """What runs when the week starts, then each run with the changeover before it."""
    moment = plan.open.moment
    sheets = set(printed(context.edition))
    placed = plan.order.given.placed
    stops = [0, *(one.end for one in placed)]
    before = ""
    for i, ident in enumerate([week.running, *(week.runs[one.batch.number - 1].format for one in placed)]):
        start = moment(placed[i - 1].start, begins=True)
        yield {
            "format": ident,
            "title": context.edition.title(ident),
            "known": ident in context.edition.formats,
            "start": start.strftime(SHOWN) if i else "",
            "stop": moment(stops[i]).strftime(SHOWN),
            "sheet": f"sheets/{ident}-{week.line}.html" if (ident, week.line) in sheets else "",
            "changeover": _changeover(context, week, f"{before}.{ident}") if before else "",
        }
        before = ident


def _changeover(context: Context, week: Week, anchor: str) -> str:
    """The changeover sheet before a run, "" where the pair has none."""
    found = context.at.get((week.crew, anchor))
    return f"changeovers/{week.crew}.{anchor}.sheet.html" if found else ""


PAGES = (Pages("Home", "index.md", home_page),)
