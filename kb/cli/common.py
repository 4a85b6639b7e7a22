"""What the commands share: how they refuse, what they echo, the options that several have."""

from __future__ import annotations

import contextlib
import errno
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

import kb
from kb.errors import SizebookError

if TYPE_CHECKING:
    import datetime

    from kb.book.load import Book
    from kb.checks.report import Report

MANY_FORMATS = 20
"""Formats above which a terminal is shown how far the check has come."""


Command = TypeVar("Command", bound=Callable[..., Any])

GONE = "the current folder no longer exists"


class Refusal(SizebookError):  # noqa: N818 - printed in one line
    """The command cannot run as it was given."""


class Stopped(click.ClickException):
    """The reader has stopped the command."""

    exit_code = 130


class Commands(click.Group):
    """The commands; an error that stops one is one line, never a traceback."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command."""
        try:
            return super().invoke(ctx)
        except KeyboardInterrupt as stopped:
            raise Stopped("stopped") from stopped

    def main(self, *args: Any, **extra: Any) -> Any:
        """Run the command line and exit with its code."""
        from kb.output.io import silence

        for stream in (sys.stdout, sys.stderr):
            if hasattr(stream, "reconfigure"):
                stream.reconfigure(errors="backslashreplace")
        try:
            code = super().main(*args, **{**extra, "prog_name": "sizebook", "standalone_mode": False})
        except SizebookError as error:
            code = said(f"{error}{'' if _is_folder_there() else f'; {GONE}'}", 2)
        except click.ClickException as error:
            gone = error.exit_code == click.UsageError.exit_code and not _is_folder_there()
            code = said(f"{error.format_message()}{f'; {GONE}' if gone else ''}", error.exit_code)
        except click.Abort:
            code = said("stopped", 130)
        except BrokenPipeError:  # the reader has seen enough
            silence(sys.stdout)
            code = 0
        except OSError as error:
            silence(sys.stdout)
            code = said(_cause(error), 2)
        _leave_a_search_behind(code or 0)
        sys.exit(code or 0)


def _cause(error: OSError) -> str:
    """What the system refused, in one line; an error without a file is one of standard output."""
    from kb.output.io import STANDARD_OUTPUT

    if isinstance(error, FileNotFoundError) and not _is_folder_there():
        return GONE
    if error.filename in {None, STANDARD_OUTPUT}:
        reason = "it is closed" if error.errno == errno.EBADF else error.strerror or str(error)
        return f"{STANDARD_OUTPUT} cannot be written: {reason}"
    return f"{os.fsdecode(error.filename)}: {error.strerror or error}"


def _is_folder_there() -> bool:
    try:
        os.getcwd()
    except FileNotFoundError:
        return False
    return True


def _leave_a_search_behind(code: int) -> None:
    """End the process here if a search that was interrupted still runs; Python would wait for it or abort."""
    search = sys.modules.get("kb.scheduling.solver")
    if search is not None and search.unfinished():
        with contextlib.suppress(OSError):
            sys.stdout.flush()
            sys.stderr.flush()
        os._exit(code)


def said(message: str, code: int) -> int:
    """Say in one line on standard error why a command ends."""
    notice(f"sizebook: {message}")
    return code


def say(line: str) -> None:
    """Write one line to standard output, safe for a terminal."""
    from kb.output.io import write_stdout

    write_stdout(f"{safe(line)}\n")


def notice(line: str) -> None:
    """Say something beside the report, in one line on standard error."""
    from kb.output import io

    io.notice(line)


def report(text: str, to: Path | None, summary: str, *, for_program: bool) -> None:
    """Write a report to a file, or to standard output.

    Raises:
        Refusal: if the file cannot be written.
    """
    from kb.book.finding import printable
    from kb.output import io

    if to is None:
        io.write_stdout(text, for_program=for_program)
        return
    content = text if for_program else printable(text, coloured=True)
    write_copy(to, content.encode("utf-8", "backslashreplace"))
    notice(f"{to} written: {summary}")


def safe(text: str) -> str:
    """Text from outside, safe for one line of a terminal."""
    from kb.book.finding import one_line

    return one_line(" ".join(text.split()))


# --- options that several commands have -------------------------------------------------------

in_book = click.option(
    "--book",
    "folder",
    metavar="DIR",
    type=click.Path(path_type=Path),
    is_eager=True,  # completion of other words reads it
    help="Read the book in DIR. Default: the book that contains the current folder.",
)

colour = click.option(
    "--color/--no-color", default=None, help="Print in colour. Default: on a terminal only."
)

paper_size = click.option(
    "--paper",
    type=click.Choice(["a4", "letter"]),
    default="a4",
    show_default=True,
    help="Print on paper of this size.",
)


def output_format(*formats: str, more: str = "") -> Callable[[Command], Command]:
    """The option for the output format; the first format is the default."""
    return click.option(
        "--output",
        type=click.Choice(formats),
        default=formats[0],
        show_default=True,
        help=f"Print in this output format{more}.",
    )


def to_file(default: str = "standard output", what: str = "report") -> Callable[[Command], Command]:
    """The option for the file to write."""
    return click.option(
        "--to",
        metavar="FILE",
        type=click.Path(path_type=Path),
        help=f"Write the {what} to FILE. Default: {default}.",
    )


def on_day(words: str) -> Callable[[Command], Command]:
    """The option for the day."""
    return click.option("--as-of", metavar="YYYY-MM-DD", callback=_day, help=f"{words}. Default: today.")


def from_severity(words: str) -> Callable[[Command], Command]:
    """The option for the severity from which findings count."""
    levels = click.Choice(["error", "warning", "note"])
    return click.option("--severity", type=levels, default="error", show_default=True, help=words)


def _day(_ctx: click.Context, _param: click.Parameter, value: str | None) -> datetime.date:
    """A day given on the command line; today when left out."""
    import datetime

    if value is None:
        return datetime.date.today()
    with contextlib.suppress(ValueError):
        if len(value) == len("2026-09-14"):
            return datetime.date.fromisoformat(value)
    raise click.BadParameter(f"{value} is not a day; write year-month-day, such as 2026-09-14")


def checked(
    book: Book, as_of: datetime.date, formats: Sequence[str] | None, *, codes: bool = False
) -> Report:
    """Check a book; on a terminal, show the progress if there are many formats."""
    many = len(book.of("size-format")) > MANY_FORMATS and sys.stderr.isatty()
    if not many:
        return kb.check(book, formats=formats, as_of=as_of, codes=codes)
    with click.progressbar(
        length=len(book.of("size-format")), label="checking formats", file=sys.stderr
    ) as bar:

        def show(done: int, _of: int) -> None:
            bar.update(done - bar.pos)

        return kb.check(book, formats=formats, as_of=as_of, codes=codes, progress=show)


def time_of_copy(as_of: datetime.date) -> datetime.datetime:
    """The time of a printed copy: the clock's, on the day that was given."""
    import datetime

    from kb.sheet.issue import now

    clock = now()
    return clock if as_of == datetime.date.today() else datetime.datetime.combine(as_of, clock.time())


def write_copy(target: Path, content: str | bytes) -> None:
    """Write a printed copy.

    Raises:
        Refusal: if the file cannot be written.
    """
    from kb.output.io import write_atomic

    try:
        write_atomic(target, content)
    except OSError as error:
        raise Refusal(f"{target} cannot be written: {error.strerror or error}") from error
