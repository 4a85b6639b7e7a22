"""The texts and the code of the product are in plain trade English: no banned word, no long sentence."""

from __future__ import annotations

import io
import json
import re
import tokenize
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import click
import pytest

from kb.checks.catalog import RULES
from kb.cli import main
from tests.conftest import yaml_values

HOUSE = Path(__file__).resolve().parents[1]
RULES_OF_LANGUAGE = yaml_values(HOUSE / "tests/language.yaml")
LONGEST = RULES_OF_LANGUAGE["longest_sentence"]
QUOTING = frozenset(RULES_OF_LANGUAGE["quoting"])


class Text(NamedTuple):
    """A text of the product: where it is, and whether the length of its sentences is limited."""

    place: str
    words: str
    short: bool = False


def texts() -> Iterator[Text]:
    """Every text that people read: README, pages, changelog, knowledge of the site, schemas, help, checks."""
    for path in (HOUSE / "README.md", *sorted((HOUSE / "site/docs").rglob("*.md"))):
        for part in prose(path.read_text(encoding="utf-8")):
            yield Text(path.relative_to(HOUSE).as_posix(), part, short=True)
    for part in prose((HOUSE / "CHANGELOG.md").read_text(encoding="utf-8")):
        yield Text("CHANGELOG.md", part)
    read = (*(HOUSE / "site").glob("*.yaml"), *(HOUSE / "site/sheet").glob("*.yaml"))
    books = (path for path in (HOUSE / "specs").rglob("*.yaml") if path.name != "sheet-codes.yaml")
    for path in sorted((*read, *books)):  # recorded words of old sheets stay as they were printed
        for part in strings(yaml_values(path), skip=("also_called", "see", "id", "history")):
            yield Text(path.relative_to(HOUSE).as_posix(), part)
    yield from front_end()
    for path in sorted((*(HOUSE / "schema").rglob("*.json"), *(HOUSE / "site/schema").glob("*.json"))):
        for part in described(json.loads(path.read_text(encoding="utf-8"))):
            yield Text(path.relative_to(HOUSE).as_posix(), part)
    yield from helps(main, "sizebook")
    for rule in RULES.values():
        for part in (rule.title, *rule.sections.values()):
            yield Text(rule.name, part)


def front_end() -> Iterator[Text]:
    """What templates and scripts of the site say."""
    templates = (*(HOUSE / "site/templates").iterdir(), *(HOUSE / "site/theme").rglob("*.html"))
    scripts = (HOUSE / "site/theme/assets/js").glob("*.js")
    for words_in, paths in ((template_words, templates), (script_words, scripts)):
        for path in sorted(paths):
            for part in words_in(path.read_text(encoding="utf-8")):
                yield Text(path.relative_to(HOUSE).as_posix(), part)


def prose(page: str) -> Iterator[str]:
    """The paragraphs, list items and table cells of a page, without its code and its pictures."""
    page = re.sub(r"^ *```.*?^ *```$", "", page, flags=re.MULTILINE | re.DOTALL)
    page = re.sub(r"</?(?:div|a|b|span)[^>]*>", "\n\n", page)
    page = re.sub(r"<!--.*?-->|!\[[^\]]*\]\([^)]*\)", "", page, flags=re.DOTALL)
    page = re.sub(r"^(?:> )?\|.*\|$", lambda row: row[0].replace("|", "\n\n"), page, flags=re.MULTILINE)
    for part in re.split(r"\n\s*\n|\n *(?:[-*]|\d+\.) |\n#+ ", re.sub(r"\n> ?", "\n", f"\n{page}")):
        if part.strip():
            yield " ".join(part.split())


def template_words(template: str) -> Iterator[str]:
    """What a template says itself, without its tags, comments and values, and its heads of tables."""
    yield from re.findall(r'head\("([^"]+)"\)', template)
    plain = re.sub(r"\{#.*?#\}|\[#.*?#\]|<script.*?</script>", "\n\n", template, flags=re.DOTALL)
    plain = re.sub(r"\{%.*?%\}|\{\{.*?\}\}", " ", plain, flags=re.DOTALL)
    plain = re.sub(r"</?(?:p|h\d|t[hdr]|li|d[dt]|div|section|summary|(?:fig)?caption)\b[^>]*>", "\n\n", plain)
    for part in re.split(r"\n\s*\n", re.sub(r"<[^>]*>", " ", plain)):
        if part.strip():
            yield " ".join(part.split())


def script_words(script: str) -> Iterator[str]:
    """The texts of a script that have a blank in them, so that people may read them."""
    literal = r"/\*.*?\*/|(?<=\s)//[^\n]*|('(?:\\.|[^'\\\n])*'|`(?:\\.|[^`\\])*`)"
    for part in re.findall(literal, script, flags=re.DOTALL):
        if " " in part:
            yield re.sub(r"\$\{[^}]*\}", "word", part[1:-1])


def strings(value: Any, skip: tuple[str, ...]) -> Iterator[str]:
    """Every text in a value, without the keys that are skipped."""
    if isinstance(value, str):
        yield " ".join(value.split())
    elif isinstance(value, dict):
        for key, inner in value.items():
            if key not in skip:
                yield from strings(inner, skip)
    elif isinstance(value, list):
        for inner in value:
            yield from strings(inner, skip)


def described(schema: Any) -> Iterator[str]:
    """Titles and descriptions of a schema."""
    if isinstance(schema, dict):
        yield from (schema[key] for key in ("title", "description") if isinstance(schema.get(key), str))
        for inner in schema.values():
            yield from described(inner)
    elif isinstance(schema, list):
        for inner in schema:
            yield from described(inner)


def helps(command: click.Command, name: str) -> Iterator[Text]:
    """What `--help` prints of a command, its options and its subcommands."""
    for part in re.split(r"\n\s*\n", command.help or ""):
        yield Text(name, " ".join(part.split()), short=True)
    yield Text(name, command.short_help or "", short=True)
    for option in command.params:
        yield Text(f"{name} {option.name}", getattr(option, "help", None) or "", short=True)
    for inner in getattr(command, "commands", {}).values():
        yield from helps(inner, f"{name} {inner.name}")


def banned(words: str) -> list[str]:
    """The banned words in a text."""
    found = []
    for rule in RULES_OF_LANGUAGE["banned"]:
        left = words
        for good in rule.get("except", ()):
            left = re.sub(good, "", left, flags=re.IGNORECASE)
        found += [match[0] for match in re.finditer(rule["pattern"], left, re.IGNORECASE)]
    return found


def long_sentences(words: str) -> list[str]:
    """The sentences of a text that are too long; a placeholder and a code span count as one word.

    A colon ends a sentence, since a list follows it; so does a semicolon, which separates items of a list.
    """
    plain = re.sub(r"\{\{.*?\}\}|`[^`]*`", "word", words)
    plain = re.sub(r"\]\([^)]*\)", "", plain)
    parts = re.split(r"(?<=[.!?:;])[*\"')\]]*\s+", plain)
    return [part for part in parts if len(re.findall(r"[\w'’.%°/-]*\w[\w'’.%°/-]*", part)) > LONGEST]


def code() -> Iterator[Path]:
    """The sources that programmers read: package, tests, and scripts, styles and templates of the site."""
    for path in sorted((*(HOUSE / "kb").rglob("*.py"), *(HOUSE / "tests").rglob("*.py"))):
        if path.relative_to(HOUSE).as_posix() not in QUOTING:
            yield path
    for end in ("py", "js", "css", "html", "md", "jinja", "typ"):
        for path in sorted((HOUSE / "site").rglob(f"*.{end}")):
            if not path.is_relative_to(HOUSE / "site/docs"):
                yield path


def remarks(path: Path) -> Iterator[str]:
    """Comments of a source, and for Python its texts too, docstrings among them."""
    source = path.read_text(encoding="utf-8")
    if path.suffix == ".py":
        for token in tokenize.generate_tokens(io.StringIO(source).readline):
            if token.type in {tokenize.COMMENT, tokenize.STRING}:
                yield " ".join(token.string.split())
    else:
        for part in re.findall(r"/\*.*?\*/|(?:^|\s)//[^\n]*|\{#.*?#\}|<!--.*?-->", source, flags=re.DOTALL):
            yield " ".join(part.split())


def banned_names(source: str) -> list[str]:
    """The names in a source that have a banned word as a part, between underscores or capitals."""
    bad = set(RULES_OF_LANGUAGE["names"])
    parts = {
        one: set(re.sub(r"([A-Z])", r"_\1", one).lower().split("_"))
        for one in re.findall(r"[A-Za-z_]\w*", source)
    }
    return sorted(one for one, words in parts.items() if words & bad)


def python_names(source: str) -> str:
    """The names of a Python source, without its texts and comments."""
    tokens = tokenize.generate_tokens(io.StringIO(source).readline)
    return " ".join(token.string for token in tokens if token.type == tokenize.NAME)


TEXTS = list(dict.fromkeys(texts()))
CODE = list(code())


def test_texts_are_found() -> None:
    """The walk finds texts of each kind, so the tests below are not empty."""
    places = {one.place for one in TEXTS}
    assert {
        "README.md",
        "site/faults.yaml",
        "site/templates/fault.md",
        "site/theme/assets/js/codes.js",
        "site/sheet/setup.yaml",
        "schema/floor.json",
        "sizebook check",
        "cup.draw-ratio",
    } <= places
    assert len(TEXTS) > 1500


def test_no_text_has_a_banned_word() -> None:
    """No text of the product has a word of the banned list in its bad sense."""
    assert [f"{one.place}: {found} in: {one.words}" for one in TEXTS if (found := banned(one.words))] == []


@pytest.mark.parametrize("path", CODE, ids=lambda path: path.relative_to(HOUSE).as_posix())
def test_no_source_has_a_banned_word(path: Path) -> None:
    """No comment, docstring or name of the code has a banned word, so no message inherits one."""
    assert [(found, one) for one in remarks(path) if (found := banned(one))] == []
    source = path.read_text(encoding="utf-8")
    if path.suffix in {".py", ".js", ".css"}:
        assert banned_names(python_names(source) if path.suffix == ".py" else source) == []


def test_sources_are_found() -> None:
    """Package, scripts, styles and templates are among the sources read, and their comments are found."""
    assert {".py", ".js", ".css", ".md", ".jinja", ".typ"} <= {path.suffix for path in CODE}
    assert sum(1 for path in CODE if any(remarks(path))) > 200
    assert banned_names("def told_apart(): isSound = retold") == ["isSound", "told_apart"]


def test_no_sentence_is_too_long() -> None:
    """No sentence of README, a page or help has more words than the style guide allows."""
    assert [f"{one.place}: {part}" for one in TEXTS if one.short for part in long_sentences(one.words)] == []


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("The gauge tells the thickness.", ["tells"]),
        ("How long the line stands.", ["stands"]),
        ("Wait until the knives stand.", ["knives stand"]),
        ("The stand diameter, a standing can, the stand.", []),
        ("Leave for a format to be outside a check.", ["Leave for"]),
        ("Leave a gap.", []),
        ("One sound file.", ["sound"]),
        ("A worn bearing bears no load.", ["bears"]),
        ("Lay the can down so that it can lie flat.", []),
        ("The book; else the one around here.", ["; else"]),
        ("The house must not shrink.", ["The house"]),
        ("Trade page on draw clearance.", ["Trade page"]),
    ],
)
def test_a_planted_word_is_found(words: str, found: list[str]) -> None:
    """A banned word is found in its bad sense, and left alone in its good one."""
    assert banned(words) == found


def test_a_planted_long_sentence_is_found() -> None:
    """A sentence of 21 words is too long, one of 20 is not, and a code span is one word."""
    assert long_sentences(" ".join(["word"] * 21) + ".") != []
    assert long_sentences(" ".join(["word"] * 20) + ".") == []
    assert long_sentences(" ".join(["word"] * 19) + " `a code span of many words`.") == []


def test_every_exception_has_a_reason() -> None:
    """A pattern of a good sense says why it is allowed."""
    assert [
        one["pattern"] for one in RULES_OF_LANGUAGE["banned"] if "except" in one and not one.get("why")
    ] == []
