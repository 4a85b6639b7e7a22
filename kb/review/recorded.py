"""What a setup sheet says otherwise than the last one whose code was recorded, as the repository has it."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from pathlib import Path

from kb.book.load import FOLDERS, TOP_FILES, Book, load
from kb.book.records_floor import SheetCode
from kb.book.source import MOST_BYTES
from kb.review.history import CannotRead, Kept, Repository, write_out
from kb.sheet.code import digest
from kb.sheet.content import NoSheet, contents
from kb.sheet.history import changes, issues
from kb.sheet.model import Content

_FORMATS = f"{FOLDERS['size-format']}/"
_MOST_COMMITS = 5
"""Commits that brought one and the same code, in branches or in folders of another name."""


def since_recorded(book: Book, content: Content) -> tuple[str, ...]:
    """What changed since the last recorded sheet before this one.

    Args:
        book: the book the sheet is of
        content: what the sheet says

    Returns:
        Rows for the sheet; none where the book lies in no repository, or no commit of it has the sheet
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
