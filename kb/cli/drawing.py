"""`sizebook drawing`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from kb.cli.common import Refusal, in_book, safe, say
from kb.errors import require

if TYPE_CHECKING:
    from kb.book.load import Book
    from kb.route.assemble import Assembled


@click.command(
    short_help="Draw a format as SVG, or as DXF for CAD.",
    epilog="Example: sizebook drawing b211-330 --dxf",
)
@click.argument("name", metavar="FORMAT")
@in_book
@click.option("--dxf", "for_cad", is_flag=True, help="Write one DXF file with every view, in mm, 1:1.")
@click.option("--view", metavar="VIEW", help="Draw only this view. Default: every view.")
@click.option(
    "--to",
    metavar="PATH",
    type=click.Path(path_type=Path),
    help="File for DXF, folder for SVG. Default: FORMAT.dxf, FORMAT-drawings.",
)
def drawing(*, name: str, folder: Path | None, for_cad: bool, view: str | None, to: Path | None) -> None:
    """Draw a format from its route: can, blank in the strip, cup, tool pack, dome, neck, flange and seam.

    FORMAT is an id or a file. Declared dimensions are printed as written. Calculated dimensions are marked.
    """
    from kb.book.load import one_format
    from kb.drawing import VIEWS, draw, drawings
    from kb.output.io import write_atomic
    from kb.output.svg import svg
    from kb.route.assemble import assemble

    asked, ident = one_format(name, folder)
    book = asked.load()
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
