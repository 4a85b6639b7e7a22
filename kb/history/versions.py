"""Both versions of a book as read: what is the same in both is read once."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, NamedTuple

from kb.book import source
from kb.book.compose import BUILT_ON
from kb.book.conversion import same_value
from kb.book.keys import quantity_at
from kb.book.load import FOLDERS, Book, Spec, load
from kb.book.structure import as_written, dotted
from kb.book.tree import Document, Node, Scalar, value
from kb.book.tree import Mapping as Group
from kb.book.tree import Sequence as List
from kb.history.change_types import Steps

WORK_TREE = "work tree"

_FORMATS = f"{FOLDERS['size-format']}/"
_BASES = (_FORMATS, f"{FOLDERS['body-standard']}/")


@dataclass(frozen=True, slots=True)
class Version:
    """One of the two versions.

    Attributes:
        asked: as it was given; "work tree" for the files as they are on disk.
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
    valid: dict[str, Spec]
    broken: dict[str, str]
    paths: Mapping[str, Path] = field(default_factory=dict)

    def shown_as(self, name: str) -> str:
        return _joined(self.shown, name)

    def path(self, name: str) -> Path:
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
    """Read both versions, the older and the newer one; with `whole`, every file of both.

    Both books hold all their formats. A format whose file is the same in both, and that is read against the
    same ids, is one record in both.
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
    same = {name for name in [*new.valid, *new.broken] if name.startswith(_FORMATS)}
    same = {name for name in same if all(_same(root, new, one) for one in _built_on(new, name))}
    others = [path for path in _yaml(root / _FORMATS) if path.relative_to(root).as_posix() not in same]
    old = load(root, shown=shown, formats=others)
    if _ids(old) != _ids(new.book) or _broken_elsewhere(old, shown) != _broken_elsewhere(new.book, new.shown):
        return None  # formats that did not change may yet refer to what is there in one version alone
    shared = {name: spec for name, spec in new.valid.items() if name in same}
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
    return Files(old, shown, {**made.valid, **shared}, made.broken)


def _built_on(files: Files, name: str) -> Iterator[str]:
    """A format and the files that it builds on; for one with errors, all that it can build on."""
    yield name
    if spec := files.valid.get(name):
        yield from (_below(one, files.shown) for one in spec.document.files[1:])
    elif any(f"\n{key}:".encode() in b"\n" + files.text(name) for key in BUILT_ON):
        yield from (one for one in [*files.valid, *files.broken] if one.startswith(_BASES))


def _same(root: Path, new: Files, name: str) -> bool:
    return (root / name).is_file() and _bytes(root / name) == new.text(name)


def _ids(book: Book) -> tuple[object, ...]:
    """What the references of a format are looked up in."""
    kinds = (kind for kind in FOLDERS if kind != "size-format")
    return (*(sorted(book.of(kind)) for kind in kinds), book.plant.owners if book.plant else None)


def _broken_elsewhere(book: Book, shown: str) -> set[str]:
    names = (_below(file, shown) for file in book.broken)
    return {name for name in names if not name.startswith(_FORMATS)}


def _files(book: Book, shown: str) -> Files:
    specs = [spec for kind in book.specs.values() for spec in kind.values()]
    valid = {_below(spec.document.file, shown): spec for spec in specs}
    present = {_below(file, shown): stage for file, stage in book.broken.items()}
    broken = {name: stage for name, stage in present.items() if os.path.lexists(book.root / name)}
    return Files(book, shown, dict(sorted(valid.items())), dict(sorted(broken.items())))


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


ALIKE = 0.9
"""Share of equal values from which on a file under another id is the same file, renamed.

Formats of one body differ from one another in more than that; version stores guess renames likewise.
"""

_OWN = ("id", "title", "revision", "effective", "why", "status", "also_called", "approvals")


@dataclass(frozen=True, slots=True)
class Match:
    kind: str
    old: Spec | None
    new: Spec | None

    @property
    def id(self) -> str:
        """Its id, the newer one where it has two."""
        spec = self.new or self.old
        return spec.id if spec else ""

    @property
    def renamed(self) -> bool:
        return self.old is not None and self.new is not None and self.old.id != self.new.id


def matches(old: Files, new: Files) -> list[Match]:
    """Each valid file once, beside its other version, by kind and id.

    An id in a faulty file of the other version has not come or gone; it is left to what is said of faulty
    files.
    """
    found = []
    for kind in sorted({*old.book.specs, *new.book.specs}):
        before, after = old.book.of(kind), new.book.of(kind)
        found += [Match(kind, before[one], after[one]) for one in before if one in after]
        gone = {one: spec for one, spec in before.items() if one not in after}
        come = {one: spec for one, spec in after.items() if one not in before}
        for one, other in _renamed(gone, come):
            found.append(Match(kind, gone.pop(one), come.pop(other)))
        found += [Match(kind, spec, None) for spec in gone.values()]
        found += [Match(kind, None, spec) for spec in come.values()]
    return sorted(found, key=lambda one: (one.kind != "size-format", one.kind, one.id))


def _renamed(gone: Mapping[str, Spec], come: Mapping[str, Spec]) -> Iterator[tuple[str, str]]:
    """Ids before and now of files that say nearly the same; the most alike first, each once."""
    said = {id(spec): dict(_values(spec)) for spec in (*gone.values(), *come.values())}
    likes = sorted(
        (-_share(said[id(old)], said[id(new)]), one, other)
        for one, old in gone.items()
        for other, new in come.items()
    )
    olds, news = set(gone), set(come)
    for share, one, other in likes:
        if -share >= ALIKE and one in olds and other in news:
            olds.discard(one)
            news.discard(other)
            yield one, other


def _share(old: Mapping[str, Any], new: Mapping[str, Any]) -> float:
    keys = {*old, *new}
    return sum(same_value(old.get(key), new.get(key)) for key in keys) / len(keys) if keys else 0.0


def _values(spec: Spec) -> Iterator[tuple[str, Any]]:
    for name, inner in spec.document.data().items():
        if name not in _OWN:
            yield from _flat_values(spec, name, inner)


def _flat_values(spec: Spec, key: str, data: Any) -> Iterator[tuple[str, Any]]:
    if isinstance(data, dict):
        for name, inner in data.items():
            yield from _flat_values(spec, f"{key}.{name}", inner)
    elif isinstance(data, list):
        for i, inner in enumerate(data):
            yield from _flat_values(spec, f"{key}[{i}]", inner)
    else:
        found = quantity_at(spec.record, key)
        yield key, data if found is None else (found.low, found.nominal, found.high)


# --- value by value ---------------------------------------------------------------------------

NAMED_BY: tuple[tuple[str, ...], ...] = (
    ("id",),
    ("check", "format", "at"),
    ("machine",),
    ("number",),
    ("digest",),
    ("step",),
    ("hazard",),
    ("name",),
)
"""Keys that identify the members of a list in any order; without one, the position does."""


ORDERLESS = ("waivers", "gauges", "codes", "history")
"""Lists whose order means nothing."""


class ValuePair(NamedTuple):
    """One value, or a group or list that only one side has.

    Attributes:
        old: the key before; none where it is new.
        new: the key now; none where it is gone.
        before: what was there.
        after: what is there.
        members: names of the list members on the way.
        order: members of a list before and now, where only their order differs; otherwise empty.
    """

    old: Steps | None
    new: Steps | None
    before: Node | None
    after: Node | None
    members: tuple[str, ...]
    order: tuple[tuple[str, ...], ...] = ()

    @property
    def steps(self) -> Steps:
        """The key now, or the old key of a value that is gone."""
        return self.new if self.new is not None else self.old or ()

    @property
    def key(self) -> str:
        return dotted(self.steps)


def pairs(old: Document, new: Document) -> Iterator[ValuePair]:
    yield from _pairs(ValuePair((), (), old.root, new.root, ()))


def _pairs(pair: ValuePair) -> Iterator[ValuePair]:
    before, after = pair.before, pair.after
    if isinstance(before, Group) and isinstance(after, Group):
        for name in dict.fromkeys([*after.entries, *before.entries]):
            one, other = before.entries.get(name), after.entries.get(name)
            yield from _pairs(_under(pair, (name, one and one.node), (name, other and other.node)))
    elif isinstance(before, List) and isinstance(after, List):
        yield from _listed(pair, before, after)
    else:
        yield pair


def _under(
    pair: ValuePair,
    old: tuple[str | int, Node | None] | None,
    new: tuple[str | int, Node | None] | None,
    member: str = "",
) -> ValuePair:
    before, after = old[1] if old else None, new[1] if new else None
    return ValuePair(
        (*(pair.old or ()), old[0]) if old and before is not None else None,
        (*(pair.new or ()), new[0]) if new and after is not None else None,
        before,
        after,
        (*pair.members, member) if member else pair.members,
    )


def _listed(pair: ValuePair, before: List, after: List) -> Iterator[ValuePair]:
    by = _named_by(before, after)
    if by:
        olds, news = (
            {_member_name(one, by): (i, one) for i, one in enumerate(side.items)} for side in (before, after)
        )
        for name in dict.fromkeys([*news, *olds]):
            shown = news.get(name, olds.get(name))
            called = _called(shown[1], name) if shown else ""
            yield from _pairs(_under(pair, olds.get(name), news.get(name), called))
        stayed = tuple(
            tuple(_called(one, name) for name, (_, one) in side.items() if name in olds and name in news)
            for side in (olds, news)
        )
        if _names_in_both(olds, news) != _names_in_both(news, olds) and pair.key not in ORDERLESS:
            yield pair._replace(order=stayed)
    elif all(isinstance(one, Scalar) for one in (*before.items, *after.items)) and not _quantities(before):
        yield pair
    else:
        for i in range(max(len(before.items), len(after.items))):
            one = (i, before.items[i]) if i < len(before.items) else None
            other = (i, after.items[i]) if i < len(after.items) else None
            yield from _pairs(_under(pair, one, other))


def _names_in_both(
    side: dict[tuple[str, ...], Any], other: dict[tuple[str, ...], Any]
) -> list[tuple[str, ...]]:
    return [name for name in side if name in other]


def _quantities(side: List) -> bool:
    """Whether a list holds numbers in a row, such as plug diameters, rather than names."""
    return any(isinstance(one, Scalar) and one.text[:1].isdigit() and not one.quoted for one in side.items)


def _named_by(*sides: List) -> tuple[str, ...]:
    members = [one for side in sides for one in side.items]
    if not members or not all(isinstance(one, Group) for one in members):
        return ()
    for keys in NAMED_BY:
        names = [[_member_name(one, keys) for one in side.items] for side in sides]
        if all(each[0] for side in names for each in side) and all(
            len(set(side)) == len(side) for side in names
        ):
            return keys
    return ()


def _member_name(node: Node, keys: Sequence[str]) -> tuple[str, ...]:
    """What names a member; "" for a key it lacks."""
    if not isinstance(node, Group):
        return ("",)
    found = [node.entries[key].node if key in node.entries else None for key in keys]
    return tuple(one.text if isinstance(one, Scalar) else "" for one in found)


def _called(node: Node, name: Sequence[str]) -> str:
    if isinstance(node, Group):
        for key in ("title", "name"):
            entry = node.entries.get(key)
            if entry is not None and isinstance(entry.node, Scalar):
                return entry.node.text
    return " ".join(filter(None, name))


# --- what is there ------------------------------------------------------------------------


def said(node: Node | None) -> object:
    """What a node says, free of how it is written."""
    if node is None:
        return None
    if isinstance(node, Scalar):
        return value(node)
    if isinstance(node, Group):
        return {name: said(entry.node) for name, entry in node.entries.items()}
    return [said(one) for one in node.items]


def written(node: Node | None) -> str:
    """A node on one line, "" where there is none."""
    if node is None:
        return ""
    if isinstance(node, Scalar):
        return node.text
    if isinstance(node, List) and all(isinstance(one, Scalar) for one in node.items):
        return ", ".join(written(one) for one in node.items) or "none"
    return as_written(said(node))
