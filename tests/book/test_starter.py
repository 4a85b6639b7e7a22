"""A format with little more than its kind: what is missing, in process order, with values of its own book."""

from __future__ import annotations

import json
import re
from pathlib import Path

from kb.book.finding import Finding
from kb.book.load import Book, load
from kb.book.schema import shipped_schemas
from kb.new import new_book


def missing(folder: Path, text: str) -> list[Finding]:
    """Findings on the missing keys of a format with this text, in a small book of its own."""
    new_book(folder)
    (folder / "formats/b204-250.yaml").write_text(text, encoding="utf-8")
    found = load(folder, shown="").findings
    return [one for one in found if one.name == "shape.missing-key"]


def test_missing_keys_are_in_process_order(tmp_path: Path) -> None:
    """A format with nothing but its kind has each required key once, from coil to pallet."""
    schema = shipped_schemas().schema("size-format")
    keys = [one.place.key for one in missing(tmp_path / "book", "kind: size-format\n")]
    required = [name for name in schema["properties"] if name in schema["required"]]
    assert keys == required[1:]
    assert (
        keys.index("stock")
        < keys.index("cup")
        < keys.index("neck")
        < keys.index("end")
        < keys.index("pallet")
    )


def test_values_are_of_this_book(tmp_path: Path) -> None:
    """Ids, owners and numbers of machines are those of the book; the id is that of the file."""
    fixes = {one.place.key: one.fixes for one in missing(tmp_path / "book", "kind: size-format\n")}
    book = load(tmp_path / "book", shown="")
    assert fixes["id"] == ("add `id: b204-250`",)
    assert fixes["end"] == (f"add `end: {next(iter(book.of('end')))}`",)
    assert fixes["lines"] == (f"add `lines: [{next(iter(book.of('line')))}]`",)
    assert fixes["status"] == ("add `status: draft`",)
    assert "material (marsh-3104), gauge" in fixes["stock"][0]
    assert "across (12)" in fixes["blank"][0]
    assert "stages (14)" in fixes["neck"][0]
    assert all(fix.startswith("add `") for one in fixes.values() for fix in one)
    assert {key for key, one in fixes.items() if len(one) != 1} == {"body"}  # or the standard that gives it


def test_nothing_is_of_another_plant(tmp_path: Path) -> None:
    """No example of the schema is offered as a value: they are of no plant."""
    text = "kind: size-format\nstock: {}\nblank: {}\npallet: {}\n"
    words = json.dumps([(one.message, one.fixes) for one in missing(tmp_path / "book", text)])
    schema = (shipped_schemas().schema("size-format"))["properties"]
    examples = [str(schema[key]["examples"][0]) for key in ("id", "title", "lines", "end", "why")]
    examples += re.findall(r"[a-z]+-\d{4}", json.dumps(schema["stock"]))
    assert not [one for one in examples if one in words and one != "marsh-3104"]
    assert "an example is" not in words


def test_keys_of_other_files_are_as_before(tmp_path: Path) -> None:
    """A missing key of a metal keeps the words of its schema."""
    folder = tmp_path / "book"
    new_book(folder)
    path = folder / "materials/marsh-3104.yaml"
    path.write_text(re.sub(r"(?m)^use: body\n", "", path.read_text(encoding="utf-8")), encoding="utf-8")
    (one,) = [each for each in load(folder, shown="").findings if each.name == "shape.missing-key"]
    assert (one.place.key, one.rank) == ("use", 0)


def test_a_book_without_ends_says_so(tmp_path: Path) -> None:
    """Where the book has nothing for a key the fix says that, and offers no other plant's."""
    folder = tmp_path / "book"
    new_book(folder)
    for path in (folder / "ends").iterdir():
        path.unlink()
    (folder / "formats/a.yaml").write_text("kind: size-format\n", encoding="utf-8")
    book: Book = load(folder, shown="")
    (one,) = [each for each in book.findings if each.place.key == "end" and "formats/a" in each.place.file]
    assert one.fixes == ("add `end:`; this book has no value for it yet",)


def test_a_file_on_a_standard_lists_what_is_missing_in_process_order(tmp_path: Path) -> None:
    """What a standard does not give comes in the order of the schema, by block; `body` comes from it."""
    new_book(tmp_path / "book")
    (standard,) = load(tmp_path / "book", shown="").of("body-standard")
    text = f'kind: size-format\nstandard: "{standard}"\n'
    keys = [one.place.key for one in missing(tmp_path / "again", text)]
    tops = list(dict.fromkeys(key.partition(".")[0] for key in keys))
    schema = list(shipped_schemas().schema("size-format")["properties"])
    assert tops == sorted(tops, key=schema.index)
    assert "body" not in tops
    assert {"stock.gauge", "blank.diameter", "ironing.rings[0].bore"} <= set(keys)


def test_a_file_with_a_kind_only_is_offered_the_standard(tmp_path: Path) -> None:
    """Without a body, the last fix names the standard of the book, which gives it with its tools."""
    new_book(tmp_path / "book")
    (standard,) = load(tmp_path / "book", shown="").of("body-standard")
    fixes = {one.place.key: one.fixes for one in missing(tmp_path / "again", "kind: size-format\n")}
    assert fixes["body"][-1] == f'add `standard: "{standard}"`; it gives the body and its tools'
