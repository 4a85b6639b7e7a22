"""The MkDocs plugin: its events put the pages of an edition beside those written by hand."""

from __future__ import annotations

import datetime
import json
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
from kb.publish.draft import draft_words
from kb.publish.edition import Edition, gather
from kb.publish.learn import filled
from kb.publish.page import Pages, every_pages

OF_A_SERVER = frozenset({"sitemap.xml", "sitemap.xml.gz", "404.html"})
"""What a site on a disk does not have."""

UNREAD = ("assets/javascripts/lunr/", "assets/javascripts/workers/")
"""Files of the theme's own search, which the site does not use."""


class Options(Config):  # type: ignore[no-untyped-call]
    """Options of the plugin in a `mkdocs.yml`: `book` is the folder of a book, from the file's own folder."""

    book = Optional(Dir(exists=True))


class SizebookPlugin(BasePlugin[Options]):  # type: ignore[no-untyped-call]
    """Builds the site of an edition.

    Attributes:
        edition: the book as it is published, given by `publish` or read from the option `book`.
        pages: path and source of each generated file.
        written: names of the files that MkDocs is going to write.
    """

    def __init__(self, edition: Edition | None = None, pages: Iterable[tuple[str, str | bytes]] = ()) -> None:
        self.edition = edition
        self.pages = dict(pages)
        self.written: set[str] = set()

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
        return files

    def on_page_markdown(self, markdown: str, *, page: Page, config: MkDocsConfig, files: Files) -> str:
        """Fill the placeholders of a hand-written page."""
        name = page.file.src_uri
        if self.edition is None or name in self.pages:
            return markdown
        return filled(markdown, self.edition, name)

    def on_env(self, env: Any, *, config: MkDocsConfig, files: Files) -> Any:
        """Keep the names of all that is going to be written."""
        included = (one for one in files if one.inclusion.is_included())  # type: ignore[no-untyped-call]
        self.written = {one.dest_uri for one in included} - OF_A_SERVER
        return env

    def on_post_build(self, *, config: MkDocsConfig) -> None:
        """Leave no trace of where and when the site was built; the same book gives the same bytes."""
        made = Path(config.site_dir)
        for name in OF_A_SERVER:
            (made / name).unlink(missing_ok=True)


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
