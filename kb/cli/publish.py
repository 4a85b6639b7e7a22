"""`sizebook publish`."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import click

import kb
from kb.cli.common import Refusal, notice, on_day, safe, say
from kb.errors import SizebookError, require

if TYPE_CHECKING:
    import datetime

    from kb import Edition

MOST_SIGNS = 24
"""Signs of a draft's label that a page has room for."""


def _label(_context: click.Context, _option: click.Parameter, given: str | None) -> str | None:
    """A draft's label: one short line."""
    if given is not None and (len(given) > MOST_SIGNS or not given.isprintable()):
        raise click.BadParameter(f"a label has at most {MOST_SIGNS} characters, on one line")
    return given if given is None else given.strip()


@click.command(
    short_help="Build the site of a book.",
    epilog="Example: sizebook publish specs --to build/site",
)
@click.argument("book", metavar="[BOOK]", required=False, type=click.Path(path_type=Path))
@click.option(
    "--to",
    metavar="DIR",
    type=click.Path(path_type=Path),
    help="Build the site in DIR: new, empty, or an older site. Default: build/site, or build/draft for a "
    "draft; if that is inside the book, BOOK-site or BOOK-draft next to the book.",
)
@on_day("Print this day on the site")
@click.option(
    "--draft",
    metavar="LABEL",
    is_flag=False,
    flag_value="",
    callback=_label,
    help="Mark every page, sheet and code as DRAFT, with LABEL if given, such as PR-12. Default: no draft.",
)
@click.option(
    "--changes",
    metavar="N",
    type=click.IntRange(0, 1000),
    default=30,
    show_default=True,
    help="Show N commits on the Changes page. 0 reads no git history.",
)
@click.option(
    "--pdf",
    is_flag=True,
    help="Build every paper as PDF, and the changeover sheets of the weeks. Default: the setup sheets alone.",
)
@click.option("--serve", is_flag=True, help="Serve the site on this computer and rebuild it on change.")
@click.option(
    "--port",
    type=click.IntRange(1024, 65535),
    default=8017,
    show_default=True,
    metavar="N",
    help="Serve on port N.",
)
def publish(
    *,
    book: Path | None,
    to: Path | None,
    as_of: datetime.date,
    draft: str | None,
    changes: int,
    pdf: bool,
    serve: bool,
    port: int,
) -> None:
    """Build the site of a book: formats, drawings, sheets, checks, faults, learning path.

    The site opens from disk without a network. Publish replaces only a site that it wrote. Any other
    file in the folder stops it, and so does another publish into the same folder. The older site is
    kept until the new one is complete. If publish is killed, the next run completes or restores the
    site.

    Changeover plans and PDFs are kept in the cache folder of the user. To use another folder, set
    SIZEBOOK_CACHE.

    Exit codes: 0 built, 2 could not run.
    """
    require("publish", "the site")
    from kb.book.selection import one_book
    from kb.publish.target import default_target

    if book is None and draft and Path(draft).exists():
        raise Refusal(
            f"--draft took {safe(draft)} as the label of the draft, and no book is given; "
            f"for the book write: sizebook publish {safe(draft)} --draft"
        )
    selected = one_book(book)
    out = to or default_target(selected.root, draft is not None)

    def build() -> Edition:
        return kb.publish(
            selected.load(), out, as_of=as_of, draft=draft, changes=changes, pdf=pdf, progress=_progress
        )

    edition = build()
    counts = edition.report.counts()
    say(f"{out / 'index.html'}: {len(edition.formats)} formats, {counts['error']} errors")
    if serve:
        from kb.publish.build import serve as serving

        notice(f"http://127.0.0.1:{port}/ until stopped")
        serving(lambda: _rebuilt(build), book=selected.root, out=out, port=port)


def _rebuilt(build: Callable[[], object]) -> None:
    """A rebuild while serving; a book that is broken for the moment leaves the site as it is."""
    try:
        build()
    except SizebookError as error:
        notice(f"sizebook: {error}")


def _progress(words: str, done: int, of: int) -> None:
    if sys.stderr.isatty():
        click.echo(f"\r\x1b[K{safe(words)} ({done} of {of})", err=True, nl=done == of)
