"""The schemas themselves: the shipped ones, the vocabulary, and every way a schema can lead."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from kb.book.conversion import CANONICAL
from kb.book.schema import Schemas, judge, shipped_schemas
from kb.book.source import read_text
from kb.folders import shipped
from tests.book.sample import LENGTH, SCHEMA, SCHEMAS, judged, named, only


def vocabulary() -> Draft202012Validator:
    """The validator of schemas that speak our words."""
    return Draft202012Validator(
        json.loads((shipped("schema") / "meta" / "vocabulary.json").read_text(encoding="utf-8"))
    )


@pytest.mark.parametrize("kind", shipped_schemas().kinds)
def test_shipped_schemas_speak_the_vocabulary(kind: str) -> None:
    """Every shipped schema is valid 2020-12 and uses our words as the vocabulary describes them."""
    assert [error.message for error in vocabulary().iter_errors(shipped_schemas().schema(kind))] == []


@pytest.mark.parametrize(
    "spoilt",
    [
        {"quantity": {"dimension": "length"}},
        {"quantity": {"dimension": "width", "unit": "mm", "band": [1, 2]}},
        {"quantity": {"dimension": "length", "unit": "mm", "band": [1]}},
        {"quantity": {"dimension": "any", "unit": "mm"}},
        {"quantity": {"dimension": "length", "unit": "mm", "band": [1, 2], "tolerance": "perhaps"}},
        {"code": False},
        {"slug": "yes"},
        {"reference": "Material"},
        {"type": "text"},
    ],
)
def test_the_vocabulary_refuses_what_it_does_not_know(spoilt: dict[str, Any]) -> None:
    """A wrong word is seen however deep in a schema it is."""
    deep = {"properties": {"a": {"items": {"anyOf": [spoilt]}}}}
    assert not vocabulary().is_valid(deep)
    assert not vocabulary().is_valid({"$defs": {"a": spoilt}})


def test_the_vocabulary_and_the_list_of_units_name_the_same_dimensions() -> None:
    """Dimensions and canonical units of the vocabulary are those numbers are kept in."""
    quantity = vocabulary().schema["properties"]["quantity"]["properties"]
    assert quantity["dimension"]["enum"] == [*CANONICAL, "any"]
    assert quantity["unit"]["enum"] == list(CANONICAL.values())


GOOD = Path(__file__).parents[1] / "specs_good"


@pytest.mark.parametrize("path", sorted(GOOD.rglob("*.yaml")), ids=lambda path: path.stem)
def test_a_good_spec_has_no_finding(path: Path) -> None:
    """Every file of the good book passes the shipped schemas, and its kind is known."""
    document = read_text(path.read_text(encoding="utf-8"), path.name).document
    assert document is not None
    shape = judge(document)
    assert shape.findings == []
    assert shape.kind in shipped_schemas().kinds


def test_a_schema_may_refer_to_itself() -> None:
    """A reference in a circle is walked as far as the spec goes."""
    tree: dict[str, Any] = {
        "properties": {"inner": {"$ref": "#/$defs/node"}},
        "$defs": {
            "node": {
                "properties": {
                    "width": {"type": "string", "quantity": LENGTH},
                    "inner": {"$ref": "#/$defs/node"},
                }
            }
        },
    }
    document = read_text(
        "kind: tree\ninner: {width: 66 mm, inner: {inner: {width: 67}}}", "spec.yaml"
    ).document
    assert document is not None
    shape = judge(document, Schemas({"tree": tree}))
    assert only(shape).place.key == "inner.inner.inner.width"


def test_an_example_is_found_behind_a_reference() -> None:
    """What to write for a missing key is taken from the schema, however the way there leads."""
    group = {"$ref": "#/$defs/group"}
    ring: dict[str, Any] = {
        "properties": {"ring": group, "rings": {"items": {"allOf": [group]}}},
        "$defs": {
            "group": {
                "type": "object",
                "required": ["bore"],
                "properties": {"bore": {"$ref": "#/$defs/bore"}},
            },
            "bore": {"title": "ring bore", "examples": ["66.268 mm"]},
        },
    }
    document = read_text("kind: ring\nring: {}\nrings: [{}]", "spec.yaml").document
    assert document is not None
    findings = judge(document, Schemas({"ring": ring})).findings
    assert [finding.message for finding in findings] == [
        "bore (ring bore) is missing in ring",
        "bore (ring bore) is missing in rings[0]",
    ]
    assert {finding.fixes for finding in findings} == {("add `bore: 66.268 mm`",)}


def test_patterns_and_first_items_are_walked() -> None:
    """Keys described by a pattern, and items described by their position, are judged as well."""
    odd: dict[str, Any] = {
        "properties": {
            "pair": {"prefixItems": [{"type": "string", "quantity": LENGTH}], "items": {"code": True}}
        },
        "patternProperties": {"^w_": {"type": "string", "quantity": LENGTH}},
    }
    document = read_text("kind: odd\nw_a: 66\npair: [67, '202', 211]", "spec.yaml").document
    assert document is not None
    shape = judge(document, Schemas({"odd": odd}))
    assert [finding.place.key for finding in shape.findings] == ["w_a", "pair[0]", "pair[2]"]


VALUES = st.recursive(
    st.one_of(
        st.sampled_from(["66 mm", "x", "202", "", "line-1", "66", "1 %", "none", "2026-09-14"]),
        st.integers(), st.floats(allow_nan=False), st.booleans(), st.none(),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3),
        st.dictionaries(st.sampled_from(["bore", "land", "does", "x"]), inner, max_size=3),
    ),
    max_leaves=6,
)  # fmt: skip


@settings(max_examples=200, deadline=None)
@given(st.dictionaries(st.sampled_from([*SCHEMA["properties"], "x"]), VALUES, max_size=4))
def test_any_values_are_judged_without_failing(values: dict[str, Any]) -> None:
    """With any value under the keys, judging ends in findings that point into the file."""
    text = json.dumps({**values, "kind": "sample"})
    document = read_text(text, "spec.yaml").document
    assert document is not None
    shape = judge(document, SCHEMAS)
    for finding in shape.findings:
        assert finding.message.isprintable()
        assert finding.place.span.end_column <= len(text) + 1
        assert finding.name in named()
    valid = Draft202012Validator(SCHEMA).is_valid(document.data())
    assert shape.findings or valid


def test_judging_leaves_the_schema_alone() -> None:
    """Schemas given as data are not changed by use."""
    before = copy.deepcopy(SCHEMA)
    judged("width: 2.6 mm\nrings: [{}]")
    assert before == SCHEMA
