"""`sizebook design`."""

from __future__ import annotations

from pathlib import Path

import click

from kb.cli.common import in_book


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
    from kb.book.selection import books
    from kb.cli.common import Refusal, notice
    from kb.output import io
    from kb.output.lightweight import new_size_as_text

    if to is not None and to.exists():
        raise Refusal(f"{to} exists; give --to another name")
    made = kb.design(books([folder] if folder else [])[0].load(), targets)
    io.write_stdout(new_size_as_text(made) + ("" if to else f"\n{made.text}"))
    if to is not None:
        io.write_atomic(to, made.text)
        notice(f"{to} written: a draft; check it with `sizebook check {to}`")
    return 0
