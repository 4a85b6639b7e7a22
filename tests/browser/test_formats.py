"""The table of formats and their comparison, opened from disk."""

from __future__ import annotations

import re

import pytest

from tests.browser.conftest import OpenPage
from tests.browser.settled import settled

expect = pytest.importorskip("playwright.sync_api", reason="playwright is not installed").expect

TITLES = "table[data-sb=formats] tbody tr:visible a"
"""The formats in the table's order, as far as they are shown."""


def test_columns_sort_both_ways(open_page: OpenPage) -> None:
    """A number column sorts by number, says so, and keeps a format without the number last both ways."""
    page = open_page("formats/index.html")
    mass = page.get_by_role("button", name="mass")
    head = page.locator("th", has=mass)
    mass.click()
    expect(head).to_have_attribute("aria-sort", "ascending")
    rising = ["250 ml, 202 body", "330 ml, 204 body", "330 ml, 211 body", "440 ml, 211 body"]
    expect(page.locator(TITLES)).to_have_text([*rising, "500 ml, 211 body"])
    mass.press("Enter")
    expect(head).to_have_attribute("aria-sort", "descending")
    expect(page.locator(TITLES)).to_have_text([*reversed(rising), "500 ml, 211 body"])
    page.get_by_role("button", name="format").click()
    expect(head).to_have_attribute("aria-sort", "none")


def test_the_table_is_narrowed_down(open_page: OpenPage) -> None:
    """Words and choices narrow the table, the count says how far, and one button undoes it."""
    page = open_page("formats/index.html")
    count = page.locator(".sb-count")
    expect(count).to_have_text("5 formats")
    page.get_by_label("Line").select_option("heron")
    page.get_by_label("Status").select_option("released")
    expect(count).to_have_text("2 of 5 formats")
    page.get_by_label("Find").fill("440 BODY")
    expect(page.locator(TITLES)).to_have_text(["440 ml, 211 body"])
    page.get_by_label("Find").fill("tin")
    expect(page.get_by_text("No format matches.")).to_be_visible()
    page.get_by_role("button", name="Show all").click()
    expect(count).to_have_text("5 formats")


def test_the_narrowed_table_is_there_on_the_way_back(open_page: OpenPage) -> None:
    """Who follows a format and comes back finds the table as it was left."""
    page = open_page("formats/index.html")
    page.get_by_label("Line").select_option("plover")
    page.get_by_role("link", name="250 ml, 202 body").click()
    expect(page.get_by_role("heading", name="250 ml, 202 body")).to_be_visible()
    page.go_back()
    expect(page.locator(".sb-count")).to_have_text("2 of 5 formats")


def test_two_to_four_formats_are_chosen(open_page: OpenPage) -> None:
    """One is not enough to compare, four are the most, and the link names the chosen ones."""
    page = open_page("formats/index.html", width="tablet")
    compare = page.get_by_role("link", name="Compare", exact=True)
    boxes = page.get_by_role("checkbox")
    boxes.nth(0).check()
    expect(page.get_by_text("Choose one more to compare.")).to_be_visible()
    expect(compare).to_be_hidden()
    for n in (1, 2, 3):
        boxes.nth(n).check()
    chosen = "/formats/compare.html#b202-250,b204-330,b211-330,b211-440"
    expect(compare).to_have_attribute("href", re.compile(f"{re.escape(chosen)}$"))
    boxes.nth(4).click()
    expect(page.get_by_text("Four at most.")).to_be_visible()
    expect(boxes.nth(4)).not_to_be_checked()
    compare.click()
    expect(page.get_by_role("heading", name="Compare formats")).to_be_visible()
    expect(page.locator("thead th")).to_have_count(4)


def test_differences_are_marked_without_colour(open_page: OpenPage) -> None:
    """A value that differs has a sign, heavier letters and its distance; one that does not has none."""
    page = open_page("formats/compare.html#b204-330,b211-330")
    gauge = page.locator("tbody tr", has_text="gauge")
    end = page.locator("tbody tr", has=page.get_by_role("rowheader", name="end", exact=True))
    expect(gauge.get_by_label("differs")).to_have_text("≠")
    expect(gauge.locator("td").nth(1)).to_have_text("0.262 mm +0.007", use_inner_text=True)
    expect(end).to_have_count(1)
    expect(end.get_by_label("differs")).to_have_count(0)
    settled(page)
    weight = "cell => Number(getComputedStyle(cell).fontWeight)"
    weights = [row.locator("td").first.evaluate(weight) for row in (gauge, end)]
    assert weights[0] >= weights[1] + 200
    only = page.get_by_role("button", name="Only what differs")
    only.click()
    expect(only).to_have_attribute("aria-pressed", "true")
    expect(gauge).to_have_count(1)
    expect(end).to_have_count(0)


def test_silhouettes_stand_side_by_side_to_one_scale(open_page: OpenPage) -> None:
    """The drawn widths and heights of two cans are as their sizes, and both stand on one ground."""
    page = open_page("formats/compare.html#b202-250,b211-330")
    expect(page.locator("path.filled")).to_have_count(2)
    settled(page)
    slim, regular = (page.locator("path.filled").nth(n).bounding_box() for n in (0, 1))
    for side, sizes in {"width": (52.90, 66.03), "height": (129.75, 114.85)}.items():
        drawn = [one[side] - 1.5 for one in (slim, regular)]  # less the stroke
        assert drawn[0] / drawn[1] == pytest.approx(sizes[0] / sizes[1], rel=0.01)
    assert slim["y"] + slim["height"] == pytest.approx(regular["y"] + regular["height"], abs=0.5)


def test_the_address_holds_the_comparison(open_page: OpenPage) -> None:
    """Taking a format out or adding one changes the address, and an unknown id is named."""
    page = open_page("formats/compare.html#b202-250,b211-330,oval-1")
    expect(page.get_by_text("Not in this site build: oval-1.")).to_be_visible()
    page.get_by_role("button", name="Take out 250 ml, 202 body").click()
    expect(page.get_by_text("Choose one more format")).to_be_visible()
    expect(page).to_have_url(re.compile("#b211-330$"))
    page.get_by_label("Add").select_option("b211-500")
    expect(page.locator("thead th")).to_have_text(["330 ml, 211 body", "500 ml, 211 body"])
    expect(page).to_have_url(re.compile("#b211-330,b211-500$"))
