"""The MkDocs plugin by itself: found by its name, its options, what its events do."""

from __future__ import annotations

import tomllib
from importlib import import_module
from pathlib import Path

import pytest
from mkdocs.config import load_config
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.structure.files import File, Files

from kb.folders import shipped
from kb.publish.plugin import SizebookPlugin

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def config(tmp_path: Path) -> MkDocsConfig:
    """The configuration of the site."""
    site = shipped("site")
    return load_config(str(site / "mkdocs.yml"), docs_dir=str(site / "docs"), site_dir=str(tmp_path))


def test_the_entry_point_is_the_plugin() -> None:
    """MkDocs finds the class under the name that the package declares."""
    declared = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["entry-points"]
    module, _, name = declared["mkdocs.plugins"]["sizebook"].partition(":")
    assert getattr(import_module(module), name) is SizebookPlugin


def test_the_option_book_brings_the_pages(small: Path, config: MkDocsConfig) -> None:
    """With a book the site has the plant's name, a page of each format, and each placeholder filled."""
    plugin = SizebookPlugin()
    assert plugin.load_config({"book": str(small)}) == ([], [])
    changed = plugin.on_config(config)
    assert changed.site_name == "Saltmarsh can works"
    changed.plugins["sizebook"] = plugin
    files = changed.plugins.run_event("files", Files([]), config=changed)
    assert files.get_file_from_path("formats/b211-330.md") is not None
    assert files.get_file_from_path("assets/sheet/drawing.css") is not None


def test_without_a_book_pages_are_as_they_are(config: MkDocsConfig) -> None:
    """Without one nothing is generated, and the theme leaves out what no page reads."""
    plugin = SizebookPlugin()
    assert plugin.load_config({}) == ([], [])
    plugin.on_config(config)
    kept, unread = (
        File(name, src_dir="theme", dest_dir=config.site_dir, use_directory_urls=False)
        for name in ("assets/a.js", "assets/javascripts/a.js.map")
    )
    files = plugin.on_files(Files([kept, unread]), config=config)
    assert [file.src_uri for file in files] == ["assets/a.js"]
