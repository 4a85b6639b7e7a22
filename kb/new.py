"""A small book to begin with: one format of the demo book and all that it refers to."""

from __future__ import annotations

import os
import re
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

from kb.book.load import FOLDERS, TOP_FILES, Book, load
from kb.errors import SizebookError
from kb.folders import shipped
from kb.output.io import umask, write_atomic

START = "b211-330"
"""The format of the demo book that a new book begins with."""

SCHEMAS = ".schema"
"""Where the new book keeps the schemas for the editor; the check passes over hidden folders."""

_NO_WAIVERS = """\
# Temporary waivers: one check, one format, an end date. None yet.
kind: waivers
waivers: []
"""
_HINT = re.compile(r"(?m)^# yaml-language-server: .*\n")


class CannotMake(SizebookError):  # noqa: N818 - printed to the reader in one line
    """The new book would overwrite a file, or its folder cannot be made."""


def new_book(target: Path) -> list[str]:
    """Make a new book in a folder that is empty or not there yet; give the files made, with forward slashes.

    It is written beside its place and put there when it is complete, so an interruption leaves nothing
    half-written.

    Raises:
        CannotMake: if something is there, or there is no folder to make it in.
        OSError: if it cannot be written.
    """
    target = Path(os.path.realpath(target))
    if target.exists() and (not target.is_dir() or any(target.iterdir())):
        raise CannotMake(f"{target.name} is not an empty folder")
    if not target.parent.is_dir():
        raise CannotMake(f"folder {target.parent.name} does not exist")
    beside = Path(tempfile.mkdtemp(dir=target.parent, prefix=f".{target.name}-", suffix=".partial"))
    try:
        _write(beside)
        made = sorted(path.relative_to(beside).as_posix() for path in beside.rglob("*") if path.is_file())
        _put(beside, target)
    finally:
        shutil.rmtree(beside, ignore_errors=True)
    return made


def _put(beside: Path, target: Path) -> None:
    """Move the finished book to its place; an empty folder that is there stays that folder."""
    if not target.exists():
        os.chmod(beside, 0o777 & ~umask())
        os.rename(beside, target)
        return
    moved: list[Path] = []
    try:
        for part in sorted(beside.iterdir()):
            moved.append(target / part.name)
            os.rename(part, moved[-1])
    except BaseException:
        for part in moved:
            shutil.rmtree(part) if part.is_dir() else part.unlink(missing_ok=True)
        raise


def _write(folder: Path) -> None:
    demo = shipped("specs")
    book = load(demo, shown="", formats=[demo / FOLDERS["size-format"] / f"{START}.yaml"])
    for name in _needed(book):
        file = folder / name
        file.parent.mkdir(parents=True, exist_ok=True)
        write_atomic(file, _hint(name) + _HINT.sub("", (demo / name).read_text(encoding="utf-8")))
    write_atomic(folder / TOP_FILES["waivers"], _hint(TOP_FILES["waivers"]) + _NO_WAIVERS)
    schemas = folder / SCHEMAS
    schemas.mkdir()
    for schema in sorted(shipped("schema").glob("*.json")):
        write_atomic(schemas / schema.name, schema.read_bytes())


def _needed(book: Book) -> Iterator[str]:
    """Files of the format the book begins with, and of everything it refers to."""
    yield TOP_FILES["plant"]
    yield TOP_FILES["limits"]
    todo, seen = [("size-format", START)], set()
    while todo:
        kind, ident = todo.pop()
        if (kind, ident) not in seen:
            seen.add((kind, ident))
            yield f"{FOLDERS[kind]}/{ident}.yaml"
            todo += [(kind, ident) for _, kind, ident in book.of(kind)[ident].references]


def _hint(name: str) -> str:
    """The line by which an editor finds the schema of a file, from where the file is."""
    folder, _, _ = name.rpartition("/")
    kinds = {folder: kind for kind, folder in FOLDERS.items()}
    kind = kinds.get(folder) or name.removesuffix(".yaml")
    up = "../" if folder else ""
    return f"# yaml-language-server: $schema={up}{SCHEMAS}/{kind}.json\n"
