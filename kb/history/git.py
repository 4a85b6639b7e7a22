"""The one place that runs git: it reads, and nothing that a repository is set to can run a program.

A repository travels with its own configuration, and many of its keys name programs. Four measures keep them
from running: only commands are used that read objects and refs (`rev-parse`, `rev-list`, `merge-base`,
`cat-file`, `ls-tree`, `diff-tree`, `config`), keys that name programs are overridden, nothing is fetched,
and no variable of the environment passes that names a program or a file to write.

The reader's own settings are still read: `safe.directory` there decides which repositories of other users
git may open.
"""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Literal

from kb.book.finding import one_line
from kb.errors import SizebookError

NO_GIT = "git is not installed; give two folders to compare"

_OVERRIDDEN = {
    "core.alternateRefsCommand": "",
    "core.askPass": "",
    "core.editor": "false",
    "core.fsmonitor": "false",
    "core.gitProxy": "none",
    "core.hooksPath": os.devnull,
    "core.pager": "cat",
    "core.sshCommand": "false",
    "credential.helper": "",
    "diff.external": "",
    "gpg.program": "false",
    "gpg.ssh.program": "false",
    "gpg.x509.program": "false",
    "log.showSignature": "false",
    "protocol.allow": "never",
    "uploadpack.packObjectsHook": "",
}
"""Keys that name programs, with a value that names none. Keys with a name of their own in the middle
(`filter.*`, `diff.*`, `remote.*`) cannot be overridden; no command that is used here reads them."""

_ENVIRONMENT = {
    "GIT_ALLOW_PROTOCOL": "none",
    "GIT_ASKPASS": "",
    "GIT_ATTR_NOSYSTEM": "1",
    "GIT_LITERAL_PATHSPECS": "1",
    "GIT_NO_LAZY_FETCH": "1",
    "GIT_OPTIONAL_LOCKS": "0",
    "GIT_PAGER": "cat",
    "GIT_TERMINAL_PROMPT": "0",
    "LC_ALL": "C",
}
"""Git reads without prompts, fetches, pager or writes, and its messages are in English."""

_PASSED = (
    "GIT_ALTERNATE_OBJECT_DIRECTORIES",
    "GIT_CEILING_DIRECTORIES",
    "GIT_COMMON_DIR",
    "GIT_CONFIG_",
    "GIT_DIR",
    "GIT_DISCOVERY_ACROSS_FILESYSTEM",
    "GIT_NAMESPACE",
    "GIT_OBJECT_DIRECTORY",
    "GIT_QUARANTINE_PATH",
    "GIT_WORK_TREE",
)
"""Variables of git that say where the repository is and whose configuration is read."""


class CannotRead(SizebookError):  # noqa: N818 - reported to the reader in one line
    """A version cannot be read."""


def run(folder: Path, *words: str, given: bytes | None = None) -> subprocess.CompletedProcess[bytes]:
    """Run a command of git that reads; `given` is its standard input.

    Raises:
        CannotRead: if git is not installed.
    """
    settings = [word for key, value in _OVERRIDDEN.items() for word in ("-c", f"{key}={value}")]
    try:
        return subprocess.run(
            ["git", "--no-pager", *settings, "-C", str(folder), *words],
            input=given,
            stdin=None if given is not None else subprocess.DEVNULL,
            capture_output=True,
            check=False,
            env=_environment(os.environ),
        )
    except FileNotFoundError as error:
        raise CannotRead(NO_GIT) from error


def _environment(own: Mapping[str, str]) -> dict[str, str]:
    passed = {
        name: value for name, value in own.items() if not name.startswith("GIT_") or name.startswith(_PASSED)
    }
    return {**passed, **_ENVIRONMENT}


def reason(done: subprocess.CompletedProcess[bytes]) -> str:
    """Why git refused, in one line; of a repository that another user owns also what to do."""
    lines = os.fsdecode(done.stderr).strip().splitlines() or ["git gives no reason"]
    first = next((one for one in lines if one.startswith("fatal: ")), lines[0])
    first = first.removeprefix("fatal: ").removeprefix("error: ")
    _, dubious, place = first.partition("dubious ownership in repository at ")
    if dubious:
        where = place.strip("'")
        first = (
            f"another user owns the repository {where}, so git does not read it; if you trust it, run "
            f"`git config --global --add safe.directory {where}`"
        )
    return one_line(first)


DEEPER = "fetch more of the history with `git fetch --deepen=N` (or `--unshallow` for all of it)"

_MOST_AT_ONCE = 50
"""Versions of one file that are read together."""


@dataclass(frozen=True, slots=True)
class Kept:
    """One thing in a tree: its path below the folder, with forward slashes."""

    what: Literal["file", "link", "submodule"]
    oid: str
    path: str


_WHAT: dict[str, Literal["file", "link", "submodule"]] = {
    "100644": "file",
    "100755": "file",
    "100664": "file",
    "120000": "link",
    "160000": "submodule",
}


@dataclass(frozen=True, slots=True)
class FileDiff:
    """A file that a commit changed: its path below the folder, its objects before and after, "" for none."""

    path: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class CommitHeader:
    """A commit: its name in full, its parents, when it was made, the first line of its message."""

    oid: str
    parents: tuple[str, ...]
    moment: str
    subject: str


class Repository:
    """A repository, with a work tree or bare, by a folder in it."""

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
    def partial(self) -> bool:
        """Whether git fetches the files of a commit only when they are needed."""
        return b"true" in self._run("config", "--type=bool", "--get-regexp", r"^remote\..*\.promisor$").stdout

    @cached_property
    def refusal(self) -> str:
        """Why git will not read here, "" when it does."""
        done = self._run("rev-parse", "--git-dir")
        return "" if done.returncode == 0 else reason(done)

    def commit(self, name: str) -> str | None:
        """The commit that a name refers to.

        Raises:
            CannotRead: if the name is known and its commit is missing.
        """
        if not name or name.startswith("-") or "\0" in name:
            return None
        done = self._run("rev-parse", "--verify", "--quiet", "--end-of-options", f"{name}^{{commit}}")
        if done.returncode == 0:
            return done.stdout.decode("ascii").strip()
        oid = self._run("rev-parse", "--verify", "--quiet", "--end-of-options", name).stdout.decode().strip()
        if oid and self._run("cat-file", "-e", oid).returncode != 0:
            raise self._missing(f"commit {oid[:12]} of {one_line(name, 80)}")
        return None

    def said(self, commit: str) -> tuple[str, str]:
        """When a commit was made, with the offset from universal time, and the first line of its message."""
        (one,) = self._commits("--max-count=1", commit) or (CommitHeader(commit, (), "", ""),)
        return one_line(one.moment, 40), one_line(one.subject, 80)

    def commits(
        self, most: int, *, start: str = "HEAD", paths: Sequence[str] = (".",)
    ) -> tuple[CommitHeader, ...]:
        """The last commits along the main line that changed paths below the folder, the newest first.

        Raises:
            CannotRead: if part of the history is missing.
        """
        if self.commit(start) is None:
            return ()
        return self._commits("--first-parent", f"--max-count={most}", start, "--", *paths)

    def merge_base(self, one: str, other: str) -> str | None:
        """The last commit that two commits have in common; none when they have none, as far as it is here.

        Raises:
            CannotRead: if part of the history is missing.
        """
        done = self._run("merge-base", one, other)
        if done.returncode > 1:
            raise self._missing(reason(done))
        return done.stdout.decode("ascii").split()[0] if done.returncode == 0 else None

    @cached_property
    def prefix(self) -> str:
        """The folder's path from the top, "" for the top."""
        return os.fsdecode(self._run("rev-parse", "--show-prefix").stdout).rstrip("\n").rstrip("/")

    def touching(self, text: str, file: str, *, most: int) -> tuple[str, ...]:
        """The last commits that brought a text into a file of the folder, or took it out, the newest first.

        Raises:
            CannotRead: if part of the history is missing.
        """
        listed = self._run("rev-list", "HEAD", "--", file)
        if listed.returncode != 0:
            raise self._missing(reason(listed))
        differences = self._differences(listed.stdout, file)
        changed = [(commit, one) for commit, files in differences.items() for one in files]
        found: list[str] = []
        for begin in range(0, len(changed), _MOST_AT_ONCE):
            some = changed[begin : begin + _MOST_AT_ONCE]
            read = self.contents([oid for _, one in some for oid in (one.before, one.after) if oid])
            sought = text.encode()
            for commit, one in some:
                if read.get(one.before, b"").count(sought) != read.get(one.after, b"").count(sought):
                    found.append(commit)
            if len(found) >= most:
                break
        return tuple(found[:most])

    def differences(
        self, commits: Sequence[CommitHeader], path: str = "."
    ) -> dict[str, tuple[FileDiff, ...]]:
        """The files below a path that each commit changed against its first parent, in order of their paths.

        A link or submodule is no file. A commit that changed no file is left out.

        Raises:
            CannotRead: if part of a commit is missing.
        """
        lines = "".join(f"{' '.join((one.oid, *one.parents[:1]))}\n" for one in commits)
        return self._differences(lines.encode("ascii"), path)

    def _differences(self, lines: bytes, path: str) -> dict[str, tuple[FileDiff, ...]]:
        words = ("--stdin", "-r", "-z", "--root", "--raw", "--no-renames", "--no-abbrev", "--no-ext-diff")
        done = self._run("diff-tree", *words, "--", path, given=lines)
        if done.returncode != 0:
            raise self._missing(reason(done))
        above = f"{prefix}/" if (prefix := self.prefix) else ""
        found: dict[str, list[FileDiff]] = {}
        for commit, file, before, after in _diff_entries(os.fsdecode(done.stdout).split("\0")):
            found.setdefault(commit, []).append(FileDiff(file.removeprefix(above), before, after))
        return {commit: tuple(files) for commit, files in found.items()}

    def kept(self, commit: str, folder: str) -> tuple[Kept, ...] | None:
        """All that a folder of a commit holds, by path from the top; None if the commit has no such folder.

        Raises:
            CannotRead: if part of the commit is missing.
        """
        tree = commit
        if folder:
            row = self._listed("ls-tree", "-z", "--full-tree", commit, "--", folder)
            entry = row[0].partition(b"\t")[0].decode("ascii").split() if row else []
            if not entry or entry[1] != "tree":
                return None
            tree = entry[2]
        found = [_kept(line) for line in self._listed("ls-tree", "-r", "-z", "--full-tree", tree)]
        return tuple(sorted(found, key=lambda one: one.path))

    def sizes(self, oids: Sequence[str]) -> dict[str, int]:
        wanted = "".join(f"{oid}\n" for oid in dict.fromkeys(oids)).encode("ascii")
        rows = self._run("cat-file", "--batch-check", given=wanted).stdout.decode("ascii").splitlines()
        split_rows = [row.split() for row in rows]
        return {row[0]: int(row[2]) for row in split_rows if len(row) == 3 and row[2].isdigit()}

    def contents(self, oids: Sequence[str]) -> dict[str, bytes]:
        """The bytes of files.

        Raises:
            CannotRead: if one of them is missing.
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
            left = next(oid for oid in wanted if oid not in found)
            raise self._missing(f"file {left[:12]} of that version")
        return found

    def _commits(self, *words: str) -> tuple[CommitHeader, ...]:
        form = ("--no-commit-header", "--encoding=UTF-8", "--format=%H%x1f%P%x1f%cI%x1f%s%x1e")
        done = self._run("rev-list", *form, *words)
        if done.returncode != 0:
            raise self._missing(reason(done))
        split_rows = [
            one.strip("\n").split("\x1f", 3) for one in done.stdout.decode("utf-8", "replace").split("\x1e")
        ]
        rows = [one for one in split_rows if len(one) == 4]
        return tuple(
            CommitHeader(oid, tuple(parents.split()), moment, subject)
            for oid, parents, moment, subject in rows
        )

    def _listed(self, *words: str) -> list[bytes]:
        done = self._run(*words)
        if done.returncode != 0:
            raise self._missing(reason(done))
        return [one for one in done.stdout.split(b"\0") if one]

    def _missing(self, what: str) -> CannotRead:
        """That something of the repository is not there, and how to get it."""
        if self.shallow:
            return CannotRead(f"{what} is not here: this clone is shallow; {DEEPER}")
        if self.partial:
            words = "this clone is partial; `git fetch --refetch --no-filter` fetches all of it"
            return CannotRead(f"{what} was never fetched: {words}")
        words = "the repository is damaged; `git fsck` lists what is missing, and another clone may have it"
        return CannotRead(f"{what} cannot be read: {words}")

    def _run(self, *words: str, given: bytes | None = None) -> subprocess.CompletedProcess[bytes]:
        return run(self._folder, *words, given=given)


def _kept(line: bytes) -> Kept:
    head, _, path = line.partition(b"\t")
    mode, _, oid = head.decode("ascii").split()
    return Kept(_WHAT.get(mode, "file"), oid, os.fsdecode(path))


def _diff_entries(words: Sequence[str]) -> Iterator[tuple[str, str, str, str]]:
    """Commit, path, object before and object after of each entry that `diff-tree --stdin -z` lists."""
    commit = ""
    following = iter(words)
    for word in following:
        if not word.startswith(":"):
            commit = word
            continue
        mode_before, mode_after, before, after, _ = word[1:].split()
        path = next(following, "")
        yield (
            commit,
            path,
            before if _WHAT.get(mode_before) == "file" else "",
            after if _WHAT.get(mode_after) == "file" else "",
        )


# --- a version written out --------------------------------------------------------------------


def write_out(
    repository: Repository, kept: Iterable[Kept], into: Path, *, most: int
) -> Iterator[tuple[str, str]]:
    """Write the specs of a tree into an empty folder; give path and reason of what could not be written.

    A file of more bytes than `most` is made as long, and empty.
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
    sizes = repository.sizes([one.oid for one in files])
    small = [one for one in files if sizes.get(one.oid, 0) <= most]
    bytes_of = repository.contents([one.oid for one in [*small, *links]])
    try:
        for one in files:
            with open(_made_room(into, one.path), "xb") as file:
                if one.oid not in bytes_of:
                    file.truncate(sizes[one.oid])
                else:
                    file.write(bytes_of[one.oid])
        for one in links:  # last of all, so that no file is ever written through a link
            os.symlink(bytes_of[one.oid], os.fsencode(_made_room(into, one.path)))
    except FileExistsError as error:
        raise CannotRead("that version has two files with one name") from error


def _made_room(into: Path, path: str) -> Path:
    target = into / path
    if not target.parent.resolve().is_relative_to(into.resolve()):
        raise CannotRead("that version has a folder that is a link to the outside")
    target.parent.mkdir(parents=True, exist_ok=True)
    return target


def _safe(path: str) -> bool:
    return not path.startswith("/") and not {"", ".", ".."} & set(path.split("/"))
