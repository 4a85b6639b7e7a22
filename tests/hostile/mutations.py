"""Every key of every kind of file, made wrong in every way that its schema suggests.

The schemas are walked beside a small book. A key that the book leaves out is put in first, from the example
of its schema. A key that a schema gains tomorrow is reached without a change here.
"""

from __future__ import annotations

import copy
import json
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property, partial
from pathlib import Path
from typing import Any, TypeAlias

import yaml

from kb.book.structure import local_target
from kb.folders import shipped

Path_: TypeAlias = tuple[str | int, ...]

RAW = "RAWTEXT"
"""Begins a text that goes into the file as it is, without the quotes that YAML would need."""

TWICE = "KEYTWICE"
"""Ends a key that goes into the file a second time."""

LONG = "x" * 10_000
_OTHER = {"line": "tall-330"}
WRONG_UNIT = {"length": "kPa", "pressure": "mm"}
DAYS = ("2026-02-30", "0000-00-00", "tomorrow", "2026-9-4", "26-09-14")


@dataclass(frozen=True, eq=False)
class Mutation:
    """One change of one file.

    Attributes:
        file: the file below the book.
        key: dotted path of the key that is changed.
        way: what is done to it.
        schema: what the schema says of the key.
        changed: makes the data of the file with the change.
    """

    file: str
    key: str
    way: str
    schema: dict[str, Any]
    changed: Callable[[], Any]

    @cached_property
    def text(self) -> str:
        """The whole file with the change."""
        return dumped(self.changed())

    @property
    def ident(self) -> str:
        """The mutation in one word, for a test's report."""
        return f"{self.file}:{self.key}:{self.way}"


def mutations(book: Path) -> Iterator[Mutation]:
    """All mutations of a book, file by file, key by key.

    Args:
        book: the folder of a book that holds a file of every kind
    """
    for file in sorted(book.rglob("*.yaml")):
        data = yaml.safe_load(file.read_text(encoding="utf-8"))
        schema = json.loads((shipped("schema") / f"{data['kind']}.json").read_text(encoding="utf-8"))
        name = file.relative_to(book).as_posix()
        for path, described in _keys(schema, schema, data, ()):
            yield from _of_key(name, data, path, described)


class _Dumper(yaml.SafeDumper):
    """Writes days in quotes, as the book wants them, and no anchors."""

    def ignore_aliases(self, data: Any) -> bool:
        return True


def _text(dumper: _Dumper, text: str) -> yaml.Node:
    style = '"' if re.match(r"[0-9]{4}-", text) else None
    return dumper.represent_scalar("tag:yaml.org,2002:str", text, style=style)


_Dumper.add_representer(str, _text)


def dumped(data: Any) -> str:
    """Data as the text of a file, raw texts and repeated keys put in."""
    text = yaml.dump(data, Dumper=_Dumper, sort_keys=False, allow_unicode=True, width=100_000)
    text = re.sub(rf"'?{RAW}\(\((.*?)\)\)'?", lambda found: found[1].replace("''", "'"), text)
    return text.replace(TWICE, "")


def raw(text: str) -> str:
    """A text to be put into the file as it is."""
    return f"{RAW}(({text}))"


# --- the keys ---------------------------------------------------------------------------------


def _keys(schema: Any, root: Any, data: Any, path: Path_) -> Iterator[tuple[Path_, dict[str, Any]]]:
    """Every key below a value, by its path in the data, with what the schema says of it."""
    for described in _all_of(schema, root):
        if isinstance(data, dict):
            for name, inner in described.get("properties", {}).items():
                if not isinstance(inner, dict) or inner is True:
                    continue
                merged = _merged(inner, root)
                yield (*path, name), merged
                yield from _keys(inner, root, data.get(name, _sample(merged)), (*path, name))
            others = described.get("additionalProperties")
            if isinstance(others, dict) and data:
                first = next(iter(data))
                yield (*path, first), _merged(others, root)
                yield from _keys(others, root, data[first], (*path, first))
        elif isinstance(data, list) and data and isinstance(described.get("items"), dict):
            yield (*path, 0), _merged(described["items"], root)
            yield from _keys(described["items"], root, data[0], (*path, 0))


def _all_of(schema: Any, root: Any) -> Iterator[dict[str, Any]]:
    """A schema and every part of it that speaks of the same value."""
    if not isinstance(schema, dict):
        return
    yield schema
    if "$ref" in schema:
        yield from _all_of(local_target(root, schema["$ref"]), root)
    for word in ("allOf", "anyOf", "oneOf"):
        for part in schema.get(word, ()):
            yield from _all_of(part, root)
    for word in ("then", "else"):
        yield from _all_of(schema.get(word), root)


def _merged(schema: dict[str, Any], root: Any) -> dict[str, Any]:
    merged: dict[str, Any] = {}
    for part in reversed(list(_all_of(schema, root))):
        merged |= part
    return merged


def _sample(schema: dict[str, Any]) -> Any:
    """A value that would do."""
    if schema.get("examples"):
        return copy.deepcopy(schema["examples"][0])
    if "const" in schema:
        return schema["const"]
    return schema["enum"][0] if schema.get("enum") else None


# --- what is done to them ---------------------------------------------------------------------


def _of_key(file: str, data: Any, path: Path_, schema: dict[str, Any]) -> Iterator[Mutation]:
    key = "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in path).lstrip(".")
    whole = _with(data, path, _sample(schema))
    if whole is None:
        return
    there = _at(whole, path)

    def made(way: str, changed: Callable[[], Any]) -> Mutation:
        return Mutation(file, key, way, schema, changed)

    yield made("as it is", partial(copy.deepcopy, whole))
    for way, value in _values(there, schema):
        yield made(way, partial(_put, whole, path, value))
    step = path[-1]
    if isinstance(step, str):
        yield made("key missing", partial(_put, data, path, None, remove=True))
        yield made("key doubled", partial(_put, whole, (*path[:-1], step + TWICE), there))
        yield made("key misspelt", partial(_renamed, whole, path, f"{step}x"))
        yield made("key in capitals", partial(_renamed, whole, path, step.upper()))
        yield made("key unknown beside", partial(_put, whole, (*path[:-1], "zzz"), 1))


def _values(there: Any, schema: dict[str, Any]) -> Iterator[tuple[str, Any]]:
    yield from (
        ("nothing", None),
        ("a group", {"a": 1}),
        ("a list", [1, [2]]),
        ("a cycle of words", raw("*a")),
    )
    if "quantity" in schema:
        yield from _quantities(there, schema["quantity"])
    elif isinstance(there, list):
        yield from _lists(there)
    elif isinstance(there, dict):
        yield from (("empty group", {}), ("a text", "text"), ("a number", 7))
    elif isinstance(there, bool):
        yield from (("true as text", "true"), ("yes", raw("yes")), ("one", 1), ("no such word", "maybe"))
    elif isinstance(there, int | float):
        yield from _numbers(there)
    else:
        yield from _texts(str(there), schema)


def _quantities(there: Any, wanted: dict[str, Any]) -> Iterator[tuple[str, Any]]:
    text = str(there)
    found = re.match(r"[-+0-9.e]+", text)
    if not found:
        return
    number, rest = float(found[0]), text[found.end() :]
    unit = re.sub(r"^.*?([A-Za-zµ%/][^ ]*)?$", r"\1", rest.partition("(")[0].strip())
    for way, other in (
        ("zero", 0.0),
        ("negative", -abs(number) or -1.0),
        ("huge", abs(number) * 1e9 or 1e9),
        ("tiny", number * 1e-9 or 1e-9),
        ("ten times", number * 10),
        ("a tenth", number / 10),
    ):
        yield way, raw(f"{other:.12g} {unit}".strip())
    yield "not a number", raw(f"nan {unit}".strip())
    yield "infinite", raw(f"inf {unit}".strip())
    yield "YAML not a number", raw(".nan")
    yield "YAML infinite", raw(".inf")
    if wanted["dimension"] != "any":
        yield "wrong dimension", f"{number:g} {WRONG_UNIT.get(wanted['dimension'], 'mm')}"
    yield "no such unit", f"{number:g} furlongs"
    yield "wide tolerance", raw(f"{number:g} ±{abs(number) * 100 + 1:g} {unit}".strip())
    yield "limits exchanged", raw(f"{abs(number) + 1:g} to {-abs(number) - 1:g} {unit}".strip())
    yield "comma", raw(f"'{number:.3f} {unit}'".replace(".", ","))
    yield "empty text", ""
    yield "blank text", "   "
    yield "long text", LONG


def _lists(there: list[Any]) -> Iterator[tuple[str, Any]]:
    yield "empty list", []
    yield "a text", "text"
    if there:
        yield "one element twice", [*there, there[0]]
        yield "all elements twice", [*there, *there]
        yield "an element that is nothing", [*there, None]
        yield "one value without its list", there[0]
        yield "five hundred elements", there * (500 // len(there) + 1)


def _numbers(there: float) -> Iterator[tuple[str, Any]]:
    yield from (("zero", 0), ("negative", -1), ("huge", 10**6), ("beyond counting", 10**17), ("half", 1.5))
    yield from (("ten times", there * 10), ("point at the end", raw(f"{int(there)}.")), ("true", True))
    yield from (("decimal whole", raw(f"{int(there)}.0")), ("exponent", raw("1e400")))
    yield from (("as text", str(there)), ("YAML not a number", raw(".nan")), ("YAML infinite", raw(".inf")))


def _texts(there: str, schema: dict[str, Any]) -> Iterator[tuple[str, Any]]:
    yield from (("empty text", ""), ("blank text", "   "), ("long text", LONG))
    yield from (("control characters", "a\x07\x1bb"), ("right to left", "a\u202eb"), ("two lines", "a\nb\n"))
    yield from (("forged line", "x\n::warning ::y"), ("a number", 7), ("true", True), ("markup", "<b>&x"))
    yield "capitals", there.upper()
    if schema.get("enum") or "const" in schema:
        yield "unknown choice", "no-such-choice"
    if schema.get("slug"):
        yield from (("no plain name", "Not A Name"), ("a device", "con"), ("a path", "../x"))
    if schema.get("reference"):
        yield from (
            ("unknown id", "no-such-id"),
            ("id of another kind", _OTHER.get(schema["reference"], "line-1")),
        )
    if schema.get("day") or schema.get("moment"):
        tail = " 06:00" if schema.get("moment") else ""
        yield from ((f"impossible day {day}", day + tail) for day in DAYS)
        yield from (("far day", f"9999-12-31{tail}"), ("past day", f"1066-10-14{tail}"))
        yield "day without quotes", raw(there)
    if schema.get("code"):
        yield from (("impossible code", "999"), ("code without quotes", raw("202")))


# --- changes of data --------------------------------------------------------------------------


def _at(data: Any, path: Path_) -> Any:
    for step in path:
        data = data[step]
    return data


def _with(data: Any, path: Path_, sample: Any) -> Any:
    """The data with the key in it; nothing if the key cannot be reached."""
    try:
        _at(data, path)
    except (KeyError, IndexError, TypeError):
        if sample is None:
            return None
        try:
            return _put(data, path, sample)
        except (KeyError, IndexError, TypeError):
            return None
    return data


def _put(data: Any, path: Path_, value: Any, *, remove: bool = False) -> Any:
    changed = copy.deepcopy(data)
    inside = _at(changed, path[:-1])
    if remove:
        inside.pop(path[-1], None)
    else:
        inside[path[-1]] = value
    return changed


def _renamed(data: Any, path: Path_, name: str) -> Any:
    changed = copy.deepcopy(data)
    inside = _at(changed, path[:-1])
    kept = {(name if key == path[-1] else key): value for key, value in inside.items()}
    inside.clear()
    inside.update(kept)
    return changed
