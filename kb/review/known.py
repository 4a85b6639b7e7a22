"""Findings with what only a review knows: the id that a renamed file has now, the value before a slip."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import replace

from kb.book import source
from kb.book.finding import Finding
from kb.book.keys import quantity_at
from kb.book.load import Spec
from kb.book.quantity import Quantity, QuantityFault, parse
from kb.book.tree import Scalar
from kb.history.value_diff import below
from kb.history.versions import Files, Match

_TIMES = {
    3: "a thousand times",
    2: "a hundred times",
    1: "ten times",
    -1: "a tenth of",
    -2: "a hundredth of",
    -3: "a thousandth of",
}
_SLACK = 0.02
"""Share by which a value may be off a power of ten of the one before, for it changed besides."""


def with_known(findings: Iterable[Finding], found: Sequence[Match], old: Files, new: Files) -> list[Finding]:
    """Findings of the newer version, their fixes by what is known of the older one.

    Args:
        findings: findings of the newer version
        found: all files side by side
        old: the older version
        new: the newer one

    Returns:
        As many findings, in the same order.
    """
    renamed = {one.old.id: one.new.id for one in found if one.old and one.new and one.renamed}
    return [_with_value(_with_name(one, renamed), old, new) for one in findings]


def _with_name(one: Finding, renamed: dict[str, str]) -> Finding:
    """A finding that misses an id which has another name now."""
    if not any(fix.startswith(("did you mean", "known:")) for fix in one.fixes):
        return one
    for was, now in renamed.items():
        if re.search(rf"(?<![\w-]){re.escape(was)}(?![\w-])", one.message):
            return replace(one, fixes=(f"write {now}: this change renames {was} to {now}",))
    return one


def _with_value(one: Finding, old: Files, new: Files) -> Finding:
    """A finding on a quantity whose value before is known."""
    if not one.name.startswith("units.") or not one.place.key:
        return one
    name = below(one.place.file, old, new)
    was = _before(old, new, name)
    before = quantity_at(was.record, one.place.key) if was else None
    if before is None:
        return one
    times = _times(before, _line_text(new, name, one.place.key))
    if not times:
        return replace(one, message=f"{one.message}; before: {before.text}")
    fix = f"look for a misplaced decimal point: before, it was {before.text}"
    return replace(one, message=f"{one.message}; {times} the former {before.text}", fixes=(fix, *one.fixes))


def _before(old: Files, new: Files, name: str) -> Spec | None:
    """The older version of a file that has findings now: under its path, or under its id."""
    if name in old.sound:
        return old.sound[name]
    ident = next((ident for ident, file in new.claimed().items() if file == name), None)
    return next((spec for spec in old.sound.values() if spec.id == ident), None)


def _line_text(new: Files, name: str, key: str) -> str:
    document = source.read(new.book.root / name, name).document
    node = document.node(key) if document else None
    return node.text if isinstance(node, Scalar) else ""


def _times(before: Quantity, text: str) -> str:
    """How many times the value before a text says, "" where it is no power of ten."""
    try:
        now = parse(text, before.canonical)
    except QuantityFault:
        return ""
    if not now * before > 0:
        return ""
    power = math.log10(now / before)
    near = abs(10 ** (power - round(power)) - 1) <= _SLACK
    return _TIMES.get(round(power), "") if near else ""
