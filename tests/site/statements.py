"""The sentences of the product's own texts that compare: more, less, larger, thinner, raise, lower."""

from __future__ import annotations

import ast
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

from kb.folders import shipped
from tests.conftest import yaml_values

COMPARES = re.compile(
    r"\b(more|less|fewer|larger|smaller|higher|lower|thinner|thicker|longer|shorter|wider|narrower|deeper"
    r"|shallower|steeper|flatter|stronger|weaker|harder|softer|faster|slower|greater|heavier|lighter|taller"
    r"|bigger|tighter|looser|sharper|blunter|closer|raises?|raised|reduces?|reduced|increases?|grows?|grown"
    r"|shrinks?|rises|falls|widens?|lengthens?|shortens?|deepens?|thickens|thins|narrows?)\b",
    re.IGNORECASE,
)
_FAULT_KEYS = ("look", "where", "pattern", "causes", "steps", "do_not")


class Sentence(NamedTuple):
    """A sentence with the file it is in, below the repository."""

    file: str
    text: str


def plain(text: str) -> str:
    """A text with single spaces, however its lines are broken."""
    return " ".join(text.split())


def texts() -> Iterator[Sentence]:
    """Every text that is read for statements: learning pages, fault guide, glossary, checks, schemas."""
    site = shipped("site")
    for path in sorted((site / "docs" / "learn").glob("*.md")):
        for part in re.split(r"\n\s*\n|\n\s*[-|#]|\n\d+\. ", path.read_text(encoding="utf-8")):
            yield Sentence(f"site/docs/learn/{path.name}", plain(part.replace("\n> ", " ")))
    for name, of, inside in (("faults", "faults", _FAULT_KEYS), ("glossary", "terms", ("meaning",))):
        read = yaml_values(site / f"{name}.yaml")
        for entry in read[of]:
            for key in inside:
                yield from (Sentence(f"site/{name}.yaml", plain(one)) for one in _said(entry.get(key, "")))
    yield from _docstrings(Path(__file__).parents[2] / "kb" / "checks" / "stations")
    for path in sorted(shipped("schema").glob("*.json")):
        if path.stem == "body-standard":  # its texts are those of the size format, by test_body_standard
            continue
        for one in _descriptions(json.loads(path.read_text(encoding="utf-8"))):
            yield Sentence(f"schema/{path.name}", plain(one))


def _said(value: Any) -> Iterator[str]:
    """Every text in a value of a file; of a mapping its `text` and `say` alone."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, list):
        for one in value:
            yield from _said(one)
    elif isinstance(value, dict):
        for key in ("text", "say", "do", "find"):
            yield from _said(value.get(key, ""))


def _docstrings(folder: Path) -> Iterator[Sentence]:
    """First line, Why and To fix of every check; a formula's `less` is arithmetic."""
    for path in sorted(folder.glob("*.py")):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            doc = ast.get_docstring(node) if isinstance(node, ast.FunctionDef) else None
            if doc is None or "To fix:" not in doc:
                continue
            parts = re.split(r"^(?:Why|Data|Formula|To fix):\s", doc, flags=re.MULTILINE)
            for part in (parts[0], parts[1], parts[-1]):
                yield Sentence(f"kb/checks/stations/{path.name}", plain(part))


def _descriptions(schema: Any) -> Iterator[str]:
    if isinstance(schema, dict):
        if isinstance(schema.get("description"), str):
            yield schema["description"]
        for one in schema.values():
            yield from _descriptions(one)
    elif isinstance(schema, list):
        for one in schema:
            yield from _descriptions(one)


def comparing() -> Iterator[Sentence]:
    """The sentences that compare."""
    for file, text in texts():
        for one in re.split(r"(?<=[.!?:;])\s+", text):
            if COMPARES.search(one):
                yield Sentence(file, one)
