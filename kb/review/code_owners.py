"""A code-owners file for a code host: who is asked to approve a change of each file of a book.

The form is the one that common hosts share: a path and its accounts on each line, the last line that fits a
file decides. A host asks one account of a line; the review lists all roles.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from pathlib import Path

from kb.book.load import FOLDERS, TOP_FILES, Book, Spec
from kb.history.git import CannotRead, Repository

PLACEHOLDER = "@SET-ACCOUNT-OF-"
"""What is written for an owner to whom plant.yaml gives no account."""

_NO_PATTERN = re.compile(r"[*?\[\]!\\\x00-\x1f\x7f]")


def code_owners(book: Book, top: Path) -> str:
    """The code-owners file of a book.

    Args:
        book: a book without faulty files
        top: the folder that paths begin at, the top of the repository

    Returns:
        The file: the book's folder first, then its folders, then its files, each in order of its path.

    Raises:
        CannotRead: if the book is not below the top, or its path cannot be a pattern.
    """
    plant = book.plant
    owners = plant.owners if plant else ()
    accounts = {one.owner: one.account for one in plant.accounts} if plant else {}
    prefix = _pattern(book.root, top)
    rows = [(prefix, tuple(owners)), *_owned_paths(book, prefix)]
    missing = [one for one in owners if one not in accounts]
    lines = [
        "# Written by `sizebook review --code-owners` from the owners in the book. Do not edit it by hand.",
        "# The last line that fits a file decides. A code host asks one account per line;",
        "# `sizebook review` lists every role that must approve a change.",
    ]
    if missing:
        lines += [
            f"# TO DO: plant.yaml has no account for: {', '.join(missing)}.",
            f"# Lines with {PLACEHOLDER}... have no effect until the key `accounts` is complete.",
        ]
    wide = max(len(path) for path, _ in rows)
    for path, roles in rows:
        given = [accounts.get(one, PLACEHOLDER + re.sub(r"\W+", "-", one)) for one in roles]
        lines.append(f"{path:{wide}} {' '.join(dict.fromkeys(given))}".rstrip())
    return "\n".join(lines) + "\n"


def top_of(root: Path) -> Path:
    """The top of the repository that a folder is in; the current folder where there is none."""
    repository = Repository(root)
    return (repository.top if repository.readable else None) or Path.cwd()


def _owned_paths(book: Book, prefix: str) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Folders, then files, with the roles that own them; what has no owner falls to the book's folder."""
    files = []
    for kind, folder in sorted(FOLDERS.items(), key=lambda one: one[1]):
        owned = {spec.id: _roles(spec) for spec in book.of(kind).values()}
        every = sorted({role for roles in owned.values() for role in roles})
        if every:
            yield f"{prefix}{folder}/", tuple(every)
        files += [(f"{prefix}{folder}/{ident}.yaml", roles) for ident, roles in owned.items() if roles]
    for kind, file in TOP_FILES.items():
        spec = book.only(kind)
        roles = _roles(spec) if spec else ()
        files += [(f"{prefix}{file}", roles)] if roles else []
    yield from sorted(files)


def _roles(spec: Spec) -> tuple[str, ...]:
    """The roles that own a file or what it holds; of waivers those that approve them."""
    record = spec.record
    if spec.kind == "limits":
        return tuple(sorted({one.owner for one in (*record.limits.values(), *record.settings.values())}))
    if spec.kind == "waivers":
        return tuple(sorted({one.approver for one in record.waivers}))
    return (record.owner,) if hasattr(record, "owner") else ()


def _pattern(root: Path, top: Path) -> str:
    """The book's folder as a pattern from the top, with a slash at both ends."""
    real, above = Path(os.path.realpath(root)), Path(os.path.realpath(top))
    if not real.is_relative_to(above):
        raise CannotRead(f"the book is not below {above}; run this at the top of its repository")
    below = "" if real == above else f"{real.relative_to(above).as_posix()}/"
    if _NO_PATTERN.search(below):
        raise CannotRead("a code-owners file cannot name the book's folder; rename the folder")
    return "/" + below.replace(" ", "\\ ").replace("#", "\\#")
