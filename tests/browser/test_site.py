"""The demo book's site in a real browser, opened from disk: search, tables, walk, keyboard, print, access."""

from __future__ import annotations

import datetime
import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
import yaml

from kb.book.load import load
from kb.folders import shipped
from kb.publish.build import publish

CHROMIUM = shutil.which("chromium")
playwright = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed")
if CHROMIUM is None:
    pytest.skip("Chromium is not installed: apt-get install chromium", allow_module_level=True)

QUERIES = yaml.safe_load((Path(__file__).parent / "queries.yaml").read_text(encoding="utf-8"))
WIDTHS = (390, 768, 1280)
PAGES = (
    "index.html",
    "formats/index.html",
    "formats/regular-330.html",
    "formats/regular-440-light.html",
    "walk/regular-330.html",
    "faults/index.html",
    "faults/tear-off.html",
    "learn/index.html",
    "learn/dome-and-pressure.html",
    "checks/index.html",
    "checks/trim.allowance.html",
    "lines/heron.html",
    "limits.html",
    "fields/size-format.html",
    "glossary.html",
    "sheets/index.html",
)
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture(scope="module")
def published(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the demo book's site."""
    out = tmp_path_factory.mktemp("browser") / "site"
    publish(load(shipped("specs"), shown="specs"), out, day=datetime.date(2026, 11, 25))
    return out


@pytest.fixture(scope="module")
def chromium() -> Iterator[object]:
    """A headless Chromium."""
    with playwright.sync_playwright() as made:
        browser = made.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()


class Visit:
    """A page opened from disk, with what it complained of and what it asked the network for."""

    def __init__(self, browser: object, site: Path, width: int = 1280, **more: object) -> None:
        size = {"width": width, "height": 900}
        self.page = browser.new_page(viewport=size, **more)  # type: ignore[attr-defined]
        self.site = site
        self.errors: list[str] = []
        self.outside: list[str] = []
        self.page.on("console", lambda m: self.errors.append(m.text) if m.type == "error" else None)
        self.page.on("pageerror", lambda error: self.errors.append(str(error)))
        self.page.on("request", self._asked)

    def _asked(self, request: object) -> None:
        url = request.url  # type: ignore[attr-defined]
        if not url.startswith(("file:", "data:", "blob:", "about:")):
            self.outside.append(url)

    def go(self, path: str) -> None:
        """Open a page."""
        self.page.goto((self.site / path.partition("#")[0]).as_uri() + "".join(path.partition("#")[1:]))
        self.page.wait_for_load_state("load")
        self.page.wait_for_timeout(150)


@pytest.fixture
def visit(chromium: object, published: Path) -> Iterator[Visit]:
    """A fresh page at desktop width."""
    made = Visit(chromium, published)
    yield made
    made.page.close()


@pytest.mark.parametrize("width", WIDTHS)
def test_pages_open_without_error_or_network(chromium: object, published: Path, width: int) -> None:
    """At every width pages open from disk, complain of nothing, fetch nothing, do not scroll sideways."""
    one = Visit(chromium, published, width)
    wide = []
    for path in PAGES:
        one.go(path)
        if one.page.evaluate("document.documentElement.scrollWidth > window.innerWidth + 1"):
            wide.append(path)
    one.page.close()
    assert one.errors == []
    assert one.outside == []
    assert wide == []


def test_search_from_disk(visit: Visit) -> None:
    """Each of the queries finds its page: decimals, codes, hyphens, slang and plain words."""
    assert len(QUERIES) >= 50
    visit.go("index.html")
    page = visit.page
    page.get_by_placeholder("Search").click()
    missed = []
    for query, wanted in QUERIES:
        page.keyboard.press("Control+A")
        page.keyboard.type(query)
        try:
            page.wait_for_function(
                "wanted => [...document.querySelectorAll('.md-search-result__link')]"
                ".some(a => a.href.includes('/' + wanted))",
                arg=wanted,
                timeout=2500,
            )
        except playwright.TimeoutError:
            missed.append((query, wanted))
    assert missed == [], missed
    assert visit.errors == []


def test_formats_are_sorted_and_filtered(visit: Visit) -> None:
    """The table sorts by a head, filters by words, and counts what is left."""
    visit.go("formats/index.html")
    page = visit.page
    rows = page.locator("table[data-sb=formats] tbody tr")
    whole = rows.count()
    assert whole == len(list((shipped("specs") / "formats").glob("*.yaml")))
    head = page.locator("table[data-sb=formats] th", has_text="contents").locator("button")
    head.click()
    head.click()
    contents = [
        float(text)
        for text in page.locator("table[data-sb=formats] tbody tr td:nth-child(3)").all_inner_texts()
    ]
    assert contents in (sorted(contents), sorted(contents, reverse=True))
    page.locator("input[type=search], .sb-finder input").first.fill("sleek")
    page.wait_for_timeout(200)
    shown = [row for row in rows.all() if row.is_visible()]
    assert 0 < len(shown) < whole
    assert all("sleek" in row.inner_text() for row in shown)


def test_formats_are_compared(visit: Visit) -> None:
    """Two formats named in the address stand side by side."""
    visit.go("formats/compare.html#slim-250,regular-330")
    text = visit.page.inner_text("[data-sb=compare]")
    assert "250 ml slim" in text
    assert "330 ml regular" in text
    assert visit.errors == []


def test_the_walk_goes_through_all_stations(visit: Visit) -> None:
    """With the keyboard alone the walk goes from blank to flange, the numbers following."""
    visit.go("walk/regular-330.html")
    page = visit.page
    first = page.inner_text(".sb-walk")
    assert "Blank" in first
    slider = page.locator(".sb-walk input[type=range]")
    slider.focus()
    for _ in range(30):
        page.keyboard.press("ArrowRight")
    page.wait_for_timeout(600)
    last = page.inner_text(".sb-walk")
    assert "finished height" in last
    assert first != last
    assert visit.errors == []


def test_prints_without_cut_rows(visit: Visit, tmp_path: Path) -> None:
    """A format prints on a bounded number of pages, and no table row may be split."""
    visit.go("formats/regular-330.html")
    page = visit.page
    page.emulate_media(media="print")
    kept = page.evaluate(
        "[...document.querySelectorAll('table.sb-table tr')]"
        ".every(r => getComputedStyle(r).breakInside.startsWith('avoid'))"
    )
    assert kept
    path = tmp_path / "format.pdf"
    page.pdf(path=str(path), format="A4")
    pages = path.read_bytes().count(b"/Type /Page\n") or path.read_bytes().count(b"/Type /Page")
    assert 3 <= pages <= 40


def _axe() -> Path | None:
    for folder in (os.environ.get("AXE_CORE"), "node_modules/axe-core", "build/axe/node_modules/axe-core"):
        if folder and (Path(folder) / "axe.min.js").is_file():
            return Path(folder) / "axe.min.js"
    return None


@pytest.mark.skipif(
    _axe() is None, reason="axe-core is not installed: npm install --prefix build/axe axe-core"
)
@pytest.mark.parametrize("path", PAGES)
def test_no_serious_barrier(visit: Visit, path: str) -> None:
    """axe-core finds no serious or critical violation."""
    visit.go(path)
    script = _axe()
    assert script is not None
    visit.page.add_script_tag(path=str(script))
    found = visit.page.evaluate("axe.run({resultTypes: ['violations']})")
    grave = [
        (one["id"], [node["html"][:120] for node in one["nodes"]][:3])
        for one in found["violations"]
        if one["impact"] in {"serious", "critical"}
    ]
    assert grave == []
