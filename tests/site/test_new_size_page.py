"""The pages on a new size and on the first numbers: their commands run, and their keys move results."""

from __future__ import annotations

import re
import shutil
from collections.abc import Mapping
from pathlib import Path

import pytest
from click.testing import CliRunner

from kb.book.records import Limit
from kb.checks.catalog import MECHANICS
from kb.checks.judge import judge_route
from kb.cli import main
from kb.folders import shipped
from kb.route.assemble import Assembled
from kb.route.study import Study

DOCS = shipped("site") / "docs"
PAGE = (DOCS / "new-size.md").read_text(encoding="utf-8")
NUMBERS = re.findall(
    r"^\| [^|]+ \| `([^`]+)` \|", (DOCS / "first-numbers.md").read_text("utf-8"), re.MULTILINE
)
(TARGETS,) = re.findall(r"^```yaml\n(.*?)^```$", PAGE, flags=re.MULTILINE | re.DOTALL)
STEPS = re.findall(r"^\$ sizebook (.+)\n((?:(?!\$ |```).*\n)*)", PAGE, flags=re.MULTILINE)


def run(words: str) -> str:
    """What a command prints."""
    done = CliRunner().invoke(main, [*words.split()], catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return done.stdout


def test_the_page_leads_to_a_released_size(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """From the targets of the page to a sheet: each command runs, and prints what the page shows."""
    shutil.copytree(shipped("specs"), tmp_path / "specs")
    monkeypatch.chdir(tmp_path)
    Path("b211-250-targets.yaml").write_text(TARGETS, encoding="utf-8")
    (design, made), (check, checked), (sheet, _), (record, _) = STEPS
    assert run(design) == made
    assert run(f"{check} --as-of 2026-11-25") == checked
    draft = Path("specs/formats/b211-250.yaml")
    text = draft.read_text(encoding="utf-8")
    for old, new in (
        ("status: draft", "status: released"),
        ('effective: "2026-10-26"', 'effective: "2026-11-20"'),
        ('label: "Tide lines, blue"', 'label: "Harbour, green"'),
    ):
        assert text.count(old) == 1
        text = text.replace(old, new)
    draft.write_text(text, encoding="utf-8")
    run(f"{sheet} --book specs --as-of 2026-11-25")
    run(f"{record} --book specs --as-of 2026-11-25")
    assert run("check specs/formats/b211-250.yaml --as-of 2026-11-25") == checked


def test_the_size_needs_few_values() -> None:
    """The targets of the page have at most 25 values, with those of the release."""
    targets = re.findall(r"[^\s\[{,][^,\]}]*", "\n".join(re.findall(r": (.+)", TARGETS.partition("\n")[2])))
    assert len(targets) + 3 <= 25


def test_twelve_numbers_are_listed() -> None:
    """The page on the first week has twelve numbers, each once."""
    assert len(NUMBERS) == len(set(NUMBERS)) == 12


@pytest.mark.parametrize("number", NUMBERS)
def test_each_of_the_first_numbers_moves_a_checked_value(
    number: str, formats: Mapping[str, Assembled], limits: Mapping[str, Limit]
) -> None:
    """A thousandth more of the number moves a value that a check compares, by more than rounding."""
    case = formats["b211-330"].case
    of = "format" if "." in number else "plant" if "_" in number else "setting"
    key = f"{of}.{number.replace('[]', '[2]')}"
    moved = case.with_nominals({key: 1.001 * case.at(key)})

    def values(of: object) -> list[float]:
        return [one.spread.nominal for one in judge_route(Study(of, ()), MECHANICS, limits)]  # type: ignore[arg-type]

    before, after = values(case), values(moved)
    assert any(abs(new - old) > 1e-6 * abs(old) for old, new in zip(before, after, strict=True))


@pytest.mark.parametrize("page", ["new-size.md", "first-numbers.md"])
def test_the_page_is_in_the_navigation(page: str) -> None:
    """The site's navigation leads to the page."""
    assert f": {page}\n" in (shipped("site") / "mkdocs.yml").read_text(encoding="utf-8")
