"""The trade words of a key, and its place in process order, from the schema of its kind."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from kb.book.schema import shipped_schemas
from kb.book.structure import local_target

Steps = tuple[str | int, ...]
Names = Mapping[str, str]
"""Limits and settings in process order, with the words that a reader knows them by."""
Order = tuple[tuple[int, str], ...]

IDENTITY = "Identity"
"""The station of what stands at the top of a file and is no group."""


@dataclass(frozen=True, slots=True)
class Term:
    """What a key is called.

    Attributes:
        station: the part of the file it stands in.
        words: its name, with the member of a list it belongs to.
        order: sorts keys in process order.
    """

    station: str
    words: str
    order: Order


def term(kind: str, steps: Sequence[str | int], members: Sequence[str] = (), *, names: Names) -> Term:
    """The term of a key.

    Args:
        kind: kind of spec
        steps: the key, step by step
        members: what the members of lists on the way are called, the outermost first
        names: names of limits and settings with their words, in process order

    Returns:
        Its term; a key the schema lacks is called by itself.

    Example:
        >>> term("size-format", ("ironing", "rings", 2, "bore"), names={}).words
        'ring bore, ring 3'
        >>> term("limits", ("limits", "blank.web", "least"), names={}).words
        'least allowed, blank.web'
    """
    root: Any = _schema(kind)
    schema, words = root, ""
    order: list[tuple[int, str]] = []
    asides: list[str] = []
    named = list(members)
    for step in steps:
        if isinstance(step, int):
            schema = _target(root, schema.get("items", {}))
            words = str(schema.get("title", words))
            asides.append((named.pop(0) if named else "") or f"{words} {step + 1}")
            order.append((step, ""))
        elif step in schema.get("properties", {}):
            order.append((list(schema["properties"]).index(step), ""))
            schema = _target(root, schema["properties"][step])
            words = str(schema.get("title", step))
        else:
            inner = schema.get("additionalProperties")
            schema = _target(root, inner) if isinstance(inner, dict) else {}
            words = str(schema.get("title", ""))
            asides.append(names.get(step, step))
            order.append((list(names).index(step) if step in names else len(names), step))
    if asides and asides[-1].startswith(f"{words} "):
        words = ""  # a member of a list by its number needs no other name
    phrase = ", ".join(filter(None, [words, *reversed(asides)]))
    return Term(_station(kind, steps), phrase, tuple(order))


def _station(kind: str, steps: Sequence[str | int]) -> str:
    if not steps:
        return IDENTITY
    top = _schema(kind).get("properties", {}).get(steps[0], {})
    plain = top.get("type") not in {"object", "array"} and "reference" not in top
    title = IDENTITY if plain and kind == "size-format" else str(top.get("title", steps[0]))
    return title[:1].upper() + title[1:]


@cache
def _schema(kind: str) -> Any:
    schemas = shipped_schemas()
    return schemas.schema(kind) if kind in schemas.kinds else {}


def _target(root: Any, schema: Any) -> Any:
    return {**local_target(root, schema["$ref"]), **schema} if "$ref" in schema else schema
