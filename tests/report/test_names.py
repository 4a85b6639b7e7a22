"""The table of names against the names that the code really gives its findings."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import kb
from kb.book.finding import Finding
from kb.checks.catalog import RULES
from kb.report.names import GROUPS, NAMES
from kb.report.outcome import Outcome

HOUSE = Path(kb.__file__).resolve().parent
NAME = re.compile(rf"(?<![\w./])(?:{'|'.join(GROUPS)})\.[a-z]+(?:-[a-z]+)*(?![\w./-])")
NO_NAMES = re.compile(r".*\.(?:yaml|txt|py|css|typ)")


def sources() -> Iterator[tuple[str, ast.Module]]:
    """Every module of the book, the checks, the sheets and the review, with its name."""
    for package in ("book", "checks", "sheet", "review"):
        for file in sorted((HOUSE / package).glob("*.py")):
            yield f"{package}/{file.name}", ast.parse(file.read_text(encoding="utf-8"))


def written_out() -> set[str]:
    """Names that stand in a text or docstring of the source."""
    texts = [
        node.value
        for _, tree in sources()
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    ]
    found = {name for text in texts for name in NAME.findall(text)}
    return {name for name in found if not NO_NAMES.fullmatch(name)}


def put_together() -> set[str]:
    """Names whose second half alone is given where a fault is made."""
    makers = {"book/source.py": ("fault", "reading"), "book/structure.py": ("Fault", "shape")}
    found = set()
    for module, tree in sources():
        maker, group = makers.get(module, ("", ""))
        for node in ast.walk(tree):
            if isinstance(node, ast.Call) and maker and node.args:
                called = (
                    node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
                )
                first = node.args[0]
                if called == maker and isinstance(first, ast.Constant) and isinstance(first.value, str):
                    found.add(f"{group}.{first.value}")
    return found


def test_every_name_in_the_source_is_explained() -> None:
    """No finding has a name that the table does not explain."""
    assert {"reading.tab", "waiver.lapsed", "limits.review"} <= written_out()
    assert {"reading.duplicate-key", "shape.missing-key"} <= put_together()
    assert sorted((written_out() | put_together()) - set(NAMES)) == []


def test_every_explained_name_is_in_the_source() -> None:
    """The table explains nothing that no code can say."""
    assert sorted(set(NAMES) - written_out() - put_together()) == []


def test_names_are_no_checks() -> None:
    """A name means one thing: none of the table is also a measuring check."""
    assert set(NAMES) & set(RULES) == set()
    assert {name.split(".")[0] for name in NAMES} == set(GROUPS)


def test_severities_are_those_of_the_findings(faulty: Outcome) -> None:
    """A finding with a name of the table has the severity told there."""

    def named(one: Finding) -> bool:
        return one.name in NAMES

    found = list(filter(named, faulty.report.findings))
    assert found
    assert [(one.name, one.severity) for one in found] == [
        (one.name, NAMES[one.name].severity) for one in found
    ]


def test_texts_are_sentences() -> None:
    """Title, reason and remedy of every name are sentences on one line."""
    for name, one in NAMES.items():
        for text in (one.title, one.why, one.fix):
            assert text[0].isupper() or text[0] == "`", name
            assert text.endswith("."), name
            assert "\n" not in text, name
