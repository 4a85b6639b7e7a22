"""A setup sheet as JSON, held against its schema."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from kb.blocks import Second
from kb.book.load import Book
from kb.folders import shipped
from kb.output.json_reports import sheet_json
from kb.sheet import model
from kb.sheet.issue import code, digest
from kb.sheet.model import CodeList, CodeRow, Sheet
from tests.sheet.conftest import CopyBook
from tests.sheet.test_command import DAY, Run, sizebook

__all__ = ["sizebook"]


@pytest.fixture(scope="module")
def schema() -> Any:
    """The shipped description of the JSON sheet."""
    return json.loads((shipped("schema") / "output/setup-sheet.json").read_text(encoding="utf-8"))


def test_every_sheet_fits_the_schema(sheets: Mapping[str, Sheet], schema: Any) -> None:
    """The sheet of every format and line of the demo book is valid against the schema."""
    Draft202012Validator.check_schema(schema)
    validator = Draft202012Validator(schema)
    for name, sheet in sheets.items():
        record = json.loads(sheet_json(sheet))
        assert [error.message for error in validator.iter_errors(record)] == [], name


def test_the_schema_describes_the_model(schema: Any) -> None:
    """Each record of the model has a definition with the same keys, all required, each described."""
    records = {Second} | {one for one in vars(model).values() if isinstance(one, type) and is_dataclass(one)}
    named = {
        "".join(f"-{c.lower()}" if c.isupper() else c for c in one.__name__)[1:]: one
        for one in records - {Sheet, CodeRow, CodeList}
    }
    assert set(schema["$defs"]) == set(named)
    for name, record in [*named.items(), ("", Sheet)]:
        shape = schema["$defs"][name] if name else schema
        keys = {one.name for one in fields(record)} | (set() if name else {"schema"})
        assert set(shape["properties"]) == set(shape["required"]) == keys
        assert all(len(one["description"]) > 3 for one in shape["properties"].values())


def test_the_record_says_what_the_sheet_says(sheets: Mapping[str, Sheet]) -> None:
    """Code, limits, cautions and reaction plans are those of the sheet, and no text is cut."""
    sheet = sheets["b204-330/plover"]
    record = json.loads(sheet_json(sheet))
    content = sheet.content
    assert (record["schema"], record["code"]) == ("sizebook-sheet/1", sheet.code)
    assert record["content"]["safety"] == content.safety
    assert [one["avoid"] for one in record["content"]["dangers"]] == [one.avoid for one in content.dangers]
    values = [
        (one["number"], one["value"] and (one["value"]["least"], one["value"]["most"], one["value"]["unit"]))
        for one in record["content"]["first_offs"]
    ]
    assert values == [
        (one.number, one.value and (one.value.least, one.value.most, one.value.unit))
        for one in content.first_offs
    ]
    assert "..." not in " ".join(_texts(record["content"]))


def _texts(value: Any) -> list[str]:
    if isinstance(value, str):
        return [value]
    inside = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    return [text for one in inside for text in _texts(one)]


def test_the_code_can_be_computed_from_the_record(sheets: Mapping[str, Sheet]) -> None:
    """A program that has the record can check that nobody changed it: its content gives its code."""
    sheet = sheets["b204-330/plover"]
    record = json.loads(sheet_json(sheet))
    assert digest(record["content"]) == record["digest"] == sheet.digest
    assert code(digest(record["content"])) == record["code"]
    record["content"]["machines"][0]["title"] += " "
    assert digest(record["content"]) != record["digest"]


@pytest.mark.slow
def test_the_command_prints_json_alone(sizebook: Run, demo: Book, schema: Any) -> None:
    """With `--output json` standard output is one JSON object; with `--to` it goes into the file."""
    words = ("sheet", "b204-330", "--output", "json", "--book", str(demo.root), *DAY)
    exit_code, out, err = sizebook(*words)
    assert (exit_code, err) == (0, "")
    assert [error.message for error in Draft202012Validator(schema).iter_errors(json.loads(out))] == []
    exit_code, out, err = sizebook(*words, "--to", "x.json")
    assert (exit_code, err) == (0, "x.json written\n")
    assert json.loads(Path("x.json").read_text(encoding="utf-8"))["content"]["identity"]["line"] == "plover"


def test_a_sheet_that_is_not_for_use_says_so(sizebook: Run, copy_book: CopyBook) -> None:
    """A sheet that must not be used has its mark and its reasons in the record, and the exit code is 1."""
    book = copy_book([("formats/b204-330.yaml", "status: released", "status: withdrawn")])
    exit_code, out, _ = sizebook("sheet", "b204-330", "--output", "json", "--book", str(book.root), *DAY)
    record = json.loads(out)
    assert (exit_code, record["mark"]) == (1, "NOT FOR USE")
    assert "the format is withdrawn" in record["unfit"]


def test_the_list_of_codes_has_no_json(sizebook: Run, demo: Book) -> None:
    """JSON of the list of codes is refused in one line, and nothing is written."""
    found = sizebook("sheet", "--codes", "--line", "plover", "--output", "json", "--book", str(demo.root))
    message = "sizebook: --output json takes a FORMAT; --codes and --record have no JSON\n"
    assert found == (2, "", message)
