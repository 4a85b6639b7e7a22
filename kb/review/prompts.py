"""What usually changes together, and did not; site/together.yaml has the table, without numbers."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from typing import NamedTuple

import yaml

from kb.checks.catalog import NAMES
from kb.folders import shipped
from kb.history.change_types import term, under
from kb.history.value_diff import ChangedFile
from kb.review.model import Prompt


class Together(NamedTuple):
    """Keys that usually change together.

    Attributes:
        moved: keys with their kind of spec before them, or a kind alone.
        usually: keys of the format that usually change with one of these.
        beside: what no file of the book has.
    """

    moved: tuple[str, ...]
    usually: tuple[str, ...]
    beside: tuple[str, ...]
    why: str
    source: str


@cache
def together() -> tuple[Together, ...]:
    """The rows of the table."""
    rows = yaml.safe_load((shipped("site") / "together.yaml").read_text(encoding="utf-8"))
    return tuple(
        Together(
            tuple(one["moved"]),
            tuple(one["usually"]),
            tuple(one.get("beside", ())),
            one["why"],
            one["source"],
        )
        for one in rows
    )


def prompts(files: Sequence[ChangedFile], reached: Mapping[str, Sequence[str]]) -> Iterator[Prompt]:
    """Rows of the table of which something moved and something did not."""
    keys = {one.id: [change.key for change in one.changes] for one in files if one.kind == "size-format"}
    for row in together():
        found: dict[tuple[tuple[str, ...], tuple[str, ...]], list[str]] = {}
        for file in files:
            moved = _moved_values(row, file)
            formats = [file.id] if file.kind == "size-format" else reached.get(f"{file.kind} {file.id}", ())
            for ident in formats if moved and "changed" in file.states else ():
                still = tuple(key for key in row.usually if not _among(key, keys.get(ident, ())))
                still = tuple(key for key in still if f"size-format.{key}" not in row.moved)
                if still:
                    found.setdefault((moved, still), []).append(ident)
        for (moved, still), formats in found.items():
            named = tuple(term("size-format", key.split("."), names=NAMES).words for key in still)
            yield Prompt(tuple(sorted(formats)), moved, named, row.beside, row.why, row.source)


def _moved_values(row: Together, file: ChangedFile) -> tuple[str, ...]:
    """What of a row moved in a file, in words."""
    changes = [change for change in file.changes if change.kinds != ("re-expressed",)]
    named = [change.words for change in changes if under(f"{file.kind}.{change.key}", row.moved)]
    if named and file.kind != "size-format" and file.kind in row.moved:
        if all("editorial" in change.kinds or "document" in change.kinds for change in file.changes):
            return ()
        return (f"{file.kind} {file.id}",)
    return tuple(named)


def _among(key: str, keys: Sequence[str]) -> bool:
    return any(under(one, (key,)) for one in keys)
