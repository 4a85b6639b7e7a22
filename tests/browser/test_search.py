"""Search and the head of each page, opened from disk: what is typed is found, and nothing is fetched."""

from __future__ import annotations

import re

import pytest

from tests.browser.conftest import OpenPage
from tests.browser.settled import ask, settled
from tests.browser.small_site import SCREENS

expect = pytest.importorskip("playwright.sync_api", reason="playwright is not installed").expect

RESULT = ".md-search-result__link"
TITLES = ".md-search-result__item h1"


def test_nothing_is_asked_of_a_network(open_page: OpenPage) -> None:
    """Every page of the site and the search load files from disk alone."""
    page = open_page("index.html")
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    for name in SCREENS:
        page.goto(page.url.rpartition("/site/")[0] + f"/site/{name}")
        settled(page)
    page.get_by_placeholder("Search").click()
    page.keyboard.type("202")
    expect(page.locator(f"{TITLES} mark").first).to_be_attached()
    assert len(asked) > len(SCREENS)
    assert [url for url in asked if not url.startswith(("file:", "data:", "about:"))] == []


@pytest.mark.parametrize(
    ("typed", "asked", "first"),
    [
        ("65.840", "65.840", "330 ml, 211 body"),
        ("65.84", "65.84", "330 ml, 211 body"),
        ("K7F-4X", "k7f+4x", "Sheets"),
        ("k7f-4x", "k7f+4x", "Sheets"),
        ("211x413", "211+413", "330 ml, 211 body"),
        ("211×413", "211+413", "330 ml, 211 body"),
        ("blank-holder", "blank+holder", "330 ml, 211 body"),
        ("ironing.ring-reduction", "ironing+reduction+ring", "Checks"),
        ("ring reduction", "ring+reduction", "Checks"),
        ("202", "202", "250 ml, 202 body"),
    ],
)
def test_search_finds_from_disk(open_page: OpenPage, typed: str, asked: str, first: str) -> None:
    """Decimals, codes, sizes, hyphenated names and check names are found, typed letter by letter."""
    page = open_page("index.html")
    page.get_by_placeholder("Search").click()
    page.keyboard.type(typed)
    whole = f"{RESULT}[href$='h={asked}'], {RESULT}[href*='h={asked}#']"  # not of the letters before the last
    expect(page.locator(whole).first).to_be_attached()
    expect(page.locator(TITLES).first).to_have_text(first)


def test_half_a_word_asks_for_no_more_than_the_half(open_page: OpenPage) -> None:
    """A hyphen typed and nothing after it does not bring up every page there is."""
    page = open_page("index.html")
    ask(page, "blank-")
    expect(page.locator(".md-search-result__meta")).to_have_text("5 matching documents")
    expect(page.locator(TITLES)).to_have_text([re.compile(r"^\d+ ml ")] * 5)


def test_numbers_are_not_taken_for_one_another(open_page: OpenPage) -> None:
    """Two nodes of the search's tree of words have two names, whatever digits they are of."""
    page = open_page("index.html")
    page.get_by_placeholder("Search").click()
    page.keyboard.type("202")
    expect(page.locator(f"{TITLES} mark").first).to_be_attached()
    names = page.evaluate(
        """() => [[['1', 243]], [['1', 2], ['4', 3]]].map((edges) => {
             const { lunr } = document.querySelector('iframe').contentWindow;
             const node = new lunr.TokenSet();
             for (const [letter, id] of edges) node.edges[letter] = { id };
             return String(node);
           })"""
    )
    assert len(set(names)) == 2


def test_search_leads_to_the_page(open_page: OpenPage) -> None:
    """A result is followed by Enter, and the page shows the word marked."""
    page = open_page("index.html")
    page.get_by_placeholder("Search").click()
    page.keyboard.type("carry-over")
    expect(page.locator(f"{RESULT}[href*='h=carry+over']").first).to_be_attached()
    page.keyboard.press("Enter")
    expect(page).to_have_url(re.compile("/formats/"))
    expect(page.locator("article mark").first).to_be_visible()


@pytest.mark.parametrize(
    ("today", "words"),
    [
        ("2026-11-20", "Plant copy of 20 Nov 2026, made today"),
        ("2026-11-21", "Plant copy of 20 Nov 2026, 1 day old"),
        ("2026-11-27", "Plant copy of 20 Nov 2026, 7 days old"),
        ("2026-11-28", "Plant copy of 20 Nov 2026, 8 days old old"),
        ("2026-12-20", "Plant copy of 20 Nov 2026, 30 days old old"),
        ("2026-12-21", "Plant copy of 20 Nov 2026, 31 days old too old: get a new copy"),
        ("2026-11-19", "Plant copy of 20 Nov 2026, a day still to come: check the clock of this device"),
    ],
)
def test_each_page_says_how_old_the_copy_is(open_page: OpenPage, today: str, words: str) -> None:
    """The age of the copy is told in days, and in words once it is old."""
    page = open_page("checks/index.html", today=today)
    expect(page.locator(".sb-age")).to_have_text(words)
