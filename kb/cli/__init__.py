"""The command line. Nothing slow is imported here at the top: help must come at once.

Exit codes: 0 no findings, 1 findings at or above the severity given, 2 could not run, 3 a review needs
approval, 130 stopped with Ctrl-C.
"""

from __future__ import annotations

import click

from kb.cli import (
    changeover,
    check,
    design,
    explain,
    files,
    limits,
    publish,
    review,
    route,
    sheet,
)
from kb.cli.common import Commands


@click.group(
    cls=Commands,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.version_option(package_name="sizebook", message="sizebook %(version)s")
@click.pass_context
def main(ctx: click.Context) -> None:
    """Check can size formats in plain text, and print their sheets, changeovers, reviews and site.

    A book is a folder of specs: plant, lines, metals, ends, limits and size formats.
    """
    if ctx.invoked_subcommand is None:
        click.echo(ctx.get_help())


for _command in (
    check.check,
    route.route,
    route.drawing,
    sheet.sheet,
    changeover.changeover,
    changeover.week,
    review.review,
    publish.publish,
    explain.explain,
    limits.calibrate,
    design.design,
    design.lightweight,
    files.import_,
    files.export,
    files.rename,
    limits.limits,
    files.new,
):
    main.add_command(_command)
