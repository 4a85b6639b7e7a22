"""The demo book's site in a real browser, opened from disk: search, tables, walk, keyboard, print, access."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
import yaml

from kb.folders import shipped
from tests.browser.conftest import PATIENCE
from tests.browser.settled import ask
from tests.browser.visit import Visit

playwright = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed")
expect = playwright.expect

QUERIES = yaml.safe_load((Path(__file__).parent / "queries.yaml").read_text(encoding="utf-8"))
WIDTHS = (390, 768, 1280)
PAGES = (
    "index.html",
    "formats/index.html",
    "formats/b211-330.html",
    "formats/b211-440-light.html",
    "process/b211-330.html",
    "faults/index.html",
    "faults/tear-off.html",
    "learn/index.html",
    "learn/dome-and-pressure.html",
    "checks/index.html",
    "checks/trim.allowance.html",
    "lines/heron.html",
    "limits.html",
    "keys/size-format.html",
    "glossary.html",
    "sheets/index.html",
)
TABLE = "table[data-sb=formats]"
FORMATS = sorted((shipped("specs") / "formats").glob("*.yaml"))

ANSWERED = "query => document.querySelector('.md-search-result__list').dataset.question === query"
FIRST = "() => document.querySelector('.md-search-result__link')?.href ?? 'none'"
TIMES = """queries => {
  const data = window.sizebookFind.prepared(window.sizebookSearch);
  return queries.map((query) => {
    const begin = performance.now();
    window.sizebookFind.find(query, data);
    return performance.now() - begin;
  });
}"""
FALLING = """css => {
  const found = [...document.querySelectorAll(css)].map((cell) => Number(cell.textContent));
  return found[0] > found.at(-1) && found.every((one, i) => i === 0 || found[i - 1] >= one);
}"""
"""Whether the numbers of a column fall from the first to the last."""


@pytest.mark.parametrize("width", WIDTHS)
def test_pages_open_without_error_or_network(chromium: Any, published: Path, width: int) -> None:
    """At every width pages open from disk, complain of nothing, fetch nothing, do not scroll sideways."""
    one = Visit(chromium, published, PATIENCE, width)
    wide = []
    for path in PAGES:
        one.go(path)
        if one.page.evaluate("document.documentElement.scrollWidth > window.innerWidth + 1"):
            wide.append(path)
    one.close()
    assert one.errors == []
    assert one.outside == []
    assert wide == []


def test_search_from_disk(visit: Visit) -> None:
    """Each of the queries has its page first: sheets, pairs, faults, slang, numbers and codes."""
    assert len(QUERIES) >= 150
    visit.go("index.html")
    page = visit.page
    missed = []
    for query, wanted in QUERIES:
        ask(page, query)
        page.wait_for_function(ANSWERED, arg=query)
        first = page.evaluate(FIRST)
        if not first.endswith(f"/{wanted}") and not first.startswith(
            f"{page.url.rpartition('/')[0]}/{wanted}#"
        ):
            missed.append((query, wanted, first))
    assert missed == []
    assert visit.errors == []


def test_search_is_quick(visit: Visit) -> None:
    """One letter more takes less than the blink of an eye: half of the queries below 50 ms."""
    visit.go("index.html")
    ask(visit.page, "heron")
    visit.page.wait_for_function(ANSWERED, arg="heron")
    took = visit.page.evaluate(TIMES, [query for query, _ in QUERIES])
    assert sorted(took)[len(took) // 2] < 50


def test_formats_are_sorted_and_filtered(visit: Visit) -> None:
    """The table sorts by a head, filters by words, and counts what is left."""
    visit.go("formats/index.html")
    page = visit.page
    rows = page.locator(f"{TABLE} tbody tr")
    expect(rows).to_have_count(len(FORMATS))
    head = page.locator(f"{TABLE} th", has_text="contents")
    head.locator("button").click()
    expect(head).to_have_attribute("aria-sort", "ascending")
    head.locator("button").click()
    expect(head).to_have_attribute("aria-sort", "descending")
    page.wait_for_function(FALLING, arg=f"{TABLE} tbody tr td:nth-child(3)")
    page.get_by_label("Find").fill("204")
    tall = [one for one in FORMATS if "204" in one.stem]
    assert 0 < len(tall) < len(FORMATS)
    expect(page.locator(".sb-count")).to_have_text(f"{len(tall)} of {len(FORMATS)} formats")
    expect(page.locator(f"{TABLE} tbody tr:visible")).to_contain_text([re.compile("204", re.I)] * len(tall))


def test_formats_are_compared(visit: Visit) -> None:
    """Two formats named in the address stand side by side."""
    visit.go("formats/compare.html#b202-250,b211-330")
    expect(visit.page.locator("[data-sb=compare] thead th")).to_contain_text(
        ["250 ml, 202 body", "330 ml, 211 body"]
    )
    assert visit.errors == []


def test_the_walk_goes_through_all_stations(visit: Visit) -> None:
    """With the keyboard alone the walk goes from blank to flange, the numbers following."""
    visit.go("process/b211-330.html")
    page = visit.page
    count = page.locator(".sb-process__count")
    expect(count).to_have_text(re.compile(r"^Station 1 of \d+$"))
    expect(page.locator(".sb-process__name")).to_have_text("Blank")
    page.locator(".sb-process input[type=range]").focus()
    for _ in range(30):
        page.keyboard.press("ArrowRight")
    expect(count).to_have_text(re.compile(r"^Station (\d+) of \1$"))
    expect(page.locator(".sb-process tbody")).to_contain_text("finished height")
    assert visit.errors == []


def test_prints_without_cut_rows(visit: Visit, tmp_path: Path) -> None:
    """A format prints on a bounded number of pages, and no table row may be split."""
    visit.go("formats/b211-330.html")
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
    assert 3 <= pages <= 6


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
