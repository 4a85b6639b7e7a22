"""Another id for a size, end, metal, line, week or trial, in every file of a book that names it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

from kb.book import keys
from kb.book.compose import as_yaml, edited
from kb.book.finding import Place, Span, one_line
from kb.book.load import FOLDERS, Book, Spec
from kb.book.schema import word_faults
from kb.book.tree import Scalar, noted
from kb.errors import SizebookError
from kb.output.io import write_together

KINDS = {{"size-format": "format"}.get(kind, kind): kind for kind in FOLDERS}
"""The kinds whose files have an id, by the word for each."""

_PAST = {
    ("size-format", "sheet-codes"): ("codes[].format",),
    ("size-format", "changeover"): ("past[].came_from", "past[].went_to"),
    ("line", "sheet-codes"): ("codes[].line",),
    ("line", "changeover"): ("past[].line",),
}
"""Keys that name what may be gone since, by what they name and the kind of their file."""


class CannotRename(SizebookError):  # noqa: N818 - printed in one line
    """The id cannot be changed so."""


@dataclass(frozen=True)
class Renaming:
    """What a new id changes.

    Attributes:
        places: each value that becomes the new id
        mentions: each line that names the old id in a text or comment, which stays as it is
        contents: the new text of each file; None for the file that goes
    """

    places: tuple[Place, ...]
    mentions: tuple[Place, ...]
    contents: dict[Path, str | None]


def renaming(book: Book, word: str, old: str, new: str) -> Renaming:
    """What it takes to give a new id.

    Args:
        book: the whole book, without files that have errors
        word: one of `KINDS`
        old: the id to change
        new: the id to give

    Raises:
        CannotRename: if the id is not there, the new one is there already or is no id, or a file has errors.
    """
    kind = KINDS[word]
    if old not in book.ids(kind):
        near = get_close_matches(old, sorted(book.ids(kind)), n=1)
        known = ", ".join(sorted(book.ids(kind))[:12]) or "none"
        hint = f"did you mean {near[0]}?" if near else f"known: {known}"
        raise CannotRename(f"{word} {one_line(old)} is not in the book; {hint}")
    for fault in word_faults("slug", {"slug": True}, noted(Scalar(new, True, Span(1, 1, 1, 1))), "id"):
        raise CannotRename(f"{one_line(new)}: {fault.message}")
    if new in book.ids(kind):
        raise CannotRename(f"{word} {new} is in the book already")
    if book.broken:
        first = sorted(book.broken)[0]
        raise CannotRename(
            f"{len(book.broken)} files have errors and may name {old}: run `sizebook check` first ({first})"
        )
    folder = book.root / FOLDERS[kind]
    to = folder / f"{new}.yaml"
    if to.exists():
        raise CannotRename(f"{FOLDERS[kind]}/{new}.yaml is there already")
    places: list[Place] = []
    mentions: list[Place] = []
    contents: dict[Path, str | None] = {}
    own = book.of(kind)[old]
    for spec in [one for specs in book.specs.values() for one in specs.values()]:
        named = sorted(dict.fromkeys(_named(spec, kind, old, own)), key=lambda one: one.span)
        mentions += _mentions(spec, old, {one.span.line for one in named})
        if named:
            places += named
            name = f"{FOLDERS[spec.kind]}/{spec.id}" if spec.kind in FOLDERS else spec.kind
            contents[book.root / f"{name}.yaml"] = _edited(spec, named, new)
    source = folder / f"{old}.yaml"
    text = contents.pop(source)
    contents |= {to: text, source: None}
    order = sorted(places, key=lambda one: (one.file, one.span))
    return Renaming(tuple(order), tuple(mentions), contents)


def rename(found: Renaming) -> None:
    """Write the files of a renaming: all of them or none.

    A process that is killed half-way can run the same renaming again: the file of the id itself moves last.

    Raises:
        OSError: if one cannot be written; the others are as before.
    """
    write_together(found.contents)


def _named(spec: Spec, kind: str, old: str, own: Spec) -> Iterator[Place]:
    if spec is own:
        yield spec.place("id")
    for key, of, ident in spec.references:
        if (of, ident) == (kind, old) and not spec.document.inherits(key):
            yield spec.place(key)
    for pattern in _PAST.get((kind, spec.kind), ()):
        yield from (spec.place(key) for key, ident in keys.members(spec.record, pattern) if ident == old)


def _mentions(spec: Spec, old: str, named: set[int]) -> Iterator[Place]:
    """Lines that have the old id as a word, and are not changed."""
    word = re.compile(rf"(?<![a-z0-9-]){re.escape(old)}(?![a-z0-9-])")
    for number, line in enumerate(spec.document.text.split("\n"), start=1):
        if number not in named and (at := word.search(line)):
            yield Place(spec.document.file, "", Span(number, at.start() + 1, number, at.end() + 1))


def _edited(spec: Spec, places: list[Place], new: str) -> str:
    """The text of a file with the new id at some places."""
    nodes = {one.key: spec.document.node(one.key) for one in places}
    quoted = {key: isinstance(node, Scalar) and node.quoted for key, node in nodes.items()}
    return edited(spec.document, {key: as_yaml(new, quoted=quoted[key]) for key in nodes})
