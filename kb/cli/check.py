"""`sizebook check`."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from kb.cli.common import checked, colour, day, report

if TYPE_CHECKING:
    import datetime

    from kb.book.finding import Severity
    from kb.output.outcome import Outcome


@click.command(
    short_help="Check a book, or selected formats.",
    epilog="Example: sizebook check specs/formats/b211-330.yaml",
)
@click.argument("paths", nargs=-1, metavar="[PATH]...", type=click.Path(path_type=Path))
@click.option(
    "--output",
    type=click.Choice(["text", "json", "sarif", "markdown", "junit"]),
    default="text",
    show_default=True,
    help="Output format.",
)
@click.option(
    "--to",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Write the report to FILE. Default: standard output.",
)
@click.option(
    "--severity",
    type=click.Choice(["error", "warning", "note"]),
    default="error",
    show_default=True,
    help="Exit with 1 if there are findings of this severity or higher.",
)
@click.option(
    "--as-of",
    metavar="YYYY-MM-DD",
    callback=day,
    help="Day on which waivers and review dates are checked. Default: today.",
)
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
    from kb.book.load import books
    from kb.output import io
    from kb.output.outcome import Outcome, blocks, summary

    outcomes = []
    for asked in books(paths):
        book = asked.load()
        formats = None if asked.formats is None else tuple(book.of("size-format"))
        outcomes.append(Outcome(asked.shown, book, checked(book, as_of, formats, codes=True)))
    text = _told(outcomes, output, severity, colours=io.coloured(color, in_file=to is not None))
    report(text, to, summary(outcomes), for_program=output != "text")
    return int(blocks(outcomes, severity))


def _told(outcomes: Sequence[Outcome], output: str, severity: Severity, *, colours: bool) -> str:
    if output == "json":
        from kb.output.json_record import check_json

        return check_json(outcomes)
    if output == "sarif":
        from kb.output.sarif import check_sarif

        return check_sarif(outcomes, severity=severity)
    if output == "markdown":
        from kb.output.markdown import check_markdown

        return check_markdown(outcomes)
    if output == "junit":
        from kb.output.junit import check_junit

        return check_junit(outcomes, severity=severity)
    from kb.output.text import check_text

    return check_text(outcomes, coloured=colours)
