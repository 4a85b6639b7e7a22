"""Search and the head of each page, opened from disk: what is typed is found, and nothing is fetched."""

from __future__ import annotations

import re

import pytest

from tests.browser.conftest import OpenPage
from tests.browser.settled import ask, settled
from tests.browser.small_site import SCREENS

expect = pytest.importorskip("playwright.sync_api", reason="playwright is not installed").expect

RESULT = ".md-search-result__link"
TITLES = f"{RESULT} b"
META = ".md-search-result__meta"


def test_the_site_and_its_search_read_files_alone(open_page: OpenPage) -> None:
    """Every page of the site and the search load files from disk and use no network."""
    page = open_page("index.html")
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    for name in SCREENS:
        page.goto(page.url.rpartition("/site/")[0] + f"/site/{name}")
        settled(page)
    ask(page, "b202-250")
    expect(page.locator(RESULT).first).to_be_attached()
    assert len(asked) > len(SCREENS)
    assert [url for url in asked if not url.startswith(("file:", "data:", "about:"))] == []


@pytest.mark.parametrize(
    ("typed", "first"),
    [
        ("65.840", "Setup sheet: b211-330"),
        ("65.84", "Setup sheet: b211-330"),
        ("65,84", "Setup sheet: b211-330"),
        ("K7F-4X", "Setup sheet: b211-330"),
        ("k7f4x", "Setup sheet: b211-330"),
        ("k7f 4x", "Setup sheet: b211-330"),
        ("b202-250", "250 ml, 202 body"),
        ("B202 250", "250 ml, 202 body"),
        ("50cl", "500 ml, 211 body"),
        ("211×413", "330 ml, 211 body"),
        ("blankholder", "250 ml, 202 body"),
        ("ironing.ring-reduction", "No ring takes too much"),
        ("rings taking too much", "No ring takes too much"),
        ("lnad", "land"),
        ("bearing", "land"),
    ],
)
def test_a_word_is_found_in_each_of_its_forms(open_page: OpenPage, typed: str, first: str) -> None:
    """Numbers, codes, ids, stems, slang and a word with one wrong letter lead to the right first result."""
    page = open_page("index.html")
    page.get_by_placeholder("Search").click()
    page.keyboard.type(typed)
    expect(page.locator(TITLES).first).to_have_text(first)


def test_all_words_come_before_some_words(open_page: OpenPage) -> None:
    """A question that no entry has in full shows entries with most of its words, and says so."""
    page = open_page("index.html")
    ask(page, "250 ml body")
    expect(page.locator(META)).to_have_text("1 result")
    ask(page, "250 ml body zebra")
    expect(page.locator(META)).to_have_text("No page has all of these words. Pages with some of them:")
    expect(page.locator(TITLES).first).to_have_text("250 ml, 202 body")
    ask(page, "zebra")
    expect(page.locator(META)).to_have_text("No results. Try a shorter word, or another name.")


def test_enter_opens_the_first_result(open_page: OpenPage) -> None:
    """A question and Enter open the first result at the part that has the words."""
    page = open_page("index.html")
    ask(page, "punch")
    expect(page.locator(RESULT).first).to_be_attached()
    page.keyboard.press("Enter")
    expect(page).to_have_url(re.compile(r"/formats/b211-330\.html#sheet-pack$"))


def test_arrow_keys_walk_the_results_and_escape_closes_them(open_page: OpenPage) -> None:
    """Down goes from the box to the results, up returns, Escape closes the search."""
    page = open_page("index.html")
    ask(page, "ml")
    expect(page.locator(RESULT)).to_have_count(5)
    page.keyboard.press("ArrowDown")
    expect(page.locator(RESULT).first).to_be_focused()
    page.keyboard.press("ArrowUp")
    expect(page.get_by_placeholder("Search")).to_be_focused()
    page.keyboard.press("Escape")
    expect(page.locator("#__search")).not_to_be_checked()


@pytest.mark.parametrize("width", ["phone", "desktop"])
def test_results_are_large_enough_for_gloves(open_page: OpenPage, width: str) -> None:
    """On a phone and a screen each result is at least 44 px high and within the window."""
    page = open_page("index.html", width=width)
    if width == "phone":
        page.locator(".sb-search-button").click()
    ask(page, "ml")
    settled(page)
    boxes = [page.locator(RESULT).nth(n).bounding_box() for n in range(5)]
    assert min(one["height"] for one in boxes) >= 44
    assert min(one["x"] for one in boxes) >= 0
    assert max(one["x"] + one["width"] for one in boxes) <= page.viewport_size["width"]


@pytest.mark.parametrize(
    ("today", "words"),
    [
        ("2026-11-20", "Site build of 20 Nov 2026, made today"),
        ("2026-11-21", "Site build of 20 Nov 2026, 1 day old"),
        ("2026-11-27", "Site build of 20 Nov 2026, 7 days old"),
        ("2026-11-28", "Site build of 20 Nov 2026, 8 days old old"),
        ("2026-12-20", "Site build of 20 Nov 2026, 30 days old old"),
        ("2026-12-21", "Site build of 20 Nov 2026, 31 days old too old: get a new build"),
        ("2026-11-19", "Site build of 20 Nov 2026, a future date: check the clock of this device"),
    ],
)
def test_each_page_says_how_old_the_copy_is(open_page: OpenPage, today: str, words: str) -> None:
    """The age of the copy is reported in days, and in words once it is old."""
    page = open_page("checks/index.html", today=today)
    expect(page.locator(".sb-age")).to_have_text(words)
