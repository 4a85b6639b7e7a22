"""What costs time to make again, kept as JSON in the user's cache folder; nothing that a book needs.

An entry that is broken, or that is of something else, is ignored. A folder that cannot be written costs
time and nothing more.
"""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from importlib.metadata import version
from pathlib import Path
from typing import Any, TypeVar

FOLDER = "SIZEBOOK_CACHE"
"""Environment variable that names another folder."""

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


def cache_folder(kind: str) -> Path:
    """The folder of one kind of entries."""
    from platformdirs import user_cache_path  # noqa: PLC0415 - a package of the extras that keep entries

    return Path(os.environ.get(FOLDER) or user_cache_path("sizebook")) / kind


def digest(said: Any) -> str:
    """64 hexadecimal digits that name some JSON."""
    text = json.dumps(said, ensure_ascii=True, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode("ascii")).hexdigest()


def made_by(sources: Iterable[Path], packages: Iterable[str]) -> list[str]:
    """Versions of packages and a digest of source files: what makes an entry, as a part of its name."""
    text = "".join(path.read_text(encoding="utf-8") for path in sorted(sources))
    return [*(version(one) for one in packages), digest(text)]


def read_entry(folder: Path, name: str) -> Any:
    """The content of an entry; None where there is none, or none that is whole."""
    try:
        record = json.loads((folder / f"{name}.json").read_text(encoding="utf-8"))
        content = record["content"]
        return content if record["check"] == digest([name, content]) else None
    except (OSError, ValueError, LookupError, TypeError, RecursionError):
        return None


def keep_entry(folder: Path, name: str, content: Any) -> None:
    """Write an entry in one step: a reader finds it whole or not at all."""
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
