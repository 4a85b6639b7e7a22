"""`sizebook route` and `sizebook drawing`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

import kb
from kb.cli import complete
from kb.cli.common import Refusal, colour, in_book, output_format, safe, say
from kb.errors import require

if TYPE_CHECKING:
    from kb.book.load import Book
    from kb.checks.by_station import NoRoute
    from kb.route.assemble import Assembled


MOST_CANS = 200_000


@click.command(
    short_help="Calculate a format at every station, with limits and margins.",
    epilog="Example: sizebook route b211-330 --scatter 10000",
)
@click.argument("name", metavar="FORMAT", shell_complete=complete.formats)
@in_book
@output_format("text", "json")
@click.option("--json", "as_json", is_flag=True, hidden=True)  # the former name of --output json
@click.option(
    "--scatter",
    "cans",
    metavar="N",
    type=click.IntRange(2, MOST_CANS),
    default=None,
    help="Simulate N cans within their tolerances and rank the inputs by effect. Default: none.",
)
@click.option(
    "--seed",
    metavar="N",
    type=click.IntRange(0),
    default=1,
    show_default=True,
    help="Start the simulation from seed N. The same seed gives the same cans.",
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

    from kb.book.selection import one_format
    from kb.checks.by_station import NoRoute
    from kb.output import io, json_reports, route_text

    for_program = as_json or output == "json"
    selected, ident = one_format(name, folder)
    try:
        report = kb.route(selected.load(), ident, cans=cans or 0, seed=seed)
    except NoRoute as error:
        stopped = json_reports.no_route_json(ident, error.findings) if for_program else _why_stopped(error)
        io.write_stdout(stopped, for_program=for_program)
        return 1
    if for_program:
        io.write_stdout(json_reports.route_json(report), for_program=True)
    else:
        width = shutil.get_terminal_size().columns
        io.write_stdout(route_text.as_table(report, width=width, coloured=io.coloured(color)))
    return 0


def _why_stopped(error: NoRoute) -> str:
    from kb.output.text import finding_lines

    lines = [line for one in error.findings for line in finding_lines(one)]
    return "\n".join([*lines, "", str(error)]) + "\n"


@click.command(
    short_help="Draw a format as SVG, or as DXF for CAD.",
    epilog="Example: sizebook drawing b211-330 --dxf",
)
@click.argument("name", metavar="FORMAT", shell_complete=complete.formats)
@in_book
@click.option("--dxf", "for_cad", is_flag=True, help="Write one DXF file with every view, in mm, 1:1.")
@click.option("--view", metavar="VIEW", help="Draw only VIEW. Default: every view.")
@click.option(
    "--to",
    metavar="PATH",
    type=click.Path(path_type=Path),
    help="Write DXF to the file PATH, SVG to the folder PATH. Default: FORMAT.dxf, FORMAT-drawings.",
)
def drawing(*, name: str, folder: Path | None, for_cad: bool, view: str | None, to: Path | None) -> None:
    """Draw a format from its route: can, blank in the strip, cup, tool pack, dome, neck, flange and seam.

    FORMAT is an id or a file. Declared dimensions are printed as written. Calculated dimensions are marked.

    Exit codes: 0 drawn, 2 could not run.
    """
    from kb.book.selection import one_format
    from kb.drawing import VIEWS, draw, drawings
    from kb.output.io import write_atomic
    from kb.output.svg import svg
    from kb.route.assemble import assemble

    selected, ident = one_format(name, folder)
    book = selected.load()
    if view is not None and view not in VIEWS:
        raise Refusal(f"view {safe(view)} does not exist; views: {', '.join(VIEWS)}")
    assembled = assemble(book, ident) if ident in book.of("size-format") else None
    if assembled is None or not _closes(assembled, book):
        raise Refusal(f"{ident} cannot be drawn; `sizebook check` lists the findings")
    route = assembled.study.nominal
    if for_cad:
        require("cad", "a drawing as DXF")
        from kb.output.dxf import dxf

        target = to or Path(f"{ident}.dxf")
        made_true = drawings(assembled, route, true=True)
        write_atomic(target, dxf(made_true))
        say(f"{target} written: {len(made_true)} views in mm, 1:1")
        return
    target = to or Path(f"{ident}-drawings")
    target.mkdir(parents=True, exist_ok=True)
    wanted = (view,) if view else VIEWS
    for one in wanted:
        write_atomic(target / f"{one}.svg", svg(draw(assembled, route, one)))
    say(f"{target} written: {len(wanted)} {'view' if view else 'views'}")


def _closes(assembled: Assembled, book: Book) -> bool:
    """Whether the tools make a shape; a shape that does not close has no outline."""
    from kb.checks.catalog import GEOMETRY
    from kb.checks.judge import judge_case

    limits = book.limits.limits if book.limits else {}
    return all(one.passed for one in judge_case(assembled.case, GEOMETRY, limits))
