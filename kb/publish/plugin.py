"""The MkDocs plugin: its events put the pages of an edition beside those written by hand."""

from __future__ import annotations

import datetime
import json
import re
from collections.abc import Iterable
from html import escape
from pathlib import Path
from typing import Any

from mkdocs.config.base import Config
from mkdocs.config.config_options import Dir, Optional
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.plugins import BasePlugin
from mkdocs.structure.files import File, Files
from mkdocs.structure.pages import Page

from kb.book.load import load
from kb.publish.edition import Edition, gather
from kb.publish.learn import filled
from kb.publish.page import Pages, draft_words, every_pages

OF_A_SERVER = frozenset({"sitemap.xml", "sitemap.xml.gz", "404.html"})
"""Files that a site on a disk does not need."""

BUNDLES = {"extra_css": "assets/css/", "extra_javascript": "assets/js/"}
"""Styles and scripts of these folders become one file each, `site.css` and `site.js`, for all pages."""

UNREAD = ("assets/javascripts/lunr/", "assets/javascripts/workers/")
"""Files of the theme's own search, which the site does not use."""


_BLOCK = re.compile(r"\n*</?(?:div|p|dl|ul|ol|li|table|section|nav|details|figure|script|style|h\d)\b")
_MARK = "sizebook-block-"
_PRE = re.compile(r"(<pre.*?</pre>)", re.DOTALL)
_INDENT = re.compile(r"\n\s+")


class Options(Config):  # type: ignore[no-untyped-call]
    """The plugin's options in a `mkdocs.yml`: `book` is the folder of a book, relative to that file."""

    book = Optional(Dir(exists=True))


class SizebookPlugin(BasePlugin[Options]):  # type: ignore[no-untyped-call]
    """Builds the site of an edition, given by `publish` or read from the option `book`.

    Attributes:
        pages: path and source of each generated file.
        written: names of the files that MkDocs is going to write.
        kept: blocks of HTML of the pages that Markdown has in work.
    """

    def __init__(self, edition: Edition | None = None, pages: Iterable[tuple[str, str | bytes]] = ()) -> None:
        self.edition = edition
        self.pages = dict(pages)
        self.written: set[str] = set()
        self.kept: dict[str, list[str]] = {}

    def on_config(self, config: MkDocsConfig) -> MkDocsConfig:
        """Give the site the plant's name and its day."""
        if self.edition is None and self.config.book:
            from kb.publish.build import pages  # noqa: PLC0415  (the build makes the plugin)

            self.edition = gather(load(Path(self.config.book), shown=self.config.book), datetime.date.today())
            self.pages = dict(pages(self.edition))
        if self.edition is not None:
            plant = self.edition.book.plant
            config.site_name = escape(plant.title if plant else "sizebook")  # the theme prints it as it is
            config.extra["built"] = self.edition.day.isoformat()
            if self.edition.draft is not None:
                config.extra["draft"] = draft_words(self.edition.draft)
        for one in every_pages():
            add_to_nav(config.nav, one)
        return config

    def on_files(self, files: Files, *, config: MkDocsConfig) -> Files:
        """Add the generated files; leave out what no page of the site reads."""
        for file in list(files):
            if file.dest_uri.endswith(".map") or file.dest_uri.startswith(UNREAD):
                files.remove(file)
        for name, text in self.pages.items():
            if same := files.get_file_from_path(name):
                files.remove(same)
            files.append(File.generated(config, name, content=text))
        for key, folder in BUNDLES.items():
            config[key] = _bundled(files, folder, config[key], config)
        return files

    def on_page_markdown(self, markdown: str, *, page: Page, config: MkDocsConfig, files: Files) -> str:
        """Fill the placeholders of a hand-written page; leave to Markdown only what is Markdown."""
        name = page.file.src_uri
        if name in self.pages:
            return self._without_blocks(markdown, name)
        return markdown if self.edition is None else filled(markdown, self.edition, name)

    def _without_blocks(self, markdown: str, name: str) -> str:
        """A generated page with a short mark for each block of HTML, which Markdown need not read."""
        blocks = markdown.split("\n\n")
        kept = self.kept[name] = [one for one in blocks if _BLOCK.match(one)]
        marks = (f'<div id="{_MARK}{i}"></div>' for i in range(len(kept)))
        return "\n\n".join(next(marks) if _BLOCK.match(one) else one for one in blocks)

    def on_page_content(self, html: str, *, page: Page, config: MkDocsConfig, files: Files) -> str:
        """Put the blocks of HTML back in the place of their marks."""
        first, *rest = html.split(f'<div id="{_MARK}')
        ends = (one.partition("></div>")[2] for one in rest)
        kept = self.kept.pop(page.file.src_uri, ())
        return first + "".join(block + end for block, end in zip(kept, ends, strict=True))

    def on_env(self, env: Any, *, config: MkDocsConfig, files: Files) -> Any:
        """Keep the names of all that is going to be written; templates leave no blank lines in the pages."""
        env.trim_blocks = env.lstrip_blocks = True
        included = (one for one in files if one.inclusion.is_included())  # type: ignore[no-untyped-call]
        self.written = {one.dest_uri for one in included} - OF_A_SERVER
        return env

    def on_post_page(self, output: str, *, page: Page, config: MkDocsConfig) -> str:
        """Leave out the indents of the templates; text between `pre` stays as it is."""
        return "".join(
            text if i % 2 else _INDENT.sub("\n", text) for i, text in enumerate(_PRE.split(output))
        )

    def on_post_build(self, *, config: MkDocsConfig) -> None:
        """Remove what only a server needs."""
        for name in OF_A_SERVER:
            (Path(config.site_dir) / name).unlink(missing_ok=True)


def _bundled(files: Files, folder: str, names: Iterable[object], config: MkDocsConfig) -> list[object]:
    """Names of styles or scripts, with one file in the place of all that are in a folder."""
    found = {name: files.get_file_from_path(str(name)) for name in names if str(name).startswith(folder)}
    sources = {name: one for name, one in found.items() if one}
    if not sources:
        return list(names)
    bundle = f"{folder}site.{folder.split('/')[1]}"
    text = "\n".join(one.content_string for one in sources.values())
    for one in sources.values():
        files.remove(one)
    files.append(File.generated(config, bundle, content=text))
    return [*(name for name in names if name not in sources), bundle]


def add_to_nav(nav: list[Any] | None, pages: Pages) -> None:
    """Put pages at the end of their part of the navigation, unless `mkdocs.yml` has their place already."""
    entries = nav if nav is not None else []
    if pages.path in json.dumps(entries):
        return
    for entry in entries:
        if pages.under and isinstance(entry, dict) and isinstance(entry.get(pages.under), list):
            entry[pages.under].append({pages.title: pages.path})
            return
    entries.append({pages.title: pages.path})
