"""What each key of a spec means, from the schema alone, and the values that a spec declares.

A key is dotted. `[]` is any position of a list, `<check>` any name in a group of named members:
`ironing.rings[].bore`, `limits.<check>.most`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from math import inf
from typing import Any, TypeAlias

from kb.book.conversion import in_unit
from kb.book.load import Spec
from kb.book.schema import shipped_schemas
from kb.book.structure import as_written
from kb.publish.words import typeset, unit_sign

Schema: TypeAlias = dict[str, Any]

_ANY_NAME = re.compile(r"\.<[^>]*>$")
"""What the key of a member ends with that may have any name."""

_FORMS = {"integer": "whole number", "boolean": "true or false", "object": "group", "array": "list"}
_MARKUP = re.compile(r"[!\"#$&*+:<=>?@\[\\\]^_`{|}~]")


@dataclass(frozen=True, slots=True)
class FieldEntry:
    """One key of a kind of spec, as its schema declares it.

    `band` is in `unit`, or without one for a count; `show` is the reader's unit. `group` is set on a
    key that only holds others, `needed_by` names the kinds that must have a key not required of all.
    """

    kind: str
    key: str
    title: str
    meaning: str
    form: str
    group: bool
    examples: tuple[str, ...]
    required: bool = False
    needed_by: tuple[str, ...] = ()
    unit: str = ""
    show: str = ""
    band: tuple[float, float] | None = None
    tolerance: str = ""
    choices: tuple[str, ...] = ()
    reference: str = ""

    @property
    def parent(self) -> str:
        """Key of the group that the key is in; empty at the top."""
        return _ANY_NAME.sub("", self.key).rpartition(".")[0]

    @property
    def shown_band(self) -> tuple[float, float] | None:
        """The plausible band in the reader's unit."""
        if self.band is None or not self.unit:
            return self.band
        low, high = (in_unit(end, self.unit, self.show) for end in self.band)
        return low, high


def kinds() -> tuple[str, ...]:
    """The kinds of spec there are, in alphabetical order."""
    return shipped_schemas().kinds


def field(kind: str, key: str) -> FieldEntry:
    """What the schema says of one key, with or without list positions; of a list, the entry of its members.

    Raises:
        KeyError: if there is no such kind or key.

    Example:
        >>> field("size-format", "ironing.rings[1].bore").title
        'ring bore'
    """
    wanted = re.sub(r"\[\d+\]", "[]", key)
    for pattern, entry in _walked(kind):
        if pattern.fullmatch(wanted):
            return entry
    raise KeyError(f"{kind} has no key {key}")


def entries(kind: str) -> tuple[FieldEntry, ...]:
    """Every key of a kind, a group before its members."""
    return tuple(entry for _, entry in _walked(kind))


def field_reference(kind: str) -> str:
    """The reference page of a kind, in Markdown: every key once, in the order of the schema.

    Raises:
        KeyError: if there is no such kind.
    """
    schema, keys = _schema(kind), entries(kind)
    parts = [f"# Spec keys: {escaped(schema['title'])}", escaped(schema["description"]), _table(keys, "")]
    for group in keys:
        if group.group:
            place = f'<span id="{anchor(group.key)}">{_code(group.key)}</span>'
            heading = f"## {place} {escaped(group.title)}"
            parts += [heading, _meaning(group)]
            parts += [table] if (table := _table(keys, group.key)) else []
    return "\n\n".join(parts) + "\n"


def anchor(key: str) -> str:
    """The anchor of a key on the reference page of its kind.

    Example:
        >>> anchor("ironing.rings[].bore")
        'ironing-rings-bore'
    """
    return re.sub(r"[^A-Za-z0-9_]+", "-", key).strip("-")


def escaped(text: str) -> str:
    """Text as Markdown and HTML show it unchanged, on one line: what could be markup by its number.

    Example:
        >>> escaped("a|b <c>")
        'a&#124;b &#60;c&#62;'
    """
    return _MARKUP.sub(lambda found: f"&#{ord(found[0])};", " ".join(text.split()))


def key_link(key: str) -> dict[str, str]:
    """A key of the size format, or of another kind named before its first dot, with its reference page."""
    kind, _, rest = key.partition(".")
    if kind in kinds():
        return {"key": key, "page": kind, "anchor": anchor(rest)}
    return {"key": key, "page": "size-format", "anchor": anchor(key)}


# --- the values of a spec ---------------------------------------------------------------------


def declared(spec: Spec, block: str) -> list[dict[str, str]]:
    """The values a spec declares in a block, as written, with their titles."""
    node = spec.document.data()
    values = node.get(block) if block else node
    if not isinstance(values, Mapping):
        return []
    rows = []
    for key, text in leaves(values, block):
        entry, (_, bracket, rest) = field(spec.kind, key), key.partition("[")
        number = f" {int(rest.partition(']')[0]) + 1}" if bracket else ""
        rows.append({"title": f"{entry.title}{number}", "text": text, "anchor": anchor(entry.key)})
    return rows


def leaves(values: Any, key: str = "") -> list[tuple[str, str]]:
    """The keys below a key with their values as written; a list of plain values is one."""
    if isinstance(values, Mapping):
        named = [(f"{key}.{name}" if key else name, one) for name, one in values.items()]
    elif isinstance(values, list) and any(isinstance(one, Mapping | list) for one in values):
        named = [(f"{key}[{i}]", one) for i, one in enumerate(values)]
    else:
        return [(key, ", ".join(map(str, values)) if isinstance(values, list) else str(values))]
    return [leaf for name, one in named for leaf in leaves(one, name)]


# --- reading the schema -----------------------------------------------------------------------


@cache
def _schema(kind: str) -> Schema:
    if kind not in kinds():
        raise KeyError(f"there is no kind of spec called {kind}")
    schema: Schema = shipped_schemas().schema(kind)
    return schema


@cache
def _walked(kind: str) -> tuple[tuple[re.Pattern[str], FieldEntry], ...]:
    """Every key of a kind, a group before its members, each with the pattern of keys it answers for."""
    return tuple(_members(kind, _schema(kind), "", ""))


def _members(
    kind: str, group: Schema, prefix: str, pattern: str
) -> Iterator[tuple[re.Pattern[str], FieldEntry]]:
    for name, schema in group.get("properties", {}).items():
        ending, any_ending, inner = _inside(schema)
        key, keys = f"{prefix}{name}", f"{pattern}{re.escape(name)}"
        entry = _entry(kind, key + ending, schema, inner)
        needed = replace(entry, required=name in group.get("required", ()), needed_by=_needed_by(group, name))
        yield re.compile(f"{keys}(?:{any_ending})?"), needed
        yield from _members(kind, inner, f"{key}{ending}.", rf"{keys}{any_ending}\.")


def _inside(schema: Schema) -> tuple[str, str, Schema]:
    """What a list or a group of named members holds, after the ending its key takes and its pattern."""
    if schema.get("type") == "array":
        return "[]", r"\[\]", schema["items"]
    if isinstance(schema.get("additionalProperties"), dict):
        names = schema["propertyNames"]
        any_name = names["pattern"].removeprefix("^").removesuffix("$")
        return f".<{names['title']}>", rf"\.(?:<{names['title']}>|{any_name})", schema["additionalProperties"]
    return "", "", schema


def _needed_by(group: Schema, name: str) -> tuple[str, ...]:
    """Kinds of machine, and the like, that must have a key which others may leave out."""
    rules = (rule for rule in group.get("allOf", ()) if name in rule["then"]["required"])
    return tuple(rule["if"]["properties"]["kind"]["const"] for rule in rules)


def _entry(kind: str, key: str, schema: Schema, inner: Schema) -> FieldEntry:
    quantity = inner.get("quantity", {})
    band = quantity.get("band") or ("minimum" in inner and (inner["minimum"], inner.get("maximum", inf)))
    return FieldEntry(
        kind=kind,
        key=key,
        title=schema["title"],
        meaning=schema["description"],
        form=_form(inner),
        group=inner.get("type") == "object",
        examples=tuple(as_written(example, schema) for example in schema["examples"]),
        unit=quantity.get("unit", ""),
        show=quantity.get("show", ""),
        band=(float(band[0]), float(band[1])) if band else None,
        tolerance=quantity.get("tolerance", ""),
        choices=tuple(inner.get("enum", ())),
        reference=inner.get("reference", ""),
    )


_KEYWORD_FORMS = {
    "code": "size code",
    "day": "day",
    "moment": "day and time",
    "slug": "id",
    "enum": "choice",
}


def _form(schema: Schema) -> str:
    """What may be written, in a word or two."""
    if "quantity" in schema:
        return "range" if schema["quantity"].get("range") else "quantity"
    for keyword, words in _KEYWORD_FORMS.items():
        if keyword in schema:
            return words
    return _FORMS.get(str(schema.get("type")), "text")


# --- writing the page -------------------------------------------------------------------------

_HEAD = ("key", "name", "unit", "plausible", "tolerance", "meaning", "example")


def _table(entries: tuple[FieldEntry, ...], group: str) -> str:
    """Table of the keys directly in a group; empty when there are none."""
    rows = [entry for entry in entries if entry.parent == group and not entry.group]
    if not rows:
        return ""
    lines = [_HEAD, ("---",) * len(_HEAD), *(_row(entry) for entry in rows)]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


def _row(entry: FieldEntry) -> tuple[str, ...]:
    return (
        f'<span id="{anchor(entry.key)}">{_code(entry.key)}</span>',
        escaped(entry.title),
        _unit(entry),
        _band(entry),
        entry.tolerance,
        _meaning(entry),
        "<br>".join(_code(example) for example in entry.examples),
    )


def _unit(entry: FieldEntry) -> str:
    """The unit with the reader's unit, or what is written where there is none."""
    if not entry.unit:
        return escaped("any" if entry.form == "quantity" else entry.form)
    words = "number" if entry.unit == "-" else entry.unit
    shown = "" if entry.show == entry.unit else f", shown in {unit_sign(entry.show)}"
    return escaped(unit_sign(words) + shown)


def _band(entry: FieldEntry) -> str:
    """The plausible band in the reader's unit."""
    if entry.shown_band is None:
        return ""
    low, high = entry.shown_band
    ends = f"{low:.10g} or more" if high == inf else f"{low:.10g} to {high:.10g}"
    return escaped(typeset(f"{ends} {entry.show.removeprefix('-')}".rstrip()))


def _meaning(entry: FieldEntry) -> str:
    words = [escaped(entry.meaning)]
    if entry.choices:
        words.append(f"One of: {', '.join(map(_code, entry.choices))}.")
    if entry.reference:
        what = "kind of machine" if entry.reference == "machine" else f"spec of kind {entry.reference}"
        words.append(escaped(f"Names a {what}."))
    if entry.needed_by:
        words.append(escaped(f"Needed by: {', '.join(entry.needed_by)}; others may leave it out."))
    elif not entry.required:
        words.append("Optional.")
    return " ".join(words)


def _code(text: str) -> str:
    return f"<code>{escaped(text)}</code>"
