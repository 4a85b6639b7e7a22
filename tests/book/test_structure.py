"""Specs held against schemas: structure, reported in plain words at the key it concerns."""

from __future__ import annotations

import pytest
from jsonschema import Draft202012Validator

from kb.book import structure
from kb.book.source import read_text
from tests.book.sample import judged, named, only

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
    (
        "b\u043edy: '211'",
        "unknown-key 1",
        "b\u043edy (it contains U+043E) is not a key",
        "did you mean body?",
    ),
    (
        "rings: [{land: 50 mm}]",
        "missing-key 10",
        "bore is missing in rings[0]; an example is 66.268 mm",
        "add `bore:`",
    ),
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
    (
        "revision: four",
        "type 11",
        "a whole number is required here, not the text four",
        "write for example 4",
    ),
    ("revision: '4'", "type 11", "a whole number is required here, not the text 4", "write for example 4"),
    (
        "revision: 4.5",
        "type 11",
        "a whole number is required here, not the number 4.5",
        "write for example 4",
    ),
    ("revision:", "type 10", "the value is missing; a whole number is required", "write for example 4"),
    ("calibrated: yes", "type 13", "true or false is required here, not the text yes", ""),
    ("title: 5", "type 8", "text is required here, not the number 5", 'for example "330 ml tall, 202 end"'),
    ("title: true", "type 8", "text is required here, not true", ""),
    ("title: [a]", "type 8", "text is required here, not a list", ""),
    ("status: 5", "type 9", "text is required here, not the number 5", "draft"),
    ("lines: line-1", "type 8", "a list is required here, not the text line-1", "write [line-1]"),
    ("machine: necker", "type 10", "a group of keys is required here, not the text necker", ""),
    ("status: relased", "choice 9", "relased is not one of the choices here", "did you mean released?"),
    ("status: xyz", "choice 9", "xyz is not one of the choices here", "choose one of draft, trial, released"),
    ("either: nothing", "choice 9", "nothing is not allowed here", "write none"),
    ("either: 5", "choice 9", "5 is not allowed here", "write none"),
    ("either: {}", "missing-key 1", "bore is missing in either; an example is 66.268 mm", "add `bore:`"),
    ("amount: [a]", "type 9", "a whole number or text is required here, not a list", ""),
    ("both: 12", "form 7", "12 fits more than one of the forms allowed here", ""),
    ("never: 5", "form 8", "5 is not allowed here", ""),
    ("title: ''", "length 8", "no character here; 1 is the least allowed", "write for example"),
    ("title: a title that is too long", "length 8", "24 characters here; 20 is the most allowed", ""),
    ("lines: []", "length 8", "no item here; 1 is the least allowed", "write for example [line-1]"),
    ("lines: [a, b, c, d]", "length 8", "4 items here; 3 is the most allowed", ""),
    ("lines: [a, b, a]", "repeated 15", "a is in the list twice", "keep one of the two"),
    ("revision: 0", "number 11", "0 is less than 1, the minimum", ""),
    ("revision: 1000", "number 11", "1000 is more than 999, the maximum", ""),
    ("form: TALL", "form 7", "TALL does not have the required form", "write for example tall"),
    ("by_name: {ab: {owner: me, most: 66 mm}}", "key 11", "ab cannot be the name of a check", ""),
]


@pytest.mark.parametrize(("text", "at", "says", "fix"), STRUCTURE)
def test_a_fault_of_structure_is_said_in_plain_words(text: str, at: str, says: str, fix: str) -> None:
    """Each fault is at its column with its own words, and, where it is known, what to write."""
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


def test_all_faults_of_shape_and_units_are_reported_in_one_run() -> None:
    """Faults of both stages come together, in the order of the file."""
    shape = judged("widht: 66 mm\nrevision: 0\nwidth: 66\nbody: 211\nshare: 66 kPa\n")
    assert [(finding.place.span.line, finding.name) for finding in shape.findings] == [
        (3, "shape.unknown-key"),
        (4, "shape.number"),
        (5, "units.quantity"),
        (6, "shape.code"),
        (7, "units.dimension"),
    ]


def test_many_faults_are_reported_up_to_a_limit_and_quickly() -> None:
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
    assert bool(list(structure.validator_of(wanted).iter_errors(document.data()))) is twice
    assert Draft202012Validator(wanted).is_valid(document.data()) is not twice


def test_every_name_at_the_head_of_the_module_is_shown_by_a_test() -> None:
    """No listed fault is without an example here, but for kinds, codes, ids and days, shown elsewhere."""
    structure_names = [at.split()[0] for _, at, *_ in STRUCTURE]
    shown = {f"shape.{name}" for name in ("kind", "code", "id", "date", *structure_names)}
    assert {name for name in named() if name.startswith("shape.")} == shown
