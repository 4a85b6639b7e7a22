"""The commands that write files of a book, or formats as a table: `new`, `import`, `export`, `rename`."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

from kb.cli import complete
from kb.cli.common import Refusal, in_book, notice, report, safe, say, to_file, write_copy

RENAMED = ("format", "body-standard", "end", "material", "line", "week", "trial")
"""Kinds of what has an id."""


@click.command(
    short_help="Make a small book to start with.",
    epilog='Example: sizebook new my-book --plant "Delta works" --line "Line 7"',
)
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option(
    "--plant", metavar="NAME", default="New plant", show_default=True, help="Name the plant of the book NAME."
)
@click.option("--line", metavar="NAME", default="Line 1", show_default=True, help="Name its line NAME.")
def new(folder: Path, plant: str, line: str) -> None:
    """Make a small book that passes its check: two formats, and all that their sheets need.

    DIR must be new or empty. Every limit and setting is marked as not confirmed by your plant, and
    `sizebook limits --unconfirmed` lists them. The schemas are copied to DIR/.schema. A YAML editor then
    shows the meaning of each key without a network.

    Exit codes: 0 made, 2 could not run.
    """
    from kb import new as small
    from kb.output import io

    made = small.new_book(folder, small.NewPlant(plant, line))
    shown = safe(str(folder))
    specs = [one for one in made if not one.startswith(".")]
    lines = [f"{shown}/{one}" for one in specs]
    lines += [
        "",
        f"{len(specs)} files created. Next: read {shown}/README.md, then `sizebook check {shown}`",
    ]
    io.write_stdout("\n".join(lines) + "\n")


@click.command(
    "import",
    short_help="Make draft formats from a table.",
    epilog="Example: sizebook import sizes.xlsx --map map.yaml --dry-run",
)
@click.argument("table", metavar="TABLE", type=click.Path(path_type=Path))
@click.option(
    "--map",
    "map_file",
    metavar="MAP",
    type=click.Path(path_type=Path),
    help="Read from MAP which column is which key. Default: columns have the names that `export` writes.",
)
@click.option("--dry-run", is_flag=True, help="List how each cell is read. Write no file.")
@click.option("--replace", is_flag=True, help="Overwrite formats that are in the book.")
@in_book
def import_(*, table: Path, map_file: Path | None, dry_run: bool, replace: bool, folder: Path | None) -> int:
    """Make draft formats from a table, one for each row with a valid id.

    TABLE is a CSV file or an XLSX workbook. MAP is a YAML file. `columns` has a column name under each key
    of a format, or a group: `stock.gauge: {column: Gauge, unit: mm, tolerance: ±0.004}`. `values` has
    values that all rows share. `like` is a format of the book that gives all other values. A cell with a
    doubt is listed and written as it is, and `sizebook check` reports it.

    Exit codes: 0 imported, 1 doubts or rows that were not imported, 2 could not run.
    """
    from kb.book.load import FOLDERS
    from kb.book.selection import one_book
    from kb.output import io
    from kb.output.table import import_as_text
    from kb.table.drafts import drafts
    from kb.table.grid import read_grid
    from kb.table.mapping import map_of_columns, read_map

    found = read_map(map_file) if map_file else None
    grid = (
        read_grid(
            table, header=found.header, sheet=found.sheet, separator=found.separator, encoding=found.encoding
        )
        if found
        else read_grid(table)
    )
    book = one_book(folder).load()
    made = drafts(book, grid, found or map_of_columns(grid), table.name)
    formats = book.root / FOLDERS["size-format"]
    fates, left = [], 0
    for one in made:
        file = formats / f"{one.ident}.yaml"
        there = one.exists or (bool(one.ident) and file.exists())
        if not one.text or (there and not replace):
            left += 1
            fates.append(
                f"{one.ident} is in the book; --replace overwrites it" if one.text else "not imported"
            )
            continue
        fates.append(f"{one.ident}: {'replaces' if there else 'new'} {file.parent.name}/{file.name}")
        if not dry_run:
            formats.mkdir(exist_ok=True)
            io.write_atomic(file, one.text)
    io.write_stdout(import_as_text(made, fates, every_cell=dry_run))
    doubts = sum(one.doubtful for one in made)
    notice(
        f"{len(made)} rows: {len(made) - left} drafts {'to write' if dry_run else 'written'}, "
        f"{left} rows not imported, {doubts} doubts"
    )
    return int(bool(left or doubts))


@click.command(
    short_help="Write formats as a table, one row for each.",
    epilog="Example: sizebook export --xlsx --to sizes.xlsx",
)
@click.argument("names", metavar="[FORMAT]...", nargs=-1, shell_complete=complete.formats)
@in_book
@click.option("--csv", "as_csv", is_flag=True, help="Write CSV. This is the default.")
@click.option("--xlsx", "as_xlsx", is_flag=True, help="Write an XLSX workbook. This needs --to.")
@click.option("--flat", is_flag=True, help="Write one FORMAT in full, as YAML.")
@to_file(what="table")
def export(
    *,
    names: Sequence[str],
    folder: Path | None,
    as_csv: bool,
    as_xlsx: bool,
    flat: bool,
    to: Path | None,
) -> int:
    """Write formats as a table, one row for each.

    FORMAT is an id. Default: all formats of the book. A quantity has its number under its key, with the
    unit in the name of the column. Its tolerance is in two more columns. `sizebook import` reads the table.

    Exit codes: 0 written, 1 formats with errors are not in the table, 2 could not run.
    """
    from kb.book.compose import composed
    from kb.book.selection import one_book
    from kb.table.export import table_of, with_places
    from kb.table.grid import as_csv as csv_of
    from kb.table.grid import as_workbook

    if as_csv + as_xlsx + flat > 1:
        raise Refusal("give one of --csv, --xlsx and --flat")
    if as_xlsx and to is None:
        raise Refusal("a workbook needs a file: give --to FILE.xlsx")
    book = one_book(folder).load()
    for name in names:
        if name not in book.ids("size-format"):
            raise Refusal(f"format {name} is not in the book")
    wanted = set(names) or book.ids("size-format")
    faulty = sorted(wanted - set(book.of("size-format")))
    if faulty and names:
        raise Refusal(f"{faulty[0]} has errors; `sizebook check` lists them")
    if flat:
        if len(names) != 1:
            raise Refusal("--flat writes one format: give its id")
        text = composed(with_places(book.of("size-format")[names[0]]))
        report(text, to, names[0], for_program=True)
        return 0
    if not book.of("size-format"):
        raise Refusal("the book has no format without errors; `sizebook check` lists them")
    columns, rows = table_of(book, wanted)
    summary = f"{len(rows)} formats, {len(columns)} columns"
    if as_xlsx and to is not None:
        write_copy(to, as_workbook(columns, rows, "formats"))
        notice(f"{to} written: {summary}")
    else:
        report(csv_of(columns, rows), to, summary, for_program=True)
    if faulty:
        notice(f"{len(faulty)} formats with errors are not in the table: {', '.join(faulty[:12])}")
    return int(bool(faulty))


@click.command(
    short_help="Give a format, end, metal, line, week or trial another id.",
    epilog="Example: sizebook rename format b211-330 b211-330-core --dry-run",
)
@click.argument("kind", metavar="KIND", type=click.Choice(RENAMED))
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
    from kb.book.selection import one_book

    found = renames.renaming(one_book(folder).load(), kind, old, new)
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
