"""`sizebook route`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

import kb
from kb.cli.common import colour, in_book

if TYPE_CHECKING:
    from kb.checks.by_station import NoRoute

MOST_CANS = 200_000


@click.command(
    short_help="Calculate a format at every station, with limits and margins.",
    epilog="Example: sizebook route b211-330 --scatter 10000",
)
@click.argument("name", metavar="FORMAT")
@in_book
@click.option(
    "--output",
    type=click.Choice(["text", "json"]),
    default="text",
    show_default=True,
    help="Output format.",
)
@click.option("--json", "as_json", is_flag=True, hidden=True)  # the former name of --output json
@click.option(
    "--scatter",
    "cans",
    metavar="N",
    type=click.IntRange(2, MOST_CANS),
    default=None,
    help="Simulate N cans within their tolerances and rank the inputs by effect.",
)
@click.option(
    "--seed",
    metavar="N",
    type=click.IntRange(0),
    default=1,
    show_default=True,
    help="Seed of the simulation. The same seed gives the same cans.",
)
@colour
def route(
    *,
    name: str,
    folder: Path | None,
    output: str,
    as_json: bool,
    cans: int | None,
    seed: int,
    color: bool | None,
) -> int:
    """Calculate a format at every station: values, worst corners, limits and margins.

    FORMAT is an id or a file. Strength is an estimate until the plant has calibrated it.

    Exit codes: 0 calculated; 1 the tool dimensions do not form a can, with the findings; 2 could not
    run.
    """
    import shutil

    from kb.book.load import one_format
    from kb.checks.by_station import NoRoute
    from kb.output import io, route_json, route_text

    for_program = as_json or output == "json"
    asked, ident = one_format(name, folder)
    try:
        report = kb.route(asked.load(), ident, cans=cans or 0, seed=seed)
    except NoRoute as error:
        stopped = route_json.stopped(ident, error.findings) if for_program else _told_stopped(error)
        io.write_stdout(stopped, for_program=for_program)
        return 1
    if for_program:
        io.write_stdout(route_json.as_json(report), for_program=True)
    else:
        width = shutil.get_terminal_size().columns
        io.write_stdout(route_text.as_table(report, width=width, coloured=io.coloured(color)))
    return 0


def _told_stopped(error: NoRoute) -> str:
    from kb.output.text import finding_lines

    lines = [line for one in error.findings for line in finding_lines(one)]
    return "\n".join([*lines, "", str(error)]) + "\n"
