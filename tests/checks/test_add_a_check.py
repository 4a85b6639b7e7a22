"""The recipe "Add a check" of DEVELOPERS.md, followed on a copy of the tree, with no other edit."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import textwrap
from pathlib import Path
from typing import NamedTuple

import pytest

pytestmark = pytest.mark.slow

ROOT = Path(__file__).resolve().parents[2]
NAME = "redraw.sleeve-overlap"


class Recipe(NamedTuple):
    """The blocks of the recipe, each with the file that it names."""

    check_file: str
    check: str
    limits_file: str
    limit: str
    patch_folder: str
    patch: str


def recipe() -> Recipe:
    """The three steps as DEVELOPERS.md prints them."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    section = text.partition("## Add a check\n")[2].partition("\n## ")[0]
    steps = re.findall(
        r"^\d\. In `([^`]+)`.*?\n\n   ```\w+\n(.*?)   ```\n", section, re.MULTILINE | re.DOTALL
    )
    assert len(steps) == 3
    blocks = [(file, textwrap.dedent(block)) for file, block in steps]
    return Recipe(*(part for step in blocks for part in step))


class Tree(NamedTuple):
    """A copy of the tree; its book has the plant's limit, or is as it was."""

    root: Path

    def run(self, *words: str, module: str = "kb.cli") -> subprocess.CompletedProcess[str]:
        """Run the copy's command, or another module on the copy."""
        return subprocess.run(
            [sys.executable, "-m", module, *words],
            cwd=self.root,
            env={**os.environ, "PYTHONPATH": str(self.root), "COLUMNS": "120"},
            capture_output=True,
            text=True,
            check=False,
        )

    def tests(self, *words: str) -> subprocess.CompletedProcess[str]:
        """Run tests of the copy."""
        return self.run("-q", "-p", "no:cacheprovider", *words, module="pytest")


@pytest.fixture(scope="module")
def steps() -> Recipe:
    """The recipe."""
    return recipe()


@pytest.fixture(scope="module")
def tree(steps: Recipe, tmp_path_factory: pytest.TempPathFactory) -> Tree:
    """A copy of the tree with the check added to its station's file, and no other edit."""
    root = tmp_path_factory.mktemp("tree")
    for folder in ("kb", "schema", "site", "specs", "tests"):
        shutil.copytree(ROOT / folder, root / folder, ignore=shutil.ignore_patterns("__pycache__"))
    for file in ("pyproject.toml", "DEVELOPERS.md", "README.md", "CHANGELOG.md"):
        shutil.copy(ROOT / file, root / file)
    file = root / steps.check_file
    file.write_text(file.read_text(encoding="utf-8") + "\n\n" + steps.check, encoding="utf-8")
    return Tree(root)


@pytest.fixture(scope="module")
def whole(steps: Recipe, tree: Tree, tmp_path_factory: pytest.TempPathFactory) -> Tree:
    """The copy after all three steps."""
    root = tmp_path_factory.mktemp("whole") / "tree"
    shutil.copytree(tree.root, root)
    limits = root / steps.limits_file
    text = limits.read_text(encoding="utf-8")
    assert text.count("\nlimits:\n") == 1
    added = "\nlimits:\n" + textwrap.indent(steps.limit, "  ")
    limits.write_text(text.replace("\nlimits:\n", added), encoding="utf-8")
    (root / steps.patch_folder / f"{NAME}.patch.yaml").write_text(steps.patch, encoding="utf-8")
    return Tree(root)


def verdicts(tree: Tree) -> list[dict[str, object]]:
    """The verdicts of the added check on all formats."""
    report = json.loads(tree.run("check", "specs", "--output", "json").stdout)
    found = [one for book in report["books"] for each in book["verdicts"].values() for one in each]
    return [one for one in found if one["check"] == NAME]


def test_a_check_without_a_plant_limit_uses_its_default(tree: Tree) -> None:
    """After the first step every format is judged by the default, and a note names the limit to add."""
    judged = verdicts(tree)
    assert len(judged) == len(list((ROOT / "specs" / "formats").glob("*.yaml")))
    assert {one["least"] for one in judged} == {0.5}
    assert f"{NAME} has no limit of this plant" in tree.run("check", "specs").stdout


def test_the_plant_limit_overrides_the_default(whole: Tree) -> None:
    """After the second step the plant's limit is used, every format passes and the note is gone."""
    judged = verdicts(whole)
    assert {one["least"] for one in judged} == {1.0}
    assert all(one["passed"] for one in judged)
    assert NAME not in whole.run("check", "specs").stdout


def test_the_check_is_explained(tree: Tree) -> None:
    """`explain` prints what the function's description says."""
    explained = tree.run("explain", NAME).stdout
    assert "The sleeve holds the cup beyond its corner." in explained
    assert "cup.punch_diameter, cup.punch_radius, redraw.die_bore" in explained


def test_a_check_without_a_patch_fails_the_tests(tree: Tree) -> None:
    """After the first step the copy's own test names the check that nothing breaks."""
    run = tree.tests("tests/test_specs_bad.py", "-k", "every_check_has_a_patch")
    assert run.returncode == 1
    assert NAME in run.stdout


def test_the_recipe_passes_the_tests(whole: Tree) -> None:
    """After the third step the tests of the catalog and of the patches pass for the added check."""
    chosen = f"{NAME} or every_check or catalog_lists"
    run = whole.tests("-rA", "tests/test_specs_bad.py", "tests/checks/test_catalog.py", "-k", chosen)
    assert run.returncode == 0, run.stdout
    for test in ("is_found_at_its_marks", "says_what_it_breaks", "data_names_keys_that_are_there"):
        assert re.search(rf"PASSED \S*{test}\[(checks/)?{NAME}\]", run.stdout), run.stdout
