"""The past of a book as its repository has it: commit by commit, what changed and what it means.

Only commits that touch the book are looked at, only the files that a commit changed are read, and only so
many commits are told as were asked for.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from kb.book.finding import one_line
from kb.book.source import MOST_BYTES
from kb.review.books import read_both
from kb.review.files import changed_files
from kb.review.history import CannotRead, Commit, Kept, Repository, write_out
from kb.review.matching import Match, matches
from kb.review.model import ChangedFile, Version
from kb.review.versions import Side, Sides

MOST_COMMITS = 30
"""Commits told unless another number is asked for."""

LONGEST = 150
"""Signs of a line; a longer one is cut in its middle."""

MOST_LINES = 3
"""Lines that the meaning of one file may take."""

NOT_ASKED = "The history of the files was not read for this copy."


@dataclass(frozen=True, slots=True)
class Moved:
    """One file that a commit changed.

    Attributes:
        file: what changed.
        revision: revision of a format after the commit; none where it has none.
        effective: day from which that revision is in force, "" likewise.
        why: its reason, "" likewise.
    """

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
        told = [one for one in self.file.changes if not set(one.kinds) <= {"editorial", "document"}]
        return tuple(one_line(_old_new(one.words, one.old, one.new, one.difference), LONGEST) for one in told)


def _old_new(words: str, old: str, new: str, difference: str) -> str:
    told = f"{words}: {old or 'none'} → {new or 'none'}"
    return f"{told} ({difference})" if difference else told


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
class Step:
    """One commit that touched the book.

    Attributes:
        commit: its name in full.
        moment: when it was committed, with the offset from universal time.
        subject: the first line of its message.
        files: what it changed, formats first; nothing where it cannot be read.
        first: whether the book begins with it.
    """

    commit: str
    moment: str
    subject: str
    files: tuple[Moved, ...]
    first: bool = False

    @property
    def day(self) -> str:
        """The day of the commit where it was made."""
        return self.moment[:10]


@dataclass(frozen=True, slots=True)
class Past:
    """The steps of a book, the newest first, and in a line why there are no more."""

    steps: tuple[Step, ...] = field(default=())
    why_no_more: str = NOT_ASKED

    def of_format(self, ident: str) -> Iterator[Moved]:
        """What happened to a format, the newest first, also under names it had before."""
        names = {ident}
        for step in self.steps:
            for one in step.files:
                if one.file.kind == "size-format" and one.file.id in names:
                    names |= {one.file.was} - {""}
                    yield one


def read_past(root: Path, most: int = MOST_COMMITS) -> Past:
    """Read the past of a book; git is read and never written.

    Args:
        root: the book's folder
        most: number of commits to tell

    Returns:
        The steps; none, with the reason, where there is no history to read.
    """
    repository = Repository(root)
    try:
        if not most:
            return Past()
        if not repository.readable:
            return Past((), "There is no git here to read the history of the files with.")
        if repository.refusal:
            return Past((), "The book lies in no repository that git can read: there is no history of files.")
        found = repository.commits(most + 1)
        shallow = repository.shallow
        return _past(repository, found, most, shallow)
    except CannotRead as error:
        return Past((), f"The history of the files cannot be read: {one_line(str(error))}.")


def _past(repository: Repository, found: Sequence[Commit], most: int, shallow: bool) -> Past:
    if not found:
        return Past((), "No commit of the repository holds the book yet.")
    cut_off = shallow and not found[-1].parents  # what stands before it was never fetched
    told = list(found[:most] if len(found) > most else found[:-1] if cut_off else found)
    folder = repository.prefix
    trees = [_specs(repository.kept(one.oid, folder) or ()) for one in found]
    steps = []
    for i, one in enumerate(told):
        before = trees[i + 1] if i + 1 < len(trees) else {}
        files = tuple(_moved(repository, before, trees[i]))
        steps.append(Step(one.oid, one.moment, one_line(one.subject), files, first=i + 1 == len(trees)))
    if len(found) > most:
        why = f"The last {most} commits that touch the book are told."
    elif cut_off:
        why = "Older commits were not fetched: this clone of the repository is shallow."
    else:
        why = "These are all commits that touch the book."
    return Past(tuple(steps), why)


def _specs(kept: Sequence[Kept]) -> dict[str, Kept]:
    return {one.path: one for one in kept if one.what == "file" and one.path.endswith((".yaml", ".yml"))}


def _moved(repository: Repository, before: dict[str, Kept], after: dict[str, Kept]) -> Iterator[Moved]:
    """What one commit changed; of both versions no more is read than the files that differ."""
    differ = [
        name
        for name in {**before, **after}
        if (before[name].oid if name in before else "") != (after[name].oid if name in after else "")
    ]
    with tempfile.TemporaryDirectory(prefix="sizebook-") as scratch:
        sides = []
        for side, tree in (("before", before), ("after", after)):
            root = Path(scratch) / side
            root.mkdir()
            list(write_out(repository, [tree[one] for one in differ if one in tree], root, most=MOST_BYTES))
            sides.append(Side(Version(side, "", ""), root))
        old, new = read_both(Sides(sides[0], sides[1], ()), whole=True)
        found = matches(old, new)
        by_name = {(one.kind, one.id): one for one in found}
        for file in changed_files(found, old, new):
            yield _with_revision(file, by_name.get((file.kind, file.id)))


def _with_revision(file: ChangedFile, match: Match | None) -> Moved:
    spec = (match.new or match.old) if match else None
    if spec is None or spec.kind != "size-format":
        return Moved(file)
    record = spec.record
    return Moved(file, record.revision, record.effective, record.why)
