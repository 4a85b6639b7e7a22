"""What the commands share: how they refuse, what they echo, the options that several have."""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    import datetime

    from kb.book.load import Book
    from kb.checks.report import Report

MANY_FORMATS = 20
"""Formats above which a terminal is shown how far the check has come."""


class Refusal(click.ClickException):
    """Why a command cannot run, said in one line on standard error."""

    exit_code = 2


class Stopped(click.ClickException):
    """The reader has stopped the command."""

    exit_code = 130


class Commands(click.Group):
    """The commands; whatever stops one is said in one line, never as a traceback."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command."""
        try:
            return super().invoke(ctx)
        except KeyboardInterrupt as stopped:
            raise Stopped("stopped") from stopped

    def main(self, *args: Any, **extra: Any) -> Any:
        """Run the command line and leave with its exit code."""
        for stream in (sys.stdout, sys.stderr):
            if hasattr(stream, "reconfigure"):
                stream.reconfigure(errors="backslashreplace")
        try:
            code = super().main(*args, **{**extra, "prog_name": "sizebook", "standalone_mode": False})
        except click.ClickException as error:
            code = said(error.format_message(), error.exit_code)
        except click.Abort:
            code = said("stopped", 130)
        except OSError as error:
            from kb.report.put import silence

            silence()
            what = f"{error.filename}: " if error.filename else ""
            code = said(f"{what}{error.strerror or error}", 2)
        _leave_a_search_behind(code)
        sys.exit(code)


def _leave_a_search_behind(code: int) -> None:
    """End the process here if a search that was interrupted still runs; Python would wait for it or abort."""
    search = sys.modules.get("kb.changeover.search")
    if search is not None and search.unfinished():
        with contextlib.suppress(OSError):
            sys.stdout.flush()
            sys.stderr.flush()
        os._exit(code)


def said(message: str, code: int) -> int:
    """Say in one line on standard error why a command ends."""
    click.echo(f"sizebook: {safe(message)}", err=True)
    return code


def safe(text: str) -> str:
    """Text from outside, safe for one line of a terminal."""
    from kb.book.finding import one_line

    return one_line(" ".join(text.split()))


in_book = click.option(
    "--book",
    "folder",
    metavar="DIR",
    type=click.Path(path_type=Path),
    help="The book; else the one around here.",
)

colour = click.option("--color/--no-color", default=None, help="Colours; else on a terminal only.")


def day(_ctx: click.Context, _param: click.Parameter, value: str | None) -> datetime.date:
    """A day given on the command line; today when left out."""
    import datetime

    if value is None:
        return datetime.date.today()
    with contextlib.suppress(ValueError):
        if len(value) == len("2026-09-14"):
            return datetime.date.fromisoformat(value)
    raise click.BadParameter(f"{value} is not a day; write year-month-day, such as 2026-09-14")


def judged(book: Book, as_of: datetime.date, formats: Sequence[str] | None) -> Report:
    """Judge a book; on a terminal, say how far it has come when there are many formats."""
    from kb.checks import check_book

    many = len(book.of("size-format")) > MANY_FORMATS and sys.stderr.isatty()
    if not many:
        return check_book(book, today=as_of, formats=formats)
    with click.progressbar(
        length=len(book.of("size-format")), label="judging formats", file=sys.stderr
    ) as bar:
        return check_book(
            book, today=as_of, formats=formats, progress=lambda done, _: bar.update(done - bar.pos)
        )
