"""The log of a book and the log of one format, from git: what each commit changed and what that means.

Only commits that changed the book or the format are read, and of them only the files that differ.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from kb.book.finding import one_line
from kb.book.load import FOLDERS, Book, SpecReading, read_spec
from kb.book.source import MOST_BYTES
from kb.history.change_types import Names
from kb.history.git import CannotRead, FileDiff, Kept, Repository, write_out
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


@dataclass(frozen=True, slots=True)
class FileChange:
    """One file that a commit changed; of a format also its revision, effective date and reason."""

    file: ChangedFile
    revision: int | None = None
    effective: str = ""
    why: str = ""

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

    The changes are the log of the format, the newest first. Several changes of one value are one line.
    """
    found: dict[str, ValueChange] = {}
    for file in reversed([one for one in changes if one.revision == revision]):
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
                tuple(versions.changes(differences.get(one.oid, ()), names)),
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

    Git is read when the first change is taken. Where it cannot be read, there is no change.
    """
    repository = Repository(root)
    try:
        if not repository.readable or repository.refusal:
            return
        with _FileVersions(repository) as versions:
            found = list(_file_log(repository, versions, ident, names, most))
    except CannotRead:
        return
    yield from found


def _file_log(
    repository: Repository, versions: _FileVersions, ident: str, names: Names, most: int
) -> Iterator[FileChange]:
    start = "HEAD"
    while ident:
        file, was = f"{_FORMATS}/{ident}.yaml", ""
        headers = repository.commits(most, start=start, path=file)
        differences = {
            commit: _with_other_names(each, file)
            for commit, each in repository.differences(headers, _FORMATS).items()
        }
        versions.fetch(one for each in differences.values() for one in each)
        for header in headers:
            most -= 1
            for change in versions.changes(differences.get(header.oid, ()), names):
                if (change.file.kind, change.file.id) == ("size-format", ident):
                    yield change
                    was = change.file.was
            if was and header.parents:
                start = header.parents[0]
                break
        ident = was


def _with_other_names(differences: Sequence[FileDiff], file: str) -> tuple[FileDiff, ...]:
    """The difference of a file; where a commit gave it another name, also all that came or went with it."""
    own = [one for one in differences if one.path == file]
    moved = [one for one in differences if not (one.before and one.after)]
    renamed = any(one.before for one in moved) and any(one.after for one in moved)
    return tuple(moved if renamed and set(own) & set(moved) else own)


# --- files as a commit had them ---------------------------------------------------------------


class _FileVersions:
    """Versions of files out of git, each fetched and read once, in a folder that is removed at the end."""

    def __init__(self, repository: Repository) -> None:
        self._repository = repository
        self._readings: dict[tuple[str, str], SpecReading] = {}
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
            (one.path, oid): Kept("file", oid, f"{oid}/{one.path}")
            for one in differences
            for oid in (one.before, one.after)
            if oid and _is_spec(one.path) and not self._path(one.path, oid).exists()
        }
        list(write_out(self._repository, wanted.values(), Path(self._folder.name), most=MOST_BYTES))

    def changes(self, differences: Sequence[FileDiff], names: Names) -> Iterator[FileChange]:
        """What a commit changed, formats first."""
        differ = [one for one in differences if one.before != one.after and _is_spec(one.path)]
        old = self._files({one.path: one.before for one in differ if one.before})
        new = self._files({one.path: one.after for one in differ if one.after})
        found = matches(old, new)
        by_name = {(one.kind, one.id): one for one in found}
        for file in changed_files(found, old, new, names):
            yield _with_revision(file, by_name.get((file.kind, file.id)))

    def _files(self, oids: Mapping[str, str]) -> Files:
        files = Files(
            Book(Path(self._folder.name)),
            "",
            {},
            {},
            {name: self._path(name, oid) for name, oid in oids.items()},
        )
        for name, oid in sorted(oids.items()):
            if (name, oid) not in self._readings:
                self._readings[name, oid] = read_spec(files.path(name), name, name)
            reading = self._readings[name, oid]
            if reading.spec is None:
                files.broken[name] = reading.stage
            else:
                files.valid[name] = reading.spec
                files.book.specs.setdefault(reading.spec.kind, {})[reading.spec.id] = reading.spec
        return files

    def _path(self, name: str, oid: str) -> Path:
        return Path(self._folder.name) / oid / name


def _is_spec(path: str) -> bool:
    """Whether a path is that of a spec; hidden files and folders are no part of a book."""
    return path.endswith((".yaml", ".yml")) and not any(part.startswith(".") for part in path.split("/"))


def _with_revision(file: ChangedFile, match: Match | None) -> FileChange:
    spec = (match.new or match.old) if match else None
    if spec is None or spec.kind != "size-format":
        return FileChange(file)
    record = spec.record
    return FileChange(file, record.revision, record.effective, record.why)
