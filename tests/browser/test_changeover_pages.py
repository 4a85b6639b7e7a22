"""The demo book's changeovers, opened from disk: by glove, on small screens, in both themes, on paper."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from kb.book.load import load
from kb.folders import shipped
from tests.browser.conftest import PATIENCE
from tests.browser.visit import Visit

expect = pytest.importorskip("playwright.sync_api", reason="playwright is not installed").expect

PAIR = "changeovers/heron-days.b211-330.b211-355"
ANCHOR = "b211-330.b211-355"
PAGES = (
    "changeovers/index.html",
    "changeovers/index.html#heron-days",
    "changeovers/index.html#heron-days,b211-330",
    "changeovers/heron.html",
    "changeovers/heron-days.1.html",
    f"{PAIR}.sheet.html",
    f"{PAIR}.cards.html",
    "changeovers/week-heron-49.html",
)
SCREENS = {1280: "light", 768: "dark", 390: "light"}
"""Width of a screen [px], and the colours it prefers."""

TOUCH = 44
"""Least side of what a finger presses [px]."""

SIDEWAYS = """() => ({
  page: document.documentElement.scrollWidth > innerWidth + 1,
  boxes: [...document.querySelectorAll('.sb-scroll, .wide, .drawing')]
    .filter((box) => box.scrollWidth > box.clientWidth + 1).map((box) => box.className),
})"""

SMALL = """least => [...document.querySelectorAll(
    'main .sb-button, main summary, main button, .sb-matrix a, .sheet nav a, .to-parts a, .sb-tiles > a')]
  .filter((one) => one.checkVisibility())
  .map((one) => [one.textContent.trim(), one.getBoundingClientRect()])
  .filter(([, box]) => box.width < least || box.height < least)
  .map(([text, box]) => `${text}: ${box.width} x ${box.height}`)"""

LEGIBLE = """least => {
  const context = document.createElement('canvas').getContext('2d', { willReadFrequently: true });
  const light = (colour) => {
    context.fillStyle = colour;
    context.fillRect(0, 0, 1, 1);
    const parts = [...context.getImageData(0, 0, 1, 1).data].slice(0, 3).map((one) => one / 255)
      .map((one) => one <= 0.04045 ? one / 12.92 : ((one + 0.055) / 1.055) ** 2.4);
    return 0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2];
  };
  const found = [...document.querySelectorAll('td.sb-heat')].map((cell) => {
    const number = getComputedStyle(cell.querySelector('b')).color;
    const pair = [light(getComputedStyle(cell).backgroundColor), light(number)];
    return (Math.max(...pair) + 0.05) / (Math.min(...pair) + 0.05);
  });
  return found.length > 50 && Math.min(...found) >= least && Math.max(...found) > 1.5 * Math.min(...found);
}"""
"""Whether number and shade of each cell have this contrast, by the formula of WCAG 2.2, and shades differ."""


@pytest.fixture(params=SCREENS, ids=str)
def at_width(request: pytest.FixtureRequest, chromium: Any, published: Path) -> Iterator[Visit]:
    """A visit on a screen of one width."""
    made = Visit(chromium, published, PATIENCE, request.param, color_scheme=SCREENS[request.param])
    yield made
    made.close()


def test_pages_keep_to_their_width_and_to_fingers(at_width: Visit) -> None:
    """Only the matrix and a phone's drawing slide in their box; every control is large enough."""
    for path in PAGES:
        at_width.go(path)
        found = at_width.page.evaluate(SIDEWAYS)
        assert not found["page"], path
        assert [one for one in found["boxes"] if "sb-matrix-box" not in one and one != "drawing"] == [], path
        assert at_width.page.evaluate(SMALL, TOUCH) == [], path
    assert at_width.errors == []
    assert at_width.outside == []


def test_there_is_no_barrier(at_width: Visit, axe: str) -> None:
    """axe-core finds nothing on any page about changeovers."""
    for path in PAGES:
        at_width.go(path)
        at_width.page.evaluate(axe)
        found = at_width.page.evaluate("axe.run({resultTypes: ['violations']})")["violations"]
        assert [(one["id"], [node["html"][:90] for node in one["nodes"][:3]]) for one in found] == [], path


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_numbers_are_legible_on_every_shade(chromium: Any, published: Path, scheme: str) -> None:
    """On screen and paper each number of the matrix has a contrast of 4.5 or more, and shades differ."""
    one = Visit(chromium, published, PATIENCE, color_scheme=scheme)
    one.go("changeovers/heron.html")
    for media in ("screen", "print"):
        one.page.emulate_media(media=media, color_scheme=scheme)
        one.page.wait_for_function(LEGIBLE, arg=4.5)
    one.close()


def test_an_address_with_a_line_begins_at_the_top(visit: Visit) -> None:
    """The line in the address is a choice made, not a place to jump to."""
    visit.go("changeovers/index.html#heron-days")
    page = visit.page
    expect(page.get_by_role("heading", name="What runs there now?")).to_be_in_viewport()
    expect(page.get_by_role("heading", name="Changeovers", exact=True)).to_be_in_viewport()


def test_without_scripts_every_crew_has_its_table(chromium: Any, published: Path) -> None:
    """The plain tables hold all pairs of all crews, each with its minutes or its reason."""
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto((published / "changeovers/index.html").as_uri())
    crews = ["heron", "heron", "plover", "plover"]
    formats = {
        ident: one.record for ident, one in load(shipped("specs"), shown="specs").of("size-format").items()
    }
    tables = page.locator(".sb-changes table")
    expect(tables).to_have_count(len(crews))
    for i, line in enumerate(crews):
        made = [one for one in formats.values() if line in one.lines and one.status != "withdrawn"]
        expect(tables.nth(i).locator("tbody tr")).to_have_count(len(made) * (len(made) - 1))
        expect(tables.nth(i).locator("tbody tr").first.locator("td").last).to_have_text(re.compile(r"\d"))
    context.close()


@pytest.mark.parametrize("width", [768, 1280])
def test_the_sheet_begins_with_what_is_asked_first(chromium: Any, published: Path, width: int) -> None:
    """From and to, line, minutes, what to leave alone and the first machine: on a tablet's first screen."""
    one = Visit(chromium, published, PATIENCE, width)
    one.page.set_viewport_size({"width": width, "height": 1180})
    one.go("changeovers/heron-days.b211-330.b211-330-lantern.sheet.html")
    page = one.page
    for seen in (
        page.get_by_role("heading", name="b211-330 → b211-330-lantern"),
        page.get_by_text("Heron line").first,
        page.locator(".clocks .stop b"),
        page.get_by_text("Leave alone:"),
        page.locator("#change-machines tbody tr").first,
        page.get_by_role("link", name="Parts"),
    ):
        expect(seen).to_be_in_viewport()
    page.get_by_role("link", name="Parts").click()
    expect(page.get_by_role("navigation", name="Parts of the sheet")).to_be_in_viewport()
    one.close()


def test_the_browser_prints_the_sheet_whole(visit: Visit) -> None:
    """On every side both formats and the code; the parts in their order; stages of a necker are not cut."""
    pypdf = pytest.importorskip("pypdf", reason="pages on paper are read with pypdf, which is not installed")
    visit.go(f"{PAIR}.sheet.html")
    page = visit.page
    code = page.locator("article").first.get_attribute("data-code")
    page.emulate_media(media="print")
    page.wait_for_function(
        "[...document.querySelectorAll('.stages')]"
        ".every(one => getComputedStyle(one).breakInside === 'avoid')"
    )
    made = pypdf.PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True)))
    sides = ["".join(one.extract_text().split()) for one in made.pages]
    assert 4 <= len(sides) <= 9
    assert [i for i, side in enumerate(sides) if code not in side or "b211-330→b211-355" not in side] == []
    assert "plannedstop" in sides[0]
    assert "Leavealone" in sides[0]


def test_the_critical_path_is_folded_and_on_paper(visit: Visit) -> None:
    """The long list waits in its fold, opens by a press, and is printed."""
    visit.go("changeovers/heron-days.1.html")
    page = visit.page
    steps = page.locator("details.sb-fold tbody tr").first
    expect(steps).to_be_hidden()
    page.get_by_text(re.compile(r"^\d+ steps, one after the other$")).click()
    expect(steps).to_be_visible()


def test_a_pair_is_shown_alone_on_its_plan(visit: Visit) -> None:
    """The address of a pair shows its sheet and cards, and no other pair's; a link shows all of the plan."""
    visit.go("changeovers/heron.html")
    page = visit.page
    page.locator(f"a[href^='heron-days.'][href$='#{ANCHOR}']").click()
    shown = page.locator(".sb-pair:visible")
    expect(shown).to_have_count(1)
    expect(shown.get_by_role("link", name="Changeover sheet")).to_have_attribute(
        "href", f"heron-days.{ANCHOR}.sheet.html"
    )
    every = page.locator(".sb-pair")
    if every.count() > 1:
        page.get_by_role("link", name=re.compile(r"^All \d+ changeovers")).click()
        expect(shown).to_have_count(every.count())


@pytest.mark.parametrize("name", ["sheet", "cards"])
def test_a_sheet_without_its_parts_is_marked(visit: Visit, chromium: Any, published: Path, name: str) -> None:
    """With scripts a sheet is whole; without them it says that it is not for use, on paper too."""
    visit.go(f"{PAIR}.{name}.html")
    assert visit.page.locator("template, .incomplete").count() == 0
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto((published / f"{PAIR}.{name}.html").as_uri())
    for media in ("screen", "print"):
        page.emulate_media(media=media)
        expect(page.get_by_text("NOT FOR USE: parts of this page did not load.")).to_be_visible()
    context.close()
