"""The text of a size format from its values, in the order of the schema."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any, NamedTuple

from kb.book import keys, source, tree
from kb.book.quantity import Quantity
from kb.book.records import INHERITED, SizeFormat
from kb.book.schema import shipped_schemas

_POSITION = re.compile(r"\[[0-9]+\]")
_PLAIN = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9 ±.%°/+()_-]*[A-Za-z0-9±.%°/+()_-])?")
BUILT_ON = ("standard", "variant_of")
"""Keys that name what gives the other values of a format; a format in full has neither."""
_HEAD = ("kind", "id", "title", "label", *BUILT_ON)
"""The keys that a format begins with, in this order; all others have the order of the schema."""
SHORT = "design/short-format"
"""The schema by which an editor reads a format that names a standard or a base format."""
_HINT = "# yaml-language-server: $schema=../../schema/{}.json\n"


class Written(NamedTuple):
    """A value as YAML, with a note that follows it as a comment."""

    yaml: str
    note: str = ""


def described(key: str) -> Mapping[str, Any] | None:
    """What the schema says of one value of a size format; None if there is no such value.

    Example:
        >>> described("ironing.rings[2].bore")["quantity"]["unit"]
        'mm'
    """
    return leaves().get(_POSITION.sub("[]", key))


@cache
def leaves() -> Mapping[str, Mapping[str, Any]]:
    """Every single value of a size format with its schema, in its order; `[]` is any position."""
    return dict(_leaves(shipped_schemas().schema("size-format"), ""))


def _leaves(schema: Mapping[str, Any], key: str) -> Iterator[tuple[str, Mapping[str, Any]]]:
    if schema.get("type") == "array":
        yield from _leaves(schema["items"], f"{key}[]")
    elif "properties" in schema:
        for name, inner in schema["properties"].items():
            yield from _leaves(inner, f"{key}.{name}" if key else name)
    else:
        yield key, schema


def as_yaml(text: str, *, quoted: bool, alone: bool = False) -> str:
    """A text as one value of YAML: plain where that is safe, otherwise in quotes.

    With `alone` it is the only value on its line, where a comma is safe.
    """
    plain = _PLAIN.fullmatch(text.replace(", ", " ") if alone else text)
    unsure = quoted or not plain or not isinstance(tree.value_of(text), str)
    return json.dumps(text, ensure_ascii=False) if unsure else text


def values_of(record: SizeFormat) -> dict[str, Written]:
    """The values of a format by key; a quantity as it is written."""
    found = {"kind": Written("size-format")}
    for key, value in keys.values(record):
        schema = described(key) or {}
        if isinstance(value, Quantity):
            found[key] = Written(value.text if '"' not in value.text else json.dumps(value.text))
        elif isinstance(value, str):
            if value and key not in BUILT_ON:
                quoted = bool(schema.get("code") or schema.get("day")) or key == "label"
                found[key] = Written(as_yaml(value, quoted=quoted, alone="[" not in key))
        elif key != "fill.nitrogen":  # a number that no file gives
            found[key] = Written(str(value))
    return found


def composed(values: Mapping[str, Written]) -> str:
    """The text of a size format that has these values.

    Example:
        >>> print(composed({"kind": Written("size-format"), "trim.height": Written("98 mm", "new")}), end="")
        # yaml-language-server: $schema=../../schema/size-format.json
        kind: size-format
        <BLANKLINE>
        trim:
          height: 98 mm  # new
    """
    order = {key: i for i, key in enumerate(dict.fromkeys((*_HEAD, *leaves())))}
    root: dict[Any, Any] = {}
    for key in sorted(values, key=lambda one: (order[_POSITION.sub("[]", one)], keys.steps(one))):
        here = root
        *way, last = keys.steps(key)
        for step in way:
            here = here.setdefault(step, {})
        here[last] = values[key]
    lines = list(_lines(root, ""))
    first = next((name for name in root if name in INHERITED and name != "body"), None)
    if first in root and len(root) > 1:
        lines.insert(next(i for i, line in enumerate(lines) if line.startswith(f"{first}:")), "")
    hint = _HINT.format(SHORT if values.keys() & set(BUILT_ON) else "size-format")
    return hint + "".join(f"{line}\n" for line in lines)


def _lines(group: Mapping[Any, Any], indent: str) -> Iterator[str]:
    for name, value in group.items():
        if isinstance(value, Written):
            yield f"{indent}{name}: {_noted(value.yaml, value.note)}"
        elif 0 not in value:
            yield f"{indent}{name}:"
            yield from _lines(value, indent + "  ")
        elif isinstance(value[0], Written):
            inside = ", ".join(one.yaml for one in value.values())
            yield f"{indent}{name}: {_noted(f'[{inside}]', _notes(value.values()))}"
        else:
            yield f"{indent}{name}:"
            for item in value.values():
                inside = ", ".join(f"{key}: {one.yaml}" for key, one in item.items())
                yield f"{indent}  - {_noted('{' + inside + '}', _notes(item.values()))}"


def _notes(values: Any) -> str:
    return "; ".join(dict.fromkeys(one.note for one in values if one.note))


def _noted(text: str, note: str) -> str:
    return f"{text}  # {note}" if note else text


def in_full(document: tree.Document, record: SizeFormat) -> tree.Document:
    """The document of a format; of one on another file, the document that it would be in full."""
    if document.base is None:
        return document
    full = source.read_text(composed(values_of(record)), document.file).document
    assert full is not None, "a format in full is a format"
    return full


def own_values(values: Mapping[str, Written], standard: Any) -> dict[str, Written]:
    """The values that a format on a body standard writes: those that the standard does not give.

    A list is the standard's only if all of it is. Of a ring at least one value is written, so that the rings
    are counted.

    Args:
        values: all values of the format
        standard: record of its body standard
    """
    given = {key: one.yaml for key, one in values_of(standard).items() if _top(key) in INHERITED}
    shared = {key for key, one in values.items() if given.get(key) == one.yaml}
    for name in {key.partition("[")[0] for key in values if "[" in key}:
        here = [key for key in values if key.startswith(f"{name}[")]
        if set(here) == {key for key in given if key.startswith(f"{name}[")} <= shared:
            continue
        members = {key.partition("]")[0]: key for key in reversed(here)}
        shared -= {key for key in here if key.endswith("]")}
        for member, first in members.items():
            if {key for key in here if key.startswith(f"{member}]")} <= shared:
                shared.discard(first)
    own = {key: one for key, one in values.items() if key not in shared}
    return {**own, "standard": Written(as_yaml(standard.id, quoted=True))}


def on_standard(text: str, record: SizeFormat, standard: Any) -> str:
    """The text of a format in full as that of one on a body standard; a note stays beside its value.

    Args:
        text: the format in full, as it is composed, with notes
        record: the same as a record
        standard: record of the body standard
    """
    document, lines = source.read_text(text, "").document, text.split("\n")
    assert document is not None, "a format in full is a format"
    values = {
        key: one._replace(note=lines[document.place(key).span.line - 1].partition("  # ")[2])
        for key, one in values_of(record).items()
    }
    return composed(own_values(values, standard))


def _top(key: str) -> str:
    return re.split(r"[.\[]", key, maxsplit=1)[0]


def edited(document: tree.Document, values: Mapping[str, str]) -> str:
    """The text of a document with other values, as YAML, under some of its keys."""
    lines = document.text.split("\n")
    spans = {key: document.place(key).span for key in values}
    for key in sorted(values, key=lambda one: spans[one], reverse=True):
        span = spans[key]
        before = lines[span.line - 1][: span.column - 1]
        after = lines[span.end_line - 1][span.end_column - 1 :]
        lines[span.line - 1 : span.end_line] = [before + values[key] + after]
    return "\n".join(lines)
