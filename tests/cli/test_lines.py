"""Every output of every command for a book whose every text and file name means harm."""

from __future__ import annotations

import json
import os
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner, Result

from kb.book import schema, source
from kb.book.load import load
from kb.book.tree import Entry, Node, Scalar
from kb.book.tree import Mapping as Group
from kb.cli import main
from kb.publish import fields

BEGIN = "::warning ::x|<b>@all ##[error]y [z](http://a.b) `c`\n::error ::n "
"""What is before each free text; the text itself follows, so that names still refer to one another."""

NAMES = (
    "formats/a\n::error ::b.yaml",
    "formats/\x1b[31mred.yaml",
    "formats/\u202ereversed.yaml",
    "formats/a|b<script>@all.yaml",
    "formats/##[error]c.yaml",
    os.fsdecode(b"formats/\xff\xfe.yaml"),
    "::warning ::d.yaml",
    "formats/::notice file=x::e.yaml",
)
"""File names that mean harm."""


LINE = re.compile(r"\S[^\n]*:\d+:\d+: (error|warning|note): [^\n]+ \[[a-z]+(-[a-z]+)*\.[a-z]+(-[a-z]+)*\]")


# --- a book that means harm -------------------------------------------------------------------


def texts(node: Node, path: str = "") -> Iterator[tuple[str, Scalar]]:
    """The texts of a file with their keys."""
    if isinstance(node, Group):
        for key, entry in node.entries.items():
            if isinstance(entry, Entry):
                yield from texts(entry.node, f"{path}.{key}".removeprefix("."))
    elif isinstance(node, Scalar):
        yield path, node
    else:
        for i, one in enumerate(node.items):
            yield from texts(one, f"{path}[{i}]")


def free(kind: str, key: str) -> bool:
    """Whether the schema takes some text for a key."""
    try:
        return key != "kind" and fields.field(kind, key).form == "text"
    except KeyError:
        return False


def with_harm(path: Path) -> int:
    """Put harm before the free texts of a file, and give how many there are.

    A text that has to fit a pattern, or that is a choice, stays as it is.
    """
    document = source.read(path, "x").document
    assert document is not None
    kind = str(document.data()["kind"])
    found = {key: one for key, one in texts(document.root) if free(kind, key)}
    for _ in range(20):
        lines = document.text.split("\n")
        for one in sorted(found.values(), key=lambda scalar: scalar.span, reverse=True):
            first, last = one.span.line - 1, one.span.end_line - 1
            text = json.dumps(BEGIN + one.text, ensure_ascii=False)
            whole = lines[first][: one.span.column - 1] + text + lines[last][one.span.end_column - 1 :]
            lines[first : last + 1] = [whole]
        reading = source.read_text("\n".join(lines), "x")
        assert reading.document is not None, reading.findings
        refused = {one.place.key for one in schema.judge(reading.document).findings} & set(found)
        if not refused:
            break
        found = {key: one for key, one in found.items() if key not in refused}
    path.write_text("\n".join(lines), encoding="utf-8")
    return len(found)


@pytest.fixture(scope="module")
def hostile(small: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the small book, all its texts meaning harm, beside the book as it was."""
    place = tmp_path_factory.mktemp("hostile")
    shutil.copytree(small, place / "before")
    shutil.copytree(small, place / "specs")
    counts = {one.name: with_harm(one) for one in sorted((place / "specs").rglob("*.yaml"))}
    assert min(counts.values()) > 0, counts
    assert sum(counts.values()) > 500
    assert not load(place / "specs", shown="").broken
    return place


@pytest.fixture
def here(hostile: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """That folder as the current one."""
    monkeypatch.chdir(hostile)
    return hostile


@pytest.fixture
def named(small: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A book with files that are no specs and whose names mean harm, around the current folder."""
    place = tmp_path / "specs"
    shutil.copytree(small, place)
    for name in NAMES:
        (place / name).parent.mkdir(parents=True, exist_ok=True)
        (place / name).write_text("kind: plnt\n", encoding="utf-8")
    monkeypatch.chdir(place)
    return place


def run(*command: str) -> Result:
    """Run a command in this process."""
    done = CliRunner().invoke(main, list(command))
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exc_info
    return done


def harmless(text: str) -> None:
    """Nothing in a text hides, and a job's log takes no line of it for a command."""
    for line in text.split("\n"):
        assert line.isprintable(), line
        assert not line.lstrip().startswith("::"), line
        assert not re.search(r"##\w*\[", line), line


# --- outputs ----------------------------------------------------------------------------------

TEXTS = (
    "check specs",
    "check specs --severity note --as-of 2031-01-01",
    "route b211-330",
    "sheet b211-330 --to out.pdf",
    "sheet --codes --line heron --to out.html --html",
    "sheet --record",
    "changeover b211-330 b211-330-beacon --line heron",
    "changeover --matrix --line heron",
    "week heron-49",
    "explain ironing.ring-reduction",
    "explain die-friction",
    "review before specs",
    "review specs before",
    "drawing b211-330",
)


@pytest.mark.parametrize("command", TEXTS)
def test_texts_for_people(command: str, here: Path) -> None:
    """What a command prints hides nothing and commands nothing, for any texts of the book."""
    done = run(*command.split())
    assert done.stdout + done.stderr
    harmless(done.stdout)
    harmless(done.stderr)


def test_every_finding_is_one_line(here: Path, named: Path) -> None:
    """The check has a line for each finding, of one form, and no file name makes another."""
    done = run("check", "--severity", "note")
    harmless(done.stdout)
    body, _, _ = done.stdout.rpartition("\n\n")
    heads = [line for line in body.split("\n") if not re.match(r"    (limit|fix): ", line)]
    assert [line for line in heads if not LINE.fullmatch(line)] == []
    (one,) = json.loads(run("check", "--output", "json").stdout)["books"]
    assert len(heads) == len(one["findings"])
    assert len(NAMES) <= sum("plnt" in line for line in heads)


@pytest.mark.parametrize("form", ["text", "json", "sarif", "markdown", "junit"])
@pytest.mark.parametrize("book", ["here", "named"])
def test_outputs_of_the_check(form: str, book: str, request: pytest.FixtureRequest) -> None:
    """Each output of the check can be read by what it is for, printed or in a file."""
    request.getfixturevalue(book)
    paths = ["specs"] if book == "here" else []
    printed = run("check", *paths, "--output", form).stdout
    run("check", *paths, "--output", form, "--to", "out")
    assert Path("out").read_text(encoding="utf-8") == printed
    readable(form, printed)


@pytest.mark.parametrize("form", ["text", "json", "sarif", "markdown", "junit", "annotations"])
@pytest.mark.parametrize(
    "heads", [("before", "specs"), pytest.param(("specs", "before"), marks=pytest.mark.slow)], ids=str
)
def test_outputs_of_the_review(form: str, heads: tuple[str, str], here: Path) -> None:
    """Each output of the review can be read by what it is for."""
    readable(form, run("review", *heads, "--output", form).stdout)


@pytest.mark.parametrize("form", ["text", "json", "sarif", "markdown", "junit", "annotations"])
def test_names_of_files_in_the_review(form: str, named: Path, small: Path) -> None:
    """A file name of a change harms no output of its review."""
    readable(form, run("review", str(small), ".", "--output", form).stdout)


def readable(form: str, text: str) -> None:
    """An output is what its readers take it for."""
    assert text
    if form in {"json", "sarif"}:
        record = json.loads(text)
        assert all(one.isprintable() for one in _words(record, form))
        return
    if form == "annotations":
        for line in text.splitlines():
            assert re.match(r"::(error|warning|notice) [^:]*::(?!:)|sizebook review: ", line), line
            assert line.isprintable()
        return
    harmless(text)
    if form == "junit":
        ElementTree.fromstring(text)
    if form == "markdown":
        rest = re.sub(r"<!-- sizebook review: [^<>]* -->", "", text)
        assert set(re.findall(r"</?[a-z][^>]*>", rest)) <= {
            *("<br>", "<code>", "</code>", "<details>", "</details>", "<summary>", "</summary>")
        }
        assert not re.search(r"\]\(|@[a-z]|://", rest)


def _words(record: object, form: str) -> Iterator[str]:
    """The texts of a record; a message of SARIF has lines of its own."""
    if isinstance(record, dict):
        for value in record.values():
            yield from _words(value, form)
    elif isinstance(record, list):
        for value in record:
            yield from _words(value, form)
    elif isinstance(record, str):
        yield from record.split("\n") if form == "sarif" else [record]
