"""What costs time to make again, kept as JSON in the user's cache folder; a book needs none of it.

An entry that is broken, changed by hand, or of something else is no entry. A folder that cannot be read or
written costs time alone.
"""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any, TypeVar

FOLDER = "SIZEBOOK_CACHE"
"""Environment variable that names another folder."""

DAYS = "SIZEBOOK_CACHE_DAYS"
"""Environment variable: days after its last use until an entry is removed; with 0 nothing is kept."""

USUAL_DAYS = 90.0

MOST_BYTES = 100_000_000
"""Size of all entries of one kind; the least recently used go first."""

LARGEST = 2_000_000
"""Size of an entry that is read; that of the largest demo stop is about 1 % of it."""

DAY = 86_400.0

Entry = TypeVar("Entry")

watchers: list[Callable[[int, int], None]] = []
"""Each is called when an entry is made that takes long: how many are made in this run, and of how many."""
_made = _wanted = 0


def announced(entries: Iterable[Entry], count: int) -> Iterator[Entry]:
    """Entries that take long, `count` of them; the watchers hear of each as it is made."""
    global _made, _wanted  # noqa: PLW0603 - they count for the whole run
    _wanted += count
    for entry in entries:
        _made += 1
        for watcher in watchers:
            watcher(_made, _wanted)
        yield entry


def cache_folder(kind: str) -> Path | None:
    """The folder of one kind of entries; None where nothing is to be kept."""
    if not _days():
        return None
    if named := os.environ.get(FOLDER):
        return Path(named) / kind
    try:
        from platformdirs import user_cache_path  # noqa: PLC0415 - of the extras that keep entries
    except ImportError:
        return None
    usual = user_cache_path("sizebook")
    return usual / kind if usual.is_absolute() else None  # a user without a home folder has none


def _days() -> float:
    try:
        days = float(os.environ.get(DAYS, ""))
    except ValueError:
        return USUAL_DAYS
    return days if days >= 0 else USUAL_DAYS


def digest(content: Any) -> str:
    """64 hexadecimal digits that name some JSON."""
    text = json.dumps(content, ensure_ascii=True, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode("ascii")).hexdigest()


def made_by(sources: Iterable[Path], packages: Iterable[str]) -> list[str]:
    """Versions of packages and a digest of source files: what makes an entry, as a part of its name."""
    text = "".join(path.read_text(encoding="utf-8") for path in sorted(sources))
    return [*(_version(one) for one in packages), digest(text)]


def _version(package: str) -> str:
    try:
        return version(package)
    except PackageNotFoundError:
        return ""


def read_entry(folder: Path | None, name: str) -> Any:
    """The content of an entry; None where there is none, or none that is whole."""
    if folder is None:
        return None
    path = folder / f"{name}.json"
    try:
        if not path.is_file() or path.stat().st_size > LARGEST:  # a pipe or a device would never end
            return None
        record = json.loads(path.read_text(encoding="utf-8"))
        content = record["content"]
        if record["check"] != digest([name, content]):
            return None
    except (OSError, ValueError, LookupError, TypeError, RecursionError):
        return None
    with suppress(OSError):
        if time.time() - path.stat().st_mtime > DAY:
            os.utime(path)
    return content


def keep_entry(folder: Path | None, name: str, content: Any) -> None:
    """Write an entry in one step: a reader finds it whole or not at all. Remove what is out of use."""
    if folder is None:
        return
    text = json.dumps({"content": content, "check": digest([name, content])})
    with suppress(OSError):
        folder.mkdir(parents=True, exist_ok=True)
        number, beside = tempfile.mkstemp(dir=folder, prefix=".new-")
        try:
            with open(number, "w", encoding="utf-8") as file:
                file.write(text)
            os.replace(beside, folder / f"{name}.json")
        except BaseException:
            Path(beside).unlink(missing_ok=True)
            raise
    _remove_old(folder)


def _remove_old(folder: Path) -> None:
    """Remove entries that nobody has used for long, and the least recently used of too many."""
    used: list[tuple[float, int, str]] = []
    with suppress(OSError), os.scandir(folder) as entries:
        for entry in entries:
            if entry.name.endswith(".json") or entry.name.startswith(".new-"):
                with suppress(OSError):
                    state = entry.stat(follow_symlinks=False)
                    used.append((state.st_mtime, state.st_size, entry.path))
    oldest, size = time.time() - _days() * DAY, 0
    for last, bytes_, path in sorted(used, reverse=True):
        size += bytes_
        if last < oldest or size > MOST_BYTES:
            with suppress(OSError):
                os.unlink(path)
