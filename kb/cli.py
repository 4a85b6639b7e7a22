"""The command line: `sizebook check`, `explain`, `route`, `new`.

Nothing that is slow to load is imported here at the top: help must come at once.
Exit codes: 0 clean, 1 findings at or above the asked severity, 2 cannot run, 130 stopped by the reader.
"""

from __future__ import annotations

import contextlib
import difflib
import math
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    import datetime

    from kb.book.finding import Finding, Severity
    from kb.book.load import Book
    from kb.checks.report import Report
    from kb.publish.fields import FieldEntry
    from kb.report.outcome import Outcome

MANY_FORMATS = 20
"""Formats above which a terminal is shown how far the check has come."""

MOST_CANS = 200_000


class _Refusal(click.ClickException):
    """Why a command cannot run, said in one line on standard error."""

    exit_code = 2


class _Stopped(click.ClickException):
    """The reader has stopped the command."""

    exit_code = 130


class _Commands(click.Group):
    """The commands; whatever stops one is said in one line, never as a traceback."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command."""
        try:
            return super().invoke(ctx)
        except KeyboardInterrupt as stopped:
            raise _Stopped("stopped") from stopped

    def main(self, *args: Any, **extra: Any) -> Any:
        """Run the command line and leave with its exit code."""
        for stream in (sys.stdout, sys.stderr):
            if hasattr(stream, "reconfigure"):
                stream.reconfigure(errors="backslashreplace")
        try:
            code = super().main(*args, **{**extra, "prog_name": "sizebook", "standalone_mode": False})
        except click.ClickException as error:
            code = _said(error.format_message(), error.exit_code)
        except click.Abort:
            code = _said("stopped", 130)
        except OSError as error:
            from kb.report.put import silence  # noqa: PLC0415 - for faults alone

            silence()
            what = f"{error.filename}: " if error.filename else ""
            code = _said(f"{what}{error.strerror or error}", 2)
        sys.exit(code)


def _said(message: str, code: int) -> int:
    click.echo(f"sizebook: {_safe(message)}", err=True)
    return code


def _safe(text: str) -> str:
    from kb.book.finding import one_line  # noqa: PLC0415 - for faults alone

    return one_line(" ".join(text.split()))


@click.group(
    cls=_Commands,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.version_option(package_name="sizebook", message="sizebook %(version)s")
@click.pass_context
def main(ctx: click.Context) -> None:
    """Can size formats in plain text, taken through every station and judged by their physics.

    A book is a folder of specs: the plant, its lines, metals, ends, limits and size formats.
    """
    if ctx.invoked_subcommand is None:
        click.echo(ctx.get_help())


_colour = click.option("--color/--no-color", default=None, help="Colours; else on a terminal only.")


# --- check ------------------------------------------------------------------------------------


def _day(_ctx: click.Context, _param: click.Parameter, value: str | None) -> datetime.date:
    import datetime  # noqa: PLC0415 - not needed for help

    if value is None:
        return datetime.date.today()
    with contextlib.suppress(ValueError):
        if len(value) == len("2026-09-14"):
            return datetime.date.fromisoformat(value)
    raise click.BadParameter(f"{value} is not a day; write year-month-day, such as 2026-09-14")


@main.command(
    short_help="Judge a book, or some of its formats.",
    epilog="Example: sizebook check specs/formats/regular-330.yaml",
)
@click.argument("paths", nargs=-1, metavar="[PATH]...", type=click.Path(path_type=Path))
@click.option(
    "--output",
    type=click.Choice(["text", "json", "sarif", "markdown", "junit"]),
    default="text",
    show_default=True,
    help="Form of the report.",
)
@click.option("--to", metavar="FILE", type=click.Path(path_type=Path), help="Write the report to a file.")
@click.option(
    "--severity",
    type=click.Choice(["error", "warning", "note"]),
    default="error",
    show_default=True,
    help="Fail from this severity on.",
)
@click.option(
    "--as-of",
    metavar="YYYY-MM-DD",
    callback=_day,
    help="Day on which waivers and reviews are judged; else today.",
)
@_colour
def check(
    *,
    paths: Sequence[Path],
    output: str,
    to: Path | None,
    severity: Severity,
    as_of: datetime.date,
    color: bool | None,
) -> int:
    """Judge a book, or some of its formats.

    PATH is a book's folder or files of a book; left out, the book around the current folder. Each
    finding names file, line, value, limit, where the limit comes from, and what would cure it.
    Leaves with 0 when clean, 1 with findings at or above the severity, 2 when it cannot run.
    """
    from kb.report import put  # noqa: PLC0415 - this and all below: slow, and not needed for help
    from kb.report.asked import books  # noqa: PLC0415
    from kb.report.outcome import Outcome, blocks, summary  # noqa: PLC0415

    outcomes = []
    for asked in books(paths):
        book = asked.load()
        formats = None if asked.formats is None else tuple(book.of("size-format"))
        outcomes.append(Outcome(asked.shown, book, _report(book, as_of, formats)))
    text = _told(outcomes, output, severity, colours=put.coloured(color, in_file=to is not None))
    if to is None:
        put.to_reader(text, for_program=output != "text")
    else:
        try:
            put.to_file(to, text)
        except OSError as error:
            raise _Refusal(f"{to} cannot be written: {error.strerror or error}") from error
        click.echo(f"{_safe(str(to))} written: {summary(outcomes)}", err=True)
    return int(blocks(outcomes, severity))


def _report(book: Book, as_of: datetime.date, formats: Sequence[str] | None) -> Report:
    """Judge a book; on a terminal, say how far it has come when there are many formats."""
    from kb.checks import check_book  # noqa: PLC0415

    many = len(book.of("size-format")) > MANY_FORMATS and sys.stderr.isatty()
    if not many:
        return check_book(book, today=as_of, formats=formats)
    with click.progressbar(
        length=len(book.of("size-format")), label="judging formats", file=sys.stderr
    ) as bar:
        return check_book(
            book, today=as_of, formats=formats, progress=lambda done, _: bar.update(done - bar.pos)
        )


def _told(outcomes: Sequence[Outcome], output: str, severity: Severity, *, colours: bool) -> str:
    if output == "json":
        from kb.report.json_record import as_json  # noqa: PLC0415

        return as_json(outcomes)
    if output == "sarif":
        from kb.report.sarif import as_sarif  # noqa: PLC0415

        return as_sarif(outcomes, severity=severity)
    if output == "markdown":
        from kb.report.markdown import as_markdown  # noqa: PLC0415

        return as_markdown(outcomes)
    if output == "junit":
        from kb.report.junit import as_junit  # noqa: PLC0415

        return as_junit(outcomes, severity=severity)
    from kb.report.text import as_text  # noqa: PLC0415

    return as_text(outcomes, coloured=colours)


# --- explain ----------------------------------------------------------------------------------


@main.command(
    short_help="What a check, a setting or a key of a spec means.",
    epilog="Example: sizebook explain ironing.ring-reduction",
)
@click.argument("name", required=False)
def explain(name: str | None) -> None:
    """What a check, a setting or a key of a spec means; without NAME, all checks.

    Tells why a check is there, its formula, its limit in the book around the current folder with
    source, owner and review date, and how to mend what it finds.
    """
    from kb.report import asked, put  # noqa: PLC0415
    from kb.report import explain as told  # noqa: PLC0415

    lines = told.explained(name, asked.around()) if name else told.listing()
    for entry in _fields(name) if name else ():
        lines += ([""] if lines else []) + _field_lines(entry)
    if not lines:
        raise _Refusal(_unknown(name or ""))
    put.to_reader("\n".join(lines) + "\n")


def _fields(name: str) -> list[FieldEntry]:
    """Entries of a key, in every kind of spec that has it; its kind may stand before it."""
    from kb.publish import fields  # noqa: PLC0415

    kind, _, key = name.partition(".")
    asked = [(kind, key)] if kind in fields.kinds() and key else []
    found = []
    for one, path in asked + [(one, name) for one in fields.kinds()]:
        with contextlib.suppress(KeyError):
            found.append(fields.field(one, path))
    return found


def _field_lines(entry: FieldEntry) -> list[str]:
    """What the schema says of a key, in lines."""
    from kb.report.explain import keys, part  # noqa: PLC0415

    lines = [f"{entry.kind}.{entry.key} – {entry.title}", *part("Meaning", entry.meaning)]
    lines += part("Written as", _form(entry))
    if entry.shown_band is not None:
        low, high = entry.shown_band
        ends = f"{low:g} or more" if math.isinf(high) else f"{low:g} to {high:g}"
        lines += part("Plausible", f"{ends} {entry.show}".removesuffix(" -").rstrip())
    lines += part("Choices", ", ".join(entry.choices))
    lines += part("Names", f"a spec of kind {entry.reference}" if entry.reference else "")
    if not entry.required:
        lines += part("Needed", f"by {', '.join(entry.needed_by)}" if entry.needed_by else "no, optional")
    lines += part("Example", "; ".join(entry.examples))
    inner = [one for one in keys(entry.kind) if one.startswith(f"{entry.key}.")] if entry.group else []
    return lines + list(part("Keys in it", ", ".join(inner)))


def _form(entry: FieldEntry) -> str:
    if not entry.unit:
        return entry.form
    unit = "a number" if entry.unit == "-" else f"a {entry.form} in {entry.unit} or another unit of its kind"
    shown = "" if entry.show in {entry.unit, "-"} else f", shown in {entry.show}"
    return f"{unit}{shown}; tolerance {entry.tolerance or 'allowed'}"


def _unknown(name: str) -> str:
    from kb.publish import fields  # noqa: PLC0415
    from kb.report.explain import keys, known  # noqa: PLC0415

    names = list(known())
    for kind in fields.kinds():
        names += [key for one in keys(kind) for key in (one, f"{kind}.{one}")]
    near = difflib.get_close_matches(name, names, n=1)
    hint = f"did you mean {near[0]}?" if near else "`sizebook explain` lists the checks"
    return f"nothing is called {_safe(name) or 'nothing'}; {hint}"


# --- route ------------------------------------------------------------------------------------


@main.command(
    short_help="A format at every station, with limits and margins.",
    epilog="Example: sizebook route regular-330 --scatter 10000",
)
@click.argument("name", metavar="FORMAT")
@click.option(
    "--book",
    "folder",
    metavar="DIR",
    type=click.Path(path_type=Path),
    help="The book; else the one around here.",
)
@click.option("--json", "for_program", is_flag=True, help="As JSON, for programs.")
@click.option(
    "--scatter",
    "cans",
    metavar="N",
    type=click.IntRange(2, MOST_CANS),
    default=None,
    help="Scatter N cans within their tolerances, and say what drives the main results.",
)
@click.option(
    "--seed", metavar="N", type=click.IntRange(0), default=1, show_default=True, help="Same seed, same cans."
)
@_colour
def route(
    *, name: str, folder: Path | None, for_program: bool, cans: int | None, seed: int, color: bool | None
) -> int:
    """A format at every station: values, worst corners, limits and margins.

    FORMAT is an id or a file. Strength is an estimate until the plant has calibrated it. Leaves
    with 1, and with the findings that stop it, when the format's geometry does not close.
    """
    import datetime  # noqa: PLC0415
    import shutil  # noqa: PLC0415

    from kb.report import put, route_json, route_text  # noqa: PLC0415
    from kb.report.asked import one_format  # noqa: PLC0415
    from kb.report.route import route_told, stopping  # noqa: PLC0415
    from kb.route.assemble import assemble  # noqa: PLC0415

    asked, ident = one_format(name, folder)
    book = asked.load()
    report = _report(book, datetime.date.today(), (ident,))
    stops = stopping(ident, report)
    limits = book.limits
    assembled = assemble(book, ident) if not stops and limits is not None else None
    if assembled is None or limits is None:
        stopped = route_json.stopped(ident, stops) if for_program else _told_stopped(ident, stops)
        put.to_reader(stopped, for_program=for_program)
        return 1
    told = route_told(assembled, report.verdicts[ident], limits.settings, cans=cans or 0, seed=seed)
    if for_program:
        put.to_reader(route_json.as_json(told), for_program=True)
    else:
        width = shutil.get_terminal_size().columns
        put.to_reader(route_text.as_table(told, width=width, coloured=put.coloured(color)))
    return 0


def _told_stopped(ident: str, stops: Sequence[Finding]) -> str:
    from kb.report.outcome import plural  # noqa: PLC0415
    from kb.report.text import finding_lines  # noqa: PLC0415

    lines = [line for one in stops for line in finding_lines(one, coloured=False)]
    lines += [
        "",
        f"{_safe(ident)} cannot be taken through the stations: {plural(len(stops), 'finding')} in the way",
    ]
    return "\n".join(lines) + "\n"


# --- new --------------------------------------------------------------------------------------


@main.command(
    short_help="Make a small book to begin with.",
    epilog="Example: sizebook new my-book",
)
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
def new(folder: Path) -> None:
    """Make a small book that passes its check: one format, its end, metals, line and limits.

    DIR must be new or empty. The schemas go into DIR/.schema, so an editor that speaks YAML shows
    the meaning of each key without a network.
    """
    from kb import new as small  # noqa: PLC0415
    from kb.report import put  # noqa: PLC0415

    try:
        made = small.new_book(folder)
    except small.CannotMake as error:
        raise _Refusal(str(error)) from error
    shown = _safe(str(folder))
    specs = [one for one in made if not one.startswith(".")]
    lines = [f"{shown}/{one}" for one in specs]
    lines += [
        "",
        f"{len(specs)} specs made; `sizebook check {shown}` judges them, an editor finds the schemas",
    ]
    put.to_reader("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
