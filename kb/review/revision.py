"""The rules of revision: what is in force changes under a new number, and leaves by being withdrawn."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from kb.book.finding import Finding
from kb.book.load import Spec
from kb.history.change_types import DOCUMENT, EDITORIAL
from kb.history.versions import Match
from kb.review.model import ChangedFile


def revision_faults(found: Sequence[Match], files: Sequence[ChangedFile]) -> Iterator[Finding]:
    """Breaches of the rules between two versions.

    Args:
        found: all files side by side
        files: those that changed

    Yields:
        A finding each, at the key that is wrong; for a deleted format, where it stood.
    """
    changed = {(one.kind, one.id): one for one in files}
    for one in found:
        file = changed.get((one.kind, one.id))
        if file is None or one.old is None or not hasattr(one.old.record, "revision"):
            continue
        if one.new is not None:
            yield from _counted(one.old, one.new, file)
        elif "deleted" in file.states and one.old.record.status == "released":
            yield _deleted(one.old)


def controlled(file: ChangedFile) -> list[str]:
    """Keys of a file that mean something else and are neither its words nor its papers."""
    keys = [one.key for one in file.changes if one.kinds != ("re-expressed",)]
    return [key for key in keys if key not in DOCUMENT and key.rpartition(".")[2] not in EDITORIAL]


def _counted(old: Spec, new: Spec, file: ChangedFile) -> Iterator[Finding]:
    before, after = old.record, new.record
    keys = [*(["id"] if file.was else []), *controlled(file)]
    if after.revision < before.revision:
        message = f"revision {after.revision} comes after revision {before.revision}"
        yield _finding(new, "revision", "revision.falls", message, f"write revision: {before.revision + 1}")
    elif before.status == "released" and keys and after.revision == before.revision:
        named_keys = f"{', '.join(keys[:3])}{' and more' if len(keys) > 3 else ''}"
        message = f"{named_keys} changed, but revision {before.revision} was released and is unchanged"
        yield _finding(
            new, "revision", "revision.not-raised", message, f"write revision: {before.revision + 1}"
        )
    why, was = getattr(after, "why", None), getattr(before, "why", None)
    if before.status == "released" and keys and why is not None and why == was:
        message = f"`why` still gives the reason of revision {before.revision}"
        yield _finding(
            new, "why", "revision.no-reason", message, "describe in one line the change and its reason"
        )
    effective, since = getattr(after, "effective", ""), getattr(before, "effective", "")
    if effective < since:
        message = f"effective from {effective}, before {since} of the revision it replaces"
        fix = f"write {since} or a later day"
        yield _finding(new, "effective", "revision.effective-back", message, fix)


def _deleted(old: Spec) -> Finding:
    message = f"{old.kind} {old.id} was released and is deleted (place in the older version)"
    fix = "restore the file with status: withdrawn; delete it when nothing uses it"
    return _finding(old, "status", "revision.deleted", message, fix)


def _finding(spec: Spec, key: str, name: str, message: str, fix: str) -> Finding:
    subject = spec.id if spec.kind == "size-format" else ""
    return Finding(name, "error", spec.place(key), message, (fix,), subject=subject)
