"""`sizebook sheet`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import click

from kb.cli import complete
from kb.cli.common import (
    Refusal,
    checked,
    in_book,
    notice,
    on_day,
    paper_size,
    say,
    time_of_copy,
    to_file,
    write_copy,
)
from kb.errors import require

if TYPE_CHECKING:
    import datetime
    from collections.abc import Callable

    from kb.blocks import Paper, PrintedDocument
    from kb.book.load import Book
    from kb.book.selection import Selection
    from kb.checks.report import Report


@click.command(
    short_help="Write a setup sheet, or the list of current codes of a line.",
    epilog="Example: sizebook sheet b211-330 --line heron",
)
@click.argument("name", metavar="[FORMAT]", required=False, shell_complete=complete.formats)
@click.option(
    "--line",
    metavar="LINE",
    shell_complete=complete.lines,
    help="Write the sheet for LINE. Default: the only line of the format.",
)
@click.option("--pdf", "document", flag_value="pdf", default="pdf", help="Write PDF. This is the default.")
@click.option("--html", "document", flag_value="html", help="Write one self-contained HTML page.")
@click.option(
    "--output",
    type=click.Choice(["pdf", "html", "json"]),
    help="Write this output format; json is the content of the sheet for programs. Default: pdf.",
)
@paper_size
@to_file("FORMAT-LINE.pdf in the current folder", "sheet")
@click.option(
    "--packs", "kind", flag_value="packs", help="Write the pack cards instead, one for each bodymaker."
)
@click.option("--picks", "kind", flag_value="picks", help="Write the pick list instead: the parts to fetch.")
@click.option(
    "--readings", "kind", flag_value="readings", help="Write a box for each first-off reading instead."
)
@click.option("--plans", "kind", flag_value="plans", help="Write the reaction plans instead, to laminate.")
@click.option("--codes", is_flag=True, help="Write the list of current codes of the line, for posting.")
@click.option("--record", is_flag=True, help="Add the codes of released formats to sheet-codes.yaml.")
@click.option(
    "--since",
    metavar="DIR",
    type=click.Path(path_type=Path, exists=True, file_okay=False),
    help="List what changed since the book in DIR, with --record. Default: the recorded codes alone.",
)
@in_book
@on_day("Print or record this day")
def sheet(
    *,
    name: str | None,
    line: str | None,
    document: str,
    output: str | None,
    paper: Paper,
    to: Path | None,
    kind: str | None,
    codes: bool,
    record: bool,
    since: Path | None,
    folder: Path | None,
    as_of: datetime.date,
) -> int:
    """Write the setup sheet of FORMAT for a line and print its code. FORMAT is an id or a file.

    If a value is missing or the format fails its check, every page is marked NOT FOR USE.

    Exit codes: 0 written; 1 written but NOT FOR USE, or not recorded; 2 could not run.
    """
    from kb.output.io import write_stdout

    if sum((name is not None, codes, record)) != 1:
        raise Refusal("give one of: FORMAT, --codes with --line, or --record")
    output = output or document
    if output == "json" and name is None:
        raise Refusal("--output json takes a FORMAT; --codes and --record have no JSON")
    if output == "json" and kind is not None:
        raise Refusal(f"--output json writes the setup sheet; --{kind} has no JSON")
    if kind is not None and name is None:
        raise Refusal(f"--{kind} takes a FORMAT")
    if record:
        return _record(folder, since, as_of)
    if output != "json":
        require("sheet", "a list of codes" if codes else "a setup sheet")
    selected = _selected(name, folder)
    book = selected.load()
    report = checked(book, as_of, None if name is None else tuple(book.of("size-format")))
    if name is None:
        made, renderers = _codes(book, report, line, as_of)
        target = to or Path(f"codes-{line}.{output}")
    else:
        made, renderers = _sheet(book, report, line, as_of, kind)
        target = to or Path(f"{made.name}.{output}")
    content = renderers[output](paper)
    if output == "json" and to is None:
        write_stdout(str(content), for_program=True)
        return int(made.unfit)
    write_copy(target, content)
    for issued in made.lines:
        say(issued)
    notice(f"{target} written")
    return int(made.unfit)


class _Made(NamedTuple):
    """What was made, to say and to name the file after, and whether it may be used."""

    name: str
    lines: list[str]
    unfit: bool


Renderers = dict[str, "Callable[[Paper], str | bytes]"]


def _sheet(
    book: Book, report: Report, line: str | None, as_of: datetime.date, kind: str | None
) -> tuple[_Made, Renderers]:
    from kb.checks.consistency.floor import floor_faults
    from kb.output.json_reports import sheet_json
    from kb.sheet.content import NoSheet, content
    from kb.sheet.documents import setup_document
    from kb.sheet.issue import issue
    from kb.sheet.last_recorded_sheet import with_changes
    from kb.sheet.papers import setup_papers

    found = list(book.of("size-format").items())
    if not found:
        raise Refusal(f"{report.findings[0].place.file} has findings; `sizebook check` lists them")
    ((ident, spec),) = found
    if line is None and len(spec.record.lines) > 1:
        raise Refusal(
            f"{ident} is made on several lines; give --line with one of {', '.join(spec.record.lines)}"
        )
    errors = [one for one in (*report.findings, *floor_faults(book)) if one.severity == "error"]
    problems = [f"`sizebook check` finds {name}" for name in dict.fromkeys(one.name for one in errors)]
    try:
        said = content(book, ident, line or spec.record.lines[0])
    except NoSheet as error:
        raise Refusal(f"{error}; `sizebook check` lists the findings") from error
    made = issue(said, book, made=time_of_copy(as_of), problems=problems)
    made = with_changes(made, book)
    one = said.identity
    mark = f", {made.mark}" if made.mark else ""
    lines = [f"{made.code} {one.sheet}, revision {one.revision}{mark}", *made.unfit]
    documents = setup_papers(made, kind) if kind else (setup_document(made),)
    if not documents:
        raise Refusal(f"{one.line} has no machine with a tool pack")
    renderers = {**_renderers(*documents), "json": lambda _: sheet_json(made)}
    paper = f"-{kind}" if kind else ""
    return _Made(f"{ident}-{one.line}{paper}", lines, bool(made.unfit)), renderers


def _renderers(*documents: PrintedDocument) -> Renderers:
    """Both forms of documents; the packages of one are loaded when it is made."""

    def as_pdf(paper: Paper) -> bytes:
        from kb.output.pdf import pdf

        return pdf(*documents, paper=paper)

    def as_html(paper: Paper) -> str:
        from kb.output.html import page

        return page(*documents, paper=paper)

    return {"pdf": as_pdf, "html": as_html}


def _codes(book: Book, report: Report, line: str | None, as_of: datetime.date) -> tuple[_Made, Renderers]:
    from kb.sheet.documents import codes_document
    from kb.sheet.issue import code_list

    if line is None or line not in book.of("line"):
        raise Refusal(
            f"give --line with one of {', '.join(book.of('line')) or 'none: the book has no valid line'}"
        )
    failing = {one.subject for one in report.findings if one.severity == "error"}
    issued = code_list(book, line, made=time_of_copy(as_of), failing=failing)
    lines = [
        ", ".join(
            filter(None, (f"{row.code} {row.format}, revision {row.revision}", row.in_force, row.unfit))
        )
        for row in issued.rows
    ]
    return _Made(line, lines, any(row.unfit for row in issued.rows)), _renderers(codes_document(issued))


def _record(folder: Path | None, since: Path | None, as_of: datetime.date) -> int:
    from kb.book.load import TOP_FILES
    from kb.output.io import write_atomic
    from kb.sheet.register import recording

    book = _selected(None, folder).load()
    errors = sum(one.severity == "error" for one in checked(book, as_of, None).findings)
    if errors:
        notice(f"nothing recorded: the book has errors ({errors}); `sizebook check` lists them")
        return 1
    made = recording(book, today=as_of, before=_selected(None, since).load() if since else None)
    if made.added:
        write_atomic(book.root / TOP_FILES["sheet-codes"], made.text)
    for one in made.added:
        say(f"{one.code} {one.format}/{one.line}, revision {one.revision}, issued {one.in_force}")
    for left in made.left_out:
        notice(f"not recorded: {left}")
    notice(f"{len(made.added)} recorded" if made.added else "nothing new to record")
    return int(bool(made.left_out))


def _selected(name: str | None, folder: Path | None) -> Selection:
    from kb.book.selection import one_book, one_format

    return one_book(folder) if name is None else one_format(name, folder)[0]
