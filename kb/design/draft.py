"""A draft format: the text of the format it begins with, with other sizes and its own name."""

from __future__ import annotations

import re

from kb.book import keys, source
from kb.book.compose import in_full, on_standard
from kb.book.finding import Span
from kb.book.load import Book
from kb.book.records import SizeFormat
from kb.design.lightest import Lighter
from kb.design.targets import NoDesign

_APPROVALS = re.compile(r"^approvals:.*\n(?:[ -].*\n|\n(?=\n*[ -]))*", re.MULTILINE)
"""The approvals of a format: the key, and the lines that are indented or items of a list."""


def draft(book: Book, lighter: Lighter, ident: str) -> str:
    """The YAML text of a draft with the sizes of a lighter format.

    Args:
        book: the book of the format that the lighter one begins with
        lighter: the sizes to write
        ident: id of the draft

    Returns:
        The text of the former format with the new sizes, the former ones beside them as comments. It is on
        the body standard of the former format, if that has one.

    Raises:
        NoDesign: if the id cannot be one, or the book has it already.
    """
    if not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", ident):
        raise NoDesign(f"{ident} cannot be an id: use small letters and digits, joined by hyphens")
    if ident in book.of("size-format"):
        raise NoDesign(f"format {ident} is in the book already; give --to another name")
    spec = book.of("size-format")[lighter.ident]
    record = spec.record
    document = in_full(spec.document, record)
    percent = 100 * (lighter.after / lighter.before - 1)
    why = f"Coil {percent:.1f} % against {record.id} revision {record.revision}, computed, not tried."
    edits = {
        "id": (ident, ""),
        "title": (f'"{record.title}, lighter"', ""),
        "revision": ("1", ""),
        "status": ("draft", ""),
        "why": (f'"{why}"', ""),
        **{one.key: (one.new, f"was {one.old}") for one in lighter.changes},
    }
    spans = {key: (document.place(key).span, *values) for key, values in edits.items()}
    text = unapproved(with_edits(document.text, spans))
    standard = book.of("body-standard").get(record.standard)
    if standard is None:
        return text
    full = source.read_text(text, f"{ident}.yaml").document
    assert full is not None, "a draft is a format"
    made = keys.build("size-format", full)
    assert isinstance(made, SizeFormat)
    return on_standard(text, made, standard.record)


def unapproved(text: str) -> str:
    """The text of a format without its approvals; a draft has none."""
    return _APPROVALS.sub("", text)


def with_edits(text: str, edits: dict[str, tuple[Span, str, str]]) -> str:
    """A text with other values in some places; a note on each follows in a comment at the end of its line."""
    lines = text.splitlines()
    notes: dict[int, list[str]] = {}
    for span, new, note in sorted(edits.values(), key=lambda one: (one[0].line, -one[0].column)):
        at = span.line - 1
        lines[at] = lines[at][: span.column - 1] + new + lines[at][span.end_column - 1 :]
        if note:
            notes.setdefault(at, []).insert(0, note)
    for at, said in notes.items():
        lines[at] += ("; " if "  # " in lines[at] else "  # ") + "; ".join(said)
    return "\n".join(lines) + "\n"
