"""Both versions of a book as read: what is the same in both is read once."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from kb.book import source
from kb.book.load import FOLDERS, Book, Spec, load
from kb.book.tree import Scalar

WORK_TREE = "work tree"

_FORMATS = f"{FOLDERS['size-format']}/"


@dataclass(frozen=True, slots=True)
class Version:
    """One of the two versions.

    Attributes:
        asked: as it was asked for; "work tree" for the files as they are on disk.
        commit: the commit that was read, "" for a folder or the work tree.
        shown: the book's folder as places show it.
        moment: when the commit was made, with the offset from universal time; "" likewise.
        subject: the first line of what was said of it, "" likewise.
    """

    asked: str
    commit: str
    shown: str
    moment: str = ""
    subject: str = ""

    @property
    def words(self) -> str:
        """The version in a few words."""
        short = self.commit[:12]
        return f"{self.asked} ({short})" if short and short != self.asked else self.asked

    @property
    def label(self) -> str:
        """The version in a line: a commit with its day and what was said of it, a folder with its path."""
        if not self.commit:
            return f"{self.asked}, {self.shown}" if self.asked == WORK_TREE else self.shown
        when = self.moment[:16].replace("T", " ")
        return ", ".join(one for one in (self.words, when, self.subject) if one)


@dataclass(frozen=True, slots=True)
class Side:
    """One version, laid out as a folder; `left_out` says what of it is not there, and why."""

    version: Version
    root: Path
    left_out: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Sides:
    """Both versions, and how they were chosen."""

    base: Side
    head: Side
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Files:
    """The files of one version, by path below the book, and the book they make.

    Attributes:
        paths: where a file is that is not in the book's folder.
    """

    book: Book
    shown: str
    sound: dict[str, Spec]
    broken: dict[str, str]
    paths: Mapping[str, Path] = field(default_factory=dict)

    def shown_as(self, name: str) -> str:
        """A file's path as it is shown."""
        return _joined(self.shown, name)

    def path(self, name: str) -> Path:
        """Where a file is."""
        return self.paths.get(name, self.book.root / name)

    def text(self, name: str) -> bytes:
        """A file's bytes, line ends made alike; nothing of a file that is not there."""
        return _bytes(self.path(name))

    def claimed(self) -> dict[str, str]:
        """Ids that files with faults say they have, with the file."""
        found = {}
        for name in self.broken:
            document = source.read(self.path(name), name).document
            node = document.node("id") if document else None
            if isinstance(node, Scalar):
                found[node.text] = name
        return found


def read_both(both: Sides, *, whole: bool) -> tuple[Files, Files]:
    """Read both versions.

    Args:
        both: where they lie
        whole: read every file of both, even where nothing differs

    Returns:
        The older and the newer one. Both books hold all their formats; a format whose file is the same
        in both, and that is read against the same ids, is one record in both.
    """
    new = load(both.head.root, shown=both.head.version.shown)
    files = _files(new, both.head.version.shown)
    if not whole:
        part = _read_in_part(both, files)
        if part is not None:
            return part, files
    old = load(both.base.root, shown=both.base.version.shown)
    return _files(old, both.base.version.shown), files


def _read_in_part(both: Sides, new: Files) -> Files | None:
    """The older version with the newer one's records of formats that did not change."""
    root, shown = both.base.root, both.base.version.shown
    same = {name for name in [*new.sound, *new.broken] if name.startswith(_FORMATS)}
    same = {name for name in same if (root / name).is_file() and _bytes(root / name) == new.text(name)}
    others = [path for path in _yaml(root / _FORMATS) if path.relative_to(root).as_posix() not in same]
    old = load(root, shown=shown, formats=others)
    if _ids(old) != _ids(new.book) or _broken_elsewhere(old, shown) != _broken_elsewhere(new.book, new.shown):
        return None  # formats that did not change may yet refer to what is there in one version alone
    shared = {name: spec for name, spec in new.sound.items() if name in same}
    formats = {**old.of("size-format"), **{spec.id: spec for spec in shared.values()}}
    if formats:
        old.specs["size-format"] = dict(sorted(formats.items()))
    faulty = {_joined(new.shown, name): _joined(shown, name) for name in same}
    old.findings += [
        replace(one, place=replace(one.place, file=faulty[one.place.file]))
        for one in new.book.findings
        if one.place.file in faulty
    ]
    old.findings.sort(key=lambda one: one.order)
    old.broken |= {_joined(shown, name): new.broken[name] for name in same if name in new.broken}
    old.unread.clear()
    made = _files(old, shown)
    return Files(old, shown, {**made.sound, **shared}, made.broken)


def _ids(book: Book) -> tuple[object, ...]:
    """What the references of a format are looked up in."""
    kinds = (kind for kind in FOLDERS if kind != "size-format")
    return (*(sorted(book.of(kind)) for kind in kinds), book.plant.owners if book.plant else None)


def _broken_elsewhere(book: Book, shown: str) -> set[str]:
    names = (_below(file, shown) for file in book.broken)
    return {name for name in names if not name.startswith(_FORMATS)}


def _files(book: Book, shown: str) -> Files:
    specs = [spec for kind in book.specs.values() for spec in kind.values()]
    sound = {_below(spec.document.file, shown): spec for spec in specs}
    present = {_below(file, shown): stage for file, stage in book.broken.items()}
    broken = {name: stage for name, stage in present.items() if os.path.lexists(book.root / name)}
    return Files(book, shown, dict(sorted(sound.items())), dict(sorted(broken.items())))


def _yaml(folder: Path) -> Iterator[Path]:
    for above, _, names in os.walk(folder):
        yield from (Path(above) / name for name in sorted(names) if name.endswith((".yaml", ".yml")))


def _bytes(path: Path) -> bytes:
    try:
        if not path.is_file():  # a device or a pipe may never end
            return b""
        if path.stat().st_size > source.MOST_BYTES:
            return f"{path.stat().st_size} bytes".encode()
        return path.read_bytes().replace(b"\r\n", b"\n")
    except OSError:
        return b""


def _joined(shown: str, name: str) -> str:
    return name if shown in {"", "."} else f"{shown.rstrip('/')}/{name}"


def _below(file: str, shown: str) -> str:
    return file if shown in {"", "."} else file.removeprefix(f"{shown.rstrip('/')}/")
