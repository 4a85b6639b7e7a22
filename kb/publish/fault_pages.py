"""The fault guide: an index by station, and for each fault this plant's own numbers behind its causes."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import Any

from markupsafe import Markup

from kb.book.keys import quantity_at
from kb.book.load import Book, Spec
from kb.book.records import SizeFormat
from kb.checks.catalog import RULES
from kb.checks.judge import Verdict
from kb.checks.words import quantity
from kb.publish.edition import Edition, FormatEdition
from kb.publish.fields import field, key_link, kinds, leaves
from kb.publish.page import Context, Pages, Rendered, page, svg
from kb.publish.sketches import sketch
from kb.publish.terms import knowledge, written
from kb.publish.words import judged

NOTHING = "–"

FILTERS = {
    "stations": ("station", "station"),
    "places": ("place", "place"),
    "symptoms": ("symptom", "symptom"),
}
"""Lists of the fault guide by which its index is filtered: the key of a fault, and the head of the column."""


def fault_pages(context: Context) -> Rendered:
    """The index and a page for each fault."""
    edition = context.edition
    faults, stations = knowledge("faults"), {one["id"]: one["title"] for one in written("faults")["stations"]}
    pictures = _pictures(edition, faults)
    named = {name: {one["id"]: one["title"] for one in written("faults")[name]} for name in FILTERS}
    rows = [
        {
            **one,
            "picture": pictures.get(one["id"], ""),
            "shown": [named[name][one[key]] for name, (key, _) in FILTERS.items()],
        }
        for one in faults
    ]
    heads = [title for _, title in FILTERS.values()]
    yield "faults/index.md", page("faults.md", title="Faults", rows=rows, heads=heads)
    declared = {ident: Declared(edition.book, one.record) for ident, one in edition.formats.items()}
    for one in faults:
        picture = pictures.get(one["id"], "")
        yield f"faults/{one['id']}.md", _fault_page(edition, one, stations[one["station"]], declared, picture)


def _pictures(edition: Edition, faults: Sequence[dict[str, Any]]) -> dict[str, Markup]:
    """The drawings of the faults, on the first format of the book that has a route."""
    routed = next((one.routed for one in edition.formats.values() if one.routed), None)
    return {
        one["id"]: svg(sketch(f"{one['title']}. {one['where']}", one["drawing"], routed))
        for one in faults
        if routed and "drawing" in one
    }


def _fault_page(
    edition: Edition,
    fault: dict[str, Any],
    station: str,
    declared: dict[str, Declared],
    picture: Markup | str,
) -> str:
    keys = list(dict.fromkeys(key for cause in fault["causes"] for key in cause["keys"]))
    checks = list(dict.fromkeys(name for cause in fault["causes"] for name in cause["checks"]))
    thinnest = {ident: [_thinnest(one, name) for name in checks] for ident, one in edition.formats.items()}
    causes = [
        {
            **cause,
            "keys": [key_link(key) for key in cause["keys"]],
            "drivers": [checks.index(name) for name in cause["checks"]]
            + [len(checks) + keys.index(key) for key in cause["keys"]],
        }
        for cause in fault["causes"]
    ]
    rows = [
        {
            "id": ident,
            "title": edition.formats[ident].record.title,
            "checks": [_cell(verdict) for verdict in thinnest[ident]],
            "keys": [declared[ident].shown(key) for key in keys],
        }
        for ident in sorted(edition.formats, key=lambda one: min(map(_room, thinnest[one]), default=math.inf))
    ]
    return page(
        "fault.md",
        title=f"Fault: {fault['title']}",
        meaning=written("faults")["classes"][fault["class"]],
        station=station,
        picture=picture,
        usual=written("faults")["usual"],
        it={"caution": "", "pattern": "", "do_not": "", **fault, "causes": causes},
        heads=[_head_of_check(name, [one[i] for one in thinnest.values()]) for i, name in enumerate(checks)],
        keys=[_title(key) for key in keys],
        rows=rows if keys or checks else [],
    )


# --- what the checks measured -----------------------------------------------------------------


def _thinnest(one: FormatEdition, check: str) -> Verdict | None:
    """A format's verdict of a check that comes nearest to its limit."""
    return min((verdict for verdict in one.verdicts if verdict.rule.name == check), key=_room, default=None)


def _room(verdict: Verdict | None) -> float:
    """How far inside its limit; no end of it where there is nothing to check or a count fits as it should."""
    if verdict is None or (verdict.rule.unit == "count" and verdict.passed):
        return math.inf
    return -math.inf if math.isnan(verdict.margin) else verdict.margin


def _cell(verdict: Verdict | None) -> dict[str, Any] | None:
    if verdict is None:
        return None
    room = _room(verdict)
    return {**judged(verdict), "room": f"{room:.4f}" if math.isfinite(room) else ""}


def _head_of_check(name: str, verdicts: Sequence[Verdict | None]) -> dict[str, str]:
    """What a check measures and its limit, where they are the same for all formats."""
    judged_values = [judged(verdict) for verdict in verdicts if verdict is not None]
    whats, limits = {one["what"] for one in judged_values}, {one["limit"] for one in judged_values}
    return {
        "check": name,
        "what": whats.pop() if len(whats) == 1 else "",
        "words": RULES[name].title,
        "limit": limits.pop() if len(limits) == 1 else "",
    }


# --- what the specs declare -------------------------------------------------------------------


class Declared:
    """The values a format's own files declare, by key as the fault guide writes it."""

    def __init__(self, book: Book, record: SizeFormat) -> None:
        end = book.of("end").get(record.end)
        named = [
            ("size-format", [record.id]),
            ("material", [record.stock.material]),
            ("end", [end.id] if end else []),
            ("line", list(record.lines)),
        ]
        self._specs = [
            (kind, spec) for kind, ids in named for ident in ids if (spec := book.of(kind).get(ident))
        ]
        self._specs += [(kind, spec) for kind in ("plant", "limits") if (spec := book.only(kind))]
        self._values: dict[tuple[str, str], list[str]] = {}
        for kind, spec in self._specs:
            for key, text in leaves(spec.document.data()):
                values = self._values.setdefault((kind, re.sub(r"\[\d+\]", "[]", key)), [])
                judged_values = _in_reader_unit(spec, key, text)
                if judged_values not in values:
                    values.append(judged_values)

    def shown(self, key: str) -> str:
        """What a key says, all different values of a list; a dash where it says nothing."""
        kind, rest = _kind_and_key(key)
        values = self._values.get((kind, rest)) or self._values.get((kind, rest.removesuffix("[]")))
        return ", ".join(values) if values else NOTHING


def _kind_and_key(key: str) -> tuple[str, str]:
    kind, _, rest = key.partition(".")
    return (kind, rest) if kind in kinds() and rest else ("size-format", key)


def _in_reader_unit(spec: Spec, key: str, text: str) -> str:
    """A value as written; in the reader's unit before it where it is written in another."""
    declared = quantity_at(spec.record, key)
    if declared is None:
        return text
    show = field(spec.kind, key).show
    if not show or declared.unit in {"", show}:
        return text
    return f"{quantity(declared, unit=declared.canonical, show=show)} ({text})"


def _title(key: str) -> str:
    """The name of a key, as its schema has it."""
    kind, rest = _kind_and_key(key)
    return field(kind, rest).title


PAGES = (Pages("Faults", "faults/index.md", fault_pages),)
