"""What is withdrawn is referred to by nothing that is in use."""

from __future__ import annotations

from collections.abc import Iterator

from kb.book.finding import Finding
from kb.book.load import Book, Spec

_KEEPS_HISTORY = ("sheet-codes",)
"""Kinds of file that name what is past on purpose."""


def withdrawn_faults(book: Book) -> Iterator[Finding]:
    """References to formats and ends that are withdrawn, out of what is not withdrawn itself.

    Args:
        book: a loaded book

    Yields:
        A finding each; none where another check tells of the same reference.
    """
    for kind in book.specs.values():
        for spec in kind.values():
            if spec.kind in _KEEPS_HISTORY or _withdrawn(spec):
                continue
            for key, other, ident in spec.references:
                target = book.of(other).get(ident)
                if target is not None and _withdrawn(target) and not _told(spec, key):
                    message, fix = f"{other} {ident} is withdrawn", "name another one, or remove this"
                    subject = spec.id if spec.kind == "size-format" else ""
                    yield Finding(
                        "revision.withdrawn-used", "error", spec.place(key), message, (fix,), subject=subject
                    )


def _withdrawn(spec: Spec) -> bool:
    return getattr(spec.record, "status", "") == "withdrawn"


def _told(spec: Spec, key: str) -> bool:
    """Whether another check judges the reference, with what a week runs and what an end fits."""
    if spec.kind == "week":
        return True
    return spec.kind == "size-format" and key == "end" and spec.record.status == "released"
