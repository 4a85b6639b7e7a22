"""`sizebook explain`."""

from __future__ import annotations

import contextlib
import difflib
import math
import re
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from kb.cli import complete
from kb.cli.common import Refusal, in_book, safe

if TYPE_CHECKING:
    from kb.book.load import Book
    from kb.publish.fields import FieldEntry

MOST_IN_FULL = 3
"""Keys that are explained in full; more are listed, a line each."""


@click.command(
    short_help="Explain a check, a setting or a key of a spec.",
    epilog="Example: sizebook explain ironing.ring-reduction",
)
@click.argument("name", required=False, shell_complete=complete.names)
@in_book
def explain(name: str | None, folder: Path | None) -> None:
    """Explain NAME: a check, a setting or a key of a spec. Default: list all checks.

    The last part of a key or check is enough: `bore` finds each key that ends in it. For a check: reason,
    formula, limit and fix. The limit is that of the book, with source, owner and review date.

    Exit codes: 0 explained, 2 could not run.
    """
    from kb.book.selection import around
    from kb.output import explain as pages
    from kb.output import io

    if not name:
        io.write_stdout("\n".join(pages.listing()) + "\n")
        return
    book = around(folder)
    checks = [name, *(one for one in pages.known() if one.rpartition(".")[2] == name)]
    blocks = [pages.explained(one, book) for one in dict.fromkeys(checks)]
    entries = list(_entries(name))
    if len(entries) > MOST_IN_FULL:
        wide = max(len(f"{one.kind}.{one.key}") for one in entries)
        listed = [f"  {f'{one.kind}.{one.key}':{wide}}  {one.title}" for one in entries]
        blocks.append([f"{len(entries)} keys end in {safe(name)}; explain one by its path:", *listed])
    else:
        blocks += [[*_key_lines(one), *_own_values(one, book)] for one in entries]
    text = "\n\n".join("\n".join(lines) for lines in blocks if lines)
    if not text:
        raise Refusal(_unknown(name))
    io.write_stdout(text + "\n")


def _entries(name: str) -> Iterator[FieldEntry]:
    """The key of this path in each kind of spec (its kind may come first), then the keys that end in it."""
    from kb.output.explain import keys
    from kb.publish import fields

    found: dict[tuple[str, str], FieldEntry] = {}
    kind, _, path = name.partition(".")
    places = [(kind, path)] if kind in fields.kinds() and path else []
    places += [(one, name) for one in fields.kinds()]
    ending = f".{name.replace('-', '_')}"
    for one in fields.kinds():
        places += [(one, key) for key in keys(one) if f".{key.replace('[]', '')}".endswith(ending)]
    for one, key in places:
        with contextlib.suppress(KeyError):
            entry = fields.field(one, key)
            found.setdefault((entry.kind, entry.key), entry)
    yield from found.values()


def _key_lines(entry: FieldEntry) -> list[str]:
    """What the schema says of a key, in lines."""
    from kb.output.explain import keys, part

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


def _own_values(entry: FieldEntry, book: Book | None) -> Iterator[str]:
    """The formats that have a value under a key in place of that of their body standard."""
    from kb.book.finding import place_words
    from kb.book.selection import one_book
    from kb.output.explain import part

    if book is None or entry.kind != "size-format" or not book.of("body-standard"):
        return
    book = one_book(book.root).load()
    found = [
        f"{ident} has {one.text} ({place_words(one.place)}), not {one.other} ({place_words(one.other_place)})"
        for ident, spec in sorted(book.of("size-format").items())
        for one in spec.document.overrides
        if re.sub(r"\[[0-9]+\]", "[]", one.key) == entry.key
    ]
    yield from part("In this book", "; ".join(found))


def _form(entry: FieldEntry) -> str:
    if not entry.unit:
        return entry.form
    unit = "a number" if entry.unit == "-" else f"a {entry.form} in {entry.unit} or another unit of its kind"
    shown = "" if entry.show in {entry.unit, "-"} else f", shown in {entry.show}"
    return f"{unit}{shown}; tolerance {entry.tolerance or 'allowed'}"


def _unknown(name: str) -> str:
    from kb.output.explain import keys, known
    from kb.publish import fields

    names = list(known())
    for kind in fields.kinds():
        names += [key for one in keys(kind) for key in (one, f"{kind}.{one}", one.rpartition(".")[2])]
    near = difflib.get_close_matches(name, names, n=1)
    hint = f"did you mean {near[0]}?" if near else "`sizebook explain` lists the checks"
    return f"{safe(name) or 'an empty name'} is not a check, setting or key; {hint}"
