"""`sizebook changeover`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import click

import kb
from kb.cli.common import Refusal, checked, day, in_book, notice, safe, say
from kb.errors import require

if TYPE_CHECKING:
    import datetime
    from collections.abc import Callable

    from kb.blocks import Paper
    from kb.book.load import Book
    from kb.changeover.plan import PlannedChangeover
    from kb.changeover.sheet_model import ChangeSheet


class ChangeoverOptions(NamedTuple):
    """What the command line asks for: which changeover, and in which form."""

    old: str
    new: str
    line: str
    crew: str | None
    face: str | None
    cards: bool
    paper: Paper
    to: Path | None
    output: str
    search: float
    as_of: datetime.date


@click.command(
    short_help="Plan the changeover from one format to another.",
    epilog="Example: sizebook changeover b211-330 b211-500 --line heron --pdf",
)
@click.argument("old", metavar="[A]", required=False)
@click.argument("new", metavar="[B]", required=False)
@click.option("--line", metavar="LINE", required=True, help="Line of the changeover.")
@click.option("--crew", metavar="CREW", help="Crew. Default: the first crew of the line.")
@click.option("--pdf", "face", flag_value="pdf", default=None, help="Write the changeover sheet as PDF.")
@click.option(
    "--html", "face", flag_value="html", help="Write the changeover sheet as one self-contained HTML page."
)
@click.option("--cards", is_flag=True, help="Write the job cards of the crew instead of the sheet.")
@click.option(
    "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Paper size."
)
@click.option(
    "--to",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Write to FILE. Default: A-B-LINE.pdf in the current folder.",
)
@click.option(
    "--output",
    type=click.Choice(["text", "json"]),
    default="text",
    show_default=True,
    help="Output format without --pdf, --html or --cards.",
)
@click.option(
    "--matrix", is_flag=True, help="List the stop of every pair of formats of the line. Takes no A and B."
)
@click.option(
    "--search",
    metavar="TIMES",
    type=click.FloatRange(1, 1000),
    default=1,
    help="Search TIMES as long for a shorter stop. Text output only.",
)
@in_book
@click.option(
    "--as-of", metavar="YYYY-MM-DD", callback=day, help="Date printed on the sheet. Default: today."
)
def changeover(
    *,
    old: str | None,
    new: str | None,
    line: str,
    crew: str | None,
    face: str | None,
    cards: bool,
    paper: Paper,
    to: Path | None,
    output: str,
    matrix: bool,
    search: float,
    folder: Path | None,
    as_of: datetime.date,
) -> int:
    """Plan the changeover from format A to format B: what changes, who does what, how long the line is down.

    Without --pdf, --html or --cards it prints a summary with ways to shorten the stop.

    Plans are kept in the cache folder of the user until 90 days after their last use. To use another
    folder, set SIZEBOOK_CACHE. To change the days, set SIZEBOOK_CACHE_DAYS.

    Exit codes: 0 planned; 1 the line cannot run B, a changed value has no part, or the sheet is NOT FOR
    USE; 2 could not run.
    """
    from kb.book.load import books

    if matrix == (new is not None) or (matrix and old is not None):
        raise Refusal("give two formats, A and B, or --matrix")
    if matrix and (face or cards):
        raise Refusal("--matrix has text and JSON output only, no sheet and no cards")
    if search > 1 and (face or cards or (output == "json" and not matrix)):
        raise Refusal("--search is for text output: all copies of a sheet with one code have the same plan")
    require("schedule", "a changeover plan")
    if face or cards:
        require("sheet", "the job cards" if cards else "a changeover sheet")
    (found,) = books([folder] if folder else [])
    book = found.load()
    if matrix or old is None or new is None:
        return _matrix(book, line, crew, output, search)
    face = face or ("pdf" if cards else None)
    return _one(book, ChangeoverOptions(old, new, line, crew, face, cards, paper, to, output, search, as_of))


def _matrix(book: Book, line: str, crew: str | None, output: str, search: float) -> int:
    from kb.changeover.plan import Changeovers, crew_of
    from kb.changeover.text import matrix_text
    from kb.output import io
    from kb.output.changeover_json import matrix_json
    from kb.scheduling.plan import EFFORT

    _known_line(book, line)
    found = Changeovers(book, line, crew or crew_of(book, line), effort=search * EFFORT).matrix()
    if output == "json":
        io.write_stdout(matrix_json(found), for_program=True)
    else:
        io.write_stdout(matrix_text(found))
    return 0


def _known_line(book: Book, line: str) -> None:
    if line not in book.of("line"):
        raise Refusal(f"line {line} is not in the book; lines: {', '.join(book.of('line')) or 'none'}")


def _one(book: Book, asked: ChangeoverOptions) -> int:
    from kb.changeover.plan import CannotRun, Orphans, sheet_of
    from kb.output import io
    from kb.output.changeover_json import stopped_json

    _known_line(book, asked.line)
    try:
        one = kb.plan_changeover(book, asked.old, asked.new, asked.line, crew=asked.crew, search=asked.search)
        sheet = sheet_of(book, one, made=_at(asked.as_of), problems=_problems(book, asked))
    except (CannotRun, Orphans) as error:
        if asked.output == "json" and asked.face is None:
            io.write_stdout(stopped_json(error.difference), for_program=True)
        else:
            io.write_stdout("".join(f"{safe(line)}\n" for line in (f"{error}:", *error.reasons)))
        return 1
    if asked.face is None:
        _tell(one, sheet, asked)
    else:
        _print(sheet, asked)
    return int(bool(sheet.unfit))


def _tell(one: PlannedChangeover, sheet: ChangeSheet, asked: ChangeoverOptions) -> None:
    from kb.changeover.lever import levers, levers_in_order
    from kb.changeover.text import change_text
    from kb.output import io
    from kb.output.changeover_json import change_json

    # the site and every copy keep the order of the plan; only a longer search tries another
    found = levers(one.plan) if asked.search > 1 else levers_in_order(one.plan)
    if asked.output == "json":
        io.write_stdout(change_json(one, sheet, found), for_program=True)
    else:
        io.write_stdout(change_text(one, sheet, found, searched_on=asked.search > 1))


def _print(sheet: ChangeSheet, asked: ChangeoverOptions) -> None:
    from kb.changeover.documents import change_document, job_cards
    from kb.output.html import page
    from kb.output.io import write_atomic
    from kb.output.pdf import pdf

    head = sheet.content.header
    documents = job_cards(sheet) if asked.cards else (change_document(sheet),)
    render: Callable[..., str | bytes] = pdf if asked.face == "pdf" else page
    content = render(*documents, paper=asked.paper)
    name = f"{head.old.id}-{head.new.id}-{head.line}"
    target = asked.to or Path(f"{name}{'-cards' if asked.cards else ''}.{asked.face}")
    try:
        write_atomic(target, content)
    except OSError as error:
        raise Refusal(f"{target} cannot be written: {error.strerror or error}") from error
    mark = f", {sheet.mark}" if sheet.mark else ""
    for line in (f"{sheet.code} {head.sheet}, crew {head.crew}{mark}", *sheet.unfit):
        say(line)
    notice(f"{target} written")


def _problems(book: Book, asked: ChangeoverOptions) -> list[str]:
    """What the check finds against the two formats, the floor and the way of changing over."""
    from kb.checks.consistency.changeover import changeover_faults
    from kb.checks.consistency.floor import floor_faults

    judgement = checked(book, asked.as_of, (asked.old, asked.new))
    found = [*judgement.findings, *floor_faults(book), *changeover_faults(book)]
    names = [one.name for one in found if one.severity == "error" and not one.waiver]
    return [f"`sizebook check` finds {name}" for name in dict.fromkeys(names)]


def _at(as_of: datetime.date) -> datetime.datetime:
    """The time of the copy: the clock's, on the day that was asked for."""
    import datetime

    from kb.sheet.issue import now

    clock = now()
    return clock if as_of == datetime.date.today() else datetime.datetime.combine(as_of, clock.time())
