"""Specs held against schemas: structure in plain words, our own words, and where each fault stands."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from kb.book import schema, structure
from kb.book.conversion import CANONICAL
from kb.book.finding import Finding
from kb.book.schema import Schemas, Shape, judge, shipped_schemas
from kb.book.source import read_text
from kb.folders import shipped

LENGTH = {"dimension": "length", "unit": "mm", "band": [20, 200]}
SCHEMA: dict[str, Any] = {
    "title": "sample",
    "type": "object",
    "additionalProperties": False,
    "required": ["kind", "id"],
    "properties": {
        "kind": {"const": "sample"},
        "id": {"type": "string", "slug": True, "examples": ["tall-330"]},
        "body": {"type": "string", "code": True, "examples": ["211"]},
        "effective": {"type": "string", "day": True, "examples": ["2026-09-14"]},
        "metal": {"type": "string", "slug": True, "reference": "material"},
        "title": {"type": "string", "minLength": 1, "maxLength": 20, "examples": ["330 ml tall, 202 end"]},
        "revision": {"type": "integer", "minimum": 1, "maximum": 999, "examples": [4]},
        "status": {"type": "string", "enum": ["draft", "trial", "released"]},
        "form": {"type": "string", "pattern": "^[a-z]+$", "examples": ["tall"]},
        "calibrated": {"type": "boolean"},
        "amount": {"anyOf": [{"type": "integer"}, {"type": "string"}]},
        "both": {"oneOf": [{"minimum": 1}, {"maximum": 20}]},
        "never": {"not": {"type": "integer"}},
        "lines": {
            "type": "array",
            "minItems": 1,
            "maxItems": 3,
            "uniqueItems": True,
            "items": {"type": "string", "slug": True, "reference": "line"},
            "examples": [["line-1"]],
        },
        "width": {"type": "string", "title": "width of web", "quantity": LENGTH, "examples": ["66.04 mm"]},
        "gauge": {
            "type": "string",
            "quantity": {**LENGTH, "tolerance": "required"},
            "examples": ["66.0 ±0.1 mm"],
        },
        "bare": {"type": "string", "quantity": {**LENGTH, "tolerance": "none"}},
        "taken": {
            "type": "string",
            "quantity": {**LENGTH, "tolerance": "none", "range": True},
            "examples": ["90 to 190 mm"],
        },
        "share": {
            "type": "string",
            "quantity": {"dimension": "fraction", "unit": "-", "band": [0.001, 0.12], "show": "%"},
        },
        "friction": {
            "type": ["string", "number"],
            "quantity": {"dimension": "fraction", "unit": "-", "band": [0, 1]},
        },
        "reversal": {
            "type": "string",
            "quantity": {"dimension": "pressure", "unit": "MPa", "band": [0.4, 1], "show": "kPa"},
        },
        "limit": {"type": ["string", "number"], "quantity": {"dimension": "any", "tolerance": "none"}},
        "rings": {
            "type": "array",
            "items": {
                "type": "object",
                "additionalProperties": False,
                "required": ["bore"],
                "properties": {
                    "bore": {"$ref": "#/$defs/bore"},
                    "land": {"type": "string", "quantity": LENGTH},
                },
            },
        },
        "by_name": {
            "type": "object",
            "propertyNames": {"title": "check", "pattern": "^[a-z]+\\.[a-z-]+$"},
            "additionalProperties": {
                "type": "object",
                "additionalProperties": False,
                "required": ["owner"],
                "anyOf": [{"required": ["least"]}, {"required": ["most"]}],
                "properties": {
                    "least": {"type": "string", "quantity": LENGTH},
                    "most": {"type": "string", "quantity": LENGTH},
                    "owner": {"type": "string", "title": "role that answers", "examples": ["body tooling"]},
                },
            },
        },
        "either": {
            "oneOf": [
                {"const": "none"},
                {"type": "object", "required": ["bore"], "properties": {"bore": {"$ref": "#/$defs/bore"}}},
                {"type": "array", "items": {"type": "string", "quantity": LENGTH}},
            ]
        },
        "machine": {
            "type": "object",
            "required": ["does"],
            "properties": {
                "does": {"enum": ["cups", "necks"]},
                "force": {"type": "string", "title": "press force", "examples": ["900 kN"]},
            },
            "allOf": [{"if": {"properties": {"does": {"const": "cups"}}}, "then": {"required": ["force"]}}],
        },
    },
    "$defs": {
        "bore": {"type": "string", "quantity": {**LENGTH, "tolerance": "allowed"}, "examples": ["66.268 mm"]}
    },
}
SCHEMAS = Schemas({"sample": SCHEMA, "end": {"type": "object"}})


def judged(text: str) -> Shape:
    """The shape of a spec of kind sample, of which the rest is given."""
    reading = read_text(f"kind: sample\nid: tall-330\n{text}", "spec.yaml")
    assert reading.document is not None, reading.findings
    return judge(reading.document, SCHEMAS)


def only(shape: Shape) -> Finding:
    """The one finding of a shape."""
    (finding,) = shape.findings
    return finding


# --- kind -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "column", "says", "fix"),
    [
        ("kind: simple\n", 7, "simple is not a kind of spec", "did you mean sample?"),
        ("kind: zzz\n", 7, "zzz is not a kind of spec", "choose one of end, sample"),
        ("kind:\n", 6, "empty text is not a kind of spec", "choose one of end, sample"),
        ("kind: [sample]\n", 7, "a group or list is not a kind of spec", "choose one of end, sample"),
        ("id: x\n", 1, "the spec does not say what kind it is", "begin with `kind:` and one of end, sample"),
        ("{}\n", 1, "the spec does not say what kind it is", "begin with `kind:` and one of end, sample"),
    ],
)
def test_a_spec_without_a_known_kind_is_judged_no_further(
    text: str, column: int, says: str, fix: str
) -> None:
    """An unknown kind is the one thing reported, with a guess or the choices."""
    document = read_text(text, "spec.yaml").document
    assert document is not None
    shape = judge(document, SCHEMAS)
    finding = only(shape)
    assert (finding.name, finding.place.span.column) == ("shape.kind", column)
    assert (finding.message, finding.fixes) == (says, (fix,))
    assert shape.kind == ""


def test_the_vocabulary_is_no_kind_of_spec() -> None:
    """The shipped kinds are those of the schema files, and nothing else in their folder."""
    assert shipped_schemas().kinds == (
        "end", "floor", "limits", "line", "material", "plant", "sheet-codes", "size-format", "waivers",
    )  # fmt: skip


# --- structure --------------------------------------------------------------------------------

STRUCTURE = [
    ("revison: 4", "unknown-key 1", "revison is not a key of a sample", "did you mean revision?"),
    (
        "zzzzzz: 4",
        "unknown-key 1",
        "zzzzzz is not a key of a sample",
        "keys that can be added here: body, eff",
    ),
    (
        "rings: [{bore: 66 mm, lnd: 5}]",
        "unknown-key 23",
        "lnd is not a key of rings[0]",
        "did you mean land?",
    ),
    ("b\u043edy: '211'", "unknown-key 1", "b\u043edy (it holds U+043E) is not a key", "did you mean body?"),
    ("rings: [{land: 50 mm}]", "missing-key 10", "bore is missing in rings[0]", "add `bore: 66.268 mm`"),
    (
        "machine: {does: cups}",
        "missing-key 1",
        "force (press force) is missing in machine",
        "add `force: 900 kN`",
    ),
    (
        "by_name: {a.b: {owner: me}}",
        "missing-key 11",
        "one of least, most is missing in by_name.a.b",
        "`least:`",
    ),
    (
        "by_name: {a.b: {most: 66 mm}}",
        "missing-key 11",
        "owner (role that answers) is",
        "`owner: body tooling`",
    ),
    ("revision: four", "type 11", "a whole number is wanted here, not the text four", "write for example 4"),
    ("revision: '4'", "type 11", "a whole number is wanted here, not the text 4", "write for example 4"),
    ("revision: 4.5", "type 11", "a whole number is wanted here, not the number 4.5", "write for example 4"),
    ("revision:", "type 10", "nothing is written here; a whole number is wanted", "write for example 4"),
    ("calibrated: yes", "type 13", "true or false is wanted here, not the text yes", ""),
    ("title: 5", "type 8", "text is wanted here, not the number 5", 'for example "330 ml tall, 202 end"'),
    ("title: true", "type 8", "text is wanted here, not true", ""),
    ("title: [a]", "type 8", "text is wanted here, not a list", ""),
    ("status: 5", "type 9", "text is wanted here, not the number 5", "draft"),
    ("lines: line-1", "type 8", "a list is wanted here, not the text line-1", "write [line-1]"),
    ("machine: necker", "type 10", "a group of keys is wanted here, not the text necker", ""),
    ("status: relased", "choice 9", "relased is not one of the choices here", "did you mean released?"),
    ("status: xyz", "choice 9", "xyz is not one of the choices here", "choose one of draft, trial, released"),
    ("either: nothing", "choice 9", "nothing cannot stand here", "write none"),
    ("either: 5", "choice 9", "5 cannot stand here", "write none"),
    ("either: {}", "missing-key 1", "bore is missing in either", "add `bore: 66.268 mm`"),
    ("amount: [a]", "type 9", "a whole number or text is wanted here, not a list", ""),
    ("both: 12", "form 7", "12 fits more than one of the forms allowed here", ""),
    ("never: 5", "form 8", "5 cannot stand here", ""),
    ("title: ''", "length 8", "no character here; 1 is the least allowed", "write for example"),
    ("title: a title that is too long", "length 8", "24 characters here; 20 is the most allowed", ""),
    ("lines: []", "length 8", "no item here; 1 is the least allowed", "write for example [line-1]"),
    ("lines: [a, b, c, d]", "length 8", "4 items here; 3 is the most allowed", ""),
    ("lines: [a, b, a]", "repeated 15", "a stands in the list twice", "keep one of the two"),
    ("revision: 0", "number 11", "0 is less than 1, the least allowed", ""),
    ("revision: 1000", "number 11", "1000 is more than 999, the most allowed", ""),
    ("form: TALL", "form 7", "TALL does not have the form wanted here", "write for example tall"),
    ("by_name: {ab: {owner: me, most: 66 mm}}", "key 11", "ab cannot be the name of a check", ""),
]


@pytest.mark.parametrize(("text", "at", "says", "fix"), STRUCTURE)
def test_a_fault_of_structure_is_said_in_plain_words(text: str, at: str, says: str, fix: str) -> None:
    """Each fault stands at its column with its own words, and tells what to write where that is known."""
    finding = only(judged(text))
    assert says in finding.message
    assert fix in "; ".join(finding.fixes)
    assert f"{finding.name} {finding.place.span.column}" == f"shape.{at}"
    assert finding.place.span.line == 3


def test_no_word_of_json_reaches_the_reader() -> None:
    """No finding speaks of strings, objects, properties, schemas or Python."""
    jargon = {
        "string",
        "object",
        "array",
        "integer",
        "property",
        "schema",
        "none",
        "null",
        "instance",
        "dict",
        "str",
    }
    for text, *_ in STRUCTURE:
        for finding in judged(text).findings:
            words = set(finding.message.lower().replace(",", " ").split())
            assert not words & jargon, finding.message


def test_a_missing_key_is_reported_at_the_key_that_should_hold_it() -> None:
    """The place is the group's own key, and the path names what is missing."""
    finding = only(judged("machine:\n  force: 900 kN\n"))
    assert finding.place.key == "machine.does"
    assert (finding.place.span.line, finding.place.span.column, finding.place.span.end_column) == (3, 1, 8)


def test_a_misspelt_key_is_not_reported_missing_as_well() -> None:
    """One slip is one finding when the guess is the key that is missed."""
    assert only(judged("rings:\n  - {boer: 66 mm}\n")).name == "shape.unknown-key"
    assert only(judged("by_name: {a.b: {owner: me, mst: 66 mm}}\n")).fixes == ("did you mean most?",)


def test_a_misspelt_key_elsewhere_does_not_hide_a_missing_one() -> None:
    """The guess counts in its own group alone."""
    names = [finding.name for finding in judged("rings: [{bore: 66 mm, boer: 1}, {land: 66 mm}]").findings]
    assert names == ["shape.unknown-key", "shape.missing-key"]


def test_all_faults_of_shape_and_units_are_told_in_one_run() -> None:
    """Faults of both stages come together, in the order of the file."""
    shape = judged("widht: 66 mm\nrevision: 0\nwidth: 66\nbody: 211\nshare: 66 kPa\n")
    assert [(finding.place.span.line, finding.name) for finding in shape.findings] == [
        (3, "shape.unknown-key"),
        (4, "shape.number"),
        (5, "units.quantity"),
        (6, "shape.code"),
        (7, "units.dimension"),
    ]


def test_many_faults_are_told_up_to_a_limit_and_quickly() -> None:
    """A spec made of nothing but faults is judged to the end in few words."""
    different = ", ".join(f"a{n}, {n}" for n in range(4000))
    for text in ("\n".join(f"k{n}: 1" for n in range(9000)), f"lines: [{different}]"):
        assert 1 <= len(judged(text).findings) <= 2 * structure.MOST_FAULTS
    keys = ", ".join(f"k{n}: {{least: 1 xx}}" for n in range(1500))
    assert len(judged(f"by_name: {{{keys}}}").findings) <= 2 * structure.MOST_FAULTS


@pytest.mark.parametrize(
    ("text", "twice"),
    [("[a, b]", False), ("[a, 1, a]", True), ("[{x: 1, y: 2}, {y: 2, x: 1}]", True), ("[[1], [2]]", False)],
)
def test_repeated_items_are_seen_as_the_standard_sees_them(text: str, twice: bool) -> None:
    """Our test for repetition answers as jsonschema's own does."""
    wanted = {"properties": {"list": {"uniqueItems": True}}}
    document = read_text(f"list: {text}", "spec.yaml").document
    assert document is not None
    assert bool(structure.faults(structure.validator_of(wanted), document.data())) is twice
    assert Draft202012Validator(wanted).is_valid(document.data()) is not twice


# --- quantities -------------------------------------------------------------------------------


UNITS = [
    ("width: 66.04", "quantity", (8, 13), "the unit is missing", "write 66.04 mm"),
    ("width: wide", "quantity", (8, 12), "wide is no quantity", "write a length, such as 66.04 mm"),
    ("width: true", "quantity", (8, 12), "true is no quantity", "write a length"),
    ("width: '66.04 inch'", "unknown", (15, 20), "inch is not a unit of the list", "did you mean in?"),
    ("width: 66.04 kPa", "dimension", (14, 17), "kPa is a pressure; a length is wanted", ""),
    (
        "width: 66.04 mm (2.7 in)",
        "dual",
        (18, 25),
        "the two halves disagree",
        "in the brackets write 2.6 in",
    ),
    (
        "width: 2.6 mm",
        "slip",
        (8, 14),
        "20 to 200 mm; it looks like inches written as mm",
        "if so, write 2.6 in",
    ),
    ("gauge: 2.60 ±0.01 mm", "slip", (8, 21), "looks like inches", "if so, write 2.60 ±0.01 in"),
    ("rings: [{bore: 11 mm}]", "slip", (16, 21), "looks like a radius where a diameter is wanted", ""),
    ("width: 11.5 mm", "slip", (8, 15), "looks like cm written as mm", "if so, write 11.5 cm"),
    ("width: 9000000 mm", "band", (8, 18), "width of web 9000000 mm is outside the plausible 20", ""),
    ("width: 199 ±2 mm", "band", (8, 17), "199 ±2 mm is outside the plausible 20 to 200 mm", ""),
    (
        "reversal: 90 kPa",
        "slip",
        (11, 17),
        "outside the plausible 400 to 1000 kPa",
        "if so, write 90 psi",
    ),
    ("share: 20 %", "slip", (8, 12), "the plausible 0.1 to 12 %; it looks like a decimal point", ""),
    ("share: 0.02", "quantity", (8, 12), "a bare number is easily misread here", "write 2 %"),
    ("share: '0.02'", "quantity", (8, 14), "a bare number is easily misread here", "write 2 %"),
    ("share: 2.0", "slip", (8, 11), "percent written as a bare fraction", "if so, write 2.0 %"),
    ("gauge: 66.04 mm", "tolerance", (8, 16), "a tolerance is wanted here", "66.0 ±0.1 mm"),
    ("bare: 66.04 ±0.02 mm", "tolerance", (7, 21), "no tolerance belongs here", "write 66.04 mm"),
    ("taken: 90 mm", "range", (8, 13), "a range with two ends is wanted here", "90 to 190 mm"),
    ("taken: 90 ±10 mm", "range", (8, 17), "a range with two ends is wanted here", "90 to 190 mm"),
    ("limit: 5 ±1 %", "tolerance", (8, 14), "no tolerance belongs here", "write 5 %"),
    ("rings: [{bore: 66.2 mn}]", "unknown", (21, 23), "mn is not a unit of the list", "did you mean"),
    ("either: [66 mm, 67]", "quantity", (17, 19), "the unit is missing", "write 67 mm"),
    ("either: {bore: 5 xx}", "unknown", (18, 20), "xx is not a unit of the list", ""),
]


@pytest.mark.parametrize(("text", "name", "span", "says", "fix"), UNITS)
def test_a_fault_of_units_is_named_at_its_columns(
    text: str, name: str, span: tuple[int, int], says: str, fix: str
) -> None:
    """Grammar, unit, dimension, tolerance and band each have a name, a place and a cure."""
    finding = only(judged(text))
    assert finding.name == f"units.{name}"
    assert says in finding.message
    assert fix in "; ".join(finding.fixes)
    assert (finding.place.span.column, finding.place.span.end_column) == span


@pytest.mark.parametrize(
    "text", ["width: [66 mm]", "width: {a: 66 mm}", "width:", "body: [1]", "effective:", "metal:"]
)
def test_a_group_list_or_nothing_where_a_value_belongs_is_one_fault_of_type(text: str) -> None:
    """Our words want one written value, and say so once."""
    assert only(judged(text)).name == "shape.type"


def test_quantities_and_references_are_collected_by_key() -> None:
    """Every understood quantity is there under its path, wherever in the schema it was described."""
    shape = judged(
        "metal: aa3104-h19\nlines: [line-1, line-2]\nwidth: 66.04 mm\nfriction: 0.05\nlimit: 8 %\n"
        "rings: [{bore: 66.268 ±0.001 mm}, {bore: 66.034 mm, land: 20 mm}]\n"
        "by_name: {a.b: {owner: me, most: 42 mm}}\neither: {bore: 66 mm}\n"
    )
    assert shape.findings == []
    assert shape.kind == "sample"
    assert {key: found.nominal for key, found in shape.quantities.items()} == {
        "width": 66.04, "friction": 0.05, "limit": 0.08, "rings[0].bore": 66.268, "rings[1].bore": 66.034,
        "rings[1].land": 20.0, "by_name.a.b.most": 42.0, "either.bore": 66.0,
    }  # fmt: skip
    assert shape.references == [
        ("metal", "material", "aa3104-h19"),
        ("lines[0]", "line", "line-1"),
        ("lines[1]", "line", "line-2"),
    ]


def test_a_quantity_out_of_band_is_still_understood() -> None:
    """Its value is kept, so that later checks of the same run may use it."""
    assert judged("width: 2.6 mm").quantities["width"].nominal == 2.6


# --- codes, ids, days -------------------------------------------------------------------------


@pytest.mark.parametrize("code", ['"202"', "'211'", '"200"', '"215"', '"1004"'])
def test_a_size_code_is_quoted_inches_and_sixteenths(code: str) -> None:
    """Three or four digits in quotes, the last two below 16."""
    assert judged(f"body: {code}").findings == []


@pytest.mark.parametrize(
    ("code", "says", "fix"),
    [
        ("211", "a size code is text, not a number", 'write "211" with quotes'),
        ("0211", "a size code is text, not a number", 'write "0211" with quotes'),
        ('"216"', "216 is not a size code", 'such as "202"'),
        ('"21"', "21 is not a size code", 'such as "202"'),
        ('"21100"', "21100 is not a size code", 'such as "202"'),
        ('"٢١١"', "is not a size code", 'such as "202"'),
        ('"2 11"', "is not a size code", 'such as "202"'),
        ('""', "empty text is not a size code", 'such as "202"'),
        ("2.11", "2.11 is not a size code", 'such as "202"'),
    ],
)
def test_what_is_no_size_code_is_refused(code: str, says: str, fix: str) -> None:
    """An unquoted code is told to be quoted; anything else is told what a code is."""
    finding = only(judged(f"body: {code}"))
    assert finding.name == "shape.code"
    assert says in finding.message
    assert fix in finding.fixes[0]


@pytest.mark.parametrize("name", ["tall-330", "a", "330-ml", "x" * 64, '"330"'])
def test_a_plain_name_is_an_id(name: str) -> None:
    """Lower-case words and digits joined by hyphens, up to 64 characters."""
    assert judged(f"metal: {name}").findings == []


@pytest.mark.parametrize(
    ("name", "fix"),
    [
        ("Tall 330", "write tall-330"),
        ("tall_330", "write tall-330"),
        ("tall--330", "write tall-330"),
        ("-tall", "write tall"),
        ("../../etc/passwd", "write etc-passwd"),
        ("x" * 65, f"write {'x' * 64}"),
        ("täll", "write t-ll"),
        ("ß", ""),
        ('""', ""),
        ("CON", ""),
        ("con", ""),
        ("lpt1", ""),
        ("330", 'write "330" with quotes'),
        ("true", 'write "true" with quotes'),
    ],
)
def test_what_is_no_plain_name_is_refused(name: str, fix: str) -> None:
    """A name that a file or an address could stumble over is refused, with a plain one where there is one."""
    finding = only(judged(f"metal: {name}"))
    assert finding.name == "shape.id"
    assert "; ".join(finding.fixes) == fix


@pytest.mark.parametrize(
    ("day", "fix"),
    [
        ("2026-09-14", 'write "2026-09-14" with quotes'),
        ('"2026-02-30"', 'such as "2026-09-14"'),
        ('"14.09.2026"', 'such as "2026-09-14"'),
        ('"20260914"', 'such as "2026-09-14"'),
        ('"2026-W37-1"', 'such as "2026-09-14"'),
        ('"2026-9-14"', 'such as "2026-09-14"'),
        ('"2026-09-14T10:00"', 'such as "2026-09-14"'),
        ("2026", 'such as "2026-09-14"'),
    ],
)
def test_what_is_no_day_in_quotes_is_refused(day: str, fix: str) -> None:
    """A day is year-month-day in quotes, and one that the calendar has."""
    finding = only(judged(f"effective: {day}"))
    assert finding.name == "shape.date"
    assert fix in finding.fixes[0]


def test_a_day_in_quotes_is_accepted() -> None:
    """The calendar is asked: the 29th of February is there in a leap year."""
    assert judged('effective: "2028-02-29"').findings == []


# --- schemas ----------------------------------------------------------------------------------


def vocabulary() -> Draft202012Validator:
    """The validator of schemas that speak our words."""
    return Draft202012Validator(
        json.loads((shipped("schema") / "meta" / "vocabulary.json").read_text(encoding="utf-8"))
    )


@pytest.mark.parametrize("kind", shipped_schemas().kinds)
def test_shipped_schemas_speak_the_vocabulary(kind: str) -> None:
    """Every shipped schema is sound 2020-12 and uses our words as the vocabulary describes them."""
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
    """A wrong word is seen however deep in a schema it stands."""
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
    assert list(shape.quantities) == ["inner.width"]
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
    document = read_text("kind: odd\nw_a: 66 mm\npair: [67 mm, '202', 211]", "spec.yaml").document
    assert document is not None
    shape = judge(document, Schemas({"odd": odd}))
    assert list(shape.quantities) == ["w_a", "pair[0]"]
    assert only(shape).place.key == "pair[2]"


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
    """Whatever stands under the keys, judging ends in findings that point into the file."""
    text = json.dumps({**values, "kind": "sample"})
    document = read_text(text, "spec.yaml").document
    assert document is not None
    shape = judge(document, SCHEMAS)
    for finding in shape.findings:
        assert finding.message.isprintable()
        assert finding.place.span.end_column <= len(text) + 1
        assert finding.name in named()
    sound = Draft202012Validator(SCHEMA).is_valid(document.data())
    assert shape.findings or sound


def named() -> set[str]:
    """The names of findings listed at the head of the module."""
    words = (schema.__doc__ or "").split()
    return {word for word in words if word.startswith(("shape.", "units."))}


def test_every_name_of_units_at_the_head_of_the_module_is_shown_by_a_test() -> None:
    """The names under units are those of the table above."""
    assert {name for name in named() if name.startswith("units.")} == {
        f"units.{name}" for _, name, *_ in UNITS
    }


def test_every_name_at_the_head_of_the_module_is_shown_by_a_test() -> None:
    """No listed fault is without an example here, but for those shown under other tests of this file."""
    structure_names = [at.split()[0] for _, at, *_ in STRUCTURE]
    shown = {f"shape.{name}" for name in ("kind", "code", "id", "date", *structure_names)}
    assert {name for name in named() if name.startswith("shape.")} == shown


def test_judging_leaves_the_schema_alone() -> None:
    """Schemas given as data are not changed by use."""
    before = copy.deepcopy(SCHEMA)
    judged("width: 2.6 mm\nrings: [{}]")
    assert before == SCHEMA
