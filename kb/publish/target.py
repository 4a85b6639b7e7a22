"""The folder a site is published into: which folders may be, one publish at a time, the exchange at the end.

A publish works in a scratch folder beside the target, `.NAME.sizebook`. A lock in it says that a publish is
under way; the system takes the lock from a process that dies. A marker in it, an empty file `NAME.target`,
names the target, so that the next publish can clear what a killed one has written.
"""

from __future__ import annotations

import ctypes
import errno
import os
import shutil
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from filelock import FileLock, Timeout

from kb.publish.marker import PublishError, foreign, named, verify

LOCK = "lock"
OLD = "old"
"""Where the former site waits while the new one is put in its place, if the system cannot exchange them."""


def default_target(book: Path, draft: bool) -> Path:
    """The folder for a site when none is given; it is never inside the book.

    Args:
        book: the book's folder
        draft: whether the site is a draft

    Returns:
        `build/site` or `build/draft` below the current folder; if that is inside the book, `BOOK-site` or
        `BOOK-draft` beside the book.
    """
    name = "draft" if draft else "site"
    usual = Path("build") / name
    if not _within(Path(os.path.realpath(usual)), book):
        return usual
    real = Path(os.path.realpath(book))
    return real.parent / f"{real.name}-{name}"


@contextmanager
def publishing(target: Path, book: Path) -> Iterator[Path]:
    """Take a target for one publish.

    Args:
        target: folder of the site
        book: the book's folder

    Yields:
        An empty scratch folder beside the target. It is removed at the end.

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

    Args:
        site: folder of the sealed site, in the scratch folder
        target: folder of the site to replace

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
    """Whether a real path is a folder or below it, whatever the names that lead there."""
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
    for attempt in range(3):
        _check_scratch(scratch)
        scratch.mkdir(exist_ok=True)
        try:
            lock.acquire()
            break
        except Timeout as error:
            raise PublishError(f"another publish into {target} is running; wait until it ends") from error
        except FileNotFoundError:  # the other publish has just removed the folder
            if attempt == 2:
                raise
    return lock


def _check_scratch(scratch: Path) -> None:
    """Refuse a folder of the scratch folder's name that publish did not make."""
    if not os.path.lexists(scratch):
        return
    if not scratch.is_symlink() and scratch.is_dir():
        names = set(os.listdir(scratch))
        if names <= {LOCK} or _marker(scratch).name in names:
            return
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
