"""Checks on weeks, and on the past changeovers of changeover.yaml: lines, crews, formats, clocks."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from difflib import get_close_matches
from itertools import pairwise

from kb.book.finding import Finding
from kb.book.load import Book, Spec
from kb.book.quantity import as_quantity
from kb.book.records_floor import Changeover, Crew, PastChangeover, Week
from kb.checks.consistency.fault import did_you_mean, fault

NEAR = 0.8
"""How much alike two names are, from 0 to 1, when one is taken for a misspelling of the other."""


def week_faults(book: Book) -> Iterator[Finding]:
    """What is wrong with the weeks of a book.

    Args:
        book: a loaded book

    Yields:
        A finding each; crews are looked up only where the book has a sound changeover file.
    """
    library = book.only("changeover")
    crews = None if library is None else {one.id: one for one in library.record.crews}
    for spec in book.of("week").values():
        week: Week = spec.record
        if crews is not None:
            yield from _crew_faults(spec, "crew", week.crew, week.line, crews)
        yield from _format_faults(book, spec, "running", week.running, week.line)
        for i, run in enumerate(week.runs):
            yield from _format_faults(book, spec, f"runs[{i}].format", run.format, week.line)
            if run.due <= week.start:  # both year-month-day hour:minute, so text compares as time does
                message = f"{run.format} is due {run.due}, and the week begins {week.start}"
                fix = "correct one of the two"
                yield fault(spec, f"runs[{i}].due", "changeover.due", message, fix)


def past_faults(book: Book, spec: Spec, library: Changeover) -> Iterator[Finding]:
    """What is wrong with the record of past changeovers.

    Lines, formats and crews of the past may be gone. A name that nothing has or had, and that is nearly one
    of the book, is reported as a misspelling, a crew that is gone as a note.

    Args:
        book: a loaded book
        spec: the changeover file
        library: the same as a record

    Yields:
        A finding each.
    """
    crews = {one.id: one for one in library.crews}
    lines, formats = ({*book.ids(kind), *_recorded(book, kind)} for kind in ("line", "size-format"))
    for i, past in enumerate(library.past):
        yield from _misspelt(spec, f"past[{i}].line", "line", past.line, lines)
        yield from _misspelt(spec, f"past[{i}].came_from", "format", past.came_from, formats)
        yield from _misspelt(spec, f"past[{i}].went_to", "format", past.went_to, formats)
        yield from _past_crew(spec, f"past[{i}].crew", past, crews)
        if past.crew in crews and past.line in book.of("line"):
            yield from _crew_faults(spec, f"past[{i}].crew", past.crew, past.line, crews)
        yield from _clocks(spec, f"past[{i}]", past)


def _recorded(book: Book, kind: str) -> set[str]:
    """Formats or lines that the register of codes has, which forgets none."""
    register = book.only("sheet-codes")
    entries = register.record.codes if register else ()
    return {one.line if kind == "line" else one.format for one in entries}


def _misspelt(spec: Spec, key: str, what: str, ident: str, known: Collection[str]) -> Iterator[Finding]:
    near = [] if ident in known else get_close_matches(ident, known, n=1, cutoff=NEAR)
    if near:
        message = f"{what} {ident} does not exist; a similar name is {near[0]}"
        fix = f"did you mean {near[0]}? keep the name if the {what} was removed from the book"
        yield fault(spec, key, "changeover.past-name", message, fix, severity="warning")


def _past_crew(spec: Spec, key: str, past: PastChangeover, crews: Mapping[str, Crew]) -> Iterator[Finding]:
    """A crew that is misspelt, or that the file does not have: its stop counts for no plan."""
    misspelt = list(_misspelt(spec, key, "crew", past.crew, crews))
    yield from misspelt
    if not misspelt and past.crew not in crews:
        message = f"the stop of {past.day} is of crew {past.crew}, which changeover.yaml does not have"
        fix = "name the crew that did it; keep the name of a removed crew, its stop is compared with no plan"
        yield fault(spec, key, "changeover.past-name", message, fix, severity="note")


def _clocks(spec: Spec, at: str, past: PastChangeover) -> Iterator[Finding]:
    clocks = (("stopped", past.stopped), ("first_good", past.first_good), ("at_rate", past.at_rate))
    for (before, earlier), (after, later) in pairwise(clocks):
        if later < earlier:
            message = f"{after} {as_quantity(later).text} is before {before} {as_quantity(earlier).text}"
            fix = "all three times start at the last good can of the old format"
            yield fault(spec, f"{at}.{after}", "changeover.clocks", message, fix)


def _crew_faults(spec: Spec, key: str, ident: str, line: str, crews: Mapping[str, Crew]) -> Iterator[Finding]:
    crew = crews.get(ident)
    if crew is None:
        fix = did_you_mean(ident, crews)
        yield fault(spec, key, "changeover.unknown-crew", f"changeover.yaml has no crew {ident}", fix)
    elif crew.line != line:
        theirs = [one.id for one in crews.values() if one.line == line]
        message = f"{ident} is a crew of {crew.line}, not of {line}"
        yield fault(
            spec, key, "changeover.other-line", message, f"crews of {line}: {', '.join(theirs) or 'none'}"
        )


def _format_faults(book: Book, spec: Spec, key: str, ident: str, line: str) -> Iterator[Finding]:
    found = book.of("size-format").get(ident)
    if found is None:
        return  # told where references are looked up
    if line not in found.record.lines:
        message = f"{ident} is made on {', '.join(found.record.lines)}, not on {line}"
        fix = "plan it there, or add the line to the format if its machines can make it"
        yield fault(spec, key, "changeover.other-line", message, fix)
    if found.record.status in {"draft", "withdrawn"}:
        message = f"{ident} must not run: its status is {found.record.status}"
        yield fault(
            spec, key, "changeover.not-released", message, "run a format that is released or on trial"
        )
