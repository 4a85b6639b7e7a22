"""Changeovers in the site: a chooser, a matrix of each line, a page of each pair, the order of each week."""

from __future__ import annotations

import datetime
import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from kb.book.records_changeover import Week
from kb.changeover.classes import LADDER
from kb.changeover.content import Setups, change_content, change_sheet
from kb.changeover.documents import change_document, job_cards, no_return
from kb.changeover.jobs import minutes
from kb.changeover.lever import Lever
from kb.changeover.sheet_model import ChangeContent, ChangeSheet, Durations, Job
from kb.changeover.tools import machine_notes
from kb.changeover.week_notes import left_out_words, proof_words
from kb.output import html
from kb.publish.changeovers import MOST_PAIRS, LineChanges, Pair, levers, weeks_of
from kb.publish.edition import Edition
from kb.publish.sheet_pages import SHARED
from kb.publish.templates import page
from kb.scheduling.sequence import Order, OrderComparison, PlacedBatch
from kb.sheet.content import content as setup_content
from kb.sheet.issue import issue
from kb.sheet.model import Sheet

LETTERS = {
    "nothing": "–",
    "settings": "S",
    "label": "L",
    "end-neck": "E",
    "height": "H",
    "height-neck": "N",
    "bodymaker": "B",
    "metal": "M",
    "diameter": "D",
}
"""One letter for each class, so that none hangs on a shade."""

Sheets = Mapping[tuple[str, str], ChangeSheet]


def change_sheets(edition: Edition) -> dict[str, Sheets]:
    """The changeover sheets that have a page, by line and then by old and new format."""
    return {line: dict(_sheets(edition, one)) for line, one in edition.changes.items()}


def changeover_pages(edition: Edition, made: Mapping[str, Sheets]) -> Iterator[tuple[str, str]]:
    """Every page about changeovers by its path."""
    yield "changeovers/pairs.data.js", _data(edition, made)
    yield "changeovers/index.md", _index(edition)
    for line, one in edition.changes.items():
        if one.crew is None:
            continue
        yield f"changeovers/{line}.md", _matrix(edition, one)
        for week in weeks_of(edition.book, line):
            yield f"changeovers/week-{week.id}.md", _week(edition, week, one)
        for pair, sheet in made[line].items():
            name = one.pairs[pair].name
            yield f"changeovers/{name}.md", _pair_page(one, one.pairs[pair], sheet)
            yield f"changeovers/{name}.sheet.html", html.page(change_document(sheet), shared=SHARED)
            yield f"changeovers/{name}.cards.html", html.page(*job_cards(sheet), shared=SHARED)


def _sheets(edition: Edition, one: LineChanges) -> Iterator[tuple[tuple[str, str], ChangeSheet]]:
    """The sheets of a line's pairs that have a page; each setup sheet is made once."""
    made = datetime.datetime.combine(edition.day, datetime.time())
    setups: dict[str, Sheet] = {}
    for pair, told in one.pairs.items():
        if not told.has_page or told.plan is None or told.durations is None or one.crew is None:
            continue
        for ident in pair:
            if ident not in setups:
                content = setup_content(edition.book, ident, one.line)
                setups[ident] = issue(content, edition.book, made=made, draft=edition.draft)
        both = Setups(setups[pair[0]], setups[pair[1]])
        said = change_content(edition.book, told.plan, one.crew, told.durations, both)
        yield pair, change_sheet(said, both, made=made, problems=_problems(edition, pair))


def _problems(edition: Edition, pair: Sequence[str]) -> list[str]:
    return [
        f"{ident}: {one.message}"
        for ident in pair
        for one in edition.formats[ident].findings
        if one.severity == "error"
    ]


# --- the chooser ------------------------------------------------------------------------------


def _data(edition: Edition, made: Mapping[str, Sheets]) -> str:
    """What the chooser looks up, as a script; a page opened from disk cannot fetch."""
    lines = [
        {
            "id": one.line,
            "title": _line_title(edition, one.line),
            "crew": one.crew.title,
            "others": [crew.title for crew in one.others],
            "formats": [
                {"id": ident, "title": _title(edition, ident), "body": _body(edition, ident)}
                for ident in one.formats
            ],
            "machines": [group.title for group in edition.book.of("line")[one.line].record.machines],
            "pairs": {
                f"{old}>{new}": _chosen(pair, made[one.line].get((old, new)))
                for (old, new), pair in one.pairs.items()
            },
        }
        for one in edition.changes.values()
        if one.crew is not None
    ]
    data = json.dumps({"lines": lines}, ensure_ascii=True, separators=(",", ":"))
    return f"window.sizebookChangeovers = {data};\n"


def _chosen(pair: Pair, sheet: ChangeSheet | None) -> dict[str, Any]:
    told = pair.durations
    if told is None:
        return {"kind": pair.difference.title, "why": list(pair.why_not)}
    found: dict[str, Any] = {
        "kind": pair.difference.title,
        "minutes": [told.planned, told.nine_in_ten, told.worst],
        "past": _past(told),
        "changes": [
            [one.number - 1, ", ".join((*one.parts, *one.settings, *one.supplies))]
            for one in machine_notes(pair.difference)
            if one.touched
        ],
    }
    if sheet is not None:
        found |= {"name": pair.name, "code": sheet.code, "mark": sheet.mark}
    return found


def _past(told: Durations) -> str:
    stopped = next(iter(told.past), None)
    if stopped is None:
        return ""
    return f"median {stopped.median} min, worst {stopped.worst} min ({told.past_of})"


def _index(edition: Edition) -> str:
    lines = [
        {
            "id": one.line,
            "title": _line_title(edition, one.line),
            "why_not": one.why_not,
            "crew": _crew(one),
            "weeks": [{"id": week.id, "title": week.title} for week in weeks_of(edition.book, one.line)],
            "pairs": [_row(edition, pair) for pair in one.pairs.values()],
        }
        for one in edition.changes.values()
    ]
    return page("changeovers.html", title="Changeovers", scripts=("pairs.data.js",), lines=lines)


def _row(edition: Edition, pair: Pair) -> dict[str, Any]:
    one = pair.difference
    return {
        "old": one.old,
        "new": one.new,
        "from": _title(edition, one.old),
        "to": _title(edition, one.new),
        "kind": one.title,
        "letter": LETTERS[one.kind],
        "minutes": pair.minutes,
        "nine_in_ten": pair.durations.nine_in_ten if pair.durations else None,
        "href": f"{pair.name}.html" if pair.has_page else "",
        "why_not": pair.why_not,
    }


def _title(edition: Edition, ident: str) -> str:
    return edition.formats[ident].record.title


def _body(edition: Edition, ident: str) -> str:
    return edition.formats[ident].record.body


def _crew(one: LineChanges) -> dict[str, Any]:
    """The crew that the pages of a line are planned for, and the crews that have no plan here."""
    return {
        "id": one.crew.id if one.crew else "",
        "title": one.crew.title if one.crew else "",
        "people": len(one.crew.members) if one.crew else 0,
        "line": one.line,
        "others": [{"id": crew.id, "title": crew.title, "people": len(crew.members)} for crew in one.others],
    }


def _line_title(edition: Edition, line: str) -> str:
    title: str = edition.book.of("line")[line].record.title
    return title


# --- the matrix -------------------------------------------------------------------------------


def _matrix(edition: Edition, one: LineChanges) -> str:
    known = [pair.minutes for pair in one.pairs.values() if pair.minutes is not None] or [0]
    ends = min(known), max(known)
    notes: dict[str, int] = {}
    for pair in one.pairs.values():
        for why in pair.why_not:
            notes.setdefault(why, len(notes) + 1)
    rows = [
        {
            "old": old,
            "title": _title(edition, old),
            "cells": [_cell(one.pairs.get((old, new)), ends, notes) for new in one.formats],
        }
        for old in one.formats
    ]
    met = {pair.difference.kind for pair in one.pairs.values()}
    return page(
        "changeover_line.html",
        title=f"Changeovers of {_line_title(edition, one.line)}",
        hide=("toc",),
        line=one.line,
        line_title=_line_title(edition, one.line),
        crew=_crew(one),
        formats=[{"id": ident, "title": _title(edition, ident)} for ident in one.formats],
        rows=rows,
        legend=[{"letter": LETTERS[kind.id], "title": kind.title} for kind in LADDER if kind.id in met],
        notes=list(notes),
        weeks=[{"id": week.id, "title": week.title} for week in weeks_of(edition.book, one.line)],
        unproven=sum(not p.durations.proven for p in one.pairs.values() if p.durations),
        count=len(one.pairs),
        paged=one.paged,
        most=MOST_PAIRS,
    )


def _cell(pair: Pair | None, ends: tuple[int, int], notes: Mapping[str, int]) -> dict[str, Any] | None:
    """A cell of the matrix; its shade goes from the shortest to the longest stop."""
    if pair is None:
        return None
    least, most = ends
    return {
        "old": pair.difference.old,
        "new": pair.difference.new,
        "minutes": pair.minutes,
        "letter": LETTERS[pair.difference.kind],
        "kind": pair.difference.title,
        "heat": f"{((pair.minutes or 0) - least) / ((most - least) or 1):.2f}",
        "href": f"{pair.name}.html" if pair.has_page else "",
        "notes": [notes[why] for why in pair.why_not],
    }


# --- one pair ---------------------------------------------------------------------------------


def _pair_page(one: LineChanges, pair: Pair, sheet: ChangeSheet) -> str:
    said, difference = sheet.content, pair.difference
    back = one.pairs.get((difference.new, difference.old))
    return page(
        "changeover.html",
        title=f"Changeover {difference.old} to {difference.new}, {one.line}",
        in_search=False,  # hundreds of like pages; the chooser and the matrix lead to them
        name=pair.name,
        planned_for=_crew(one),
        s=sheet,
        h=said.header,
        d=said.durations,
        past=_past(said.durations),
        no_return=no_return(said.durations),
        letter=LETTERS[difference.kind],
        touched=[row for row in said.machines if row.touched or row.gauges],
        path=[_job(said, job) for job in said.jobs if job.path],
        crew=said.crew,
        levers=[_lever(found) for found in (levers(pair.plan) if pair.plan else ())],
        back=f"{back.name}.html" if back and back.has_page else "",
    )


def _job(said: ChangeContent, job: Job) -> dict[str, str]:
    titles = {hand.id: hand.title for hand in said.crew}
    return {
        "at": job.at,
        "until": job.until,
        "machine": job.machine or "the line",
        "text": job.text,
        "who": ", ".join(titles[who] for who in job.who) or "by itself",
    }


def _lever(one: Lever) -> dict[str, Any]:
    way = "done before the stop" if one.way == "external" else "in half the time"
    return {
        "text": one.step.text,
        "machine": one.at or "the line",
        "way": way,
        "stop": minutes(one.stop),
        "then": minutes(one.then),
    }


# --- weeks ------------------------------------------------------------------------------------


def _week(edition: Edition, week: Week, one: LineChanges) -> str:
    found = one.weeks.get(week.id, "not planned")
    titles = {crew.id: crew.title for crew in one.crews}
    return page(
        "changeover_week.html",
        title=week.title,
        hide=("toc",),
        week=week,
        crew=titles.get(week.crew, week.crew),
        line_title=_line_title(edition, week.line),
        running=edition.formats[week.running].record.title
        if week.running in edition.formats
        else week.running,
        why_not=found if isinstance(found, str) else "",
        told=None if isinstance(found, str) else _both(found.order),
        left_out=() if isinstance(found, str) else left_out_words(found),
        orders=[] if isinstance(found, str) else list(_orders(edition, week, one, found.order)),
    )


def _both(found: OrderComparison) -> dict[str, Any]:
    saved = minutes(found.saved)
    return {
        "same": found.given == found.best,
        "saved": saved,
        "saved_words": "saved" if saved >= 0 else "lost more, to be on time",
        "proof": proof_words(found),
    }


def _orders(
    edition: Edition, week: Week, one: LineChanges, found: OrderComparison
) -> Iterator[dict[str, Any]]:
    for ident, title, order in (("given", "As given", found.given), ("found", "As found", found.best)):
        yield {
            "id": ident,
            "title": title,
            "lost": minutes(order.lost),
            "late": len(order.late),
            "lateness": order.lateness,
            "rows": list(_runs(edition, week, one, order)),
        }


def _runs(edition: Edition, week: Week, one: LineChanges, order: Order) -> Iterator[dict[str, Any]]:
    begin = datetime.datetime.fromisoformat(week.start)
    before = week.running
    for placed in order.placed:
        run = week.runs[placed.batch.number - 1]
        pair = one.pairs.get((before, run.format)) if one.crew and week.crew == one.crew.id else None
        yield {
            "number": placed.batch.number,
            "format": run.format,
            "title": _title(edition, run.format) if run.format in edition.formats else run.format,
            "cans": f"{run.cans:,}".replace(",", "\u202f"),
            "changeover": minutes(placed.changeover),
            "href": f"{pair.name}.html" if pair and pair.has_page else "",
            "start": _moment(begin, placed.start),
            "end": _moment(begin, placed.end),
            "due": run.due,
            "late": _late(placed),
        }
        before = run.format


def _moment(begin: datetime.datetime, seconds: int) -> str:
    return (begin + datetime.timedelta(seconds=seconds)).strftime("%Y-%m-%d %H:%M")


def _late(placed: PlacedBatch) -> str:
    hours, rest = divmod(placed.late, 60)
    return f"{hours} h {rest} min late" if placed.late else ""


# --- on the pages of formats and lines --------------------------------------------------------


def changeovers_of(edition: Edition, ident: str) -> list[dict[str, Any]]:
    """Changeovers to and from a format on each of its lines, the shortest first.

    Args:
        edition: the edition
        ident: id of the format

    Returns:
        For each line its title, its page, and the pairs from and to the format.
    """
    found = []
    for one in edition.changes.values():
        if ident not in one.formats:
            continue
        rows = sorted(
            (pair for names, pair in one.pairs.items() if ident in names),
            key=lambda pair: (pair.minutes is None, pair.minutes or 0, pair.name),
        )
        found.append(
            {
                "line": one.line,
                "title": _line_title(edition, one.line),
                "to": [_row(edition, pair) for pair in rows if pair.difference.new == ident],
                "from": [_row(edition, pair) for pair in rows if pair.difference.old == ident],
            }
        )
    return found
