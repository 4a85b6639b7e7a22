"""`sizebook publish`."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from kb.cli.common import Refusal, day, safe

if TYPE_CHECKING:
    import datetime

    from kb.publish.edition import Edition


@click.command(
    short_help="Build the site of a book.",
    epilog="Example: sizebook publish specs --to build/site",
)
@click.argument("book", metavar="[BOOK]", required=False, type=click.Path(path_type=Path))
@click.option(
    "--to",
    metavar="DIR",
    type=click.Path(path_type=Path),
    default=Path("build/site"),
    show_default=True,
    help="Folder of the site.",
)
@click.option("--as-of", metavar="YYYY-MM-DD", callback=day, help="Day the site is of; else today.")
@click.option("--serve", is_flag=True, help="Stay, show the site on this machine, rebuild on change.")
@click.option("--port", type=click.IntRange(1024, 65535), default=8017, show_default=True)
def publish(*, book: Path | None, to: Path, as_of: datetime.date, serve: bool, port: int) -> None:
    """Build the site of a book: formats, drawings, sheets, checks, faults, learning path.

    The site opens from disk without a network. An older site in the folder stays until the new one
    is complete.
    """
    from kb.report.asked import books

    asked = books([book] if book else [])[0]

    def build() -> Edition:
        from kb.publish import build as site

        try:
            return site.publish(asked.load(), to, day=as_of, progress=_progress)
        except site.PublishError as error:
            raise Refusal(str(error)) from error

    edition = build()
    counts = edition.report.counts()
    click.echo(f"{safe(str(to / 'index.html'))}: {len(edition.formats)} formats, {counts['error']} errors")
    if serve:
        from kb.publish.serve import serve as serving

        click.echo(f"http://127.0.0.1:{port}/ until stopped", err=True)
        serving(lambda: _rebuilt(build), book=asked.root, out=to, port=port)


def _rebuilt(build: Callable[[], object]) -> None:
    """A rebuild while serving; a book that is broken for the moment leaves the site as it is."""
    try:
        build()
    except click.ClickException as error:
        click.echo(f"sizebook: {safe(error.format_message())}", err=True)


def _progress(words: str, done: int, of: int) -> None:
    if sys.stderr.isatty():
        click.echo(f"\r\x1b[K{words} ({done} of {of})", err=True, nl=done == of)
