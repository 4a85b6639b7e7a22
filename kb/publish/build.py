"""The site built from a book: pages written, MkDocs run, the old site replaced at the very end."""

from __future__ import annotations

import datetime
import json
import logging
import os
import re
from collections.abc import Callable, Iterator
from html import escape
from pathlib import Path
from typing import Any, cast

from kb.book.load import Book
from kb.folders import shipped
from kb.history.log import BookLog
from kb.output.io import write_atomic
from kb.publish import book_pages
from kb.publish.changeover_pages import change_sheets, changeover_pages
from kb.publish.changes import changes_pages
from kb.publish.draft import mark_pages
from kb.publish.edition import Edition, gather
from kb.publish.fault_pages import fault_pages
from kb.publish.format_page import format_page
from kb.publish.learn import filled
from kb.publish.lookup import book_script, formats_table
from kb.publish.marker import PublishError, seal
from kb.publish.sheet_pages import setup_sheets, sheet_pages
from kb.publish.target import publishing, put_in_place
from kb.publish.templates import page
from kb.publish.walk import walk_data

Progress = Callable[[str, int, int], None]


def publish(
    book: Book,
    out: Path,
    *,
    day: datetime.date,
    progress: Progress | None = None,
    draft: str | None = None,
    past: BookLog | None = None,
) -> Edition:
    """Build the site.

    Args:
        book: a loaded book
        out: folder of the site, new, empty or an older site; that one stays until the new one is complete
        day: the day the site is of: waivers and reviews are judged on it
        progress: called with a step's words, how much is done, and of how much
        draft: label of a draft, which every page then bears; none for a site that is in force
        past: what the book's repository tells of it; nothing of it when left out

    Returns:
        The edition that was published.

    Raises:
        PublishError: if there is no plant to publish, the folder may not be replaced, another publish into it
            is under way, MkDocs refuses the pages, or the site is not complete.
        OSError: if a file cannot be written.
    """
    if book.plant is None:
        raise PublishError("the book has no valid plant.yaml")
    tell = progress or (lambda _words, _done, _of: None)
    with publishing(out, book.root) as scratch:
        docs, made = scratch / "docs", scratch / "site"
        tell("judging", 0, 3)
        edition = gather(book, day, draft, past)
        tell("writing pages", 1, 3)
        sources = []
        for name, text in pages(edition):
            target = docs / name
            target.parent.mkdir(parents=True, exist_ok=True)
            write_atomic(target, text)
            sources.append(name)
        tell("building the site", 2, 3)
        assets = _build(edition, docs, made)
        seal(made, [*assets, *(re.sub(r"\.md$", ".html", name) for name in sources)])
        put_in_place(made, out)
    tell("done", 3, 3)
    return edition


def pages(edition: Edition) -> Iterator[tuple[str, str]]:
    """Every source file of the site by its path: written by hand, or made from the edition."""
    yield from _by_hand(edition)
    setups, changes = setup_sheets(edition), change_sheets(edition)
    yield "assets/book.js", book_script(edition, setups, changes)
    yield "formats/index.md", formats_table(edition)
    for one in edition.formats.values():
        ident = one.record.id
        yield f"formats/{ident}.md", format_page(edition, one)
        if one.routed is not None:
            yield f"walk/{ident}.data.js", walk_data(one.routed.route, one.record.title)
            yield f"walk/{ident}.md", _walk_page(ident, one.record.title)
    yield "formats/compare.md", page("compare.html", title="Compare formats")
    yield "walk/index.md", _walk_index(edition)
    for kind in book_pages.KIND_FOLDERS:
        yield from book_pages.spec_pages(edition, kind)
    yield from sheet_pages(edition, setups)
    yield from changeover_pages(edition, changes)
    yield from changes_pages(edition)
    yield "limits.md", book_pages.limits_page(edition)
    yield from book_pages.check_pages(edition)
    yield from book_pages.field_pages()
    yield from fault_pages(edition)
    yield "glossary.md", book_pages.glossary_page()


def _by_hand(edition: Edition) -> Iterator[tuple[str, str]]:
    docs = shipped("site") / "docs"
    for path in sorted(docs.rglob("*")):
        if path.is_file():
            name = path.relative_to(docs).as_posix()
            yield name, filled(path.read_text(encoding="utf-8"), edition, name)


def _walk_page(ident: str, title: str) -> str:
    return page("walk.html", title=f"Walk: {title}", scripts=(f"{ident}.data.js",), ident=ident, name=title)


def _walk_index(edition: Edition) -> str:
    rows = [
        [{"href": f"{one.record.id}.html", "text": one.record.title}, one.record.id]
        for one in edition.formats.values()
        if one.routed is not None
    ]
    say = "The section of a format from blank to flanged can, to scale, with punch, rings and dies."
    return page("list.html", title="Walk through the making", say=say, heads=["format", "id"], rows=rows)


# --- MkDocs -----------------------------------------------------------------------------------


def _build(edition: Edition, docs: Path, made: Path) -> set[str]:
    """Run MkDocs; names of the files that it had to write, those of the theme too."""
    from mkdocs.commands.build import build  # noqa: PLC0415  (slow to load)
    from mkdocs.config import load_config  # noqa: PLC0415
    from mkdocs.exceptions import MkDocsException  # noqa: PLC0415

    moment = datetime.datetime.combine(edition.day, datetime.time(), datetime.UTC)
    os.environ["SOURCE_DATE_EPOCH"] = str(int(moment.timestamp()))
    heard = _Heard()
    logger = logging.getLogger("mkdocs")
    logger.setLevel(logging.WARNING)
    logger.addHandler(heard)
    plant = edition.book.plant
    changes: dict[str, Any] = {
        "docs_dir": str(docs),
        "site_dir": str(made),
        "site_name": escape(plant.title if plant else "sizebook"),  # the theme prints it as it is
        "extra": {
            "built": edition.day.isoformat(),
            "polyfills": ["assets/js/iframe-worker.js"],
        },
    }
    written = _Written()
    try:
        config = load_config(config_file=str(shipped("site") / "mkdocs.yml"), **changes)
        config.plugins["sizebook-written"] = cast(Any, written)
        build(config)
    except MkDocsException as error:
        raise PublishError("; ".join([*heard.words[:5], str(error)])) from error
    except OSError as error:
        file = error.filename2 or error.filename or "; ".join([*heard.words[:5], str(made)])
        raise PublishError(f"{file}: {error.strerror or error}") from error
    finally:
        logger.removeHandler(heard)
    _without_machine(made)
    if edition.draft is not None:
        mark_pages(made, edition.draft)
    return (written.names | _OF_THE_SEARCH) - _OF_A_SERVER


class _Written:
    """What MkDocs is going to write, kept when it has gathered its files."""

    def __init__(self) -> None:
        self.names: set[str] = set()

    def on_env(self, env: Any, *, config: Any, files: Any) -> Any:
        """Keep the names."""
        self.names = {one.dest_uri for one in files if one.inclusion.is_included()}
        return env


class _Heard(logging.Handler):
    """What MkDocs warned of, so that a refused build can be told in one line."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.words: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.words.append(" ".join(record.getMessage().split()))


_OF_A_SERVER = frozenset({"sitemap.xml", "sitemap.xml.gz", "404.html"})
_OF_THE_SEARCH = frozenset({"search/search_index.js", "search/search_index.json"})


def _without_machine(made: Path) -> None:
    """Leave no trace of where and when the site was built; the same book gives the same bytes."""
    for name in _OF_A_SERVER:
        (made / name).unlink(missing_ok=True)
    index = made / "search" / "search_index.json"
    if index.is_file():
        data = json.loads(index.read_text(encoding="utf-8"))
        write_atomic(index, json.dumps(data, ensure_ascii=False, sort_keys=True))
