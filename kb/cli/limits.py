"""`sizebook limits`."""

from __future__ import annotations

from pathlib import Path

import click

from kb.cli.common import in_book


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
    from kb.book.selection import books
    from kb.cli.common import Refusal, notice, say
    from kb.output.text import limit_words

    book = books([folder] if folder else [])[0].load()
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
