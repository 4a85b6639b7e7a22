"""The field reference against the schemas it is made from."""

from __future__ import annotations

import html
import json
import re
from collections.abc import Iterator
from typing import Any

import pytest
from markdown_it import MarkdownIt

from kb.book.schema import Schemas
from kb.folders import shipped
from kb.publish import fields
from kb.publish.fields import FieldEntry, escaped, field, field_reference, kinds

KINDS = kinds()
MARKDOWN = MarkdownIt("commonmark", {"html": True}).enable("table")


def schema_of(kind: str) -> dict[str, Any]:
    """A schema as in its file."""
    schema: dict[str, Any] = json.loads((shipped("schema") / f"{kind}.json").read_text(encoding="utf-8"))
    return schema


def keys(schema: dict[str, Any], at: str = "") -> Iterator[str]:
    """Every key a schema declares, found without the code under test."""
    for name, inner in schema.get("properties", {}).items():
        key = f"{at}.{name}".removeprefix(".")
        if inner.get("type") == "array":
            key, inner = f"{key}[]", inner["items"]  # noqa: PLW2901 - what the list holds
        elif "propertyNames" in inner:
            key, inner = f"{key}.<{inner['propertyNames']['title']}>", inner["additionalProperties"]  # noqa: PLW2901
        yield key
        yield from keys(inner, key)


def plain(cell: str) -> str:
    """The text a reader sees of rendered HTML."""
    return html.unescape(re.sub(r"<[^>]*>", "", cell))


def rows(page: str) -> list[list[str]]:
    """The cells of every row of every table of a page, as a reader sees them."""
    found = re.findall(r"<tr>(.*?)</tr>", MARKDOWN.render(page), re.DOTALL)
    return [
        [plain(cell) for cell in re.findall(r"<td>(.*?)</td>", row, re.DOTALL)]
        for row in found
        if "<td>" in row
    ]


def headings(page: str) -> list[str]:
    """The keys in the headings of a page."""
    return [plain(key) for key in re.findall(r"<h2>.*?(<code>.*?</code>)", MARKDOWN.render(page))]


def test_every_schema_file_is_a_kind() -> None:
    """The kinds are those of the schema folder, in order."""
    assert KINDS == (
        "body-standard", "changeover", "end", "floor", "limits", "line", "material", "plant", "sheet-codes",
        "size-format", "trial", "waivers", "week",
    )  # fmt: skip


@pytest.mark.parametrize("kind", KINDS)
def test_the_reference_lists_every_key_once(kind: str) -> None:
    """Each key of the schema is a row or a heading of the page, once, and no other is."""
    page = field_reference(kind)
    assert sorted([row[0] for row in rows(page)] + headings(page)) == sorted(keys(schema_of(kind)))


@pytest.mark.parametrize("kind", KINDS)
def test_every_row_has_a_cell_under_each_head(kind: str) -> None:
    """No text of a schema breaks a table: seven cells in each row, meaning and example among them."""
    page = field_reference(kind)
    assert "|" not in MARKDOWN.render(page)
    for row in rows(page):
        assert len(row) == 7, row
        assert all(row[i] for i in (0, 1, 2, 5, 6)), row


@pytest.mark.parametrize("kind", KINDS)
def test_a_reader_sees_the_schema_s_own_words(kind: str) -> None:
    """Title and meaning come through rendering letter for letter."""
    for key, name, *_, meaning, _example in rows(field_reference(kind)):
        entry = field(kind, key)
        assert name == entry.title
        assert meaning.startswith(entry.meaning)


def row_of(kind: str, key: str) -> list[str]:
    """The one row of a key."""
    (row,) = (row for row in rows(field_reference(kind)) if row[0] == key)
    return row


@pytest.mark.parametrize(
    ("kind", "key", "unit", "band", "tolerance", "example"),
    [
        ("size-format", "stock.gauge", "mm", "0.18 to 0.45 mm", "required", "0.270 ±0.005 mm"),
        ("size-format", "stock.earing", "number, shown in %", "0.1 to 12 %", "allowed", "2.0 %"),
        ("size-format", "targets.dome_reversal", "MPa, shown in kPa", "350 to 1200 kPa", "none", "620 kPa"),
        ("size-format", "targets.axial_load", "N, shown in kN", "0.4 to 2.5 kN", "none", "0.90 kN"),
        ("size-format", "fill.contents", "mm³, shown in ml", "140 to 1050 ml", "none", "330 ml"),
        ("size-format", "body", "size code", "", "", '"211"'),
        ("size-format", "effective", "day", "", "", '"2026-09-14"'),
        ("size-format", "lines[]", "id", "", "", "[line-1]"),
        ("size-format", "revision", "whole number", "1 to 9999", "", "4"),
        ("material", "modulus", "MPa, shown in GPa", "60 to 80 GPa", "allowed", "70.0 GPa"),
        ("material", "poisson", "number", "0.28 to 0.38", "allowed", "0.33"),
        ("line", "machines[].can_height", "mm", "50 to 300 mm", "none", "90 to 190 mm"),
        ("limits", "limits.<check>.most", "any", "", "none", "42 %620 kPa1.75"),
        ("limits", "settings.<setting>.calibrated", "true or false", "", "", "true"),
    ],
)
def test_a_row_shows_unit_band_rule_and_example(  # noqa: PLR0917 - one row, cell by cell
    kind: str, key: str, unit: str, band: str, tolerance: str, example: str
) -> None:
    """Units and bands are the reader's; examples stand as a spec would have them."""
    _, _, *middle, _, shown = row_of(kind, key)
    assert [*middle, shown] == [unit, band, tolerance, example]


def test_a_row_says_who_must_have_a_key() -> None:
    """Optional keys say so, and keys that some kinds of machine need name them."""
    assert row_of("size-format", "fill.nitrogen")[5].endswith(" Optional.")
    words = row_of("line", "machines[].force")[5]
    assert words.endswith(" Needed by: cupper, bodymaker; others may leave it out.")
    assert "Optional" not in row_of("size-format", "fill.contents")[5]


def test_a_row_lists_choices_and_the_spec_it_names() -> None:
    """Choices and references are part of the meaning."""
    assert row_of("end", "status")[5].endswith(" One of: draft, trial, released, withdrawn.")
    assert row_of("end", "material")[5].endswith(" Names a spec of kind material.")


# --- one key ----------------------------------------------------------------------------------


def test_a_key_shows_what_the_schema_declares() -> None:
    """An entry carries unit, reader's unit, band and rule as the schema has them."""
    entry = field("size-format", "targets.dome_reversal")
    declared = schema_of("size-format")["properties"]["targets"]["properties"]["dome_reversal"]
    assert (entry.title, entry.meaning) == (declared["title"], declared["description"])
    assert (entry.unit, entry.show, entry.band) == ("MPa", "kPa", (0.35, 1.2))
    assert entry.shown_band == (350.0, 1200.0)
    assert (entry.tolerance, entry.form, entry.required, entry.group) == ("none", "quantity", True, False)


@pytest.mark.parametrize(
    ("kind", "asked", "key"),
    [
        ("size-format", "ironing.rings[1].bore", "ironing.rings[].bore"),
        ("size-format", "ironing.rings[].bore", "ironing.rings[].bore"),
        ("size-format", "ironing.rings[2]", "ironing.rings[]"),
        ("size-format", "ironing.rings", "ironing.rings[]"),
        ("size-format", "ironing", "ironing"),
        ("size-format", "lines[0]", "lines[]"),
        ("size-format", "neck.diameters[11]", "neck.diameters[]"),
        ("line", "machines[3].display.length", "machines[].display.length"),
        ("limits", "limits.ironing.ring-reduction.most", "limits.<check>.most"),
        ("limits", "limits.ironing.ring-reduction", "limits.<check>"),
        ("limits", "limits.<check>.most", "limits.<check>.most"),
        ("limits", "settings.die-friction.value", "settings.<setting>.value"),
        ("limits", "settings", "settings.<setting>"),
    ],
)
def test_a_key_is_found_at_any_position_and_under_any_name(kind: str, asked: str, key: str) -> None:
    """List positions and the names of members do not matter; a list covers its members."""
    assert field(kind, asked).key == key


@pytest.mark.parametrize("kind", KINDS)
def test_every_key_is_found_by_itself(kind: str) -> None:
    """Each key of a schema leads to its own entry, and the entry knows its group."""
    for key in keys(schema_of(kind)):
        entry = field(kind, key)
        assert entry.key == key
        assert entry.parent == "" or field(kind, entry.parent).group


@pytest.mark.parametrize(
    ("kind", "key"),
    [
        ("size-format", "ironing.rings[1].bor"),
        ("size-format", "ironing.rings.bore"),
        ("size-format", ""),
        ("size-format", "gauge"),
        ("limits", "limits.Ring.most"),
        ("limits", "settings.die-friction.valu"),
        ("can", "id"),
        ("../schema/end", "id"),
    ],
)
def test_an_unknown_key_or_kind_is_refused(kind: str, key: str) -> None:
    """What no schema declares raises a KeyError."""
    with pytest.raises(KeyError):
        field(kind, key)


def test_an_entry_cannot_be_changed() -> None:
    """Entries are shared, so they are frozen."""
    entry = field("end", "gauge")
    with pytest.raises(AttributeError):
        entry.title = "other"  # type: ignore[misc]


# --- texts that could break a page ------------------------------------------------------------

HOSTILE = (
    "a | b",
    "<script>alert(1)</script> & <br> <!-- x -->",
    "`code` *bold* __strong__ ~~gone~~ [link](http://example.invalid) ![picture](x.png)",
    "back\\slash \\| {: .class } {{ macro }} $x$ :smile: ==mark==",
    "two\nlines\n\n# and a heading\n\n| a | table |",
    "&lt;b&gt; &#124; &amp;",
    "http://example.invalid and someone@example.invalid",
)


@pytest.mark.parametrize("text", HOSTILE)
def test_escaped_text_is_shown_as_it_is(text: str) -> None:
    """A reader sees any text as written, on one line, and no markup comes of it."""
    rendered = MARKDOWN.render(f"| a |\n| --- |\n| {escaped(text)} |\n")
    (cell,) = re.findall(r"<td>(.*?)</td>", rendered, re.DOTALL)
    assert "<" not in cell
    assert html.unescape(cell) == " ".join(text.split())


@pytest.fixture
def hostile_kind(monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    """A kind of spec whose every text tries to break the page."""
    texts = dict(enumerate(HOSTILE))
    schema = {
        "title": texts[0],
        "description": texts[1],
        "type": "object",
        "properties": {
            f"key_{i}": {
                "title": text,
                "description": text,
                "type": "string",
                "examples": [text],
                "enum": [text],
            }
            for i, text in texts.items()
        },
    }
    monkeypatch.setattr(fields, "shipped_schemas", lambda: Schemas({"hostile": schema}))
    yield "hostile"
    fields._schema.cache_clear()
    fields._walked.cache_clear()


def test_no_text_of_a_schema_can_break_the_page(hostile_kind: str) -> None:
    """Titles, descriptions, choices and examples full of markup stay inside their cells."""
    page = field_reference(hostile_kind)
    table = rows(page)
    assert [row[0] for row in table] == [f"key_{i}" for i in range(len(HOSTILE))]
    for row, text in zip(table, HOSTILE, strict=True):
        assert len(row) == 7
        assert row[1] == " ".join(text.split())
    assert set(re.findall(r"<(\w+)", MARKDOWN.render(page))) <= {
        *("h1", "p", "table", "thead", "tbody", "tr", "th", "td", "code", "br", "span")
    }


def test_examples_are_quoted_where_yaml_would_misread_them() -> None:
    """Text that would be taken for a number, a day or a key is shown in quotes; plain text is not."""
    entries: dict[str, FieldEntry] = {
        key: field("waivers", f"waivers[].{key}") for key in ("evidence", "created")
    }
    assert entries["created"].examples == ('"2026-09-01"',)
    assert entries["evidence"].examples[0].startswith('"Trial 14: ')
    assert field("size-format", "why").examples[0].startswith("Third ring")
    assert field("material", "alloy").examples == ('"3104"',)
