"""The site built from a book: pages written, MkDocs run, the old site replaced at the very end."""

from __future__ import annotations

import datetime
import logging
import os
from collections.abc import Callable
from functools import partial
from pathlib import Path

from kb.book.load import Book
from kb.folders import shipped
from kb.history.log import BookLog
from kb.publish.changeovers import addresses, changeover_plans
from kb.publish.edition import Edition, gather
from kb.publish.lookup import book_script
from kb.publish.page import Context, Rendered, every_pages
from kb.publish.search import search_entries, search_script
from kb.publish.sheet_pages import setup_sheets
from kb.publish.target import PublishError, publishing, put_in_place, seal
from kb.workers import shared

Progress = Callable[[str, int, int], None]


def publish(
    book: Book,
    out: Path,
    *,
    day: datetime.date,
    progress: Progress | None = None,
    draft: str | None = None,
    past: BookLog | None = None,
    pdf: bool = False,
) -> Edition:
    """Build the site of a book; an older site stays until the new one is complete.

    Args:
        book: a loaded book
        out: folder of the site: new, empty or an older site
        day: date of the site; waivers and reviews are checked on it
        progress: called with a step's words, how much is done, and of how much
        draft: label of a draft, shown on every page; none for a site that is no draft
        past: the log of the book's repository; by default none
        pdf: whether to build the other papers as PDF too, besides the setup sheets

    Raises:
        PublishError: if there is no plant to publish, the folder may not be replaced, another publish into it
            is under way, MkDocs refuses the pages, or the site is not complete.
        OSError: if a file cannot be written.
    """
    if book.plant is None:
        raise PublishError("the book has no valid plant.yaml")
    report = progress or (lambda _words, _done, _of: None)
    with publishing(out, book.root) as scratch:
        made = scratch / "site"
        report("checking", 0, 3)
        edition = gather(book, day, draft, past, pdf=pdf)
        report("building the site", 1, 3)
        written = _build(edition, made)
        seal(made, written)
        put_in_place(made, out)
    report("done", 3, 3)
    return edition


def pages(edition: Edition) -> Rendered:
    """Every generated source file of the site by its path; those written by hand are in `site/docs`."""
    plans = changeover_plans(edition)
    context = Context(edition, setup_sheets(edition), plans, addresses(plans))
    yield "assets/book.js", book_script(edition, context.setups, plans)
    yield "assets/search.js", search_script(search_entries(context))
    crews = [
        partial(one.of_crew, context, crew.id)
        for one in every_pages()
        if one.of_crew
        for line in edition.changes.values()
        for crew in line.crews
    ]
    made = [*crews, *(partial(one.render, context) for one in every_pages())]
    for found in shared(lambda place: list(made[place]()), range(len(made))):
        yield from found


def _build(edition: Edition, made: Path) -> set[str]:
    """Run MkDocs; names of the files that it had to write, those of the theme too."""
    from mkdocs.commands.build import build  # noqa: PLC0415  (slow to load)
    from mkdocs.config import load_config  # noqa: PLC0415
    from mkdocs.exceptions import MkDocsException  # noqa: PLC0415

    from kb.publish.plugin import SizebookPlugin  # noqa: PLC0415

    moment = datetime.datetime.combine(edition.day, datetime.time(), datetime.UTC)
    os.environ["SOURCE_DATE_EPOCH"] = str(int(moment.timestamp()))
    heard = _Heard()
    logger = logging.getLogger("mkdocs")
    logger.setLevel(logging.WARNING)
    logger.addHandler(heard)
    site = shipped("site")
    plugin = SizebookPlugin(edition, pages(edition))
    try:
        config = load_config(
            config_file=str(site / "mkdocs.yml"), docs_dir=str(site / "docs"), site_dir=str(made)
        )
        config.plugins["sizebook"] = plugin
        build(config)
    except MkDocsException as error:
        raise PublishError("; ".join([*heard.words[:5], str(error)])) from error
    except OSError as error:
        file = error.filename2 or error.filename or "; ".join([*heard.words[:5], str(made)])
        raise PublishError(f"{file}: {error.strerror or error}") from error
    finally:
        logger.removeHandler(heard)
    return plugin.written


class _Heard(logging.Handler):
    """The warnings of MkDocs, to report a refused build in one line."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.words: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.words.append(" ".join(record.getMessage().split()))


def serve(rebuild: Callable[[], None], *, book: Path, out: Path, port: int) -> None:
    """Serve a built site on port `port` of 127.0.0.1 until stopped; rebuild it when a spec changes."""
    from mkdocs.livereload import LiveReloadServer  # noqa: PLC0415  (slow to load)

    server = LiveReloadServer(rebuild, host="127.0.0.1", port=port, root=str(out), mount_path="/")
    server.watch(str(book))
    server.watch(str(shipped("site")))
    try:
        server.serve()  # type: ignore[no-untyped-call]
    finally:
        server.shutdown()
