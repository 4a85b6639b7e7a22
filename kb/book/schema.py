"""A spec compared with its schema: structure, quantities, codes, ids and dates.

Structure is JSON Schema 2020-12, evaluated by jsonschema; kb/book/structure.py words its errors. The same
walk carries our own keywords (kb/book/keywords.py).

Names of the findings, all of them errors:

    shape.kind          no kind, or one without a schema
    shape.unknown-key   shape.missing-key   shape.key       a key too many, too few, or wrongly formed
    shape.type          shape.choice        shape.length    shape.number    shape.form    shape.repeated
    shape.code          shape.id            shape.date      the words above
    units.quantity      not a quantity in one of the written forms
    units.unknown       a unit that is not in the list
    units.dimension     a unit of something else
    units.dual          two halves that disagree
    units.tolerance     a tolerance missing, or one where none belongs
    units.range         one number where two ends are wanted
    units.slip          out of band, and a common slip would explain it
    units.band          out of band
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from collections.abc import Mapping as AnyMapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kb.book.finding import Finding, one_line
from kb.book.keywords import has_word, is_own, validators, word_faults
from kb.book.structure import MOST_FAULTS, closest, dotted, faults
from kb.book.structure import Path as KeyPath
from kb.book.tree import Document, Scalar, noted
from kb.folders import shipped

if TYPE_CHECKING:
    from jsonschema import Draft202012Validator, ValidationError

_SETTLED_HERE = frozenset(("type", "form", "length", "number"))
"""Faults of structure that one of our keywords reports better at the same value."""


@dataclass(slots=True)
class ShapeResult:
    """One spec compared with its schema.

    Attributes:
        kind: kind of the spec, "" when it names none that is known.
        findings: findings of shape and units; the first part of the name says which.
    """

    kind: str
    findings: list[Finding] = field(default_factory=list)


class Schemas:
    """The schemas of one folder, or given as data; each is compiled at its first use."""

    def __init__(self, source: Path | AnyMapping[str, Any]) -> None:
        self._source = source
        self._compiled: dict[str, tuple[Draft202012Validator, Draft202012Validator]] = {}
        names = [file.stem for file in source.glob("*.json")] if isinstance(source, Path) else list(source)
        self.kinds: tuple[str, ...] = tuple(sorted(set(names) - {"vocabulary"}))

    def schema(self, kind: str) -> Any:
        """The schema of one kind, as data."""
        if isinstance(self._source, Path):
            return json.loads((self._source / f"{kind}.json").read_text(encoding="utf-8"))
        return self._source[kind]

    def compiled(self, kind: str) -> tuple[Draft202012Validator, Draft202012Validator]:
        """The validator of one kind with our keywords, and the one of its structure alone."""
        if kind not in self._compiled:
            self._compiled[kind] = validators(self.schema(kind))
        return self._compiled[kind]


@cache
def shipped_schemas() -> Schemas:
    """The schemas that come with the program."""
    return Schemas(shipped("schema"))


def judge(document: Document, schemas: Schemas | None = None) -> ShapeResult:
    """Compare a spec with the schema of its kind.

    Args:
        document: the spec as read.
        schemas: other schemas than the shipped ones.

    Returns:
        The kind, and every finding of shape and units.
    """
    schemas = schemas or shipped_schemas()
    kind = _kind(document, schemas)
    if isinstance(kind, Finding):
        return ShapeResult("", [kind])
    validator, plain = schemas.compiled(kind)
    own: dict[tuple[KeyPath, bool], ValidationError] = {}
    settled: set[KeyPath] = set()

    def of_structure() -> Iterator[ValidationError]:
        for error in validator.iter_errors(document.data(noted)):
            path = tuple(error.absolute_path)
            if not is_own(error):
                settled.update(_settled(error))
                yield error
            elif len(own) < MOST_FAULTS:
                own.setdefault((path, has_word(error.schema)), error)

    found = faults(of_structure(), plain)
    settled |= {path for path, by_word in own if by_word}
    findings = [one for (path, _), error in own.items() for one in _of_word(document, error, dotted(path))]
    for fault in found:
        if fault.name not in _SETTLED_HERE or fault.path not in settled:
            key = dotted(fault.path)
            place = document.key_place(key) if fault.at_key else document.place(key)
            findings.append(Finding(f"shape.{fault.name}", "error", place, fault.message, fault.fixes))
    return ShapeResult(kind, sorted(findings, key=lambda finding: finding.order))


def _settled(error: ValidationError) -> Iterator[KeyPath]:
    """Where an error of structure is at a value that one of our keywords looks at."""
    if has_word(error.schema):
        yield tuple(error.absolute_path)
    for inner in error.context or ():
        yield from _settled(inner)


def _of_word(document: Document, error: ValidationError, key: str) -> Iterator[Finding]:
    for fault in word_faults(str(error.validator), error.schema, error.instance, key):
        place = document.place(key, fault.offset)
        yield Finding(fault.name, "error", place, fault.message, fault.fixes)


def _kind(document: Document, schemas: Schemas) -> str | Finding:
    node = document.node("kind")
    known = ", ".join(schemas.kinds)
    if node is None:
        message, fixes = "the spec has no `kind:`", (f"begin with `kind:` and one of {known}",)
    elif isinstance(node, Scalar) and node.text in schemas.kinds:
        return node.text
    else:
        written = one_line(node.text, 40) if isinstance(node, Scalar) else "a group or list"
        guess = closest(written, schemas.kinds)
        message = f"{written or 'empty text'} is not a kind of spec"
        fixes = (f"did you mean {guess}?" if guess else f"choose one of {known}",)
    return Finding("shape.kind", "error", document.place("kind"), message, fixes)
