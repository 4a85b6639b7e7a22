"""A repository read from git: commits, trees and files as they were, never touching work tree or index."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Literal

from kb.book.finding import one_line

DEEPER = "fetch more of the history with `git fetch --deepen=N` (or `--unshallow` for all of it)"


class CannotRead(Exception):  # noqa: N818 - said to the reader in one line
    """A version cannot be had."""


@dataclass(frozen=True, slots=True)
class Kept:
    """One thing in a tree: its path below the folder asked for, with forward slashes."""

    what: Literal["file", "link", "submodule"]
    oid: str
    size: int
    path: str


_WHAT: dict[str, Literal["file", "link", "submodule"]] = {
    "100644": "file",
    "100755": "file",
    "100664": "file",
    "120000": "link",
    "160000": "submodule",
}


_QUIET = {"LC_ALL": "C", "GIT_OPTIONAL_LOCKS": "0", "GIT_TERMINAL_PROMPT": "0", "GIT_NO_LAZY_FETCH": "1"}
"""Nothing is asked, fetched or written while git reads."""


class Repository:
    """A repository, with a work tree or bare.

    Args:
        folder: a folder in it
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    @cached_property
    def readable(self) -> bool:
        """Whether there is a git to read it with."""
        return shutil.which("git") is not None

    @cached_property
    def top(self) -> Path | None:
        """The work tree's top folder; none in a bare repository."""
        done = self._run("rev-parse", "--show-toplevel")
        found = os.fsdecode(done.stdout).rstrip("\n")
        return Path(found) if done.returncode == 0 and found else None

    @cached_property
    def shallow(self) -> bool:
        """Whether part of the history was never fetched."""
        return self._run("rev-parse", "--is-shallow-repository").stdout.strip() == b"true"

    @cached_property
    def refusal(self) -> str:
        """Why git will not read here, "" when it does."""
        done = self._run("rev-parse", "--git-dir")
        return "" if done.returncode == 0 else _reason(done)

    def commit(self, name: str) -> str | None:
        """The commit that a name stands for."""
        if not name or name.startswith("-") or "\0" in name:
            return None
        done = self._run("rev-parse", "--verify", "--quiet", f"{name}^{{commit}}")
        return done.stdout.decode("ascii").strip() if done.returncode == 0 else None

    def said(self, commit: str) -> tuple[str, str]:
        """When a commit was made, with the offset from universal time, and the first line said of it."""
        form = ("--no-patch", "--no-show-signature", "--encoding=UTF-8", "--format=%cI%x1f%s")
        done = self._run("log", "--max-count=1", "--no-color", "--no-notes", *form, commit, "--")
        moment, _, subject = done.stdout.decode("utf-8", "replace").strip("\n").partition("\x1f")
        return one_line(moment, 40), one_line(subject, 80)

    def merge_base(self, one: str, other: str) -> str | None:
        """The last commit that two commits have in common; none when they have none, as far as it is here."""
        done = self._run("merge-base", one, other)
        return done.stdout.decode("ascii").split()[0] if done.returncode == 0 else None

    @property
    def prefix(self) -> str:
        """The folder's path from the top, "" for the top."""
        return os.fsdecode(self._run("rev-parse", "--show-prefix").stdout).rstrip("\n").rstrip("/")

    def touching(self, text: str, file: str, *, most: int) -> tuple[str, ...]:
        """The last commits that brought a text into a file of the folder, or took it out."""
        words = ("--no-patch", "--no-show-signature", f"--max-count={most}", "--format=%H", f"-S{text}")
        done = self._run("log", *words, "HEAD", "--", file)
        return tuple(done.stdout.decode("ascii", "replace").split()) if done.returncode == 0 else ()

    def kept(self, commit: str, folder: str) -> tuple[Kept, ...] | None:
        """All that a folder of a commit holds.

        Args:
            commit: the commit
            folder: path from the top, "" for the top

        Returns:
            What is there, by path; nothing when the commit has no such folder.

        Raises:
            CannotRead: if part of the commit was never fetched.
        """
        if self._run("cat-file", "-e", f"{commit}:{folder}").returncode != 0:
            return None
        done = self._run("ls-tree", "-r", "-z", "-l", "--full-tree", f"{commit}:{folder}")
        if done.returncode != 0:
            raise CannotRead(f"{_reason(done)}; {DEEPER}" if self.shallow else _reason(done))
        found = [_kept(line) for line in done.stdout.split(b"\0") if line]
        return tuple(sorted(found, key=lambda one: one.path))

    def contents(self, oids: Sequence[str]) -> dict[str, bytes]:
        """The bytes of files.

        Raises:
            CannotRead: if one of them was never fetched.
        """
        wanted = list(dict.fromkeys(oids))
        if not wanted:
            return {}
        done = self._run("cat-file", "--batch", given="".join(f"{oid}\n" for oid in wanted).encode("ascii"))
        found: dict[str, bytes] = {}
        rest, begin = done.stdout, 0
        while begin < len(rest):
            end = rest.index(b"\n", begin)
            oid, what, *size = rest[begin:end].decode("ascii").split()
            if what == "missing" or not size:
                break
            begin = end + 1 + int(size[0]) + 1
            found[oid] = rest[end + 1 : begin - 1]
        if len(found) < len(wanted):
            raise CannotRead("some files of that version were never fetched; `git fetch --refetch` gets them")
        return found

    def _run(self, *words: str, given: bytes | None = None) -> subprocess.CompletedProcess[bytes]:
        try:
            return subprocess.run(
                ["git", "-C", str(self._folder), *words],
                input=given,
                stdin=None if given is not None else subprocess.DEVNULL,
                capture_output=True,
                check=False,
                env={**os.environ, **_QUIET},
            )
        except FileNotFoundError as error:
            raise CannotRead("git is not here; give two folders to compare") from error


def _kept(line: bytes) -> Kept:
    head, _, path = line.partition(b"\t")
    mode, _, oid, size = head.decode("ascii").split()
    what = _WHAT.get(mode, "file")
    return Kept(what, oid, 0 if size == "-" else int(size), os.fsdecode(path))


def _reason(done: subprocess.CompletedProcess[bytes]) -> str:
    said = os.fsdecode(done.stderr).strip().splitlines() or ["git gives no reason"]
    return one_line(said[0].removeprefix("fatal: "))


# --- a version written out --------------------------------------------------------------------


def write_out(
    repository: Repository, kept: Iterable[Kept], into: Path, *, most: int
) -> Iterator[tuple[str, str]]:
    """Write the specs of a tree into an empty folder.

    Args:
        repository: where they are from
        kept: what the tree holds
        into: the folder
        most: bytes above which no spec is read; such a file is made as long, and empty

    Yields:
        Path and reason of what could not be written.
    """
    files: list[Kept] = []
    links: list[Kept] = []
    for one in kept:
        if one.what == "submodule":
            yield one.path, "a submodule, whose files another repository keeps"
        elif one.path.endswith((".yaml", ".yml")):
            if not _safe(one.path):
                yield one.path, "a path that no book can have"
            else:
                (links if one.what == "link" else files).append(one)
    small = [one for one in files if one.size <= most]
    bytes_of = repository.contents([one.oid for one in [*small, *links]])
    try:
        for one in files:
            with open(_made_room(into, one.path), "xb") as file:
                if one.size > most:
                    file.truncate(one.size)
                else:
                    file.write(bytes_of[one.oid])
        for one in links:  # last of all, so that no file is ever written through a link
            os.symlink(bytes_of[one.oid], os.fsencode(_made_room(into, one.path)))
    except FileExistsError as error:
        raise CannotRead("that version holds two files of one name") from error


def _made_room(into: Path, path: str) -> Path:
    target = into / path
    if not target.parent.resolve().is_relative_to(into.resolve()):
        raise CannotRead("that version holds a folder that is a link out of it")
    target.parent.mkdir(parents=True, exist_ok=True)
    return target


def _safe(path: str) -> bool:
    return not path.startswith("/") and not {"", ".", ".."} & set(path.split("/"))
