"""Cost of `sizebook publish`, measured beside a bare `mkdocs build` of as many pages with the same text.

    .venv/bin/python tests/bench/publish.py [FORMATS ...]

The bare site is the published one stripped back to Markdown, one page for each, under the same theme
without our layer and with the same short navigation: no physics, drawings, scripts or styles of ours.
One build each, on this machine, now; what is worth keeping is the ratio, taken of processor time since
other work may hold the processor, and how the cost of a format grows.
"""

from __future__ import annotations

import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from html.parser import HTMLParser
from pathlib import Path
from typing import NamedTuple

from run import BIN, HOUSE, generated_book

COUNTS = (100, 300, 1000)
DAY = "2026-11-02"

BARE = """\
site_name: Bare
use_directory_urls: false
theme: {name: material, font: false}
plugins: [search]
markdown_extensions: [tables]
nav: [index.md, formats/index.md, sheets/index.md, process/index.md, checks/index.md]
validation: {nav: {omitted_files: ignore}}
"""

ENDS = {"p", "li", "dd", "dt", "figcaption", "summary", "caption"}


class Text(HTMLParser):
    """The text of a page's article as Markdown: headings, paragraphs and tables."""

    def __init__(self) -> None:
        super().__init__()
        self.lines: list[str] = []
        self._depth = self._unread = self._rows = 0
        self._words: list[str] = []
        self._cells: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """A tag begins."""
        self._depth += tag == "article"
        self._unread += tag in {"script", "style", "svg"}
        if tag == "table":
            self._end("\n{}\n")
            self._rows = 0

    def handle_endtag(self, tag: str) -> None:
        """A tag ends; what it held becomes a line."""
        self._unread -= tag in {"script", "style", "svg"}
        if tag in {"td", "th"}:
            self._cells.append(self._taken().replace("|", "/"))
        elif tag == "tr":
            self.lines.append(f"| {' | '.join(self._cells)} |")
            if self._rows == 0:
                self.lines.append(f"|{' --- |' * len(self._cells)}")
            self._rows += 1
            self._cells = []
        elif tag in {"h1", "h2", "h3", "h4"}:
            self._end(f"\n{'#' * int(tag[1])} {{}}\n")
        elif tag in ENDS or tag in {"div", "table", "article"}:
            self._end("\n{}\n")
        self._depth -= tag == "article"

    def handle_data(self, data: str) -> None:
        """Text."""
        if self._depth and not self._unread:
            self._words += data.split()

    def _taken(self) -> str:
        words, self._words = " ".join(self._words), []
        return words.translate(str.maketrans({"<": "&lt;", "#": "", "*": r"\*", "[": r"\[", "_": r"\_"}))

    def _end(self, line: str) -> None:
        if words := self._taken():
            self.lines.append(line.format(words.replace("{", "(").replace("}", ")")))


def book_of(root: Path, count: int) -> Path:
    """A book of so many formats, the demo's among them: the learning path shows numbers of some."""
    demo = sorted((HOUSE / "specs/formats").glob("*.yaml"))
    book = generated_book(root, max(0, count - len(demo)))
    for path in demo:
        shutil.copy(path, book / "formats")
    return book


def stripped(site: Path, root: Path) -> int:
    """Write the Markdown of a built site and its configuration; the number of pages."""
    pages = sorted(site.rglob("*.html"))
    for page in pages:
        text = Text()
        text.feed(page.read_text(encoding="utf-8"))
        target = (root / "docs" / page.relative_to(site)).with_suffix(".md")
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text("\n".join(text.lines), encoding="utf-8")
    (root / "mkdocs.yml").write_text(BARE, encoding="utf-8")
    return len(pages)


class Cost(NamedTuple):
    """What a build took."""

    wall: float
    processor: float


def cost(*command: str | Path) -> Cost:
    """Seconds that a command takes, by the wall clock and of processor."""
    before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    environment = {**os.environ, "NO_MKDOCS_2_WARNING": "1"}
    words = [str(word) for word in command]
    done = subprocess.run(words, stdout=subprocess.DEVNULL, env=environment, check=False)
    if done.returncode:
        raise SystemExit(f"{command[0]} ended with {done.returncode}")
    wall, after = time.perf_counter() - start, resource.getrusage(resource.RUSAGE_CHILDREN)
    return Cost(wall, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)


def measured(root: Path, count: int) -> str:
    """Publish so many formats, build the same bare, and say what each took."""
    book, site, bare = book_of(root, count), root / "site", root / "bare"
    ours = cost(BIN / "sizebook", "publish", book, "--to", site, "--as-of", DAY)
    most = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    pages = stripped(site, root)
    theirs = cost(BIN / "mkdocs", "build", "-q", "-f", root / "mkdocs.yml", "-d", bare)
    built = len(list(bare.rglob("*.html"))) - 1  # less its page for what is not found
    if built != pages:
        raise SystemExit(f"{pages} pages were published and {built} built bare")
    return (
        f"{count:7} {pages:7} {ours.wall:7.1f} s {ours.processor:7.1f} s"
        f" {theirs.wall:9.1f} s {theirs.processor:7.1f} s {ours.processor / theirs.processor:7.2f}"
        f" {1000 * ours.processor / count:8.0f} ms {most:8.0f} MiB"
    )


def main() -> None:
    """Measure and print."""
    counts = [int(word) for word in sys.argv[1:]] or COUNTS
    print("                  ---- publish ----    --- bare build ---")
    print("formats   pages      wall processor       wall processor  ratio  a format   largest")
    for count in counts:
        with tempfile.TemporaryDirectory() as scratch:
            print(measured(Path(scratch), count), flush=True)


if __name__ == "__main__":
    main()
