"""`sizebook rename`."""

from __future__ import annotations

from pathlib import Path

import click

from kb.cli.common import in_book

WORDS = ("format", "body-standard", "end", "material", "line", "week", "trial")


@click.command(
    short_help="Give a format, end, metal, line, week or trial another id.",
    epilog="Example: sizebook rename format b211-330 b211-330-core --dry-run",
)
@click.argument("kind", metavar="KIND", type=click.Choice(WORDS))
@click.argument("old", metavar="OLD")
@click.argument("new", metavar="NEW")
@click.option("--dry-run", is_flag=True, help="List what would change and write no file.")
@in_book
def rename(*, kind: str, old: str, new: str, dry_run: bool, folder: Path | None) -> None:
    """Give a format, end, metal, line, week or trial another id, in every file of the book.

    KIND is format, end, material, line, week or body-standard. Formats, weeks, waivers, the register of
    sheet codes and past changeovers follow. All files change, or none. Texts and comments that name OLD
    stay as they are and are listed. Sheets print the new id, so their codes change: record them again.

    Exit codes: 0 renamed, 2 could not run.
    """
    from kb import rename as renames
    from kb.book.finding import place_words
    from kb.book.selection import books
    from kb.cli.common import notice, say

    found = renames.renaming(books([folder] if folder else [])[0].load(), kind, old, new)
    for place in found.places:
        say(f"{place_words(place)}: {place.key}: {old} becomes {new}")
    for place in found.mentions:
        say(f"{place_words(place)}: a text names {old}; it stays")
    if not dry_run:
        renames.rename(found)
    files = len(found.contents) - 1
    done = "would change" if dry_run else "changed"
    again = (
        "; record the sheet codes again: `sizebook sheet --record`" if kind != "week" and not dry_run else ""
    )
    notice(f"{len(found.places)} places in {files} files {done}{again}")
