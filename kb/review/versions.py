"""Which two versions of a book are compared, and where their files lie while they are."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path, PurePosixPath

from kb.book.finding import one_line
from kb.book.load import TOP_FILES, book_folder
from kb.book.selection import one_book, shown_path
from kb.book.source import MOST_BYTES
from kb.history.git import DEEPER, CannotRead, Repository, write_out
from kb.history.versions import WORK_TREE, Side, Sides, Version

_PLAINLY_A_PATH = (".", "/", "~")


@contextmanager
def sides(base: str, head: str | None, book: Path | None) -> Iterator[Sides]:
    """Both versions of a book as folders, for as long as they are needed.

    Raises:
        CannotRead: if a version cannot be had, in one line.
        SelectionError: if the book on disk cannot be.
    """
    repository = Repository(book if book is not None and book.is_dir() else Path())
    commits = [_commit(repository, one) for one in (base, head)]
    with ExitStack() as stack:
        into = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="sizebook-")))
        opener = _Opener(repository, book, into)
        notes = list(_taken_for(repository, base, head))
        if commits[0] is not None:
            tip = commits[1] or (repository.commit("HEAD") if head is None else None)
            commits[0] = _since(repository, (base, commits[0]), (head or "HEAD", tip), notes)
        later = opener.side(head, commits[1])
        earlier = opener.side(base, commits[0])
        yield Sides(earlier, later, (*notes, *opener.notes))


def _is_folder(name: str) -> bool:
    return os.path.isdir(name)  # of a name that no file can have, this says no


def _commit(repository: Repository, name: str | None) -> str | None:
    """The commit of a name that is a revision; a path with a dot or slash in front is a folder."""
    folder = name is not None and _is_folder(name)
    if name is None or (folder and (name.startswith(_PLAINLY_A_PATH) or not repository.readable)):
        return None
    found = repository.commit(name)
    if found is None and not folder:
        raise CannotRead(_unknown(repository, name))
    return found


def _unknown(repository: Repository, name: str) -> str:
    shown = one_line(name, 80)
    if repository.refusal:
        return f"folder {shown} does not exist, and revisions cannot be read here: {repository.refusal}"
    if repository.shallow:
        return f"revision {shown} is not in this clone, which is shallow; {DEEPER}"
    return f"{shown} is not a revision or folder here"


def _taken_for(repository: Repository, *names: str | None) -> Iterator[str]:
    for name in names:
        if not name or name.startswith(_PLAINLY_A_PATH) or not _is_folder(name):
            continue
        if repository.readable and repository.commit(name):
            yield f"{one_line(name, 80)} is a revision and a folder; the revision is used"


def _since(
    repository: Repository, base: tuple[str, str], head: tuple[str, str | None], notes: list[str]
) -> str:
    """The commit to compare with: where the two histories part, or the base as it is where they never met."""
    (asked, start), (other, tip) = base, head
    if tip is None:
        return start
    found = repository.merge_base(start, tip)
    words = f"{one_line(asked, 80)} and {one_line(other, 80)}"
    if found is None and repository.shallow:
        raise CannotRead(f"the common commit of {words} is not here: this clone is shallow; {DEEPER}")
    if found is None:
        notes.append(f"{words} have no common commit; they are compared directly")
        return start
    if found != start:
        notes.append(f"compared from {found[:12]}, the last common commit of {words}")
    return found


class _Opener:
    """Lays versions out as folders."""

    def __init__(self, repository: Repository, book: Path | None, into: Path) -> None:
        self._repository, self._book, self._into = repository, book, into
        self.notes: list[str] = []

    def side(self, asked: str | None, commit: str | None) -> Side:
        """One version."""
        if commit is not None:
            return self._revision(asked or "", commit)
        found = one_book(self._book if asked is None else Path(asked))
        named = one_line(asked, 80) if asked is not None else WORK_TREE
        return Side(Version(named, "", found.shown), found.root)

    def _revision(self, asked: str, commit: str) -> Side:
        folder = self._on_disk()
        if folder is None or self._repository.kept(commit, folder) is None:
            folder = self._elsewhere(asked, commit, folder)
        root = self._into / f"{len(list(self._into.iterdir()))}"
        root.mkdir()
        shown = self._shown(folder or "")
        version = Version(one_line(asked, 80), commit, shown, *self._repository.said(commit))
        kept = () if folder is None else self._repository.kept(commit, folder) or ()
        left_out = write_out(self._repository, kept, root, most=MOST_BYTES)
        unread = tuple(f"{self._joined(folder, path)} of {version.words}: {why}" for path, why in left_out)
        return Side(version, root, unread)

    def _joined(self, folder: str | None, path: str) -> str:
        shown = self._shown(folder or "")
        return one_line(path if shown in {"", "."} else f"{shown}/{path}")

    def _on_disk(self) -> str | None:
        """The book's path below the top, as the work tree or `--book` has it; none when that says nothing."""
        top = self._repository.top
        if top is None:
            return self._book.as_posix().strip("/").removeprefix("./") if self._book else None
        folder = book_folder(self._book or Path())
        if folder is None:
            return self._book.as_posix().strip("/").removeprefix("./") if self._book else None
        real, above = Path(os.path.realpath(folder)), Path(os.path.realpath(top))
        if not real.is_relative_to(above):
            return None
        return "" if real == above else real.relative_to(above).as_posix()

    def _elsewhere(self, asked: str, commit: str, folder: str | None) -> str | None:
        """The one book that a commit holds; none when it holds no book at all."""
        kept = self._repository.kept(commit, "") or ()
        found = [one.path for one in kept if PurePosixPath(one.path).name == TOP_FILES["plant"]]
        places = sorted(PurePosixPath(one).parent.as_posix().removeprefix(".") for one in found)
        where = f"{one_line(asked, 80)} ({commit[:12]})"
        if not places:
            self.notes.append(f"{where} has no book; everything in the other one is new")
            return None
        if len(places) > 1:
            listed = ", ".join(one_line(one, 80) or "the top folder" for one in places[:6])
            raise CannotRead(f"{where} has several books; give --book with one of {listed}")
        if folder is not None:
            self.notes.append(f"in {where} the book is in {one_line(places[0], 80) or 'the top folder'}")
        return places[0]

    def _shown(self, folder: str) -> str:
        top = self._repository.top
        return folder if top is None else shown_path(top / folder)
