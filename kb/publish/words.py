"""Numbers, margins and texts as the templates print them; nothing here computes."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from kb.book.load import Spec
from kb.checks.judge import Verdict
from kb.checks.wording import limit_words
from kb.checks.words import number, quantity
from kb.publish.fields import anchor, field
from kb.report.route import Row, Section, shown


@dataclass(frozen=True, slots=True)
class Bar:
    """A margin as a bar and in words; the bar is full at one."""

    share: float
    words: str


def bar(margin: float) -> Bar:
    """A margin's bar."""
    if not math.isfinite(margin):
        return Bar(0.0, "not computable")
    return Bar(round(max(0.0, min(margin, 1.0)), 3), f"{number(100 * margin, figures=3)} %")


def judged(verdict: Verdict, **more: Any) -> dict[str, Any]:
    """A verdict as a row of a table."""
    rule = verdict.rule
    margin, value, _ = verdict.tightest
    return {
        "check": rule.name,
        "what": verdict.what,
        "value": quantity(value, unit=rule.unit, show=rule.show),
        "limit": limit_words(verdict),
        "margin": bar(margin),
        "failed": not verdict.passed,
        **more,
    }


def section(one: Section) -> dict[str, Any]:
    """A station's rows for a table."""
    return {"id": slug(one.station), "title": one.title, "rows": [_row(row) for row in one.rows]}


def matrix(sections: Sequence[Section]) -> dict[str, Any]:
    """Stations of one kind in one table: a row each, a column for each value, all nominal."""
    heads = [f"{row.words}, {row.show}" if row.show != "-" else row.words for row in sections[0].rows]
    rows = [
        [part.title.rpartition(", ")[2], *(number(shown(row, row.spread.nominal)) for row in part.rows)]
        for part in sections
    ]
    return {"heads": heads, "rows": rows}


def slug(text: str) -> str:
    """A text as an anchor."""
    return "".join(letter if letter.isalnum() else "-" for letter in text).strip("-").lower()


def _row(row: Row) -> dict[str, Any]:
    return {
        "words": row.words,
        "nominal": number(shown(row, row.spread.nominal)),
        "low": number(shown(row, row.spread.low)),
        "high": number(shown(row, row.spread.high)),
        "unit": "" if row.show == "-" else row.show,
        "failed": any(not one.passed for one in row.verdicts),
        "limits": [
            {
                "check": one.rule.name,
                "words": limit_words(one),
                "margin": bar(one.margin),
                "failed": not one.passed,
            }
            for one in row.verdicts
        ],
    }


def declared(spec: Spec, block: str) -> list[dict[str, str]]:
    """The values a spec declares in a block, as written, with their titles."""
    node = spec.document.data()
    values = node.get(block) if block else node
    if not isinstance(values, Mapping):
        return []
    rows = []
    for key, text in _leaves(values, block):
        entry = field(spec.kind, key)
        rows.append({"title": _numbered(entry.title, key), "text": text, "anchor": anchor(entry.key)})
    return rows


def _leaves(values: Any, key: str) -> list[tuple[str, str]]:
    if isinstance(values, Mapping):
        return [
            leaf for name, one in values.items() for leaf in _leaves(one, f"{key}.{name}" if key else name)
        ]
    if isinstance(values, list):
        if all(not isinstance(one, Mapping | list) for one in values):
            return [(key, ", ".join(map(str, values)))]
        return [leaf for i, one in enumerate(values) for leaf in _leaves(one, f"{key}[{i}]")]
    return [(key, str(values))]


def _numbered(title: str, key: str) -> str:
    _, bracket, rest = key.partition("[")
    return f"{title} {int(rest.partition(']')[0]) + 1}" if bracket else title
