"""Roles that must approve a change, and the code-owners file of a book."""

from __future__ import annotations

import os
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path

from kb.book.finding import Finding
from kb.book.load import FOLDERS, TOP_FILES, Book, Spec
from kb.history.change_types import Kind
from kb.history.git import CannotRead, Repository
from kb.history.value_diff import ChangedFile, ValueChange
from kb.history.versions import Match
from kb.review.model import Approval, FormerFails, Touched

APPROVED_BY: dict[Kind, tuple[str, ...]] = {
    "document": ("owner",),
    "target moved": ("owner",),
    "tightened": ("owner",),
    "widened": ("owner",),
    "tool": ("owner",),
    "material": ("owner", "stock.owner"),
    "interface": ("owner", "end.owner"),
    "limit": ("limits.*.owner",),
    "setting": ("settings.*.owner",),
    "waiver": ("waivers[].owner", "waivers[].approver"),
    "line": ("owner",),
    "plant": ("owners",),
    "floor": ("owner",),
    "changeover": ("owner",),
}
"""Owners who must approve each sort of change: keys of the changed file, or of one the format refers to.

Common practice, no source. So must the owners of limits that a format newly fails or nears.
"""


def approvals(
    found: Sequence[Match],
    files: Sequence[ChangedFile],
    touched: Sequence[Touched],
    *,
    new_findings: Sequence[Finding],
    former: Sequence[FormerFails],
    books: tuple[Book, Book],
) -> tuple[Approval, ...]:
    """Which roles must approve a change, and for what."""
    reasons: dict[str, dict[str, None]] = {}
    by_name = {(one.kind, one.id): one for one in found}
    for file in files:
        match = by_name.get((file.kind, file.id))
        for spec, book in ((match.old, books[0]), (match.new, books[1])) if match else ():
            for owner, why in _of_file(spec, book, file) if spec else ():
                reasons.setdefault(owner, {})[why] = None
    for owner, why in (*_of_limits(touched, new_findings, books[1]), *_of_former(former, books[0])):
        reasons.setdefault(owner, {})[why] = None
    return tuple(Approval(owner, tuple(reasons[owner])) for owner in sorted(reasons))


def _of_file(spec: Spec, book: Book, file: ChangedFile) -> Iterator[tuple[str, str]]:
    """Roles of one version of a file, with the sort of change they answer for."""
    name = file.id if file.id != file.kind else file.kind
    for state in (one for one in file.states if one not in {"changed", "no change in meaning"}):
        yield from ((owner, f"{name} {state}") for owner in _owners(spec, book, "owner"))
    if spec.kind == "size-format":
        yield from _of_station(spec, book, file)
    for kind in file.kinds:
        changes = [one for one in file.changes if kind in one.kinds]
        for key in APPROVED_BY.get(kind, ()):
            if key.startswith(("limits.", "settings.")):
                yield from _of_numbers(spec, kind, key.partition(".")[0], changes)
            elif key.startswith("waivers[]."):
                yield from _of_waivers(spec, key.rpartition(".")[2], changes)
            else:
                yield from ((owner, f"{kind} in {name}") for owner in _owners(spec, book, key))


def _of_station(spec: Spec, book: Book, file: ChangedFile) -> Iterator[tuple[str, str]]:
    """The roles that own most limits of the stations whose tools changed: necking for neck and flange."""
    sorts = {"tool", "interface"}
    stations = dict.fromkeys(one.key.split(".")[0] for one in file.changes if sorts & set(one.kinds))
    limits = book.limits.limits if book.limits else {}
    for station in stations:
        counts = Counter(one.owner for name, one in limits.items() if name.split(".")[0] == station)
        most = max(counts.values(), default=0)
        yield from ((owner, f"{station} of {file.id}") for owner in counts if counts[owner] == most)


def _owners(spec: Spec, book: Book, key: str) -> Iterator[str]:
    """The roles under a key of `APPROVED_BY`, in the file or in one that it refers to."""
    record = spec.record
    if key == "owner" and hasattr(record, "owner"):
        yield record.owner
    elif key == "owners" and spec.kind == "plant":
        yield from record.owners
    elif key in {"stock.owner", "end.owner"} and spec.kind == "size-format":
        ident = record.stock.material if key == "stock.owner" else record.end
        other = book.of("material" if key == "stock.owner" else "end").get(ident)
        if other is not None:
            yield other.record.owner


def _of_numbers(
    spec: Spec, kind: str, group: str, changes: Sequence[ValueChange]
) -> Iterator[tuple[str, str]]:
    """Owners of the limits or settings that changed."""
    if spec.kind == "limits":
        for name, one in getattr(spec.record, group).items():
            if any(f".{name}." in f".{change.key}." for change in changes):
                yield one.owner, f"{kind} {name}"


def _of_waivers(spec: Spec, key: str, changes: Sequence[ValueChange]) -> Iterator[tuple[str, str]]:
    """Owners or approvers of the waivers that changed."""
    texts = [f"{change.words} {change.old} {change.new}" for change in changes]
    for one in spec.record.waivers if spec.kind == "waivers" else ():
        if any(one.check in text and one.format in text for text in texts):
            yield getattr(one, key), f"waiver of {one.check} for {one.format}"


def _of_limits(
    touched: Sequence[Touched], new_findings: Sequence[Finding], book: Book
) -> Iterator[tuple[str, str]]:
    """Owners of limits that a format newly fails, or near which its margin is now reduced."""
    limits = book.limits.limits if book.limits else {}
    for one in new_findings:
        if one.name in limits:
            yield limits[one.name].owner, f"limit {one.name}"
    for format_ in touched:
        for margin in format_.margins:
            if margin.owner and margin.state in {"spent", "now fails"}:
                yield margin.owner, f"limit {margin.check}"


def _of_former(former: Sequence[FormerFails], book: Book) -> Iterator[tuple[str, str]]:
    """Owners of former limits that a format would fail."""
    limits = book.limits.limits if book.limits else {}
    for one in former:
        if one.check in limits:
            yield limits[one.check].owner, f"limit {one.check}, failed at the former numbers"


PLACEHOLDER = "@SET-ACCOUNT-OF-"
"""What is written for an owner to whom plant.yaml gives no account."""

_NO_PATTERN = re.compile(r"[*?\[\]!\\\x00-\x1f\x7f]")


def code_owners(book: Book, top: Path) -> str:
    """The code-owners file of a book.

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
