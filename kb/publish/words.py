"""Numbers, margins and texts as the templates print them; nothing here computes."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from kb.book.load import Spec
from kb.checks.judge import Verdict
from kb.checks.words import limit_words, margin_words, quantity
from kb.publish.fields import anchor, field, kinds


@dataclass(frozen=True, slots=True)
class ShareBar:
    """A margin as a bar and in words; the bar is full at one."""

    share: float
    words: str


def bar(margin: float) -> ShareBar:
    """A margin's bar."""
    if not math.isfinite(margin):
        return ShareBar(0.0, "not calculated")
    return ShareBar(round(max(0.0, min(margin, 1.0)), 3), margin_words(margin))


def held(text: str) -> str:
    """A text whose numbers keep their units on their own line."""
    return re.sub(r"(?<=\d) ", "\N{NO-BREAK SPACE}", text)


def judged(verdict: Verdict, **more: Any) -> dict[str, Any]:
    """A verdict as a row of a table."""
    rule = verdict.rule
    margin, value, _ = verdict.tightest
    return {
        "check": rule.name,
        "what": verdict.what,
        "value": quantity(value, unit=rule.unit, show=rule.show),
        "limit": held(limit_words(verdict)),
        "margin": bar(margin) if verdict.has_margin else None,
        "failed": not verdict.passed,
        **more,
    }


def slug(text: str) -> str:
    """A text as an anchor."""
    return "".join(letter if letter.isalnum() else "-" for letter in text).strip("-").lower()


def key_link(key: str) -> dict[str, str]:
    """A key of the size format, or of another kind named before its first dot, with its reference page."""
    kind, _, rest = key.partition(".")
    if kind in kinds():
        return {"key": key, "page": kind, "anchor": anchor(rest)}
    return {"key": key, "page": "size-format", "anchor": anchor(key)}


def declared(spec: Spec, block: str) -> list[dict[str, str]]:
    """The values a spec declares in a block, as written, with their titles."""
    node = spec.document.data()
    values = node.get(block) if block else node
    if not isinstance(values, Mapping):
        return []
    rows = []
    for key, text in leaves(values, block):
        entry = field(spec.kind, key)
        rows.append({"title": _numbered(entry.title, key), "text": text, "anchor": anchor(entry.key)})
    return rows


def leaves(values: Any, key: str = "") -> list[tuple[str, str]]:
    """The keys below a key with their values as written; a list of plain values is one."""
    if isinstance(values, Mapping):
        return [
            leaf for name, one in values.items() for leaf in leaves(one, f"{key}.{name}" if key else name)
        ]
    if isinstance(values, list):
        if all(not isinstance(one, Mapping | list) for one in values):
            return [(key, ", ".join(map(str, values)))]
        return [leaf for i, one in enumerate(values) for leaf in leaves(one, f"{key}[{i}]")]
    return [(key, str(values))]


def _numbered(title: str, key: str) -> str:
    _, bracket, rest = key.partition("[")
    return f"{title} {int(rest.partition(']')[0]) + 1}" if bracket else title
