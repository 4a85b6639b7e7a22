"""The front end for gloves, small screens, keyboards, other eyes, browsers without scripts, and paper."""

from __future__ import annotations

import io
import re

import pytest

from tests.browser.conftest import OpenPage
from tests.browser.settled import settled
from tests.browser.small_site import SCREENS

expect = pytest.importorskip("playwright.sync_api", reason="playwright is not installed").expect

TOUCH = 44.0
"""Least side of what a finger in a glove must hit [px]."""

TARGETS = (
    "button, select, input:not([type=radio]), label.sb-pick, summary, a.sb-button, "
    ".md-header a, .md-header label, .sb-sections a, .sb-up"
)

FOCUS = """
window.visited = [];
document.addEventListener('focusin', ({ target }) => {
  const seen = target.id.startsWith('__palette') ? target.nextElementSibling : target;
  const name = target.getAttribute('aria-label') ?? target.textContent.trim();
  window.visited.push([name, getComputedStyle(seen).outlineStyle]);
});
"""
"""Notes what the keyboard reaches, by its name, and the outline it then has."""


@pytest.mark.parametrize("name", SCREENS)
@pytest.mark.parametrize("width", ["tablet", "phone"])
def test_targets_are_made_for_gloves(open_page: OpenPage, name: str, width: str) -> None:
    """Every button, field and link that is not in a text is large enough to be hit."""
    page = open_page(name, width=width, has_touch=True)
    settled(page)
    small = page.evaluate(
        """([targets, least]) => [...document.querySelectorAll(targets)]
           .filter((one) => one.checkVisibility({ visibilityProperty: true, opacityProperty: true }))
           .filter((one) => !one.closest('.md-search'))
           .map((one) => [one, (one.closest('label.sb-pick') ?? one).getBoundingClientRect()])
           .filter(([, area]) => area.width > 0 && (area.width < least || area.height < least))
           .map(([one, area]) => `${one.outerHTML.slice(0, 80)} ${area.width}x${area.height}`)""",
        [TARGETS, TOUCH],
    )
    assert small == []


@pytest.mark.parametrize("name", SCREENS)
def test_no_page_is_wider_than_a_small_phone(open_page: OpenPage, name: str) -> None:
    """At 320 px only tables slide, each in its own box with a hint and buttons that slide it."""
    page = open_page(name, width="narrow")
    settled(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= 320


def test_a_wide_table_says_so_and_slides_by_button(open_page: OpenPage) -> None:
    """Where a table is wider than the screen a hint is above it, and a button moves it."""
    page = open_page("formats/index.html", width="phone")
    expect(page.get_by_text("Scroll sideways")).to_be_visible()
    expect(page.locator(".sb-scroll")).to_have_attribute("tabindex", "0")
    page.get_by_role("button", name="Scroll the table right").click()
    page.wait_for_function("document.querySelector('.sb-scroll').scrollLeft > 100")
    expect(page.get_by_role("link", name="250 ml, 202 body")).to_be_in_viewport()
    narrow = open_page("formats/b211-330.html", width="desktop")
    settled(narrow)
    expect(narrow.locator(".sb-wide__hint")).to_have_count(1)
    expect(narrow.get_by_text("Scroll sideways")).to_be_hidden()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", SCREENS)
def test_axe_finds_nothing(open_page: OpenPage, axe: str, scheme: str, name: str) -> None:
    """The accessibility rules of WCAG 2.2 AA that a machine can test hold, in light and dark."""
    page = open_page(name, color_scheme=scheme)
    settled(page)
    page.evaluate(axe)
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
    result = page.evaluate("tags => axe.run({ runOnly: tags, preload: false })", tags)
    assert [(one["id"], one["nodes"][0]["html"]) for one in result["violations"]] == []


def test_the_keyboard_reaches_everything_and_shows_where_it_is(open_page: OpenPage) -> None:
    """Tab visits the head, the filters, the sorting and the boxes in order, each with a visible outline."""
    page = open_page("formats/index.html", script=FOCUS)
    settled(page)
    order = ["Small works", "Search", "Formats", "Reference", "contentsml", "Compare 250 ml, 202 body"]
    for _ in range(30):
        page.keyboard.press("Tab")
    page.wait_for_function("last => window.visited.some(([name]) => name === last)", arg=order[-1])
    visited = page.evaluate("window.visited")
    names = [name for name, _ in visited]
    positions = [names.index(name) for name in order]
    assert positions == sorted(positions)
    assert [one for one in visited if one[1] == "none" and "Search" not in one[0]] == []


def test_single_letters_give_no_orders(open_page: OpenPage) -> None:
    """A letter struck by accident neither opens the search nor turns the page."""
    page = open_page("formats/index.html", script=FOCUS)
    settled(page)
    page.evaluate("window.stayed = true")
    for letter in "fsnp/.,":
        page.keyboard.press(letter)
    page.keyboard.press("Tab")
    page.wait_for_function("window.visited.length > 0")
    settled(page)
    assert page.evaluate("[window.stayed, window.visited.length]") == [True, 1]
    expect(page.locator("#__search")).not_to_be_checked()


def test_colours_follow_the_device_and_the_button(open_page: OpenPage) -> None:
    """Dark comes from the device's setting at once, and the button overrules it for good."""
    page = open_page("index.html", color_scheme="dark")
    body, light, dark = (
        page.locator(css) for css in ("body", "label[title='Light colours']", "label[title='Dark colours']")
    )
    expect(light).to_be_visible()
    expect(body).to_have_attribute("data-md-color-scheme", "slate")
    light.click()
    expect(dark).to_be_visible()
    expect(body).to_have_attribute("data-md-color-scheme", "default")
    page.reload()
    expect(dark).to_be_visible()
    expect(body).to_have_attribute("data-md-color-scheme", "default")


def test_the_page_reads_without_scripts(open_page: OpenPage) -> None:
    """With scripts off the sections lead on and the table is whole."""
    page = open_page("formats/index.html", java_script_enabled=False)
    expect(page.locator("table[data-sb=formats] tbody tr:visible")).to_have_count(5)
    page.get_by_role("link", name="Reference").click()
    expect(page.get_by_role("heading", name="Lines")).to_be_visible()
    expect(page.get_by_role("link", name="Glossary")).to_be_visible()


def test_a_page_outside_the_navigation_knows_its_section(open_page: OpenPage) -> None:
    """A format's page marks Formats as the section and leads back to the table."""
    page = open_page("formats/b211-330.html")
    expect(page.locator(".sb-sections [aria-current]")).to_have_text(["Formats"])
    page.locator(".sb-up").click()
    expect(page).to_have_url(re.compile("formats/index.html$"))


# --- on paper ---------------------------------------------------------------------------------


def test_paper_has_the_page_and_nothing_of_the_screen(open_page: OpenPage) -> None:
    """Printed from dark colours, a page is black on white without head, sections, search or buttons."""
    page = open_page("formats/b211-330.html", color_scheme="dark")
    settled(page)
    gone = [".md-header", ".sb-sections", ".md-footer", ".sb-up", ".md-sidebar", ".headerlink"]
    for css in gone:
        expect(page.locator(css).first).to_be_attached()
    page.emulate_media(media="print", color_scheme="dark")
    bare = re.compile(r"^(rgb\(255, 255, 255\)|rgba\(0, 0, 0, 0\))$")
    for css in ("body", "article h1", "article td", ".sb-status-released"):
        expect(page.locator(css).first).to_have_css("color", "rgb(0, 0, 0)")
        expect(page.locator(css).first).to_have_css("background-color", bare)
    for css in gone:
        expect(page.locator(css).first).to_be_hidden()
    expect(page.locator("rect.metal")).to_have_css("fill", "rgb(180, 180, 180)")
    after = page.locator("article a").last.evaluate("a => getComputedStyle(a, '::after').content")
    assert after in {"none", "normal"}


def test_a_long_table_repeats_its_head_and_cuts_no_row(open_page: OpenPage) -> None:
    """Each sheet of paper repeats the head, and every row is on one sheet."""
    pypdf = pytest.importorskip("pypdf", reason="pages on paper are read with pypdf, which is not installed")
    page = open_page("limits.html")
    settled(page)
    sheets = [one.extract_text() for one in pypdf.PdfReader(io.BytesIO(page.pdf(format="A4"))).pages]
    assert len(sheets) >= 3
    assert all(re.search(r"part\s+bore\s+line", text) for text in sheets)
    for n in range(120):
        assert sum(bool(re.search(rf"part-{n}\s+65\.{n:03d} mm\s*heron", text)) for text in sheets) == 1
    assert "Site build of 20 Nov 2026, 3 days old; printed 23 Nov 2026" in " ".join(sheets[0].split())
