"""`sizebook week`."""

from __future__ import annotations

from difflib import get_close_matches
from pathlib import Path

import click

from kb.cli.common import Refusal, in_book
from kb.errors import require


@click.command(
    short_help="Find the best order of the runs of a week.",
    epilog="Example: sizebook week heron-49",
)
@click.argument("name", metavar="NAME")
@click.option(
    "--output",
    type=click.Choice(["text", "json"]),
    default="text",
    show_default=True,
    help="Output format.",
)
@in_book
def week(*, name: str, output: str, folder: Path | None) -> int:
    """Compare the planned order of the runs of a week with the best order found.

    NAME is the id of a file in weeks/. An order is better if fewer runs are late, then if less time is
    lost to changeovers. The report also lists what the order does not include.

    Exit codes: 0 compared, 2 could not run.
    """
    require("schedule", "the order of a week")
    from kb.book.load import books
    from kb.changeover.text import week_text
    from kb.changeover.week import ordered
    from kb.output import io
    from kb.output.changeover_json import week_json

    (asked,) = books([folder] if folder else [])
    book = asked.load()
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
