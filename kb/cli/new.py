"""`sizebook new`."""

from __future__ import annotations

from pathlib import Path

import click

from kb.cli.common import safe


@click.command(
    short_help="Make a small book to start with.",
    epilog="Example: sizebook new my-book",
)
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
def new(folder: Path) -> None:
    """Make a small book that passes its check: one format, its end, metals, line and limits.

    DIR must be new or empty. The schemas are copied to DIR/.schema. A YAML editor then shows the
    meaning of each key without a network.
    """
    from kb import new as small
    from kb.output import io

    made = small.new_book(folder)
    shown = safe(str(folder))
    specs = [one for one in made if not one.startswith(".")]
    lines = [f"{shown}/{one}" for one in specs]
    lines += [
        "",
        f"{len(specs)} files created. Next: `sizebook check {shown}`",
    ]
    io.write_stdout("\n".join(lines) + "\n")
