"""`sizebook calibrate`."""

from __future__ import annotations

from pathlib import Path

import click

from kb.cli.common import in_book, output_format, report


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
    from kb.book.selection import books
    from kb.cli.common import Refusal, notice
    from kb.errors import require
    from kb.output import calibration, io
    from kb.route.trials import calibrations

    require("strength", "calibrate")
    (asked,) = books([] if folder is None else [folder])
    book = asked.load()
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
