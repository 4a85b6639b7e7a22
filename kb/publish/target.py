"""The folder a site is published into: which folders may be, one publish at a time, the exchange at the end.

A publish works in a scratch folder beside the target, `.NAME.sizebook`. A lock in it says that a publish is
under way; the system takes the lock from a process that dies. An empty file `NAME.target` in it names the
target, so that the next publish can clear what a killed one has written. The marker of a site lists its
files: by it publish knows its folders and sees lost files.
"""

from __future__ import annotations

import ctypes
import errno
import json
import os
import shutil
import stat
import sys
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from filelock import FileLock, Timeout

from kb.errors import SizebookError
from kb.output.io import write_atomic

LOCK = "lock"
OLD = "old"
"""Where the former site waits while the new one is put in its place, if the system cannot exchange them."""


MARKER = ".sizebook-site.json"
"""Name of the marker, at the top of the site. The same book gives the same marker."""

KIND = "sizebook-site"

BROWSING = frozenset({".DS_Store", "Thumbs.db", "desktop.ini"})
"""Files that desktops put into any folder that is opened."""


class PublishError(SizebookError):
    """Why no site could be published, in one line."""


def default_target(book: Path, draft: bool) -> Path:
    """The folder for a site when none is given: `build/site` or `build/draft` below the current folder.

    If that is inside the book's folder, it is `BOOK-site` or `BOOK-draft` beside the book.
    """
    name = "draft" if draft else "site"
    usual = Path("build") / name
    if not _within(Path(os.path.realpath(usual)), book):
        return usual
    real = Path(os.path.realpath(book))
    return real.parent / f"{real.name}-{name}"


@contextmanager
def publishing(target: Path, book: Path) -> Iterator[Path]:
    """Take the folder of a site for one publish; the empty scratch folder given is removed at the end.

    Raises:
        PublishError: if the target may not be replaced, or another publish into it is under way.
        OSError: if a folder cannot be read or written.
    """
    real = Path(os.path.realpath(target))
    _check_place(target, real, book)
    _check_content(target, real)
    scratch = _scratch(real)
    real.parent.mkdir(parents=True, exist_ok=True)
    lock = _locked(scratch, target)
    try:
        _marker(scratch).touch()
        _clear(scratch, real)
        _check_content(target, real)
        work = scratch / "work"
        work.mkdir()
        yield work
    finally:
        with suppress(OSError):  # what cannot be removed now is removed by the next publish
            _clear(scratch, real)
            _marker(scratch).unlink()
            (scratch / LOCK).unlink()
            scratch.rmdir()
        lock.release()


def put_in_place(site: Path, target: Path) -> None:
    """Put a sealed site in the place of the target, inside `publishing`.

    On Linux this is one step, if the disk can do so: there is a whole site at any moment. Otherwise it takes
    two moves; after a kill between them the next publish first brings the former site back.

    Raises:
        PublishError: if the site is not complete, or the target may no longer be replaced.
        OSError: if the folders cannot be moved.
    """
    real = Path(os.path.realpath(target))
    verify(site)
    _check_content(target, real)
    if not real.exists():
        site.rename(real)
        return
    shutil.copymode(real, site)
    if not _exchange(site, real):
        real.rename(_scratch(real) / OLD)
        site.rename(real)


# --- the marker of a site ----------------------------------------------------------------------


def seal(site: Path, wanted: Iterable[str]) -> None:
    """Check that a built site has all the files wanted, with forward slashes, and write its marker.

    Raises:
        PublishError: if a file is missing or empty.
        OSError: if the marker cannot be written.
    """
    sizes = {name: (site / name).stat().st_size for name in _files(site)}
    _complete(dict.fromkeys(wanted, 1), {name: min(size, 1) for name, size in sizes.items()})
    record = {"kind": KIND, "version": 1, "files": dict(sorted(sizes.items()))}
    write_atomic(site / MARKER, json.dumps(record, indent=1, ensure_ascii=False) + "\n")


def verify(site: Path) -> None:
    """Check that a site has every file that its marker lists, in the size listed.

    Raises:
        PublishError: if a file is missing or has another size, or there is no marker.
    """
    listed = files_of(site)
    if listed is None:
        raise PublishError("the built site was changed from outside: its marker is missing")
    _complete(listed, {name: (site / name).stat().st_size for name in _files(site)})


def _complete(wanted: dict[str, int], there: dict[str, int]) -> None:
    lost = sorted(name for name, size in wanted.items() if there.get(name) != size)
    if lost:
        raise PublishError(
            f"the built site is not complete: {len(lost)} of {len(wanted)} files are missing or cut short "
            f"({named(lost)}); check the disk and publish again"
        )


def files_of(site: Path) -> dict[str, int] | None:
    """Sizes of the files that a site's marker lists, in bytes, by name; none without a valid marker."""
    try:
        record = json.loads((site / MARKER).read_text(encoding="utf-8"))
        if record["kind"] == KIND and all(isinstance(size, int) for size in record["files"].values()):
            return dict(record["files"])
    except (OSError, ValueError, LookupError, TypeError, AttributeError, RecursionError):
        pass
    return None


def foreign(site: Path) -> list[str]:
    """Files in a folder that no publish wrote, in order."""
    listed = files_of(site)
    invalid = [MARKER] if listed is None and os.path.lexists(site / MARKER) else []
    known = listed or {}
    return invalid + [one for one in _files(site) if one not in known and Path(one).name not in BROWSING]


def named(names: list[str]) -> str:
    """The first names of a list, and how many more there are.

    Example:
        >>> named(["a", "b", "c", "d", "e"])
        'a, b, c and 2 more'
    """
    more = f" and {len(names) - 3} more" if len(names) > 3 else ""
    return ", ".join(names[:3]) + more


def _files(folder: Path) -> Iterator[str]:
    """Names of the files and links below a folder in order, the marker left out."""
    for at, folders, names in os.walk(folder, onerror=_raise):
        folders.sort()
        links = [name for name in folders if os.path.islink(os.path.join(at, name))]
        for name in sorted([*names, *links]):
            path = Path(at, name).relative_to(folder).as_posix()
            if path != MARKER:
                yield path


def _raise(error: OSError) -> None:
    raise error


# --- which folders may be ---------------------------------------------------------------------


def _check_place(target: Path, real: Path, book: Path) -> None:
    if _same(real, book):
        raise PublishError(f"{target} is the book's folder; give another folder with --to")
    if _within(real, book):
        raise PublishError(f"{target} is inside the book; give a folder outside it with --to")
    if _within(Path(os.path.realpath(book)), real):
        raise PublishError(f"{target} contains the book; give another folder with --to")


def _check_content(target: Path, real: Path) -> None:
    """Refuse a folder that holds anything that publish did not write."""
    if not os.path.lexists(real):
        return
    if not real.is_dir():
        raise PublishError(f"{target} is not a folder; give a new or empty folder with --to")
    if os.path.lexists(real / ".git"):
        raise PublishError(f"{target} contains .git; give a folder that is not a repository with --to")
    strange = foreign(real)
    if strange:
        raise PublishError(
            f"{target} contains files that publish did not write ({named(strange)}); "
            "give a new or empty folder with --to, or move the files out"
        )


def _within(inner: Path, outer: Path) -> bool:
    """Whether a real path is a folder or below it, under any name."""
    return any(_same(one, outer) for one in (inner, *inner.parents))


def _same(one: Path, other: Path) -> bool:
    try:
        return one.samefile(other)
    except OSError:  # one that is not there
        return False


# --- one publish at a time --------------------------------------------------------------------


def _scratch(real: Path) -> Path:
    return real.parent / f".{real.name}.sizebook"


def _marker(scratch: Path) -> Path:
    return scratch / f"{scratch.name.removeprefix('.').removesuffix('.sizebook')}.target"


def _locked(scratch: Path, target: Path) -> FileLock:
    """Make the scratch folder and lock it; one that is there must be of a publish into the same target."""
    lock = FileLock(scratch / LOCK, timeout=0)
    running = PublishError(f"another publish into {target} is running; wait until it ends")
    for _ in range(3):
        _check_scratch(scratch)
        try:
            scratch.mkdir(exist_ok=True)
            lock.acquire()
        except (FileExistsError, FileNotFoundError):  # the other publish has just removed the folder
            continue
        except Timeout as error:
            raise running from error
        return lock
    raise running


def _check_scratch(scratch: Path) -> None:
    """Refuse a folder of the scratch folder's name that publish did not make."""
    try:
        names = set(os.listdir(scratch)) if stat.S_ISDIR(scratch.lstat().st_mode) else None
    except FileNotFoundError:  # there is none, or the other publish has just removed it
        return
    if names is None or not (names <= {LOCK} or _marker(scratch).name in names):
        raise PublishError(f"{scratch} was not written by publish; move it to another folder")


def _clear(scratch: Path, real: Path) -> None:
    """Bring back the former site if the new one did not take its place; remove the rest of the scratch."""
    old = scratch / OLD
    if old.exists() and not real.exists():
        old.rename(real)
    for left in scratch.iterdir():
        if left not in {scratch / LOCK, _marker(scratch)}:
            shutil.rmtree(left) if left.is_dir() and not left.is_symlink() else left.unlink()


# --- the exchange -----------------------------------------------------------------------------


def _exchange(one: Path, other: Path) -> bool:
    """Exchange two folders in one step; false where the system or the disk has no such step.

    Source:
        Linux manual page renameat2(2), flag RENAME_EXCHANGE (2).
    """
    call = getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None) if sys.platform == "linux" else None
    if call is None:
        return False
    here, exchange = -100, 2  # AT_FDCWD, RENAME_EXCHANGE
    if call(here, os.fsencode(one), here, os.fsencode(other), exchange) == 0:
        return True
    number = ctypes.get_errno()
    if number in {errno.ENOSYS, errno.EINVAL, errno.ENOTSUP}:
        return False
    raise OSError(number, os.strerror(number), str(other))
