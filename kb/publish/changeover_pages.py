"""Changeovers in the site: chooser, matrices of each line, plans, a sheet for each pair, weeks."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import pairwise
from typing import Any, TypeAlias

from kb.blocks import PrintedDocument
from kb.book.records_floor import MOMENT, Crew, Week
from kb.changeover.cards import change_picks, job_cards
from kb.changeover.classes import LADDER
from kb.changeover.documents import change_document, no_return
from kb.changeover.lever import Lever, levers_in_order
from kb.changeover.sheet_model import ChangeContent, ChangeSheet, Job, MachineNote
from kb.changeover.times import minutes
from kb.changeover.week import (
    WeekPlan,
    chance_words,
    frozen_words,
    notes_on_order,
    price_words,
    proof_words,
    saved_minutes,
)
from kb.output.html import square_image
from kb.publish.changeovers import MOST_PAIRS, LineChanges, Pair, Pairs, Planned, weeks_of
from kb.publish.edition import Edition
from kb.publish.page import Context, Pages, Rendered, page
from kb.publish.parts import Parts, joined
from kb.publish.sheet_pages import papers
from kb.scheduling.sequence import OrderComparison
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
"""One letter for each class, so that none depends on a shade."""

LEVERS = 5
"""Ways to shorten a stop that a plan's page lists."""


def changeover_pages(context: Context) -> Rendered:
    """The pages about the changeovers of all lines, and what the chooser looks up, by their paths."""
    edition, at = context.edition, context.at
    yield "changeovers/pairs.data.js", _data(edition, at)
    yield "changeovers/index.md", _index(edition, at)
    for line, one in edition.changes.items():
        if one.crews:
            yield f"changeovers/{line}.md", _matrices(edition, one, at)
        for week in weeks_of(edition.book, line) if one.crews else ():
            yield f"changeovers/week-{week.id}.md", _week(edition, week, one, at)


def crew_pages(context: Context, crew: str) -> Rendered:
    """The plans of a crew, and the sheets of its changeovers with the pieces they share, by their paths."""
    edition, at = context.edition, context.at
    one = next(one for one in edition.changes.values() if crew in one.pairs)
    parts, scripts = Parts(), (f"{crew}.parts.js", "../assets/js/parts.js")
    weeks = weeks_of(edition.book, one.line)
    in_weeks = {(old.format, new.format) for week in weeks for old, new in pairwise(week.runs)}
    setups = {(sheet.content.identity.format, sheet.content.identity.line): sheet for sheet in context.setups}
    for plan in (each for each in context.plans[one.line] if each.crew.id == crew):
        yield f"changeovers/{plan.name}.md", _plan_page(edition, one, plan, at)
        for pair, sheet in zip(plan.pairs, plan.sheets, strict=True):
            kinds = dict(_documents(sheet, setups.get((sheet.content.header.new.id, one.line))))
            planned = (pair.difference.old, pair.difference.new) in in_weeks
            for path, text in papers(
                edition,
                f"changeovers/{pair.name}",
                kinds.items(),
                _links(sheet, at[pair.crew, pair.anchor]),
                pdf=kinds if edition.pdf and planned else (),
                part=parts,
                square=square_image,
                scripts=scripts,
            ):
                yield path, joined(text) if isinstance(text, str) else text
    yield f"changeovers/{scripts[0]}", parts.script()


def _documents(sheet: ChangeSheet, setup: Sheet | None) -> Iterator[tuple[str, tuple[PrintedDocument, ...]]]:
    """A changeover sheet and the papers beside it, each with the end of its file's name."""
    yield ".sheet", (change_document(sheet),)
    yield ".cards", job_cards(sheet)
    if sheet.content.fit and setup is not None:
        yield ".picks", (change_picks(sheet, setup),)


def _links(sheet: ChangeSheet, plan: str) -> tuple[tuple[str, str], ...]:
    me = sheet.content.header
    sheets = (
        (f"../sheets/{one.id}-{me.line}.html", f"{which} setup sheet")
        for which, one in (("Old", me.old), ("New", me.new))
    )
    return ("index.html", "Changeovers"), (plan, "Plan"), (f"../lines/{me.line}.html", "Line"), *sheets


# --- the chooser ------------------------------------------------------------------------------


def _data(edition: Edition, at: Mapping[tuple[str, str], str]) -> str:
    """What the chooser looks up, as a script; a page opened from disk cannot fetch."""
    crews = [
        {
            "id": crew.id,
            "title": crew.title,
            "line": one.line,
            "formats": [{"id": ident, "title": edition.title(ident)} for ident in one.formats],
            "pairs": {
                f"{old}>{new}": {
                    **({"why": pair.why_not} if pair.minutes is None else {"minutes": pair.minutes}),
                    **({"href": at[crew.id, pair.anchor]} if pair.has_page else {}),
                }
                for (old, new), pair in one.pairs[crew.id].items()
            },
        }
        for one in edition.changes.values()
        for crew in one.crews
    ]
    data = json.dumps({"crews": crews}, ensure_ascii=True, separators=(",", ":"))
    return f"window.sizebookChangeovers = {data};\n"


def _index(edition: Edition, at: Mapping[tuple[str, str], str]) -> str:
    lines = [
        {
            "id": one.line,
            "title": edition.title(one.line, "line"),
            "why_not": one.why_not,
            "weeks": list(weeks_of(edition.book, one.line)),
            "crews": [
                {
                    "title": crew.title,
                    "pairs": [_row(edition, pair, at) for pair in one.pairs[crew.id].values()],
                }
                for crew in one.crews
            ],
        }
        for one in edition.changes.values()
    ]
    return page("changeovers.md", title="Changeovers", scripts=("pairs.data.js",), lines=lines)


def _row(edition: Edition, pair: Pair, at: Mapping[tuple[str, str], str]) -> dict[str, Any]:
    one = pair.difference
    return {
        "old": one.old,
        "new": one.new,
        "from": edition.title(one.old),
        "to": edition.title(one.new),
        "kind": one.title,
        "letter": LETTERS[one.kind],
        "minutes": pair.minutes,
        "nine_in_ten": pair.durations.nine_in_ten if pair.durations else None,
        "href": at.get((pair.crew, pair.anchor), ""),
        "why_not": pair.why_not,
    }


# --- the matrices -----------------------------------------------------------------------------


def _matrices(edition: Edition, one: LineChanges, at: Mapping[tuple[str, str], str]) -> str:
    notes: dict[str, int] = {}
    for pair in one.every:
        for why in pair.why_not:
            notes.setdefault(why, len(notes) + 1)
    known = [pair.minutes for pair in one.every if pair.minutes is not None] or [0]
    ends = min(known), max(known)
    met = {pair.difference.kind for pair in one.every}
    return page(
        "changeover_line.md",
        title=f"Changeovers: {edition.title(one.line, 'line')}",
        hide=("toc",),
        line=one.line,
        line_title=edition.title(one.line, "line"),
        crews=[_matrix(edition, one, crew, (ends, notes, at)) for crew in one.crews],
        formats=[{"id": ident, "title": edition.title(ident)} for ident in one.formats],
        legend=[{"letter": LETTERS[kind.id], "title": kind.title} for kind in LADDER if kind.id in met],
        notes=list(notes),
        weeks=list(weeks_of(edition.book, one.line)),
        count=len(one.formats) * (len(one.formats) - 1),
        paged=one.paged,
        most=MOST_PAIRS,
    )


Marks: TypeAlias = tuple[tuple[int, int], Mapping[str, int], Mapping[tuple[str, str], str]]
"""Shortest and longest stop of a line [min], the numbers of reasons, and the addresses of pairs."""


def _matrix(edition: Edition, one: LineChanges, crew: Crew, marks: Marks) -> dict[str, Any]:
    pairs: Pairs = one.pairs[crew.id]
    return {
        "id": crew.id,
        "title": crew.title,
        "people": len(crew.members),
        "unproven": sum(not pair.durations.proven for pair in pairs.values() if pair.durations),
        "rows": [
            {
                "old": old,
                "title": edition.title(old),
                "cells": [_cell(pairs.get((old, new)), marks) for new in one.formats],
            }
            for old in one.formats
        ],
    }


def _cell(pair: Pair | None, marks: Marks) -> dict[str, Any] | None:
    """A cell of a matrix; its shade goes from the shortest to the longest stop."""
    if pair is None:
        return None
    (least, most), notes, at = marks
    return {
        "old": pair.difference.old,
        "new": pair.difference.new,
        "minutes": pair.minutes,
        "letter": LETTERS[pair.difference.kind],
        "kind": pair.difference.title,
        "heat": f"{((pair.minutes or 0) - least) / ((most - least) or 1):.2f}",
        "href": at.get((pair.crew, pair.anchor), ""),
        "notes": [notes[why] for why in pair.why_not],
    }


# --- one plan ---------------------------------------------------------------------------------


def _plan_page(edition: Edition, one: LineChanges, plan: Planned, at: Mapping[tuple[str, str], str]) -> str:
    said, found = plan.sheets[0].content, plan.pairs[0].plan
    groups: dict[tuple[MachineNote, ...], list[dict[str, Any]]] = {}
    for pair, sheet in zip(plan.pairs, plan.sheets, strict=True):
        shown = tuple(replace(row, stays=()) for row in sheet.content.machines)
        groups.setdefault(shown, []).append(_pair(pair, sheet, at))
    return page(
        "changeover.md",
        title=f"Changeover plan: {said.header.title}, {said.durations.planned} min, {plan.crew.title}",
        line=one.line,
        line_title=edition.title(one.line, "line"),
        crew=plan.crew,
        kind=said.header.title,
        letter=LETTERS[said.header.kind],
        d=said.durations,
        count=len(plan.pairs),
        groups=[
            {
                "pairs": pairs,
                "touched": [row for row in shown if row.touched or row.gauges],
                "alone": [row.title for row in shown if not row.touched],
            }
            for shown, pairs in groups.items()
        ],
        safety=said.safety,
        dangers=said.dangers,
        path=[_job(said, job) for job in said.jobs if job.path],
        hands=said.crew,
        levers=[_lever(lever) for lever in levers_in_order(found)[:LEVERS]] if found else [],
    )


def _pair(pair: Pair, sheet: ChangeSheet, at: Mapping[tuple[str, str], str]) -> dict[str, Any]:
    """The part of a plan's page that is of one of its changeovers alone."""
    header, durations = sheet.content.header, sheet.content.durations
    past = next(iter(durations.past), None)
    return {
        "id": pair.anchor,
        "name": pair.name,
        "old": header.old,
        "new": header.new,
        "code": sheet.code,
        "mark": sheet.mark,
        "unfit": sheet.unfit,
        "past": f"median {past.median} min, worst {past.worst} min ({durations.past_of})" if past else "",
        "disagree": durations.disagree,
        "no_return": no_return(durations) if durations.no_return else "",
        "back": at.get((pair.crew, f"{header.new.id}.{header.old.id}"), ""),
    }


def _job(said: ChangeContent, job: Job) -> dict[str, str]:
    titles = {hand.id: hand.title for hand in said.crew}
    return {
        "at": str(job.at),
        "until": str(job.until),
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


def _week(edition: Edition, week: Week, one: LineChanges, at: Mapping[tuple[str, str], str]) -> str:
    found = one.weeks.get(week.id, "not planned")
    titles = {crew.id: crew.title for crew in one.crews}
    return page(
        "changeover_week.md",
        title=f"Run order: {week.title}",
        hide=("toc",),
        week=week,
        crew=titles.get(week.crew, week.crew),
        line_title=edition.title(week.line, "line"),
        running=edition.title(week.running),
        why_not=found if isinstance(found, str) else "",
        compared=None if isinstance(found, str) else _compared(found.order),
        left_out=() if isinstance(found, str) else notes_on_order(found),
        orders=[] if isinstance(found, str) else list(_orders(edition, found, titles, at)),
        frozen=frozen_words(week),
        prices=() if isinstance(found, str) else tuple(price_words(found)),
        trade_offs=()
        if isinstance(found, str)
        else [(one.late, minutes(one.lost)) for one in found.trade_offs[1:] and found.trade_offs],
    )


def _compared(found: OrderComparison) -> dict[str, Any]:
    saved = saved_minutes(found)
    return {
        "same": found.given == found.best,
        "saved": saved,
        "saved_words": "saved" if saved >= 0 else "lost more, to be on time",
        "proof": proof_words(found),
    }


def _orders(
    edition: Edition, plan: WeekPlan, titles: Mapping[str, str], at: Mapping[tuple[str, str], str]
) -> Iterator[dict[str, Any]]:
    found = plan.order
    for ident, title, order in (("given", "As given", found.given), ("found", "As found", found.best)):
        yield {
            "id": ident,
            "title": title,
            "lost": minutes(order.lost),
            "late": len(order.late),
            "lateness": order.lateness,
            "rows": list(_runs(edition, plan, ident, titles, at)),
        }


def _runs(
    edition: Edition,
    plan: WeekPlan,
    ident: str,
    titles: Mapping[str, str],
    at: Mapping[tuple[str, str], str],
) -> Iterator[dict[str, Any]]:
    week, before = plan.week, plan.week.running
    chances = plan.chances.get(ident, {})
    order = plan.order.given if ident == "given" else plan.order.best
    for placed in order.placed:
        run = week.runs[placed.batch.number - 1]
        yield {
            "number": placed.batch.number,
            "format": run.format,
            "title": edition.title(run.format),
            "cans": f"{run.cans:,}".replace(",", "\u202f"),
            "changeover": minutes(placed.changeover),
            "href": at.get((plan.crew_at(placed), f"{before}.{run.format}"), ""),
            "start": plan.open.moment(placed.start, begins=True).strftime(MOMENT),
            "end": plan.open.moment(placed.end).strftime(MOMENT),
            "due": run.due_at(week.start),
            "crew": titles.get(plan.crew_at(placed), ""),
            "late": "{} h {} min late".format(*divmod(placed.late, 60)) if placed.late else "",
            "wait": minutes(placed.wait),
            "held": minutes(placed.held),
            "chance": chance_words(chances.get(placed.batch.number)),
        }
        before = run.format


# --- on the pages of formats ------------------------------------------------------------------


def changeovers_of(edition: Edition, ident: str, at: Mapping[tuple[str, str], str]) -> list[dict[str, Any]]:
    """For each crew its title, the line's page, and a format's changeovers, the shortest first."""
    found = []
    for one in edition.changes.values():
        if ident not in one.formats:
            continue
        for crew in one.crews:
            rows = sorted(
                (pair for names, pair in one.pairs[crew.id].items() if ident in names),
                key=lambda pair: (pair.minutes is None, pair.minutes or 0, pair.name),
            )
            found.append(
                {
                    "href": f"{one.line}.html#{crew.id}",
                    "choose": f"../changeovers/index.html#{crew.id},{ident}",
                    "title": crew.title,
                    "to": [_row(edition, pair, at) for pair in rows if pair.difference.new == ident],
                    "from": [_row(edition, pair, at) for pair in rows if pair.difference.old == ident],
                }
            )
    return found


PAGES = (Pages("Changeovers", "changeovers/index.md", changeover_pages, of_crew=crew_pages),)
