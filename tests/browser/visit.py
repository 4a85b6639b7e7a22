"""A page of the demo book's site opened from disk, and what it complained of."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from tests.browser.settled import settled


class Visit:
    """A page opened from disk, with what it complained of and what it asked the network for."""

    def __init__(self, browser: Any, site: Path, patience: int, width: int = 1280, **traits: Any) -> None:
        self.context = browser.new_context(viewport={"width": width, "height": 900}, **traits)
        self.page = self.context.new_page()
        self.page.set_default_timeout(patience)
        self.site = site
        self.errors: list[str] = []
        self.outside: list[str] = []
        self.page.on("console", lambda m: self.errors.append(m.text) if m.type == "error" else None)
        self.page.on("pageerror", lambda error: self.errors.append(str(error)))
        self.page.on("request", self._asked)

    def _asked(self, request: Any) -> None:
        if not request.url.startswith(("file:", "data:", "blob:", "about:")):
            self.outside.append(request.url)

    def go(self, path: str) -> None:
        """Open a page and wait until it has settled."""
        file, mark, place = path.partition("#")
        self.page.goto((self.site / file).as_uri() + mark + place)
        settled(self.page)

    def close(self) -> None:
        """End the visit."""
        self.context.close()
