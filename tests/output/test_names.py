"""The table of names against the names that the code really gives its findings."""

from __future__ import annotations

import ast
import json
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
import yaml
from jsonschema import Draft202012Validator

import kb
from kb.book.finding import Finding
from kb.book.load import Book
from kb.checks.catalog import RULES
from kb.checks.names import finding_names, groups
from kb.folders import shipped
from kb.output.document import CheckedBook
from tests.conftest import syntax_tree

SITE = shipped("site")
HOUSE = Path(kb.__file__).resolve().parent
NAME = re.compile(rf"(?<![\w./])(?:{'|'.join(groups())})\.[a-z]+(?:-[a-z]+)*(?![\w./-])")
NO_NAMES = re.compile(r".*\.(?:yaml|txt|py|css|typ)")


def sources() -> Iterator[tuple[str, ast.Module]]:
    """Every module of the book, the checks, the sheets and the review, with its name."""
    for package in ("book", "checks", "sheet", "review"):
        for file in sorted((HOUSE / package).rglob("*.py")):
            yield f"{package}/{file.name}", syntax_tree(file)


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
    assert sorted((written_out() | put_together()) - set(finding_names())) == []


def test_every_explained_name_is_in_the_source() -> None:
    """The table explains nothing that no code can say."""
    assert sorted(set(finding_names()) - written_out() - put_together()) == []


def test_names_are_no_checks() -> None:
    """A name means one thing: none of the table is also a measuring check."""
    assert set(finding_names()) & set(RULES) == set()
    assert {name.split(".")[0] for name in finding_names()} == set(groups())


def test_the_file_fits_its_schema() -> None:
    """The file of names is valid against its schema and gives each name and each group once."""
    schema = json.loads((SITE / "schema/findings.json").read_text(encoding="utf-8"))
    Draft202012Validator.check_schema(schema)
    content = yaml.safe_load((SITE / "findings.yaml").read_text(encoding="utf-8"))
    assert [error.message for error in Draft202012Validator(schema).iter_errors(content)] == []
    assert [one["name"] for one in content["findings"]] == list(finding_names())
    assert [one["id"] for one in content["groups"]] == list(groups())


@pytest.mark.parametrize("output", ["text", "json", "junit", "markdown"])
def test_a_check_does_not_read_the_texts_of_names(demo: Book, tmp_path: Path, output: str) -> None:
    """`check` needs no file of names; only SARIF, which declares every rule, reads it."""
    file = demo.root / "formats/b211-330.yaml"
    program = (
        "import sys, kb.folders as f; old = f.shipped\n"
        "f.shipped = lambda name: old(name) if name != 'site' else sys.exit(7)\n"
        f"from kb.cli import main; main(['check', {str(file)!r}, '--output', sys.argv[1]])"
    )
    found = {
        each: subprocess.run(
            [sys.executable, "-c", program, each], check=False, capture_output=True, cwd=tmp_path
        )
        for each in (output, "sarif")
    }
    assert (found[output].returncode, found["sarif"].returncode) == (0, 7)


def test_severities_are_those_of_the_findings(faulty: CheckedBook) -> None:
    """A finding with a name of the table has the severity given there."""

    def named(one: Finding) -> bool:
        return one.name in finding_names()

    found = list(filter(named, faulty.report.findings))
    assert found
    assert [(one.name, one.severity) for one in found] == [
        (one.name, finding_names()[one.name].severity) for one in found
    ]


def test_texts_are_sentences() -> None:
    """Title, reason and remedy of every name are sentences on one line."""
    for name, one in finding_names().items():
        for text in (one.title, one.why, one.to_fix):
            assert text[0].isupper() or text[0] == "`", name
            assert text.endswith("."), name
            assert "\n" not in text, name
