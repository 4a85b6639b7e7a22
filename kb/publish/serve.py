"""The site while the book is being edited: rebuilt when a spec changes, shown on this machine only."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from mkdocs.livereload import LiveReloadServer

from kb.folders import shipped


def serve(rebuild: Callable[[], None], *, book: Path, out: Path, port: int) -> None:
    """Serve a built site until stopped.

    Args:
        rebuild: builds the site into `out`; called again after every change
        book: the book's folder, watched
        out: folder of the site
        port: port on 127.0.0.1
    """
    server = LiveReloadServer(rebuild, host="127.0.0.1", port=port, root=str(out), mount_path="/")
    server.watch(str(book))
    server.watch(str(shipped("site")))
    try:
        server.serve()  # type: ignore[no-untyped-call]
    finally:
        server.shutdown()
