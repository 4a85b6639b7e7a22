"""A setup sheet as JSON, for programs; schema/output/setup-sheet.json describes it."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from typing import Any

from kb.book.finding import one_line
from kb.output.json_record import written
from kb.sheet.model import Sheet

SCHEMA = "sizebook-sheet/1"

LONGEST = 10_000
"""Characters of one text: a caution is never cut."""


def sheet_json(sheet: Sheet) -> str:
    """A setup sheet as JSON; its keys are those of kb/sheet/model.py, its values text as printed."""
    return written({"schema": SCHEMA, **_record(sheet)})


def _record(value: Any) -> Any:
    if is_dataclass(value):
        return {field.name: _record(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, tuple):
        return [_record(one) for one in value]
    return one_line(value, LONGEST) if isinstance(value, str) else value
