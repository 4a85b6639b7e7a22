"""Reading a spec: what is kept as text, where everything is, and that no file makes it fail."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from kb.book import source
from kb.book.finding import Finding, Place, Span
from kb.book.source import Reading, read_text
from kb.book.tree import Mapping, Scalar
from tests.book.readings import document, written

# --- kept -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("0", 0), ("12", 12), ("-3", -3), ("+3", 3), ("9" * 18, int("9" * 18)), ("9" * 19, "9" * 19),
        ("12.50", 12.5), (".5", 0.5), ("1e3", 1000.0), ("-1.5E-2", -0.015), ("1e999", "1e999"),
        ("true", True), ("false", False), ("null", None), ("~", None), ("", None),
        ("010", "010"), ("0211", "0211"), ("12:30", "12:30"), ("1_000", "1_000"), ("0x1F", "0x1F"),
        ("no", "no"), ("yes", "yes"), ("on", "on"), ("True", "True"), (".inf", ".inf"), (".nan", ".nan"),
        ("2026-09-14", "2026-09-14"), ("66.04 mm", "66.04 mm"), ("0o17", "0o17"),
        ('"202"', "202"), ("'12'", "12"), ('""', ""), ("'null'", "null"),
    ],
)  # fmt: skip
def test_a_value_is_what_yaml_1_2_says_and_else_its_text(text: str, expected: object) -> None:
    """Whole numbers, decimals, true, false and null are read; what YAML 1.1 would turn around stays text."""
    found = document(f"value: {text}\n").data()["value"]
    assert found == expected
    assert type(found) is type(expected)


def test_scalars_keep_their_text() -> None:
    """Decimals are kept as written, quotes are remembered, and a text in several lines is one line."""
    read_back = document("a: 0.0970 mm\nb: '0.0970'\nc: |\n  two\n  lines\n")
    a, b, c = (read_back.node(key) for key in "abc")
    assert isinstance(a, Scalar)
    assert isinstance(b, Scalar)
    assert isinstance(c, Scalar)
    assert (a.text, a.quoted) == ("0.0970 mm", False)
    assert (b.text, b.quoted) == ("0.0970", True)
    assert (c.text, c.quoted) == ("two lines", True)


def test_data_mirrors_the_tree() -> None:
    """Groups become dicts and lists become lists, in the order of the file."""
    text = "b: {x: 1, y: [1, {z: 2}]}\na:\n  - - 1\n    - 2\n  - k: v\n"
    found = document(text).data()
    assert found == {"b": {"x": 1, "y": [1, {"z": 2}]}, "a": [[1, 2], {"k": "v"}]}
    assert list(found) == ["b", "a"]


# --- places -----------------------------------------------------------------------------------

SPEC = """\
# a comment
kind: size-format
ironing:
  rings:
    - {bore: 66.268 mm, land: 0.5 mm}
    - bore: 66.160 mm
      land: 0.5 mm
  half_angle: "8 deg"
limits:
  ironing.ring-reduction:
    most: 42 %
lines: [line-1, ß-2, 𝛼-3]
empty:
"""


@pytest.mark.parametrize(
    ("key", "span"),
    [
        ("", (2, 1, 2, 5)),
        ("kind", (2, 7, 2, 18)),
        ("ironing", (3, 1, 3, 8)),
        ("ironing.rings", (4, 3, 4, 8)),
        ("ironing.rings[0]", (5, 7, 5, 38)),
        ("ironing.rings[0].bore", (5, 14, 5, 23)),
        ("ironing.rings[1]", (6, 7, 6, 11)),
        ("ironing.rings[1].land", (7, 13, 7, 19)),
        ("ironing.half_angle", (8, 15, 8, 22)),
        ("limits.ironing.ring-reduction.most", (11, 11, 11, 15)),
        ("lines[1]", (12, 17, 12, 20)),
        ("lines[2]", (12, 22, 12, 25)),
        ("empty", (13, 7, 13, 7)),
        ("missing", (2, 1, 2, 5)),
        ("ironing.missing.deeper", (3, 1, 3, 8)),
        ("ironing.rings[0].missing", (5, 8, 5, 12)),
        ("ironing.rings[1].missing", (6, 7, 6, 11)),
        ("ironing.rings[2].bore", (4, 3, 4, 8)),
        ("kind.deeper", (2, 1, 2, 5)),
        ("kind[0]", (2, 1, 2, 5)),
        ("limits.ironing.missing", (9, 1, 9, 7)),
    ],
)
def test_a_key_path_has_a_place(key: str, span: tuple[int, int, int, int]) -> None:
    """A value is pointed at itself, a group that runs on and a missing key at the key that holds it."""
    assert document(SPEC).place(key) == Place("spec.yaml", key, Span(*span))


@pytest.mark.parametrize(
    ("key", "span"),
    [
        ("ironing.rings[0].bore", (5, 8, 5, 12)),
        ("limits.ironing.ring-reduction", (10, 3, 10, 25)),
        ("lines[0]", (12, 9, 12, 15)),
    ],
)
def test_a_key_itself_has_a_place(key: str, span: tuple[int, int, int, int]) -> None:
    """Where the key is the fault, the key is pointed at; an item of a list has none but its own place."""
    assert document(SPEC).key_place(key).span == Span(*span)


def test_a_place_ends_with_the_open_ones_there() -> None:
    """A group or list ends with its last member, and nothing ends below the last line of the file."""
    found = document("lines:\n  - line-1\nrings:\n  - bore: 66 mm\nnote: |\n  new")
    assert found.place("lines").span == Span(2, 3, 2, 11)
    assert found.place("rings[0]").span == Span(4, 5, 4, 16)
    assert found.place("note").span == Span(5, 7, 6, 6)


def test_a_place_can_begin_within_a_value() -> None:
    """An offset moves the beginning, unless the value is not there as its text."""
    found = document('a: 66.04 kPa\nb: "66.04 kPa"\nc: 66.04\n  kPa\nd: "66.04\\x20kPa"\n')
    assert found.place("a", 6).span == Span(1, 10, 1, 13)
    assert found.place("b", 6).span == Span(2, 11, 2, 15)
    assert found.place("c", 6).span == Span(3, 4, 4, 6)
    assert found.place("d", 6).span == Span(5, 4, 5, 18)


def test_a_node_is_found_by_its_path_or_not_at_all() -> None:
    """What is missing is None, never a neighbour."""
    found = document(SPEC)
    assert isinstance(found.node("ironing.rings[1]"), Mapping)
    assert found.node("ironing.rings[9]") is None
    assert found.node("ironing.ring") is None
    assert found.node("") is found.root


def test_an_empty_group_reads_as_a_document() -> None:
    """A file that holds {} has no keys, and everything missing is pointed at its beginning."""
    assert document("{}\n").place("kind").span == Span(1, 1, 1, 3)


# --- anything at all --------------------------------------------------------------------------

PIECES = [
    *("a", "b: ", ": ", "- ", "  ", "[", "]", "{", "}", ",", "'", '"', "#", " #", "&a ", "*a", "!t "),
    *("%", "|", ">", "? ", "<<: ", "\\", "@", "1", "mm", "é", "𝛼"),
]
UNSEEN = ["\n", "\n  ", "---\n", "...\n", "\t", "\r", "\r\n", "\u200b", "\x00", "\ufeff", "\u2028", "\x85"]
YAML_LIKE = st.lists(st.sampled_from(PIECES + UNSEEN), max_size=40).map("".join)


def assert_inside(finding: Finding, text: str) -> None:
    """A finding's span is within the lines of a text."""
    lines = text.split("\n")
    span = finding.place.span
    assert (1, 1) <= (span.line, span.column) <= (span.end_line, span.end_column)
    assert span.end_line <= len(lines)
    assert span.column <= len(lines[span.line - 1]) + 1
    assert span.end_column <= len(lines[span.end_line - 1]) + 1


def assert_valid(reading: Reading, text: str) -> None:
    """There is a document, or there are findings; all their places are in the text."""
    assert (reading.document is None) == bool(reading.findings)
    for finding in reading.findings:
        assert finding.message.isprintable()
        assert_inside(finding, text)
    if reading.document:
        for key in reading.document.data():
            place = reading.document.place(key)
            assert_inside(Finding("any.name", "error", place, ""), text)


@settings(max_examples=300)
@given(st.one_of(st.binary(max_size=60), YAML_LIKE.map(str.encode), st.text(max_size=60).map(str.encode)))
@example(b"")
@example(b"\xff")
@example(b">\r")
@example(b"a: |\r")
@example(b"a: [1, {b: ")
@example(b"{a: ,")
@example(b"a:\n  - |\n   x")
def test_any_bytes_give_a_document_or_findings(raw: bytes) -> None:
    """No file makes the reader fail, and every finding points into the file."""
    reader = source._Reader("spec.yaml")
    text = reader.decode(raw)
    assert_valid(
        reader.finish(None if text is None else reader.parse(text)),
        raw.decode("utf-8", errors="replace").removeprefix("\ufeff"),
    )


@settings(max_examples=100)
@given(YAML_LIKE)
def test_any_text_gives_a_document_or_findings_without_the_c_library(text: str) -> None:
    """The slower parser is as safe."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(source, "_LOADER", source._PureLoader)
        assert_valid(read_text(text, "spec.yaml"), text.removeprefix("\ufeff"))


@given(st.binary(max_size=200))
def test_any_file_on_disk_is_read_as_its_bytes(raw: bytes) -> None:
    """Reading from disk and from bytes give the same."""
    with tempfile.TemporaryDirectory() as folder:
        reading = written(Path(folder), raw)
    reader = source._Reader("specs/spec.yaml")
    text = reader.decode(raw)
    assert reading == reader.finish(None if text is None else reader.parse(text))
