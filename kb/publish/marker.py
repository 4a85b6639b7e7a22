"""The marker of a site: its list of files, by which publish knows its folders and sees lost files."""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Iterator
from pathlib import Path

from kb.errors import SizebookError
from kb.output.io import write_atomic

MARKER = ".sizebook-site.json"
"""Name of the marker, at the top of the site. The same book gives the same marker."""

KIND = "sizebook-site"

BROWSING = frozenset({".DS_Store", "Thumbs.db", "desktop.ini"})
"""Files that desktops put into any folder that is opened."""


class PublishError(SizebookError):
    """Why no site could be published, in one line."""


def seal(site: Path, wanted: Iterable[str]) -> None:
    """Check that a built site is complete and write its marker.

    Args:
        site: folder of the built site
        wanted: files that the site must have, with forward slashes

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
