"""`sizebook design` and `sizebook lightweight`."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

from kb.cli import complete
from kb.cli.common import Refusal, in_book, notice, output_format, report


@click.command(
    short_help="Design a new size from a few targets.",
    epilog="Example: sizebook design b211-250-targets.yaml --to specs/formats/b211-250.yaml",
)
@click.argument("targets", metavar="TARGETS", type=click.Path(path_type=Path))
@in_book
@click.option(
    "--to",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Write the draft to FILE. FILE must not exist. Default: print the draft below the report.",
)
def design(*, targets: Path, folder: Path | None, to: Path | None) -> int:
    """Design a new size from a few targets.

    TARGETS is a YAML file: `kind: design-targets`; `like`, a format of the book to begin with; `id` of the
    new one; then values under the keys of a format, such as `fill: {contents: 250 ml}`. `keep` lists keys or
    blocks that keep their size, such as `keep: [punch.wall_diameter, ironing]`. `aim: lightest` means the
    least coil; default is the middle of the limits. The draft passes every check. Strength is an estimate
    until the plant has calibrated it.

    Exit codes: 0 designed, 2 could not run or the targets conflict.
    """
    import kb
    from kb.book.selection import one_book
    from kb.output import io
    from kb.output.lightweight import new_size_as_text

    if to is not None and to.exists():
        raise Refusal(f"{to} exists; give --to another name")
    made = kb.design(one_book(folder).load(), targets)
    io.write_stdout(new_size_as_text(made) + ("" if to else f"\n{made.text}"))
    if to is not None:
        io.write_atomic(to, made.text)
        notice(f"{to} written: a draft; check it with `sizebook check {to}`")
    return 0


@click.command(
    short_help="Find the lightest format within the limits, and what each limit costs.",
    epilog="Example: sizebook lightweight b211-330 --keep stock.gauge --to specs/formats/b211-330-thin.yaml",
)
@click.argument("name", metavar="FORMAT", shell_complete=complete.formats)
@in_book
@click.option(
    "--keep",
    metavar="KEY",
    multiple=True,
    shell_complete=complete.names,
    help="Keep a size, or all sizes of a block, such as punch. Repeat for several. Default: none.",
)
@click.option(
    "--free",
    metavar="KEY",
    multiple=True,
    shell_complete=complete.names,
    help="Let another size change too, such as dome.depth. Repeat for several. Default: none.",
)
@click.option(
    "--against",
    metavar="TARGET",
    help="Show coil against a target, such as axial_load, from 10 % less to 10 % more. Default: none.",
)
@click.option(
    "--to",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Write a draft format to FILE in the book. FILE gives its id and must not exist. Default: no file.",
)
@output_format("text", "json")
def lightweight(
    *,
    name: str,
    folder: Path | None,
    keep: Sequence[str],
    free: Sequence[str],
    against: str | None,
    to: Path | None,
    output: str,
) -> int:
    """Find the lightest format within the limits, and what each limit costs.

    FORMAT is an id or a file. Gauge, blank, trim and the tools that set the walls may change. Dome,
    neck, flange, end and heights keep their size. The result passes every check. Strength is an
    estimate until the plant has calibrated it. Where `metal` in plant.yaml has prices, the report gives
    money and energy too.

    Exit codes: 0 found, 2 could not run or nothing passes every check.
    """
    import kb
    from kb.book.selection import one_format
    from kb.design.draft import draft
    from kb.output import io, lightweight

    selected, ident = one_format(name, folder)
    book = selected.load()
    if ident not in book.of("size-format"):
        raise Refusal(f"{ident} has findings; `sizebook check` lists them")
    if to is not None and to.exists():
        raise Refusal(f"{to} exists; give --to another name")
    found = kb.lightweight(book, ident, keep=keep, free=free, against=against or "")
    text = (lightweight.as_json if output == "json" else lightweight.as_text)(found)
    if to is not None:
        io.write_atomic(to, draft(book, found, to.stem))
        notice(f"{to} written: a draft; check it with `sizebook check {to}`")
    report(text, None, "", for_program=output == "json")
    return 0
