"""The log of a book and the log of one format, from git: what each commit changed and what that means.

Only commits that changed the book or the format are read, and of them only the files that differ.
"""

from __future__ import annotations

import contextlib
import re
import tempfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import takewhile
from pathlib import Path

from kb.book.finding import one_line
from kb.book.load import FOLDERS, Book, Spec, SpecReading, read_spec
from kb.book.source import MOST_BYTES
from kb.history.change_types import Names
from kb.history.git import CannotRead, CommitHeader, FileDiff, Kept, Repository, write_out
from kb.history.value_diff import ChangedFile, ValueChange, changed_files, joined
from kb.history.versions import Files, Match, matches

MOST_COMMITS = 30
"""Commits that are read by default."""

LONGEST = 150
"""Characters of a line; a longer one is cut in its middle."""

MOST_LINES = 3
"""Lines that the meaning of one file may take."""

NOT_ASKED = "The history of the files was not read for this site."
ALL_LISTED = "All commits of the book are listed."

_FORMATS = FOLDERS["size-format"]
_STANDARDS = FOLDERS["body-standard"]
_BASES = (f"{_FORMATS}/", f"{_STANDARDS}/")
_BUILDS_ON = re.compile(rb"""(?m)^(standard|variant_of):[ \t]+["']?([a-z0-9-]+)["']?[ \t]*(?:#.*)?\r?$""")


@dataclass(frozen=True, slots=True)
class FileChange:
    """One file that a commit changed.

    Attributes:
        file: the file, what became of it, and its values that differ
        revision: revision of a format
        effective: effective date of a format
        why: reason of a format's revision
        note: how a format was read whose body standard has errors in this commit; "" where it has none
    """

    file: ChangedFile
    revision: int | None = None
    effective: str = ""
    why: str = ""
    note: str = ""

    @property
    def lines(self) -> tuple[str, ...]:
        """What it means, in one to three lines."""
        return cut(self.all_lines, MOST_LINES)

    @property
    def all_lines(self) -> tuple[str, ...]:
        """What it means: what became of the file, then its values, or what else of it is not as it was."""
        file = self.file
        states = [one for one in file.states if one != "changed"]
        lines = [", ".join(states)] if states else []
        lines += [self.note] if self.note else []
        lines += self.values
        if not self.values:
            words = dict.fromkeys(one.words for one in file.changes)
            lines += [f"no size moves: {', '.join(words)}"] if words else []
            lines += file.unmeaning
        return tuple(one_line(one, LONGEST) for one in lines)

    @property
    def values(self) -> tuple[str, ...]:
        """A line for each value that means something else than before, old and new."""
        return tuple(_old_new(one) for one in self.moved)

    @property
    def moved(self) -> tuple[ValueChange, ...]:
        """The values that mean something else than before."""
        return tuple(one for one in self.file.changes if not set(one.kinds) <= {"editorial", "document"})


def _old_new(one: ValueChange) -> str:
    line = f"{one.words}: {one.old or 'none'} → {one.new or 'none'}"
    return one_line(f"{line} ({one.difference})" if one.difference else line, LONGEST)


def values_of_revision(changes: Iterable[FileChange], revision: int) -> tuple[str, ...]:
    """A line for each value that is not as it was before a revision of a format, the oldest change first.

    The changes are the log of the format, the newest first, taken down to an older revision. Several changes
    of one value are one line.
    """
    since = takewhile(lambda one: one.revision is None or one.revision >= revision, changes)
    found: dict[str, ValueChange] = {}
    for file in reversed([one for one in since if one.revision == revision]):
        for one in file.moved:
            found[one.key] = joined(found[one.key], one) if one.key in found else one
    return tuple(_old_new(one) for one in found.values() if one.old != one.new)


def cut(lines: Sequence[str], most: int) -> tuple[str, ...]:
    """So many lines; the last counts those left out.

    Example:
        >>> cut(["a", "b", "c"], 2)
        ('a', 'and 2 more')
    """
    if len(lines) <= most:
        return tuple(lines)
    return (*lines[: most - 1], f"and {len(lines) - most + 1} more")


@dataclass(frozen=True, slots=True)
class Commit:
    """One commit that touched the book.

    Attributes:
        oid: its name in full.
        moment: when it was committed, with the offset from universal time.
        subject: the first line of its message.
        files: what it changed, formats first; nothing where it cannot be read.
        first: whether the book begins with it.
    """

    oid: str
    moment: str
    subject: str
    files: tuple[FileChange, ...]
    first: bool = False

    @property
    def day(self) -> str:
        return self.moment[:10]


@dataclass(frozen=True, slots=True)
class BookLog:
    """The commits that touched a book, the newest first, and in a line why there are no more."""

    commits: tuple[Commit, ...] = field(default=())
    why_no_more: str = NOT_ASKED

    @property
    def whole(self) -> bool:
        """Whether no commit of the book is missing."""
        return self.why_no_more == ALL_LISTED

    def of_format(self, ident: str) -> Iterator[FileChange]:
        """What happened to a format, the newest first, also under names it had before."""
        names = {ident}
        for commit in self.commits:
            for one in commit.files:
                if one.file.kind == "size-format" and one.file.id in names:
                    names |= {one.file.was} - {""}
                    yield one


def read_log(root: Path, names: Names, most: int = MOST_COMMITS) -> BookLog:
    """Read the log of a book; without a history to read it has the reason and no commits."""
    repository = Repository(root)
    try:
        if not most:
            return BookLog()
        if not repository.readable:
            return BookLog((), "git is not installed, so the history of the files cannot be read.")
        if repository.refusal:
            return BookLog(
                (), "The book is not in a repository that git can read. There is no history of its files."
            )
        return _book_log(repository, names, most)
    except CannotRead as error:
        return BookLog((), f"The history of the files cannot be read: {one_line(str(error))}.")


def _book_log(repository: Repository, names: Names, most: int) -> BookLog:
    found = repository.commits(most + 1)
    if not found:
        return BookLog((), "No commit of the repository contains the book yet.")
    cut_off = repository.shallow and not found[-1].parents  # what was before it was never fetched
    shown = list(found[:most] if len(found) > most else found[:-1] if cut_off else found)
    differences = repository.differences(shown)
    with _FileVersions(repository) as versions:
        versions.fetch(one for each in differences.values() for one in each)
        commits = tuple(
            Commit(
                one.oid,
                one.moment,
                one_line(one.subject),
                tuple(versions.changes(one, differences.get(one.oid, ()), names)),
                first=one is found[-1],
            )
            for one in shown
        )
    if len(found) > most:
        why = f"The last {most} commits of the book are listed."
    elif cut_off:
        why = "Older commits were not fetched: this clone of the repository is shallow."
    else:
        why = ALL_LISTED
    return BookLog(commits, why)


def file_log(root: Path, ident: str, names: Names, most: int = MOST_COMMITS) -> Iterator[FileChange]:
    """What happened to one format, the newest first, also under names it had before.

    Git is read when the first change is taken, and a version when its change is. Where git cannot be read,
    there is no change.
    """
    repository = Repository(root)
    try:
        if not repository.readable or repository.refusal:
            return
        with _FileVersions(repository) as versions:
            yield from _file_log(repository, versions, ident, names, most)
    except CannotRead:
        return


def _file_log(
    repository: Repository, versions: _FileVersions, ident: str, names: Names, most: int
) -> Iterator[FileChange]:
    start = "HEAD"
    while ident:
        file, was = f"{_FORMATS}/{ident}.yaml", ""
        paths = (file, *versions.bases(file, start))
        headers = repository.commits(most, start=start, paths=paths)
        differences = {
            commit: _with_other_names(each, paths) for commit, each in repository.differences(headers).items()
        }
        versions.fetch(one for each in differences.values() for one in each)
        for header in headers:
            most -= 1
            for change in versions.changes(header, differences.get(header.oid, ()), names, only=file):
                if (change.file.kind, change.file.id) == ("size-format", ident):
                    yield change
                    was = change.file.was
            if was and header.parents:
                start = header.parents[0]
                break
        ident = was


def _with_other_names(differences: Sequence[FileDiff], paths: Sequence[str]) -> tuple[FileDiff, ...]:
    """The difference of files; where a commit renamed the first, also all that came or went with it."""
    own = [one for one in differences if one.path in paths]
    moved = [one for one in differences if _is_format(one.path) and not (one.before and one.after)]
    renamed = any(one.before for one in moved) and any(one.after for one in moved)
    return tuple(moved if renamed and any(one.path == paths[0] for one in moved) else own)


# --- files as a commit had them ---------------------------------------------------------------


class _FileVersions:
    """Versions of files out of git, each fetched and read once, in a folder that is removed at the end."""

    def __init__(self, repository: Repository) -> None:
        self._repository = repository
        self._readings: dict[tuple[str, str, str], SpecReading] = {}
        self._books: dict[str, Book] = {}
        self._listed: dict[str, dict[str, str]] = {}
        self._later: dict[str, Spec] = {}
        self._later_used: set[tuple[str, str]] = set()
        self._folder = tempfile.TemporaryDirectory(prefix="sizebook-")

    def __enter__(self) -> _FileVersions:
        return self

    def __exit__(self, *_: object) -> None:
        self._folder.cleanup()

    def fetch(self, differences: Iterable[FileDiff]) -> None:
        """Fetch both versions of the specs that differ.

        Raises:
            CannotRead: if one is missing.
        """
        wanted = {
            oid: Kept("file", oid, self._path(oid).name)
            for one in differences
            for oid in (one.before, one.after)
            if oid and _is_spec(one.path) and not self._path(oid).exists()
        }
        list(write_out(self._repository, wanted.values(), Path(self._folder.name), most=MOST_BYTES))

    def changes(
        self, commit: CommitHeader, differences: Sequence[FileDiff], names: Names, only: str = ""
    ) -> Iterator[FileChange]:
        """What a commit changed, formats first; a format that builds on a changed file is one of them.

        With `only`, no other format is looked at that builds on a changed file.
        """
        differ = [one for one in differences if one.before != one.after and _is_spec(one.path)]
        parent = commit.parents[0] if commit.parents else ""
        built = self._built_on({one.path for one in differ}, commit.oid, parent, only)
        # the newer version first: its standard is used for one with errors in the older
        new = self._files({one.path: one.after for one in [*differ, *built] if one.after}, commit.oid)
        old = self._files({one.path: one.before for one in [*differ, *built] if one.before}, parent)
        found = matches(old, new)
        by_name = {(one.kind, one.id): one for one in found}
        beside = {one.path for one in built}
        for file in changed_files(found, old, new, names):
            if file.changes or file.file not in beside:
                yield self._with_revision(file, by_name.get((file.kind, file.id)), commit.oid)

    def _built_on(self, changed: set[str], commit: str, parent: str, only: str) -> list[FileDiff]:
        """The formats whose file a commit did not change, but a file that they build on."""
        if not parent or not any(_is_format(one) or one.startswith(f"{_STANDARDS}/") for one in changed):
            return []
        new, old = self._kept(commit), self._kept(parent)
        same = [
            FileDiff(name, old[name], oid)
            for name, oid in new.items()
            if only in {"", name} and _is_format(name) and name not in changed and name in old
        ]
        self.fetch(same)
        return [one for one in same if changed & set(self.bases(one.path, commit))]

    def bases(self, name: str, commit: str) -> tuple[str, ...]:
        """The files that a format builds on in a commit."""
        found: list[str] = []
        while (oid := self._kept(commit).get(name)) and name not in found[:-1]:
            self.fetch([FileDiff(name, "", oid)])
            path = self._path(oid)
            text = path.read_bytes() if path.exists() else b""
            named = _BUILDS_ON.search(text) if b"standard" in text or b"variant_of" in text else None
            if named is None:
                break
            key, ident = named[1].decode("ascii"), named[2].decode("ascii")
            name = f"{_FORMATS if key == 'variant_of' else _STANDARDS}/{ident}.yaml"
            found.append(name)
        return tuple(found)

    def _kept(self, commit: str) -> dict[str, str]:
        """The formats and body standards of a commit with the names of their contents."""
        if commit not in self._listed:
            found = (self._repository.kept(commit, self._repository.prefix) if commit else None) or ()
            self._listed[commit] = {
                one.path: one.oid
                for one in found
                if one.what == "file" and _is_spec(one.path) and one.path.startswith(_BASES)
            }
        return self._listed[commit]

    def _with_revision(self, file: ChangedFile, match: Match | None, commit: str) -> FileChange:
        spec = (match.new or match.old) if match else None
        if spec is None or spec.kind != "size-format":
            return FileChange(file)
        record, note = spec.record, ""
        if (commit, record.standard) in self._later_used:
            note = f"its body standard {record.standard} has errors in this commit; a later version is used"
        return FileChange(file, record.revision, record.effective, record.why, note)

    def _files(self, oids: Mapping[str, str], commit: str) -> Files:
        files = Files(
            Book(Path(self._folder.name)),
            "",
            {},
            {},
            {name: self._path(oid) for name, oid in oids.items()},
        )
        for name, oid in sorted(oids.items()):
            reading = self._reading(name, oid, commit)
            if reading.spec is None:
                files.broken[name] = reading.stage
            else:
                files.valid[name] = reading.spec
                files.book.specs.setdefault(reading.spec.kind, {})[reading.spec.id] = reading.spec
        return files

    def _reading(self, name: str, oid: str, commit: str) -> SpecReading:
        """A file as a commit had it; a format with what it builds on as that commit had it."""
        book = None
        bases = self.bases(name, commit) if _is_format(name) else ()
        if bases:
            book = self._standards(commit)
            formats = [one for one in bases if _is_format(one)]
            if len(formats) == 1 and (base_oid := self._kept(commit).get(formats[0])):
                spec = self._reading(formats[0], base_oid, commit).spec
                if spec is not None:
                    book = Book(book.root, {**book.specs, "size-format": {spec.id: spec}})
        key = name, oid, commit if bases else ""
        if key not in self._readings:
            self._readings[key] = read_spec(self._path(oid), name, name, book)
        return self._readings[key]

    def _standards(self, commit: str) -> Book:
        """The body standards of a commit; for one with errors, the next version that has none."""
        if "HEAD" not in self._books and commit != "HEAD":
            self._standards("HEAD")
        if commit not in self._books:
            book = self._books[commit] = Book(Path(self._folder.name))
            kept: dict[str, str] = {}
            with contextlib.suppress(CannotRead):  # the format is then read without a standard
                kept = {
                    name: oid for name, oid in self._kept(commit).items() if name.startswith(f"{_STANDARDS}/")
                }
                self.fetch(FileDiff(name, "", oid) for name, oid in kept.items())
            for name, oid in kept.items():
                spec = read_spec(self._path(oid), name, name).spec
                ident = Path(name).stem
                if spec is not None:
                    self._later[ident] = spec
                elif ident in self._later:
                    self._later_used.add((commit, ident))
                if ident in self._later:
                    book.specs.setdefault("body-standard", {})[ident] = self._later[ident]
        return self._books[commit]

    def _path(self, oid: str) -> Path:
        return Path(self._folder.name) / f"{oid}.yaml"


def _is_spec(path: str) -> bool:
    """Whether a path is that of a spec; hidden files and folders are no part of a book."""
    return path.endswith((".yaml", ".yml")) and not any(part.startswith(".") for part in path.split("/"))


def _is_format(path: str) -> bool:
    return path.startswith(f"{_FORMATS}/")
