"""The demo book's site in a real browser, opened from disk: search, tables, walk, keyboard, print, access."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml

from kb.book.load import load
from kb.folders import shipped
from kb.publish.build import publish
from tests.browser.conftest import PATIENCE
from tests.browser.settled import ask, settled

playwright = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed")
expect = playwright.expect

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
TABLE = "table[data-sb=formats]"
RESULT = ".md-search-result__link"


@pytest.fixture(scope="module")
def published(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the demo book's site."""
    out = tmp_path_factory.mktemp("browser") / "site"
    publish(load(shipped("specs"), shown="specs"), out, day=datetime.date(2026, 11, 25))
    return out


class Visit:
    """A page opened from disk, with what it complained of and what it asked the network for."""

    def __init__(self, browser: Any, site: Path, width: int = 1280) -> None:
        self.page = browser.new_page(viewport={"width": width, "height": 900})
        self.page.set_default_timeout(PATIENCE)
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
        """Open a page and wait until it stands still."""
        file, mark, place = path.partition("#")
        self.page.goto((self.site / file).as_uri() + mark + place)
        settled(self.page)


@pytest.fixture
def visit(chromium: Any, published: Path) -> Iterator[Visit]:
    """A fresh page at desktop width."""
    made = Visit(chromium, published)
    yield made
    made.page.close()


@pytest.mark.parametrize("width", WIDTHS)
def test_pages_open_without_error_or_network(chromium: Any, published: Path, width: int) -> None:
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
    results = page.locator(RESULT)
    missed = []
    for query, wanted in QUERIES:
        ask(page, "")
        expect(results).to_have_count(0)  # so that what is found next is of this query alone
        ask(page, query)
        try:
            expect(page.locator(f"{RESULT}[href*='/{wanted}']").first).to_be_attached()
        except AssertionError:
            missed.append((query, wanted))
    assert missed == [], missed
    assert visit.errors == []


def test_formats_are_sorted_and_filtered(visit: Visit) -> None:
    """The table sorts by a head, filters by words, and counts what is left."""
    visit.go("formats/index.html")
    page = visit.page
    rows = page.locator(f"{TABLE} tbody tr")
    whole = len(list((shipped("specs") / "formats").glob("*.yaml")))
    expect(rows).to_have_count(whole)
    head = page.locator(f"{TABLE} th", has_text="contents")
    head.locator("button").click()
    expect(head).to_have_attribute("aria-sort", "ascending")
    head.locator("button").click()
    expect(head).to_have_attribute("aria-sort", "descending")
    contents = [float(text) for text in page.locator(f"{TABLE} tbody tr td:nth-child(3)").all_inner_texts()]
    assert contents == sorted(contents, reverse=True)
    assert contents[0] > contents[-1]
    page.get_by_label("Find").fill("sleek")
    sleek = rows.filter(has_text=re.compile("sleek", re.I)).count()
    assert 0 < sleek < whole
    expect(page.locator(".sb-count")).to_have_text(f"{sleek} of {whole} formats")
    expect(page.locator(f"{TABLE} tbody tr:visible")).to_contain_text([re.compile("sleek", re.I)] * sleek)


def test_formats_are_compared(visit: Visit) -> None:
    """Two formats named in the address stand side by side."""
    visit.go("formats/compare.html#slim-250,regular-330")
    expect(visit.page.locator("[data-sb=compare] thead th")).to_contain_text(
        ["250 ml slim", "330 ml regular"]
    )
    assert visit.errors == []


def test_the_walk_goes_through_all_stations(visit: Visit) -> None:
    """With the keyboard alone the walk goes from blank to flange, the numbers following."""
    visit.go("walk/regular-330.html")
    page = visit.page
    count = page.locator(".sb-walk__count")
    expect(count).to_have_text(re.compile(r"^Station 1 of \d+$"))
    expect(page.locator(".sb-walk__name")).to_have_text("Blank")
    page.locator(".sb-walk input[type=range]").focus()
    for _ in range(30):
        page.keyboard.press("ArrowRight")
    expect(count).to_have_text(re.compile(r"^Station (\d+) of \1$"))
    expect(page.locator(".sb-walk tbody")).to_contain_text("finished height")
    assert visit.errors == []


def test_prints_without_cut_rows(visit: Visit, tmp_path: Path) -> None:
    """A format prints on a bounded number of pages, and no table row may be split."""
    visit.go("formats/regular-330.html")
    page = visit.page
    expect(page.locator("table.sb-table tr").first).to_be_attached()
    page.emulate_media(media="print")
    page.wait_for_function(
        "[...document.querySelectorAll('table.sb-table tr')]"
        ".every(r => getComputedStyle(r).breakInside.startsWith('avoid'))"
    )
    path = tmp_path / "format.pdf"
    page.pdf(path=str(path), format="A4")
    pages = path.read_bytes().count(b"/Type /Page\n") or path.read_bytes().count(b"/Type /Page")
    assert 3 <= pages <= 40


@pytest.mark.parametrize("path", PAGES)
def test_no_serious_barrier(visit: Visit, axe: str, path: str) -> None:
    """axe-core finds no serious or critical violation."""
    visit.go(path)
    visit.page.evaluate(axe)
    found = visit.page.evaluate("axe.run({resultTypes: ['violations']})")
    grave = [
        (one["id"], [node["html"][:120] for node in one["nodes"]][:3])
        for one in found["violations"]
        if one["impact"] in {"serious", "critical"}
    ]
    assert grave == []
