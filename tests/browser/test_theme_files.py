"""The scripts, styles and built pages as files: small, strict, and asking nothing of a network."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from kb.folders import shipped
from tests.browser.small_site import FORMATS, SHEETS, other_sheets

THEME = shipped("site") / "theme"


@pytest.mark.parametrize("path", sorted((THEME / "assets" / "js").glob("*.js")), ids=lambda path: path.name)
def test_scripts_are_small_strict_and_keep_to_themselves(path: Path) -> None:
    """A script has at most 300 lines, is strict, and leaves only sizebook's own names on the window."""
    text = path.read_text(encoding="utf-8")
    assert len(text.splitlines()) <= 300
    assert text.startswith("'use strict';")
    left = set(re.findall(r"window\.(\w+)\s*=[^=]", text))
    assert left <= {"sizebookKit", "sizebookShape", "sizebookFind"}
    assert re.findall(r"^(?:function|const|let|var|class)\s+\w+", text, flags=re.M) == []


def test_nothing_in_the_theme_names_a_place_outside() -> None:
    """No style, script or template of ours fetches from a network."""
    for path in sorted(THEME.rglob("*.*")):
        text = path.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
        assert not re.search(r"https?://|@import|url\(\s*['\"]?//", text), path.name


def test_the_built_pages_name_no_place_outside(site: Path) -> None:
    """No built page loads a style, script, font or picture from a network."""
    for path in sorted(site.rglob("*.html")):
        text = path.read_text(encoding="utf-8")
        loaded = re.findall(r"<(?:script|link|img|iframe)[^>]*(?:src|href)=\"([^\"]+)\"", text)
        assert [one for one in loaded if "//" in one] == [], path.name


def test_the_small_site_is_what_the_tests_think(site: Path) -> None:
    """The look-up data is a script that sets one name, so that a page from disk can load it."""
    text = (site / "assets" / "book.js").read_text(encoding="utf-8")
    data = json.loads(text.removeprefix("window.sizebook = ").removesuffix(";\n"))
    assert [len(data[key]) for key in ("formats", "sheets")] == [
        len(FORMATS),
        len(SHEETS) + len(list(other_sheets())),
    ]
