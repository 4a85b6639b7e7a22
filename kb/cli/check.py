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
    short_help="Judge a book, or some of its formats.",
    epilog="Example: sizebook check specs/formats/regular-330.yaml",
)
@click.argument("paths", nargs=-1, metavar="[PATH]...", type=click.Path(path_type=Path))
@click.option(
    "--output",
    type=click.Choice(["text", "json", "sarif", "markdown", "junit"]),
    default="text",
    show_default=True,
    help="Form of the report.",
)
@click.option("--to", metavar="FILE", type=click.Path(path_type=Path), help="Write the report to a file.")
@click.option(
    "--severity",
    type=click.Choice(["error", "warning", "note"]),
    default="error",
    show_default=True,
    help="Fail from this severity on.",
)
@click.option(
    "--as-of",
    metavar="YYYY-MM-DD",
    callback=day,
    help="Day on which waivers and reviews are judged; else today.",
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
    """Judge a book, or some of its formats.

    PATH is a book's folder or files of a book; left out, the book around the current folder. Each
    finding names file, line, value, limit, where the limit comes from, and what would cure it.
    Leaves with 0 when clean, 1 with findings at or above the severity, 2 when it cannot run.
    """
    from kb.book.selection import books
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
