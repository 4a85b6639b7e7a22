"""`sizebook check`."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from kb.cli.common import checked, colour, from_severity, on_day, output_format, report, to_file

if TYPE_CHECKING:
    import datetime

    from kb.book.finding import Severity
    from kb.output.document import CheckedBook


@click.command(
    short_help="Check a book, or selected formats.",
    epilog="Example: sizebook check specs/formats/b211-330.yaml",
)
@click.argument("paths", nargs=-1, metavar="[PATH]...", type=click.Path(path_type=Path))
@output_format("text", "json", "sarif", "markdown", "junit")
@to_file()
@from_severity("Exit with 1 if there are findings of this severity or higher.")
@on_day("Check waivers and review dates on this day")
@colour
def check(
    *,
    paths: Sequence[Path],
    output: str,
    to: Path | None,
    severity: Severity,
    as_of: datetime.date,
    color: bool | None,
) -> int:
    """Check a book, or selected formats.

    PATH is the folder of a book, or files of a book. Default: the book that contains the current
    folder. Each finding gives file, line, value, limit, source of the limit and a fix.

    Exit codes: 0 no findings, 1 findings at or above --severity, 2 could not run.
    """
    from kb.book.selection import books
    from kb.output import io
    from kb.output.document import CheckedBook, blocks, summary

    outcomes = []
    for selected in books(paths):
        book = selected.load()
        formats = None if selected.formats is None else tuple(book.of("size-format"))
        outcomes.append(CheckedBook(selected.shown, book, checked(book, as_of, formats, codes=True)))
    text = _text_of(outcomes, output, severity, colours=io.coloured(color, in_file=to is not None))
    report(text, to, summary(outcomes), for_program=output != "text")
    return int(blocks(outcomes, severity))


def _text_of(outcomes: Sequence[CheckedBook], output: str, severity: Severity, *, colours: bool) -> str:
    if output == "text":
        from kb.output.text import check_text

        return check_text(outcomes, coloured=colours)
    if output == "json":
        from kb.output.json_reports import check_json

        return check_json(outcomes)
    if output == "markdown":
        from kb.output.markdown import check_markdown

        return check_markdown(outcomes)
    from kb.output.ci import check_junit, check_sarif

    return (check_sarif if output == "sarif" else check_junit)(outcomes, severity=severity)
