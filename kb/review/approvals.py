"""Which roles must approve a change: roles from the book's own files, by sort of change."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from kb.book.finding import Finding
from kb.book.load import Book, Spec
from kb.history.versions import Match
from kb.review.model import Approval, ChangedFile, FormerFails, Kind, Touched, ValueChange

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

Common practice, no source. Beside them stand the owners of limits that a format comes to fail or to near.
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
    """Which roles must approve a change, and for what.

    Args:
        found: all files side by side
        files: those that changed
        touched: formats that are reached, with their margins
        new_findings: findings that are new
        former: values that pass now and fail at former numbers
        books: the older book and the newer one

    Returns:
        Roles in order of their names, each with what for.
    """
    told: dict[str, dict[str, None]] = {}
    by_name = {(one.kind, one.id): one for one in found}
    for file in files:
        match = by_name.get((file.kind, file.id))
        for spec, book in ((match.old, books[0]), (match.new, books[1])) if match else ():
            for owner, why in _of_file(spec, book, file) if spec else ():
                told.setdefault(owner, {})[why] = None
    for owner, why in (*_of_limits(touched, new_findings, books[1]), *_of_former(former, books[0])):
        told.setdefault(owner, {})[why] = None
    return tuple(Approval(owner, tuple(told[owner])) for owner in sorted(told))


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
            if _mentions(changes, name):
                yield one.owner, f"{kind} {name}"


def _of_waivers(spec: Spec, key: str, changes: Sequence[ValueChange]) -> Iterator[tuple[str, str]]:
    """Owners or approvers of the waivers that changed."""
    told = [f"{change.words} {change.old} {change.new}" for change in changes]
    for one in spec.record.waivers if spec.kind == "waivers" else ():
        if any(one.check in text and one.format in text for text in told):
            yield getattr(one, key), f"waiver of {one.check} for {one.format}"


def _mentions(changes: Sequence[ValueChange], name: str) -> bool:
    return any(f".{name}." in f".{change.key}." for change in changes)


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
