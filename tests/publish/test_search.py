"""The data of the search: what it holds, where its results lead, how large it is."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from kb.publish.terms import knowledge

LARGEST = 700_000
"""Bytes of the data, which a tablet reads and splits into words when the box is first used."""


@pytest.fixture(scope="module")
def data(site: Path) -> dict[str, Any]:
    """The data as the script has it."""
    text = (site / "assets/search.js").read_text(encoding="utf-8")
    found: dict[str, Any] = json.loads(text.removeprefix("window.sizebookSearch = ").removesuffix(";\n"))
    return found


@pytest.fixture(scope="module")
def entries(data: dict[str, Any]) -> list[dict[str, Any]]:
    """Its entries with their kinds in words."""
    keys = ("kind", "title", "href", "names", "rows")
    made = [dict(zip(keys, one, strict=True)) for one in data["entries"]]
    return [{**one, "kind": data["kinds"][one["kind"]]} for one in made]


def test_the_data_is_small(site: Path, data: dict[str, Any]) -> None:
    """The data is below its limit, and no text is in it twice."""
    assert (site / "assets/search.js").stat().st_size < LARGEST
    assert len(set(data["texts"])) == len(data["texts"])


def test_every_result_leads_to_a_page(site: Path, entries: list[dict[str, Any]]) -> None:
    """The file of each result exists, and its anchor too unless a script of the page reads it."""
    lost = []
    for one in entries:
        file, _, anchor = one["href"].partition("#")
        anchors = {anchor, *(row for row in one["rows"] if isinstance(row, str))} - {""}
        text = (site / file).read_text(encoding="utf-8") if (site / file).is_file() else ""
        chosen = file == "changeovers/index.html"
        if not text or not all(f'id="{name}"' in text for name in anchors if not chosen):
            lost.append((one["href"], sorted(anchors)))
    assert lost == []


def test_each_term_and_each_fault_is_one_entry(entries: list[dict[str, Any]]) -> None:
    """The glossary and the fault guide have one entry for each term and fault, with all their names."""
    for kind, name, key in (("Glossary", "glossary", "term"), ("Fault", "faults", "title")):
        found = [(one["title"], one["names"]) for one in entries if one["kind"] == kind]
        assert found == [(one[key], one["also_called"]) for one in knowledge(name)]


def test_sheets_pairs_and_codes_are_in_it(site: Path, entries: list[dict[str, Any]]) -> None:
    """Every setup sheet, every pair of formats of a line and every current code can be found."""
    hrefs = {one["href"] for one in entries}
    sheets = {f"sheets/{path.name}" for path in (site / "sheets").glob("*-*.html")}
    assert sheets <= hrefs
    chosen = (href.partition("#")[2].split(",") for href in hrefs if "," in href)
    plans = (path.name.split(".") for path in (site / "changeovers").glob("*.sheet.html"))
    assert {(old, new) for _, old, new in chosen} == {(old, new) for _, old, new, *_ in plans}
    book = (site / "assets/book.js").read_text(encoding="utf-8")
    codes = set(re.findall(r'"code":"([^"]+)"', book))
    assert len(codes) > 200
    assert codes <= {name for one in entries for name in one["names"]}


def test_the_rows_of_a_sheet_name_parts_gauges_and_settings(
    data: dict[str, Any], entries: list[dict[str, Any]]
) -> None:
    """A setup sheet is found by its rings, its change parts, its settings and its gauges."""
    (sheet,) = (
        one for one in entries if one["href"] == "sheets/b211-330-heron.html" and one["kind"] == "Setup sheet"
    )
    shown = "\n".join(data["texts"][row] for row in sheet["rows"] if isinstance(row, int))
    for words in ("Ironing ring 2, bore", "Draw pad", "Feed pitch", "Seam micrometer", "Dome depth"):
        assert words in shown
