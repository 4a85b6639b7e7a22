"""What changed on a setup sheet since the one before: by the register of codes, then by git."""

from __future__ import annotations

import tempfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import fields, is_dataclass, replace
from pathlib import Path
from typing import Any

from kb.blocks import Cell
from kb.book.load import FOLDERS, TOP_FILES, Book, load
from kb.book.records_floor import SheetCode
from kb.book.source import MOST_BYTES
from kb.checks.catalog import NAMES
from kb.history.git import CannotRead, Kept, Repository, write_out
from kb.history.log import BookLog, FileChange, cut, file_log, values_of_revision
from kb.sheet.content import NoSheet, contents
from kb.sheet.issue import digest, issues
from kb.sheet.model import Content, Sheet

MOST_ROWS = 5
"""Changes that are listed one by one; the rest is a count."""

_LONGEST = 280
_BESIDE_CODE = {"missing"}
_FORMATS = f"{FOLDERS['size-format']}/"
_MOST_COMMITS = 5
"""Commits that brought one and the same code, in branches or in folders of another name."""


def with_changes(sheet: Sheet, book: Book, past: BookLog | None = None) -> Sheet:
    """A sheet with what changed since the one before, for paper and screen alike.

    The register of codes comes first, then the sheet that was recorded last, as git has it, then the values
    that changed under the revision, from the log of the format's file. What is not needed is not read.
    `past` is the log of the book where it is read already.
    """
    if sheet.changed:
        return sheet
    rows = since_recorded(book, sheet.content)
    if rows:
        return replace(sheet, changed=rows)
    ident = sheet.content.identity.format
    log = past.of_format(ident) if past and past.whole else file_log(book.root, ident, NAMES)
    return with_meaning(sheet, log, MOST_ROWS)


def with_meaning(sheet: Sheet, log: Iterable[FileChange], most: int) -> Sheet:
    """A sheet with the values that changed under its revision, where the register has no words for it."""
    found = () if sheet.changed else values_of_revision(log, sheet.content.identity.revision)
    return replace(sheet, changed=cut(found, most)) if found else sheet


def since_recorded(book: Book, content: Content) -> tuple[str, ...]:
    """What changed since the last recorded sheet before this one.

    Returns:
        Rows for the sheet; none where the book is in no repository, or no commit of it has the sheet
        that was recorded.
    """
    before = _before(issues(book, content.identity.format, content.identity.line), digest(content))
    if before is None:
        return ()
    repository = Repository(book.root)
    try:
        if not repository.readable or repository.refusal:
            return ()
        for commit in repository.touching(before.digest, TOP_FILES["sheet-codes"], most=_MOST_COMMITS):
            then = _as_it_was(repository, commit, before)
            if then is not None and digest(then) == before.digest:
                return changes(then, content)
    except CannotRead:
        return ()
    return ()


def _before(past: Sequence[SheetCode], fingerprint: str) -> SheetCode | None:
    """The last issue before that of a fingerprint, or the last of all."""
    known = [i for i, one in enumerate(past) if one.digest == fingerprint]
    earlier = past[: known[-1]] if known else past
    return earlier[-1] if earlier else None


def _as_it_was(repository: Repository, commit: str, issue: SheetCode) -> Content | None:
    """A sheet as the book of a commit makes it; nothing where it makes none."""
    own = f"{_FORMATS}{issue.format}.yaml"
    kept = repository.kept(commit, repository.prefix) or ()
    with tempfile.TemporaryDirectory(prefix="sizebook-") as scratch:
        root = Path(scratch)
        list(write_out(repository, [one for one in kept if _needed(one, own)], root, most=MOST_BYTES))
        book = load(root, shown="")
        if issue.format not in book.of("size-format"):
            return None
        try:
            return contents(book, issue.format, [issue.line])[0]
        except NoSheet:
            return None


def _needed(one: Kept, own: str) -> bool:
    return one.path == own or not one.path.startswith(_FORMATS)


# --- what a sheet says otherwise ---------------------------------------------------------------


def changes(old: Content, new: Content) -> tuple[str, ...]:
    """What one content says otherwise than another, in the words of the sheet.

    Returns:
        A line for each change, the same change in several places once; past the fifth a count.
    """
    before, after = dict(_said(old)), dict(_said(new))
    by_words: dict[str, list[str]] = {}
    for name in {**before, **after}:
        if before.get(name) != after.get(name):
            by_words.setdefault(_from_to(before.get(name), after.get(name)), []).append(name)
    lines = [_line(names, words) for words, names in by_words.items()]
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
    """Everything a content says, by the name of its row; values that decide a can come first."""
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
