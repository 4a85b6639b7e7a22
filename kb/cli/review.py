"""`sizebook review`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

import kb
from kb.cli.common import Refusal, colour, from_severity, in_book, on_day, output_format, report, to_file

if TYPE_CHECKING:
    import datetime

    from kb.book.finding import Severity
    from kb.review.model import Review


OUTPUTS = ("text", "json", "sarif", "markdown", "junit", "annotations")
"""The output formats of a review."""


@click.command(
    short_help="Compare two versions of a book.",
    epilog="Example: sizebook review main",
)
@click.argument("base", metavar="BASE", required=False)
@click.argument("head", metavar="[HEAD]", required=False)
@in_book
@output_format(*OUTPUTS)
@to_file()
@from_severity("Block on new findings of this severity or higher.")
@on_day("Check waivers and review dates of both versions on this day")
@click.option(
    "--require-approval",
    is_flag=True,
    help="Exit with 3 if the review lists any approval.",
)
@click.option(
    "--code-owners",
    is_flag=True,
    help="Write the code-owners file of the book instead of a review. Takes no BASE.",
)
@click.option(
    "--all", "whole", is_flag=True, help="Check every format of both versions, not only the affected ones."
)
@click.option(
    "--marker", metavar="NAME", help="Name the Markdown comment NAME. Default: the folder of the book."
)
@click.option(
    "--most-bytes",
    metavar="N",
    type=click.IntRange(min=8_192),
    default=32_000,
    show_default=True,
    help="Limit a Markdown comment to N bytes.",
)
@colour
def review(
    *,
    base: str | None,
    head: str | None,
    folder: Path | None,
    output: str,
    to: Path | None,
    severity: Severity,
    as_of: datetime.date,
    whole: bool,
    require_approval: bool,
    code_owners: bool,
    marker: str | None,
    most_bytes: int,
    color: bool | None,
) -> int:
    """Compare two versions of a book: changes, effects, and whether the change may be merged.

    BASE and HEAD are git revisions or folders. Default for HEAD: the files on disk. Two revisions are
    compared from their common ancestor.

    Exit codes: 0 no new findings; 1 blocked: a new finding at or above --severity; 2 could not run; 3
    needs approval: a limit, setting, target, metal or waiver was loosened.
    """
    from kb.output import io

    if code_owners:
        if base is not None:
            raise click.UsageError("--code-owners takes no BASE")
        report(_code_owners(folder), to, "the owners of the book", for_program=True)
        return 0
    if base is None:
        raise click.UsageError("Missing argument 'BASE'.")
    made = kb.review(
        base,
        head,
        book=folder,
        as_of=as_of,
        severity=severity,
        whole=whole,
        require_approval=require_approval,
    )
    coloured = io.coloured(color, in_file=to is not None)
    if output == "markdown":
        from kb.output.review import review_markdown

        text = review_markdown(made, as_of=as_of, marker=marker, most_bytes=most_bytes)
    else:
        text = _text_of(made, output, as_of, severity, coloured=coloured)
    report(text, to, made.verdict, for_program=output != "text")
    return made.exit_code


def _text_of(made: Review, output: str, as_of: datetime.date, severity: Severity, *, coloured: bool) -> str:
    from kb.output import ci

    if output == "text":
        from kb.output.review import review_text

        return review_text(made, coloured=coloured)
    if output == "json":
        from kb.output.json_reports import review_json

        return review_json(made, as_of=as_of)
    if output == "annotations":
        return ci.review_annotations(made)
    return (ci.review_sarif if output == "sarif" else ci.review_junit)(made, severity=severity)


def _code_owners(folder: Path | None) -> str:
    from kb.book.selection import one_book
    from kb.checks.words import plural
    from kb.review.approvals import code_owners, top_of

    book = one_book(folder).load()
    if book.broken:
        count = plural(len(book.broken), "file")
        raise Refusal(f"{count} of the book cannot be read or checked; `sizebook check` lists the findings")
    return code_owners(book, top_of(book.root))
