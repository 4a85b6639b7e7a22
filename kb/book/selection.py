"""Which book and which formats a command works on: paths and ids as a user types them."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

from kb.book.finding import one_line
from kb.book.load import FOLDERS, TOP_FILES, Book, book_folder, load
from kb.errors import SizebookError

SEPARATORS = tuple(one for one in (os.sep, os.altsep) if one)
"""What separates the folders of a path on this system: Windows has two."""

_FORMATS = FOLDERS["size-format"]


class SelectionError(SizebookError):
    """There is no such book, path or format."""


@dataclass(frozen=True, slots=True)
class Selection:
    """A book, and the files of its selected size formats; all of them when left out."""

    root: Path
    shown: str
    formats: tuple[Path, ...] | None = None

    def load(self) -> Book:
        return load(self.root, shown=self.shown, formats=self.formats)


def books(paths: Sequence[Path]) -> list[Selection]:
    """The books of the paths, each once; by default the book around the current folder.

    A size format selects itself, any other file the whole book.

    Raises:
        SelectionError: if a path is not there, cannot be read, or is in no book.
    """
    wanted: dict[Path, list[Path] | None] = {}
    for path in paths or (Path(),):
        root = _book_of(path)
        here = wanted.setdefault(root, [])
        if here is not None and _is_format(path, root):
            here.append(path)
        else:
            wanted[root] = None
    return [
        Selection(root, shown_path(root), None if files is None else tuple(files))
        for root, files in wanted.items()
    ]


def one_book(path: Path | None) -> Selection:
    """The book of one path; by default the book around the current folder.

    Raises:
        SelectionError: as in `books`.
    """
    return books([] if path is None else [path])[0]


def one_format(name: str, folder: Path | None) -> tuple[Selection, str]:
    """The book of one size format, of which only this one is selected, and the format's id.

    `name` is an id or a file. An id is looked up in `folder`, by default in the book around the current
    folder.

    Raises:
        SelectionError: if there is no such format.
    """
    path = Path(name)
    if name.endswith((".yaml", ".yml")) or any(one in name for one in SEPARATORS):
        root = _book_of(path)
        if not _is_format(path, root):
            raise SelectionError(f"{one_line(name)} is not a size format of a book")
        return Selection(root, shown_path(root), (path,)), path.stem
    root = _book_of(folder or Path())
    file = root / _FORMATS / f"{name}.yaml"
    if not file.is_file():
        known = sorted(one.stem for one in (root / _FORMATS).glob("*.yaml"))
        near = get_close_matches(name, known, n=1)
        hint = f"did you mean {near[0]}?" if near else f"formats: {', '.join(known[:12]) or 'none'}"
        raise SelectionError(f"format {one_line(name)} is not in {one_line(shown_path(root))}; {hint}")
    return Selection(root, shown_path(root), (file,)), name


def around(folder: Path | None = None) -> Book | None:
    """The book of a folder without its formats; by default the book around the current folder, if any.

    Raises:
        SelectionError: if the folder is not there or is in no book.
    """
    folder = book_folder(Path()) if folder is None else _book_of(folder)
    return None if folder is None else load(folder, shown=shown_path(folder), formats=())


def shown_path(path: Path) -> str:
    """A path as the reader sees it: from the current folder when it is below, otherwise in full."""
    real = Path(os.path.realpath(path))
    try:
        here = Path(os.path.realpath("."))
    except FileNotFoundError:  # the current folder is gone; what was named in full can still be read
        return real.as_posix()
    return real.relative_to(here).as_posix() if real.is_relative_to(here) else real.as_posix()


def _book_of(path: Path) -> Path:
    shown = one_line(str(path))
    try:
        found = path.exists()
    except (OSError, ValueError) as error:
        raise SelectionError(f"{shown} cannot be read") from error
    if not found:
        raise SelectionError(f"{shown} does not exist")
    if not os.access(path, os.R_OK | (os.X_OK if path.is_dir() else 0)):
        raise SelectionError(f"{shown} cannot be read: no permission")
    if not path.is_dir() and path.suffix not in {".yaml", ".yml"}:
        raise SelectionError(f"{shown} is not a spec: specs end in .yaml")
    if not path.is_dir() and path.name.startswith("."):
        raise SelectionError(f"{shown} is hidden; hidden files are not part of a book")
    root = book_folder(path)
    if root is None:
        where = "the current folder" if path == Path() else shown
        raise SelectionError(f"no book in or above {where}: no folder has a {TOP_FILES['plant']}")
    return Path(os.path.realpath(root))


def _is_format(path: Path, root: Path) -> bool:
    real = Path(os.path.realpath(path))
    return not path.is_dir() and real.is_relative_to(root / _FORMATS)
