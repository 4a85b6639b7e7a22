"""Reading a spec: what is refused, where, and in which words."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from kb.book import source
from kb.book.finding import Place, Span
from kb.book.source import read, read_text
from tests.book.marks import marked, reported
from tests.book.readings import document, only, written

BAD = Path(__file__).parents[1] / "specs_bad" / "reading"
BAD_FILES = sorted(path.name for path in BAD.glob("*.yaml"))

# Faults of the reading stage that no file in specs_bad can show, because YAML or git would not carry them.
MADE_HERE = {
    f"reading.{fault}" for fault in ("file", "size", "encoding", "character", "nodes", "many-faults")
}


@pytest.mark.parametrize("name", BAD_FILES)
def test_each_bad_file_is_refused_at_its_marks(name: str) -> None:
    """Exactly the marked lines are reported, and there is no document."""
    reading = read(BAD / name, name)
    assert reading.document is None
    assert reported(reading.findings) == marked(BAD / name)


def test_every_fault_of_reading_has_a_bad_file() -> None:
    """The names listed at the head of the reader are those of the fixtures and of this file."""
    listed = {
        line.split()[0] for line in (source.__doc__ or "").splitlines() if line.startswith("    reading.")
    }
    shown = {name for path in BAD.glob("*.yaml") for _, name in marked(path)}
    assert listed == shown | MADE_HERE


@pytest.mark.parametrize("name", BAD_FILES)
def test_the_parser_without_its_c_library_refuses_the_same(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An installation with only the slower parser reports the same faults."""
    monkeypatch.setattr(source, "_LOADER", source._PureLoader)
    assert reported(read(BAD / name, name).findings) == marked(BAD / name)


@pytest.mark.parametrize("escape", [r"\UFFFFFFFF", r"\U00110000", r"\uD800", r"\xZZ"])
@pytest.mark.parametrize("loader", ["_LOADER", "_PureLoader"])
def test_an_escape_for_no_character_is_refused(
    escape: str, loader: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A code in quotes without a character is a fault of the text with either parser."""
    monkeypatch.setattr(source, "_LOADER", getattr(source, loader))
    finding = only(read_text(f'note: "{escape}"\n', "spec.yaml"))
    assert finding.name in {"reading.syntax", "reading.character"}
    assert finding.place.span.line == 1


@pytest.mark.parametrize(
    ("text", "column", "message"),
    [
        ("bore: 1 mm\nbore: 2 mm\n", (1, 5), "the key bore is used twice; the first is in line 1"),
        ("a: 1\n\tb: 2\n", (1, 2), "a tab is where spaces belong"),
        ("a: 1\nb: @c\n", (4, 5), "a value cannot begin with @"),
        ("a: 1\nb: [1, 2\n", (4, 5), "the list that opens here with [ is not closed, or lacks a comma"),
        ("a: 1\nb: *web\n", (4, 8), "*web is an alias, which is not allowed"),
    ],
)
def test_a_fault_is_said_in_plain_words_at_its_columns(
    text: str, column: tuple[int, int], message: str
) -> None:
    """The finding points at line 2, from the first to behind the last column, and says what is wrong."""
    finding = only(read_text(text, "spec.yaml"))
    assert finding.message == message
    assert finding.fixes
    assert finding.place == Place("spec.yaml", "", Span(2, column[0], 2, column[1]))


def test_an_unusual_blank_behind_a_syntax_fault_is_named() -> None:
    """A blank that is no space to YAML is named when the line cannot be read."""
    finding = only(read_text("kind: end\nid:\u00a0tall\nrevision: 1\n", "spec.yaml"))
    assert finding.name == "reading.syntax"
    assert "U+00A0" in finding.fixes[0]


CHARACTERS = [
    ("\x00", "a NUL character"),
    ("\x07", "a control character"),
    ("\x1b", "a control character"),
    ("\x7f", "a control character"),
    ("\x85", "a control character"),
    ("\x9b", "a control character"),
    *((letter, "a bidirectional control character") for letter in "\u202a\u202e\u2066\u2069\u200e\u061c"),
    *(
        (letter, "an invisible character")
        for letter in "\u200b\u200d\u2060\ufeff\u00ad\u2028\u3164\ufe0f\U000e0041"
    ),
]


@pytest.mark.parametrize(("letter", "words"), CHARACTERS)
@pytest.mark.parametrize(
    "where", ["note: seam{}\n", "# seam{}\n", "note{}: 1\n", "{}note: 1\n", "note: 'a{}b'\n"]
)
def test_a_character_that_does_not_show_is_refused(
    letter: str, words: str, where: str, tmp_path: Path
) -> None:
    """Control characters and invisible ones are refused in values, keys and comments, at their column."""
    reading = written(tmp_path, ("kind: end\n" + where.format(letter)).encode())
    finding = only(reading)
    assert finding.name == "reading.character"
    assert finding.message.startswith(words)
    assert f"U+{ord(letter):04X}" in finding.message
    assert finding.place.span.line == 2
    assert finding.place.span.column == where.index("{") + 1


def test_a_character_written_by_its_code_is_refused_too() -> None:
    """An escape in double quotes cannot put in a character that the text does not allow."""
    assert only(read_text('note: "\\u202e"\n', "spec.yaml")).name == "reading.character"
    assert only(read_text('note: "a\\0b"\n', "spec.yaml")).name == "reading.character"
    assert document('note: "two\\nlines"\n').root.entries.keys() == {"note"}


def test_a_lone_carriage_return_is_refused_and_line_ends_of_either_sort_are_not() -> None:
    """Windows line ends are read; a carriage return within a line is a control character."""
    assert document("a: 1\r\nb: 2\r\n").data() == {"a": 1, "b": 2}
    assert only(read_text("a: 1\rb: 2\n", "spec.yaml")).name == "reading.character"


def test_faults_after_an_invisible_character_are_still_reported() -> None:
    """Reading goes on behind a refused character, and a duplicate key further down is reported as well."""
    reading = read_text("a: x\u200by\nb: 1\nb: 2\n", "spec.yaml")
    assert reported(reading.findings) == [(1, "reading.character"), (3, "reading.duplicate-key")]


@pytest.mark.parametrize(
    ("raw", "at", "says"),
    [
        (b"kind: end\nnote: \xe4\n", (2, 7), "byte 0xE4 at offset 16 on line 2 is not UTF-8"),
        (
            "kind: end\nnote: über \xff".encode("latin-1"),
            (2, 7),
            "byte 0xFC at offset 16 on line 2 is not UTF-8",
        ),
        ("note: ü".encode() + b"\xc3", (1, 8), "byte 0xC3 at offset 8 on line 1 is not UTF-8"),
        (b"note: \xed\xa0\x80\n", (1, 7), "byte 0xED at offset 6 on line 1 is not UTF-8"),
        ("kind: end\n".encode("utf-16"), (1, 1), "the file is saved as UTF-16"),
    ],
)
def test_a_file_that_is_not_utf_8_is_refused(
    raw: bytes, at: tuple[int, int], says: str, tmp_path: Path
) -> None:
    """The first wrong byte is reported by offset and line, counted in characters up to it."""
    finding = only(written(tmp_path, raw))
    assert (finding.name, finding.message) == ("reading.encoding", says)
    assert (finding.place.span.line, finding.place.span.column) == at


def test_a_byte_order_mark_at_the_beginning_is_accepted(tmp_path: Path) -> None:
    """A leading mark is no character of the text; columns do not count it."""
    found = written(tmp_path, b"\xef\xbb\xbfkind: end\n").document
    assert found is not None
    assert found.key_place("kind").span == Span(1, 1, 1, 5)


def test_what_is_not_an_ordinary_file_is_refused(tmp_path: Path) -> None:
    """A missing file, a folder, a pipe, a device, an impossible name: one finding each, and no wait."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    paths = [
        tmp_path / "no-such.yaml",
        tmp_path,
        pipe,
        Path("/dev/null"),
        Path("a\0b"),
        tmp_path / ("x" * 5000),
    ]
    found = [only(read(path, "x")) for path in paths]
    assert [finding.name for finding in found] == ["reading.file"] * len(paths)
    words = [finding.message for finding in found]
    assert words[0] == "the file does not exist"
    assert "a folder" in words[1]
    assert "a pipe" in words[2]
    assert "a device" in words[3]


def test_a_file_that_may_not_be_read_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file without leave to read gives a finding that says so."""

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    path = tmp_path / "spec.yaml"
    path.write_text("kind: end\n")
    monkeypatch.setattr("builtins.open", refuse)
    finding = only(read(path, "spec.yaml"))
    assert finding.message == "the file cannot be read: permission denied"


def test_a_large_file_is_refused_before_it_is_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Size is looked at first; a file that grows meanwhile is not read beyond the limit either."""
    path = tmp_path / "spec.yaml"
    path.write_bytes(b"#" * (source.MOST_BYTES + 1))
    assert only(read(path, "spec.yaml")).name == "reading.size"
    small = os.stat_result((stat.S_IFREG, 0, 0, 0, 0, 0, 1, 0, 0, 0))
    monkeypatch.setattr(source.os, "stat", lambda _: small)
    assert only(read(path, "spec.yaml")).name == "reading.size"


def test_the_largest_file_allowed_is_read(tmp_path: Path) -> None:
    """A comment may fill a file up to the limit, to the byte."""
    raw = b"kind: end\n#"
    assert written(tmp_path, raw + b"x" * (source.MOST_BYTES - len(raw))).findings == ()


def test_too_many_values_are_refused() -> None:
    """The most values allowed are read; one more, and reading stops."""
    most = source.MOST_NODES - 3  # the key, the list and the file itself count too
    assert len(document(f"list: [{'a,' * most}]\n").data()["list"]) == most
    assert only(read_text(f"list: [{'a,' * (most + 1)}]\n", "spec.yaml")).name == "reading.nodes"


def test_nesting_is_allowed_up_to_its_limit() -> None:
    """One level less than the refused one still reads."""
    deep = source.MOST_NESTING - 1
    assert document(f"a: {'[' * deep}1{']' * deep}\n").node("a" + "[0]" * deep) is not None


HOSTILE = {
    "brackets": "[" * 100_000,
    "braces": "{a: " * 60_000,
    "dashes": "- " * 100_000,
    "questions": "? " * 100_000,
    "aliases": "a: [" + "*a, " * 60_000,
    "anchors": "&a " * 80_000,
    "tags": "!a " * 80_000,
    "keys": "a: 1\n" * 50_000,
    "documents": "---\n" * 60_000,
    "directives": "%a\n" * 80_000,
    "invisible": "\u200b" * 80_000,
    "invisible lines": "\u200b\n" * 60_000,
    "blanks": "a: |+\n" + " \n" * 120_000,
    "one long line": "a: " + "x" * 250_000,
    "one long key": "x" * 250_000 + ": a",
    "laughs": "a: &a [x,x]\n" + "".join(f"b{i}: &b{i} [*a,*a]\n" for i in range(5000)),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_text_is_refused_with_few_words(name: str) -> None:
    """Texts made to exhaust a reader end in a bounded number of findings."""
    findings = read_text(HOSTILE[name], "spec.yaml").findings
    assert 1 <= len(findings) <= source.MOST_FAULTS + 1


def test_reading_stops_when_it_has_found_enough() -> None:
    """After the maximum of reported faults, one last finding says that there may be more."""
    findings = read_text("a: 1\n" * 1000, "spec.yaml").findings
    assert len(findings) == source.MOST_FAULTS + 1
    assert [finding.name for finding in findings].count("reading.many-faults") == 1
