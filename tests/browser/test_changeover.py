"""The chooser of changeovers, opened from disk: three steps, by touch, by keyboard, and without scripts."""

from __future__ import annotations

import re
from itertools import combinations

import pytest

from tests.browser.conftest import OpenPage
from tests.browser.settled import settled

expect = pytest.importorskip("playwright.sync_api", reason="playwright is not installed").expect

PAGE = "changeovers/index.html"
GLOVE = 60
"""Least height of what a gloved finger presses [px]."""


@pytest.mark.parametrize("width", ["desktop", "tablet", "phone", "narrow"])
def test_three_presses_lead_to_the_plan(open_page: OpenPage, width: str) -> None:
    """Crew, running now and next are pressed; the last has the minutes and leads to the plan of the pair."""
    page = open_page(PAGE, width=width)
    page.get_by_role("link", name="Heron line, days").click()
    expect(page.get_by_role("heading", name="What runs there now?")).to_be_focused()
    page.get_by_role("link", name="330 ml, 211 body").click()
    settled(page)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    next_one = page.get_by_role("link", name="440 ml, 211 body")
    expect(next_one).to_contain_text("185 min")
    next_one.click()
    expect(page).to_have_url(re.compile(r"changeovers/heron-days\.1\.html#b211-330\.b211-440$"))
    expect(page.get_by_text("The plan.")).to_be_visible()


def test_buttons_are_made_for_gloves(open_page: OpenPage) -> None:
    """Every choice is high enough for a gloved finger, and none is on another."""
    page = open_page(f"{PAGE}#heron-days", width="tablet")
    settled(page)
    boxes = [one.bounding_box() for one in page.locator(".sb-steps__choice > a").all()]
    assert len(boxes) == 3
    assert all(box["height"] >= GLOVE and box["width"] >= GLOVE for box in boxes)
    for one, two in combinations(boxes, 2):
        beside = one["x"] + one["width"] <= two["x"]
        below = one["y"] + one["height"] <= two["y"]
        assert beside or below


def test_the_keyboard_alone_gets_there(open_page: OpenPage) -> None:
    """After each choice the question that follows has the focus, so that Tab and Enter are enough."""
    page = open_page(PAGE)
    page.get_by_role("link", name="Heron line, days").press("Enter")
    for _ in range(2):
        expect(page.locator(".sb-steps h2")).to_be_focused()
        page.keyboard.press("Tab")
        page.keyboard.press("Enter")
    expect(page).to_have_url(re.compile(r"#b211-330\.b211-440$"))


def test_the_way_back_undoes_a_step(open_page: OpenPage) -> None:
    """The browser's back and the step's own button lead to the choice before."""
    page = open_page(f"{PAGE}#heron-days")
    page.get_by_role("link", name="330 ml, 211 body").click()
    expect(page.get_by_role("heading", name="What comes next?")).to_be_visible()
    page.go_back()
    expect(page.get_by_role("heading", name="What runs there now?")).to_be_visible()
    page.get_by_role("link", name="Line and crew: Heron line, days").click()
    expect(page.get_by_role("heading", name="Which crew?")).to_be_visible()


def test_a_pair_that_cannot_be_says_why(open_page: OpenPage) -> None:
    """The machine's range is there in place of times."""
    page = open_page(f"{PAGE}#heron-days,b211-330,b211-500")
    expect(page.get_by_text("Not possible. Palletizer: can height 164.75 mm")).to_be_visible()
    expect(page.get_by_text("min", exact=True)).to_have_count(0)


def test_a_pair_without_a_page_gives_the_command(open_page: OpenPage) -> None:
    """Where a copy has no page of a pair, its times and the command for its sheet are shown."""
    page = open_page(f"{PAGE}#heron-days,b211-440,b211-330")
    expect(page.locator(".sb-steps__answer")).to_contain_text("190 min")
    expect(page.locator(".sb-doors a")).to_have_count(0)
    expect(page.locator(".sb-doors code")).to_have_text(
        "sizebook changeover b211-440 b211-330 --line heron --crew heron-days --pdf"
    )


def test_what_the_copy_does_not_have_asks_again(open_page: OpenPage) -> None:
    """An address with a format that is gone offers the choice again; a pair without data says so."""
    page = open_page(f"{PAGE}#heron-days,oval-1")
    expect(page.get_by_role("heading", name="What runs there now?")).to_be_visible()
    page = open_page(f"{PAGE}#heron-days,b211-500,b211-330")
    expect(page.get_by_text("No changeover in this site build between these two formats.")).to_be_visible()


def test_without_scripts_the_plain_table_stays(open_page: OpenPage) -> None:
    """With scripts off the chooser's place keeps what the page brought."""
    page = open_page(PAGE, java_script_enabled=False)
    expect(page.get_by_text("All pairs in a plain table.")).to_be_visible()
