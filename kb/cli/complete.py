"""Completion of words on the command line: ids of the book, checks and keys. A shell calls it."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

import click

from kb.errors import SizebookError

if TYPE_CHECKING:
    from kb.book.load import Book

Completion: TypeAlias = Callable[[click.Context, click.Parameter, str], list[str]]


def _complete(words: Callable[[click.Context], Iterable[str]]) -> Completion:
    """Words that begin as typed; none where the book cannot be read, for nobody can act on a message here."""

    def found(context: click.Context, _parameter: click.Parameter, typed: str) -> list[str]:
        with contextlib.suppress(SizebookError, OSError, ValueError):
            return sorted({one for one in words(context) if one.startswith(typed)})
        return []

    return found


def _folder(context: click.Context) -> Path | None:
    from kb.book.load import book_folder

    folder = Path(context.params.get("folder") or ".")
    return book_folder(folder) if folder.exists() else None


def _ids(kind: str) -> Completion:
    """Ids of the files of a kind."""

    def words(context: click.Context) -> Iterator[str]:
        from kb.book.load import FOLDERS

        root = _folder(context)
        return (one.stem for one in (root / FOLDERS[kind]).glob("*.yaml")) if root else iter(())

    return _complete(words)


def _book(context: click.Context) -> Book | None:
    from kb.book.load import load

    root = _folder(context)
    return load(root, shown="", formats=()) if root else None


def _crews(context: click.Context) -> Iterator[str]:
    book = _book(context)
    library = book.only("changeover") if book else None
    line = context.params.get("line")
    for crew in library.record.crews if library else ():
        if line in {None, crew.line}:
            yield crew.id


def _names(_context: click.Context) -> Iterator[str]:
    from kb.book.schema import shipped_schemas
    from kb.output.explain import keys, known

    yield from known()
    for kind in shipped_schemas().kinds:
        yield from (name for key in keys(kind) for name in (key, f"{kind}.{key}"))


formats, lines, weeks = _ids("size-format"), _ids("line"), _ids("week")
crews, names = _complete(_crews), _complete(_names)
