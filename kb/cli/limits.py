"""`sizebook limits` and `sizebook calibrate`."""

from __future__ import annotations

from pathlib import Path

import click

from kb.cli.common import Refusal, in_book, notice, output_format, report, say
from kb.errors import require


@click.command(
    short_help="List the limits and settings of a book.",
    epilog="Example: sizebook limits --unconfirmed",
)
@click.option("--unconfirmed", is_flag=True, help="List only those that the plant has not confirmed.")
@in_book
def limits(*, unconfirmed: bool, folder: Path | None) -> None:
    """List the limits and settings of a book, each with its place, value, owner and source.

    Once the owner has confirmed a value and its source, delete `confirmed: false` at that place.

    Exit codes: 0 listed, 2 could not run.
    """
    from kb.book.finding import place_words
    from kb.book.selection import one_book
    from kb.output.text import limit_words

    book = one_book(folder).load()
    spec = book.only("limits")
    if spec is None or book.limits is None:
        raise Refusal("limits.yaml has errors or is missing; `sizebook check` lists them")
    found = book.limits
    names = [f"limits.{one}" for one in found.limits] + [f"settings.{one}" for one in found.settings]
    shown = found.unconfirmed if unconfirmed else names
    for key in shown:
        group, _, name = key.partition(".")
        one = (found.limits if group == "limits" else found.settings)[name]
        place = place_words(spec.document.key_place(key))
        mark = "" if one.confirmed else "; not confirmed"
        say(f"{place}: {name} {limit_words(one)}; owner {one.owner}; {one.source}{mark}")
    count = len(found.unconfirmed)
    notice(f"{len(names)} limits and settings, {count} not confirmed")


@click.command(
    short_help="Compare the plant's trials with the estimates, and fit the factor between them.",
    epilog="Example: sizebook calibrate --book specs",
)
@in_book
@click.option("--write", is_flag=True, help="Write the factors to limits.yaml. Default: list them only.")
@output_format("text", "json")
def calibrate(*, folder: Path | None, write: bool, output: str) -> int:
    """Compare the trials of a book with its estimates, and fit measured over estimate.

    A factor is valid in the range of its trials. Outside, the strength is an estimate again. --write
    changes value, source and calibrated of the setting; review the change like any other.

    Exit codes: 0 listed or written, 2 could not run.
    """
    from kb.book.selection import one_book
    from kb.output import calibration, io
    from kb.route.trials import calibrations

    require("strength", "calibrate")
    book = one_book(folder).load()
    if book.limits is None or book.plant is None:
        raise Refusal("the book has findings; `sizebook check` lists them")
    found = calibrations(book)
    if write:
        file = book.root / "limits.yaml"
        text, changed = calibration.with_factors(book, found)
        if changed:
            io.write_atomic(file, text)
        notice(f"{', '.join(changed)} written to {file}" if changed else "limits.yaml has these factors")
    text = (calibration.as_json if output == "json" else calibration.as_text)(found)
    report(text, None, "", for_program=output == "json")
    return 0
