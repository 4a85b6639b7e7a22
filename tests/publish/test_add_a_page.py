"""The recipe "Add a page to the site" of DEVELOPERS.md, followed on a copy of the tree."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from html import unescape
from pathlib import Path
from textwrap import dedent

import pytest

ROOT = Path(__file__).resolve().parents[2]


def recipe() -> dict[str, str]:
    """The files that the recipe adds, by their paths."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    section = text.partition("## Add a page to the site\n")[2].partition("\n## ")[0]
    found = re.findall(r"^\d\. `([^`]+)`.*?```\w+\n(.*?)\n +```$", section, re.MULTILINE | re.DOTALL)
    return {path: dedent(source) + "\n" for path, source in found}


@pytest.fixture(scope="module")
def made(small: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The site that a copy of the tree publishes after the recipe."""
    root = tmp_path_factory.mktemp("house")
    for folder in ("kb", "schema", "site", "specs"):
        shutil.copytree(ROOT / folder, root / folder, ignore=shutil.ignore_patterns("__pycache__"))
    files = recipe()
    assert sorted(files) == ["kb/publish/waiver_page.py", "site/templates/waivers.md"]
    for path, source in files.items():
        (root / path).write_text(source, encoding="utf-8")
    book = root / "book"
    shutil.copytree(small, book)
    command = [sys.executable, "-m", "kb.cli", "publish", "book", "--to", "out", "--changes", "0"]
    done = subprocess.run(
        [*command, "--as-of", "2026-11-02"],
        cwd=root,
        env={**os.environ, "PYTHONPATH": str(root)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return root / "out"


def test_the_page_is_in_the_site_and_in_its_part_of_the_navigation(made: Path) -> None:
    """The new page has its title and its heading; pages of the same part of the navigation lead to it."""
    page = (made / "waivers.html").read_text(encoding="utf-8")
    assert "<title>Waivers - " in page
    assert re.search(r'<h1 id="top">Waivers', page)
    for name in ("limits.html", "glossary.html"):
        text = (made / name).read_text(encoding="utf-8")
        (listed,) = re.findall(r'aria-label="Reference">(.*?)</ul>', text, re.DOTALL)
        assert re.findall(r'href="([^"]+)"', listed)[-1] == "waivers.html"


def test_what_the_template_shows_is_text(made: Path) -> None:
    """The rendered list has no placeholder left."""
    page = unescape((made / "waivers.html").read_text(encoding="utf-8"))
    assert "{{" not in page
    assert "{%" not in page
