"""`sizebook review`."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import click

import kb
from kb.cli.common import Refusal, colour, day, in_book, report

if TYPE_CHECKING:
    import datetime

    from kb.book.finding import Severity
    from kb.review.model import Review


class OutputOptions(NamedTuple):
    """What the command line asks of a face."""

    as_of: datetime.date
    severity: Severity
    coloured: bool
    marker: str | None
    most_bytes: int


def _text(review: Review, asked: OutputOptions) -> str:
    from kb.output.review_text import review_text

    return review_text(review, coloured=asked.coloured)


def _json(review: Review, asked: OutputOptions) -> str:
    from kb.output.json_record import review_json

    return review_json(review, as_of=asked.as_of)


def _sarif(review: Review, asked: OutputOptions) -> str:
    from kb.output.sarif import review_sarif

    return review_sarif(review, severity=asked.severity)


def _markdown(review: Review, asked: OutputOptions) -> str:
    from kb.output.review_markdown import review_markdown

    return review_markdown(review, as_of=asked.as_of, marker=asked.marker, most_bytes=asked.most_bytes)


def _junit(review: Review, asked: OutputOptions) -> str:
    from kb.output.junit import review_junit

    return review_junit(review, severity=asked.severity)


def _annotations(review: Review, _asked: OutputOptions) -> str:
    from kb.output.annotations import review_annotations

    return review_annotations(review)


FACES: dict[str, Callable[[Review, OutputOptions], str]] = {
    "text": _text,
    "json": _json,
    "sarif": _sarif,
    "markdown": _markdown,
    "junit": _junit,
    "annotations": _annotations,
}
"""The forms of a review: each makes a text out of the review and what was asked."""


@click.command(
    short_help="Compare two versions of a book.",
    epilog="Example: sizebook review main",
)
@click.argument("base", metavar="BASE", required=False)
@click.argument("head", metavar="[HEAD]", required=False)
@in_book
@click.option(
    "--output",
    type=click.Choice(list(FACES)),
    default="text",
    show_default=True,
    help="Output format.",
)
@click.option(
    "--to", metavar="FILE", type=click.Path(path_type=Path), help="Write to FILE. Default: standard output."
)
@click.option(
    "--severity",
    type=click.Choice(["error", "warning", "note"]),
    default="error",
    show_default=True,
    help="Block on new findings at or above this severity.",
)
@click.option(
    "--as-of",
    metavar="YYYY-MM-DD",
    callback=day,
    help="Day on which waivers and review dates are checked, in both versions. Default: today.",
)
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
@click.option("--marker", metavar="NAME", help="Name of the comment in Markdown. Default: the book's folder.")
@click.option(
    "--most-bytes",
    metavar="N",
    type=click.IntRange(min=8_192),
    default=32_000,
    show_default=True,
    help="Maximum length of a Markdown comment, in bytes.",
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
    text = FACES[output](made, OutputOptions(as_of, severity, coloured, marker, most_bytes))
    report(text, to, made.verdict, for_program=output != "text")
    return made.exit_code


def _code_owners(folder: Path | None) -> str:
    from kb.book.load import books
    from kb.checks.words import plural
    from kb.review.code_owners import code_owners, top_of

    (asked,) = books([folder] if folder else [])
    book = asked.load()
    if book.broken:
        count = plural(len(book.broken), "file")
        raise Refusal(f"{count} of the book cannot be read or checked; `sizebook check` lists the findings")
    return code_owners(book, top_of(book.root))
