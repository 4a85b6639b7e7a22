"""Findings on what files say of one another: at a key of a spec, with the name that was probably meant."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from difflib import get_close_matches

from kb.book.finding import Finding, Severity
from kb.book.load import Spec


def fault(
    spec: Spec, key: str, name: str, message: str, *fixes: str, severity: Severity = "error"
) -> Finding:
    """A finding at a key of a spec; empty fixes are left out."""
    return Finding(name, severity, spec.place(key), message, tuple(fix for fix in fixes if fix))


def repeated(spec: Spec, name: str, what: str, ids: Iterable[tuple[str, str]]) -> Iterator[Finding]:
    """A finding for each id that an earlier row of the same list has; `ids` are pairs of key and id."""
    seen: set[str] = set()
    for key, ident in ids:
        if ident in seen:
            yield fault(spec, key, name, f"{what} {ident} is listed twice", "rename one")
        seen.add(ident)


def did_you_mean(written: str, known: Collection[str]) -> str:
    """The fix for a name that nothing has: the nearest one, or those there are; "" if there is none.

    Example:
        >>> did_you_mean("neckin", ["necking", "quality"]), did_you_mean("x", [])
        ('did you mean necking?', '')
    """
    near = get_close_matches(written, known, n=1)
    if near:
        return f"did you mean {near[0]}?"
    return f"known: {', '.join(sorted(known)[:12])}" if known else ""
