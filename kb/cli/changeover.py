"""`sizebook changeover` and `sizebook week`."""

from __future__ import annotations

from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import click

import kb
from kb.cli import complete
from kb.cli.common import (
    Refusal,
    checked,
    in_book,
    notice,
    on_day,
    output_format,
    paper_size,
    safe,
    say,
    time_of_copy,
    to_file,
    write_copy,
)
from kb.errors import require

if TYPE_CHECKING:
    import datetime
    from collections.abc import Callable

    from kb.blocks import Paper
    from kb.book.load import Book
    from kb.changeover.plan import PlannedChangeover
    from kb.changeover.sheet_model import ChangeSheet


class ChangeoverOptions(NamedTuple):
    """The options of one changeover."""

    old: str
    new: str
    line: str
    crew: str | None
    document: str | None
    kind: str
    stop: datetime.time | None
    paper: Paper
    to: Path | None
    output: str
    search: float
    levers: bool
    as_of: datetime.date


def _time_of_day(_context: click.Context, _option: click.Parameter, text: str | None) -> datetime.time | None:
    """A time of day such as 06:00."""
    import datetime

    if text is None:
        return None
    try:
        hours, minutes = text.split(":")
        if not (text.isascii() and hours.isdigit() and minutes.isdigit() and len(minutes) == 2):
            raise ValueError
        return datetime.time(int(hours), int(minutes))
    except ValueError:
        raise click.BadParameter(f"{text!r} is not a time of day such as 06:00") from None


@click.command(
    short_help="Plan the changeover from one format to another.",
    epilog="Example: sizebook changeover b211-330 b211-500 --line heron --pdf",
)
@click.argument("old", metavar="[A]", required=False, shell_complete=complete.formats)
@click.argument("new", metavar="[B]", required=False, shell_complete=complete.formats)
@click.option(
    "--line",
    metavar="LINE",
    required=True,
    is_eager=True,  # completion of crews reads it
    shell_complete=complete.lines,
    help="Plan for LINE.",
)
@click.option(
    "--crew",
    metavar="CREW",
    shell_complete=complete.crews,
    help="Plan for CREW. Default: the first crew of the line.",
)
@click.option("--pdf", "document", flag_value="pdf", default=None, help="Write the changeover sheet as PDF.")
@click.option(
    "--html",
    "document",
    flag_value="html",
    help="Write the changeover sheet as one self-contained HTML page.",
)
@click.option(
    "--cards", "kind", flag_value="cards", help="Write the job cards of the crew instead of the sheet."
)
@click.option(
    "--picks",
    "kind",
    flag_value="picks",
    help="Write the pick list instead: tools to fetch, tools that come out.",
)
@click.option("--packs", "kind", flag_value="packs", help="Write the pack cards of B instead.")
@click.option(
    "--at",
    "stop",
    metavar="HH:MM",
    callback=_time_of_day,
    help="Print clock times on sheet and cards, for a stop at this time. Default: minutes from the stop.",
)
@paper_size
@to_file("A-B-LINE.pdf in the current folder", "sheet")
@output_format("text", "json", more=", without --pdf, --html or another paper")
@click.option(
    "--matrix", is_flag=True, help="List the stop of every pair of formats of the line. Takes no A and B."
)
@click.option(
    "--search",
    metavar="TIMES",
    type=click.FloatRange(1, 1000),
    default=1,
    show_default=True,
    help="Search TIMES as long for a shorter stop. Text output only.",
)
@click.option(
    "--levers",
    is_flag=True,
    help="List what another person, skill or piece of equipment would save, too. It takes minutes.",
)
@click.option(
    "--keep",
    is_flag=True,
    help="Keep the plans found with --matrix in plans.json of the book. Sheets and site then use them.",
)
@in_book
@on_day("Print this day on the sheet")
def changeover(
    *,
    old: str | None,
    new: str | None,
    line: str,
    crew: str | None,
    document: str | None,
    kind: str | None,
    stop: datetime.time | None,
    paper: Paper,
    to: Path | None,
    output: str,
    matrix: bool,
    search: float,
    levers: bool,
    keep: bool,
    folder: Path | None,
    as_of: datetime.date,
) -> int:
    """Plan the changeover from format A to format B: what changes, who does what, how long the line is down.

    Without --pdf, --html, --cards, --picks or --packs it prints a summary with ways to shorten the stop.

    Plans are kept in the cache folder of the user until 90 days after their last use. To use another
    folder, set SIZEBOOK_CACHE. To change the days, set SIZEBOOK_CACHE_DAYS. A plan in plans.json of the book
    is used first; a plan of other work, people or times is not.

    Exit codes: 0 planned; 1 the line cannot run B, a changed value has no part, or the sheet is NOT FOR
    USE; 2 could not run.
    """
    from kb.book.selection import one_book

    if matrix == (new is not None) or (matrix and old is not None):
        raise Refusal("give two formats, A and B, or --matrix")
    document = document or ("pdf" if kind else None)
    if keep and not matrix:
        raise Refusal("--keep is for --matrix: it keeps the plans of every pair of a crew")
    if matrix and document:
        raise Refusal("--matrix has text and JSON output only, no sheet and no cards")
    if stop is not None and document is None:
        raise Refusal("--at is for paper: add --pdf, --html or --cards")
    if levers and (document or output == "json" or matrix):
        raise Refusal("--levers is for the text of one changeover")
    if search > 1 and (document or (output == "json" and not matrix)):
        raise Refusal("--search is for text output: all copies of a sheet with one code have the same plan")
    require("schedule", "a changeover plan")
    if document:
        require("sheet", "the job cards" if kind == "cards" else "a changeover sheet")
    book = one_book(folder).load()
    if matrix or old is None or new is None:
        return _matrix(book, line, crew, output, search, keep=keep)
    options = ChangeoverOptions(
        old, new, line, crew, document, kind or "sheet", stop, paper, to, output, search, levers, as_of
    )
    return _one(book, options)


def _matrix(book: Book, line: str, crew: str | None, output: str, search: float, *, keep: bool) -> int:
    from kb.changeover.plan import PLANS, Changeovers, crew_of
    from kb.changeover.text import matrix_text
    from kb.output import io
    from kb.output.json_reports import matrix_json
    from kb.scheduling.plan import EFFORT

    _known_line(book, line)
    line_changes = Changeovers(book, line, crew or crew_of(book, line), effort=search * EFFORT)
    if keep:
        line_changes.keep()
    found = line_changes.matrix()
    if keep:
        notice(f"{PLANS} of the book written")
    if output == "json":
        io.write_stdout(matrix_json(found), for_program=True)
    else:
        io.write_stdout(matrix_text(found))
    return 0


def _known_line(book: Book, line: str) -> None:
    if line not in book.of("line"):
        raise Refusal(f"line {line} is not in the book; lines: {', '.join(book.of('line')) or 'none'}")


def _one(book: Book, options: ChangeoverOptions) -> int:
    from kb.changeover.plan import CannotRun, Orphans, sheet_of
    from kb.output import io
    from kb.output.json_reports import no_changeover_json

    _known_line(book, options.line)
    try:
        one = kb.plan_changeover(
            book, options.old, options.new, options.line, crew=options.crew, search=options.search
        )
        sheet = sheet_of(book, one, made=time_of_copy(options.as_of), problems=_problems(book, options))
    except (CannotRun, Orphans) as error:
        if options.output == "json" and options.document is None:
            io.write_stdout(no_changeover_json(error.difference), for_program=True)
        else:
            io.write_stdout("".join(f"{safe(line)}\n" for line in (f"{error}:", *error.reasons)))
        return 1
    if options.document is None:
        _summarise(book, one, sheet, options)
    else:
        _print(book, one, sheet, options)
    return int(bool(sheet.unfit))


def _summarise(book: Book, one: PlannedChangeover, sheet: ChangeSheet, options: ChangeoverOptions) -> None:
    from kb.changeover.lever import levers, levers_in_order, means_levers
    from kb.changeover.text import change_text
    from kb.changeover.week import stops_a_year
    from kb.output import io
    from kb.output.json_reports import change_json

    # the site and every copy keep the order of the plan; only a longer search tries another
    found = levers(one.plan) if options.search > 1 else levers_in_order(one.plan)
    if options.output == "json":
        io.write_stdout(change_json(one, sheet, found), for_program=True)
    else:
        a_year = stops_a_year(book, options.line, options.old, options.new)
        pieces = book.only("changeover").record.equipment  # type: ignore[union-attr]
        means = means_levers(one.plan, one.crew, pieces, a_year=a_year) if options.levers else None
        io.write_stdout(change_text(one, sheet, found, searched_on=options.search > 1, means=means))


def _print(book: Book, one: PlannedChangeover, sheet: ChangeSheet, options: ChangeoverOptions) -> None:
    from kb.changeover.cards import change_papers
    from kb.changeover.content import setups
    from kb.output.html import page
    from kb.output.pdf import pdf

    head = sheet.content.header
    setup = setups(book, one.difference, time_of_copy(options.as_of)).new
    documents = change_papers(sheet, setup, options.kind, options.stop)
    render: Callable[..., str | bytes] = pdf if options.document == "pdf" else page
    content = render(*documents, paper=options.paper)
    name = f"{head.old.id}-{head.new.id}-{head.line}"
    paper = "" if options.kind == "sheet" else f"-{options.kind}"
    target = options.to or Path(f"{name}{paper}.{options.document}")
    write_copy(target, content)
    mark = f", {sheet.mark}" if sheet.mark else ""
    for line in (f"{sheet.code} {head.sheet}, crew {head.crew}{mark}", *sheet.unfit):
        say(line)
    notice(f"{target} written")


def _problems(book: Book, options: ChangeoverOptions) -> list[str]:
    """What the check finds against the two formats, the floor and the way of changing over."""
    from kb.checks.consistency.changeover import changeover_faults
    from kb.checks.consistency.floor import floor_faults

    judgement = checked(book, options.as_of, (options.old, options.new))
    found = [*judgement.findings, *floor_faults(book), *changeover_faults(book)]
    names = [one.name for one in found if one.severity == "error" and not one.waiver]
    return [f"`sizebook check` finds {name}" for name in dict.fromkeys(names)]


@click.command(
    short_help="Find the best order of the runs of a week.",
    epilog="Example: sizebook week heron-49",
)
@click.argument("name", metavar="NAME", shell_complete=complete.weeks)
@output_format("text", "json")
@in_book
def week(*, name: str, output: str, folder: Path | None) -> int:
    """Compare the planned order of the runs of a week with the best order found.

    NAME is the id of a file in weeks/. An order is better if it is less late, then if less time is lost to
    changeovers and waiting. The report gives the chance of each run to be on time and the price of each due
    time. It shows the least time lost at more lateness, and what the order counts.

    Exit codes: 0 compared, 2 could not run.
    """
    require("schedule", "the order of a week")
    from kb.book.selection import one_book
    from kb.changeover.text import week_text
    from kb.changeover.week import ordered
    from kb.output import io
    from kb.output.json_reports import week_json

    book = one_book(folder).load()
    weeks = book.of("week")
    if name not in weeks:
        near = get_close_matches(name, weeks, n=1)
        hint = f"did you mean {near[0]}?" if near else f"weeks: {', '.join(weeks) or 'none'}"
        raise Refusal(f"week {name} is not in the book, or has findings; {hint}")
    record = weeks[name].record
    found = ordered(book, record)
    if output == "json":
        io.write_stdout(week_json(found), for_program=True)
    else:
        io.write_stdout(week_text(found))
    return 0
