"""The register of codes as the sheets use it: what was in force, since when, what changed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from typing import Any

from kb.book.load import Book
from kb.book.records_floor import SheetCode, SheetCodes
from kb.sheet.model import Cell, Content

MOST_ROWS = 5
"""Changes told one by one; the rest is a count."""

_LONGEST = 280
_BESIDE_CODE = {"missing"}


def codes(book: Book) -> SheetCodes:
    """The register; empty when the book has none."""
    spec = book.only("sheet-codes")
    return spec.record if spec else SheetCodes(codes=())


def issues(book: Book, ident: str, line: str) -> tuple[SheetCode, ...]:
    """All issues of one sheet, the oldest first."""
    return tuple(one for one in codes(book).codes if one.format == ident and one.line == line)


# --- what changed -----------------------------------------------------------------------------


def changes(old: Content, new: Content) -> tuple[str, ...]:
    """What one content says otherwise than another, in the words of the sheet.

    Args:
        old: the content before
        new: the content now

    Returns:
        A line for each change, the same change in several places once; past the fifth a count.
    """
    before, after = dict(_said(old)), dict(_said(new))
    told: dict[str, list[str]] = {}
    for name in {**before, **after}:
        if before.get(name) != after.get(name):
            told.setdefault(_from_to(before.get(name), after.get(name)), []).append(name)
    lines = [_line(names, words) for words, names in told.items()]
    if len(lines) > MOST_ROWS:
        rest = len(lines) - MOST_ROWS + 1
        lines = [*lines[: MOST_ROWS - 1], f"and {rest} more changes; read the whole sheet"]
    return tuple(lines)


def _from_to(old: str | None, new: str | None) -> str:
    if old is None:
        return f"new: {new}"
    return f"no longer here: {old}" if new is None else f"{old} → {new}"


def _line(names: list[str], words: str) -> str:
    also = f" (and {len(names) - 1} more rows)" if len(names) > 1 else ""
    line = f"{names[0]}{also}: {words}"
    return line if len(line) <= _LONGEST else f"{line[: _LONGEST - 1]}…"


def _said(content: Content) -> Iterator[tuple[str, str]]:
    """Everything a content says, by the name of the row it stands in; what decides a can comes first."""
    first = ("waivers", "material", "pack", "first_offs", "machines", "pack_makes")
    names = [one.name for one in fields(content) if one.name not in _BESIDE_CODE]
    for name in sorted(names, key=lambda one: first.index(one) if one in first else len(first)):
        yield from _walk(getattr(content, name), name.replace("_", " "))


def _walk(said: Any, name: str) -> Iterator[tuple[str, str]]:
    if isinstance(said, Cell):
        yield name, said.text
    elif isinstance(said, tuple):
        for i, one in enumerate(said):
            own = isinstance(one, Cell | str)
            yield from _walk(one, f"{name} {i + 1}" if own else name)
    elif is_dataclass(said):
        of: Mapping[str, Any] = {one.name: getattr(said, one.name) for one in fields(said)}
        title = next((of[key] for key in ("name", "title", "check", "step", "hazard") if of.get(key)), "")
        here = f"{name}, {title}" if title else name
        for key, inner in of.items():
            if key != "number" and inner != title:
                whole = isinstance(inner, Cell) and key in {"size", "value", "cell"}
                yield from _walk(inner, here if whole or key in _GROUPS else f"{here}, {key}")
    elif said is not None and said != "":
        yield name, str(said)


_GROUPS = {"cautions", "parts", "sets", "settings", "sizes"}
