"""How many sides of paper a page takes as a browser prints it, and how wide its lines are on a screen."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from tests.browser.conftest import PATIENCE
from tests.browser.visit import Visit

pytest.importorskip("playwright.sync_api", reason="playwright is not installed")

WIDEST = 75
"""Characters of body text in a line."""

LINES = """([widest]) => {
  const found = [];
  for (const one of document.querySelectorAll('main :is(p, li, dd):not(.sb-doors, .sb-quiet)')) {
    if (!one.checkVisibility() || one.textContent.trim().length <= widest) continue;
    const range = document.createRange();
    range.selectNodeContents(one);
    const rows = new Map();
    const walker = document.createTreeWalker(one, NodeFilter.SHOW_TEXT);
    for (let node; (node = walker.nextNode());) {
      for (let i = 0; i < node.data.length; i++) {
        range.setStart(node, i);
        range.setEnd(node, i + 1);
        const box = range.getBoundingClientRect();
        if (box.width > 0) rows.set(Math.round(box.bottom), (rows.get(Math.round(box.bottom)) ?? 0) + 1);
      }
    }
    const most = Math.max(0, ...rows.values());
    if (most > widest) found.push([most, one.textContent.trim().slice(0, 60)]);
  }
  return found;
}"""
"""Blocks of text with a line of more characters than `widest`."""


def sides(visit: Visit, address: str) -> int:
    """Sides of A4 that a page is printed on."""
    visit.go(address)
    visit.page.wait_for_load_state("networkidle")
    made = visit.page.pdf(format="A4", prefer_css_page_size=True)
    return max(map(int, re.findall(rb"/Count (\d+)", made)[-1:]), default=0)


@pytest.mark.parametrize(
    ("address", "most"),
    [
        ("formats/b211-330.html", 6),
        ("formats/b204-330.html", 6),
        ("formats/compare.html#b211-330,b211-440", 6),
        ("sheets/b211-330-heron.html", 4),
        ("sheets/b204-330-plover.html", 4),
        ("changeovers/plover-days.b204-330.b204-250.sheet.html", 4),
    ],
)
def test_a_page_keeps_to_its_sides(visit: Visit, address: str, most: int) -> None:
    """A format page and a comparison take at most six sides of A4, setup and changeover sheet four."""
    assert 1 <= sides(visit, address) <= most


def test_a_fault_is_printed_on_two_sides(visit: Visit, published: Path) -> None:
    """Every page of a fault takes at most two sides of A4."""
    pages = [one.name for one in published.glob("faults/*.html") if one.stem not in {"index", "method"}]
    assert len(pages) >= 40
    assert {name: many for name in pages if (many := sides(visit, f"faults/{name}")) > 2} == {}


def test_headings_name_their_content_once(published: Path) -> None:
    """No page has the same heading of a part twice; the title of a sheet or a fault begins with its type."""
    types = {"sheets": "Setup sheet: ", "faults": "Fault: ", "formats": "Format: "}
    others = {"index", "method", "compare"}
    seen = 0
    for path in published.rglob("*.html"):
        text = path.read_text(encoding="utf-8")
        heads = [
            re.sub(r"<[^>]+>", "", one).strip() for one in re.findall(r"<h2[^>]*>(.*?)</h2>", text, re.S)
        ]
        assert len(set(heads)) == len(heads), path
        kind = types.get(path.parent.name)
        if kind and "." not in path.stem and path.stem not in others and "codes-" not in path.stem:
            assert f"<title>{kind}" in text, path
            seen += 1
    assert seen > 80


def test_a_sheet_without_its_parts_says_what_to_do(chromium: Any, published: Path) -> None:
    """Without scripts a changeover sheet shows whose it is, that it is not for use, and how to get one."""
    visit = Visit(chromium, published, PATIENCE, java_script_enabled=False)
    name = next(published.glob("changeovers/*.sheet.html")).name
    visit.page.goto((published / "changeovers" / name).as_uri())
    text = visit.page.locator("main").inner_text()
    assert text.startswith("NOT FOR USE: ")
    assert "Open the PDF if it is linked above" in text
    assert visit.page.get_by_role("link", name="Plan").is_visible()
    visit.close()


def test_a_sheet_is_dark_on_a_dark_screen_only(visit: Visit) -> None:
    """A dark screen shows light letters on black; the square code and the paper stay black on white."""
    visit.page.emulate_media(color_scheme="dark")
    visit.go("sheets/b211-330-heron.html")
    look = "name => getComputedStyle(document.querySelector(name)).backgroundColor"
    assert visit.page.evaluate(look, ".sheet") == "rgb(0, 0, 0)"
    assert visit.page.evaluate(look, ".codes > .segno") == "rgb(255, 255, 255)"
    visit.page.emulate_media(media="print", color_scheme="dark")
    assert visit.page.evaluate(look, ".sheet") == "rgb(255, 255, 255)"


@pytest.mark.parametrize("width", [768, 1280])
@pytest.mark.parametrize(
    "address",
    [
        "index.html",
        "formats/b211-330.html",
        "faults/neck-pleats.html",
        "faults/method.html",
        "learn/setup-sheet.html",
        "learn/the-gap.html",
        "checks/ironing.ring-reduction.html",
        "changeovers/index.html",
        "glossary.html",
        "review.html",
        "python.html",
        "changes.html",
        "limits.html",
        "process/b211-330.html",
        "lines/heron.html",
        "ends/curlew-202.html",
        "materials/marsh-3104.html",
        "keys/size-format.html",
        "changeovers/heron.html",
        "trials.html",
    ],
)
def test_no_line_of_text_is_too_wide(visit: Visit, address: str, width: int) -> None:
    """No line of a paragraph, list or definition has more than 75 characters."""
    visit.page.set_viewport_size({"width": width, "height": 900})
    visit.go(address)
    assert visit.page.evaluate(LINES, [WIDEST]) == []
