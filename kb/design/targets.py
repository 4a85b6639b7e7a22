"""The targets of a new size: a file with its own schema, read with places like a spec."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from kb.book import schema, source
from kb.book.finding import Finding, place_words
from kb.book.tree import Scalar
from kb.errors import SizebookError
from kb.folders import shipped

KIND = "design-targets"

OWN = ("kind", "like", "id", "aim")
"""Keys of the file that are no targets."""

MOST_SHOWN = 4
"""Faults of a file that are printed."""


class NoDesign(SizebookError):  # noqa: N818 - printed in one line
    """There is no size to compute, or no answer; the text says why."""


@dataclass(frozen=True)
class DesignTargets:
    """What a new size must do.

    Attributes:
        like: id of the format it begins with
        ident: its id
        values: other values of the new format by key, as YAML writes them
        keep: beginnings of keys that keep the value of the former format
        lightest: whether the least coil is the aim, at the edge of the limits, and not the middle
    """

    like: str
    ident: str
    values: Mapping[str, str]
    keep: tuple[str, ...] = ()
    lightest: bool = False


def read_targets(path: Path) -> DesignTargets:
    """Read the targets of a new size.

    Args:
        path: a YAML file of the schema design/targets.json

    Raises:
        NoDesign: if the file cannot be read, or a key, unit or value is wrong; the text has each place.
    """
    reading = source.read(path, path.as_posix())
    faults = (
        reading.findings if reading.document is None else schema.judge(reading.document, _schemas()).findings
    )
    if faults or reading.document is None:
        more = len(faults) - MOST_SHOWN
        shown = [_line(one) for one in faults[:MOST_SHOWN]] + ([f"{more} more"] if more > 0 else [])
        raise NoDesign("; ".join(shown))
    plain = dict(_texts(reading.document.data(lambda one: one.text), ""))
    values = dict(_texts(reading.document.data(_as_yaml), ""))
    return DesignTargets(
        like=plain["like"],
        ident=plain["id"],
        values={key: text for key, text in values.items() if key not in OWN and not key.startswith("keep[")},
        keep=tuple(text for key, text in plain.items() if key.startswith("keep[")),
        lightest=plain.get("aim") == "lightest",
    )


@cache
def _schemas() -> schema.Schemas:
    """The schema of the targets, with the parts that it takes from other kinds in place of the references."""
    folder = shipped("schema") / "design"
    record = json.loads((folder / "targets.json").read_text(encoding="utf-8"))
    for name, part in record["properties"].items():
        file, _, key = part.get("$ref", "").partition("#/properties/")
        if file:
            other = json.loads((folder / file).read_text(encoding="utf-8"))
            record["properties"][name] = other["properties"][key]
    return schema.Schemas({KIND: record})


def _line(one: Finding) -> str:
    fix = f" ({one.fixes[0]})" if one.fixes else ""
    return f"{place_words(one.place)}: {one.message}{fix}"


def _as_yaml(one: Scalar) -> str:
    return json.dumps(one.text, ensure_ascii=False) if one.quoted else one.text


def _texts(node: Any, key: str) -> Iterator[tuple[str, str]]:
    if isinstance(node, dict):
        for name, item in node.items():
            yield from _texts(item, f"{key}.{name}" if key else str(name))
    elif isinstance(node, list):
        for i, item in enumerate(node):
            yield from _texts(item, f"{key}[{i}]")
    else:
        yield key, str(node)
