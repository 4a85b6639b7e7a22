"""The front end as a reader meets it: opened from disk, on a screen, by touch, by keyboard, on paper."""

from __future__ import annotations

import io
import json
import os
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from kb.folders import shipped

PAGES = (
    "index.html",
    "formats/index.html",
    "formats/regular-330.html",
    "formats/compare.html#slim-250,regular-330",
    "sheets/index.html",
    "walk/regular-330.html#ring-1",
    "checks/index.html",
    "limits.html",
)

TOUCH = 44.0
"""Least side of what a finger in a glove must hit [px]."""

TARGETS = (
    "button, select, input:not([type=radio]), label.sb-pick, summary, a.sb-button, "
    ".md-header a, .md-header label, .sb-sections a, .sb-up"
)

THEME = shipped("site") / "theme"


def titles(page: Any) -> list[str]:
    """The formats in the table's order, as far as they are shown."""
    found: list[str] = page.locator("table[data-sb=formats] tbody tr:visible a").all_inner_texts()
    return found


def box(page: Any, css: str) -> dict[str, float]:
    """Where an element is [px]."""
    found: dict[str, float] = page.locator(css).first.bounding_box()
    return found


# --- from disk --------------------------------------------------------------------------------


def test_nothing_is_asked_of_a_network(open_page: Callable[..., Any]) -> None:
    """Every page of the site and the search load files from disk alone."""
    page = open_page("index.html")
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    for name in PAGES:
        page.goto(page.url.rpartition("/site/")[0] + f"/site/{name}")
    page.keyboard.press("Tab")
    page.get_by_placeholder("Search").click()
    page.locator(".md-search-result__meta").wait_for()
    assert len(asked) > len(PAGES)
    assert [url for url in asked if not url.startswith(("file:", "data:", "about:"))] == []


@pytest.mark.parametrize(
    ("words", "first"),
    [
        ("65.840", "330 ml regular"),
        ("65.84", "330 ml regular"),
        ("K7F-4X", "Sheets"),
        ("k7f-4x", "Sheets"),
        ("211x413", "330 ml regular"),
        ("211×413", "330 ml regular"),
        ("blank-holder", "330 ml regular"),
        ("ironing.ring-reduction", "Checks"),
        ("ring reduction", "Checks"),
        ("slim", "250 ml slim"),
    ],
)
def test_search_finds_from_disk(open_page: Callable[..., Any], words: str, first: str) -> None:
    """Decimals, codes, sizes, hyphenated names and check names are found, typed letter by letter."""
    page = open_page("index.html")
    page.get_by_placeholder("Search").click()
    page.keyboard.type(words)
    page.locator(".md-search-result__item mark").first.wait_for()
    found = page.locator(".md-search-result__item h1").all_inner_texts()
    if first.startswith("330"):
        assert {one[0] for one in found if one} & {"2", "3", "4", "5"}, found
        assert first in found
    else:
        assert found[0] == first


def test_half_a_word_asks_for_no_more_than_the_half(open_page: Callable[..., Any]) -> None:
    """A hyphen typed and nothing after it does not bring up every page there is."""
    page = open_page("index.html")
    page.get_by_placeholder("Search").click()
    page.keyboard.type("blank-")
    page.locator(".md-search-result__item mark").first.wait_for()
    found = page.locator(".md-search-result__item h1").all_inner_texts()
    assert len(found) == 5
    assert all(" ml " in one for one in found)


def test_numbers_are_not_taken_for_one_another(open_page: Callable[..., Any]) -> None:
    """Two nodes of the search's tree of words have two names, whatever digits they are of."""
    page = open_page("index.html")
    page.get_by_placeholder("Search").click()
    page.keyboard.type("slim")
    page.locator(".md-search-result__item mark").first.wait_for()
    names = page.evaluate(
        """() => [[['1', 243]], [['1', 2], ['4', 3]]].map((edges) => {
             const { lunr } = document.querySelector('iframe').contentWindow;
             const node = new lunr.TokenSet();
             for (const [letter, id] of edges) node.edges[letter] = { id };
             return String(node);
           })"""
    )
    assert len(set(names)) == 2


def test_search_leads_to_the_page(open_page: Callable[..., Any]) -> None:
    """A result is followed by Enter, and the page shows the word marked."""
    page = open_page("index.html")
    page.get_by_placeholder("Search").click()
    page.keyboard.type("carry-over")
    page.locator(".md-search-result__item mark").first.wait_for()
    page.keyboard.press("Enter")
    page.locator("article mark").first.wait_for()
    assert "/formats/" in page.url


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
def test_each_page_says_how_old_the_copy_is(open_page: Callable[..., Any], today: str, words: str) -> None:
    """The age of the copy is told in days, and in words once it is old."""
    page = open_page("checks/index.html", today=today)
    page.get_by_text("Plant copy").wait_for()
    assert page.locator(".sb-age").inner_text() == words


# --- formats ----------------------------------------------------------------------------------


def test_columns_sort_both_ways(open_page: Callable[..., Any]) -> None:
    """A number column sorts by number, says so, and keeps a format without the number last both ways."""
    page = open_page("formats/index.html")
    mass = page.get_by_role("button", name="mass")
    head = page.locator("th", has=mass)
    mass.click()
    assert head.get_attribute("aria-sort") == "ascending"
    rising = ["250 ml slim", "330 ml sleek", "330 ml regular", "440 ml regular"]
    assert titles(page) == [*rising, "500 ml regular"]
    mass.press("Enter")
    assert head.get_attribute("aria-sort") == "descending"
    assert titles(page) == [*reversed(rising), "500 ml regular"]
    page.get_by_role("button", name="format").click()
    assert head.get_attribute("aria-sort") == "none"


def test_the_table_is_narrowed_down(open_page: Callable[..., Any]) -> None:
    """Words and choices narrow the table, the count says how far, and one button undoes it."""
    page = open_page("formats/index.html")
    count = page.locator(".sb-count")
    assert count.inner_text() == "5 formats"
    page.get_by_label("Line").select_option("heron")
    page.get_by_label("Status").select_option("released")
    assert count.inner_text() == "2 of 5 formats"
    page.get_by_label("Find").fill("440 REGULAR")
    assert titles(page) == ["440 ml regular"]
    page.get_by_label("Find").fill("tin")
    assert page.get_by_text("No format is like that.").is_visible()
    page.get_by_role("button", name="Show all").click()
    assert count.inner_text() == "5 formats"


def test_the_narrowed_table_is_there_on_the_way_back(open_page: Callable[..., Any]) -> None:
    """Who follows a format and comes back finds the table as it was left."""
    page = open_page("formats/index.html")
    page.get_by_label("Line").select_option("plover")
    page.get_by_role("link", name="250 ml slim").click()
    page.get_by_role("heading", name="250 ml slim").wait_for()
    page.go_back()
    page.locator(".sb-count", has_text="2 of 5 formats").wait_for()


def test_two_to_four_formats_are_chosen(open_page: Callable[..., Any]) -> None:
    """One is not enough to compare, four are the most, and the link names the chosen ones."""
    page = open_page("formats/index.html", width="tablet")
    compare = page.get_by_role("link", name="Compare", exact=True)
    boxes = page.get_by_role("checkbox")
    boxes.nth(0).check()
    assert not compare.is_visible()
    for n in (1, 2, 3):
        boxes.nth(n).check()
    assert compare.get_attribute("href").endswith(
        "/formats/compare.html#slim-250,sleek-330,regular-330,regular-440"
    )
    boxes.nth(4).click()
    assert not boxes.nth(4).is_checked()
    assert page.get_by_text("Four at most.").is_visible()
    compare.click()
    page.get_by_role("heading", name="Compare formats").wait_for()
    assert page.locator("thead th").count() == 4


def test_differences_are_marked_without_colour(open_page: Callable[..., Any]) -> None:
    """A value that differs has a sign, heavier letters and its distance; one that does not has none."""
    page = open_page("formats/compare.html#sleek-330,regular-330")
    gauge = page.locator("tbody tr", has_text="gauge")
    end = page.locator("tbody tr", has=page.get_by_role("rowheader", name="end", exact=True))
    assert gauge.get_by_label("differs").inner_text() == "≠"
    assert gauge.locator("td").nth(1).inner_text().split() == ["0.262", "mm", "+0.007"]
    assert end.get_by_label("differs").count() == 0
    weight = "cell => Number(getComputedStyle(cell).fontWeight)"
    weights = [row.locator("td").first.evaluate(weight) for row in (gauge, end)]
    assert weights[0] >= weights[1] + 200
    page.get_by_role("button", name="Only what differs").click()
    assert end.count() == 0


def test_silhouettes_stand_side_by_side_to_one_scale(open_page: Callable[..., Any]) -> None:
    """The drawn widths and heights of two cans are as their sizes, and both stand on one ground."""
    page = open_page("formats/compare.html#slim-250,regular-330")
    page.locator("path.filled").nth(1).wait_for()
    slim, regular = (page.locator("path.filled").nth(n).bounding_box() for n in (0, 1))
    for side, sizes in {"width": (52.90, 66.03), "height": (129.75, 114.85)}.items():
        drawn = [one[side] - 1.5 for one in (slim, regular)]  # less the stroke
        assert drawn[0] / drawn[1] == pytest.approx(sizes[0] / sizes[1], rel=0.01)
    assert slim["y"] + slim["height"] == pytest.approx(regular["y"] + regular["height"], abs=0.5)


def test_the_address_holds_the_comparison(open_page: Callable[..., Any]) -> None:
    """Taking a format out or adding one changes the address, and an unknown id is named."""
    page = open_page("formats/compare.html#slim-250,regular-330,oval-1")
    assert page.get_by_text("Not in this copy: oval-1.").is_visible()
    page.get_by_role("button", name="Take out 250 ml slim").click()
    page.get_by_text("Choose one more format").wait_for()
    assert page.url.endswith("#regular-330")
    page.get_by_label("Add").select_option("regular-500")
    page.locator("thead th").nth(1).wait_for()
    assert page.url.endswith("#regular-330,regular-500")


# --- sheet codes ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "word", "says"),
    [
        ("K7F-4X", "CURRENT", "In force since 11 May 2026"),
        ("k7f4x", "CURRENT", "Setup sheet regular-330 on heron"),
        ("Setup sheet\nregular-330 rev 8 R3C-9T until 2026-12-01", "CURRENT", "slim-250 on plover"),
        ("WXY-HM", "SUPERSEDED", "gauge 0.265 mm to 0.262 mm"),
        ("WXY-HM", "SUPERSEDED", "dome depth 10.40 mm to 10.60 mm"),
        ("CDJ-37", "SUPERSEDED", "In force now: revision 8, K7F-4X, since 11 May 2026"),
        ("4XX-7D", "NOT IN FORCE YET", "It begins on 1 Dec 2026"),
        ("HHH-HH", "UNKNOWN", "update the tablet"),
        ("K7E-4X", "CURRENT, IF IT IS K7F-4X", "Compare it with the sheet"),
        ("K7F-9X", "UNKNOWN", "It looks like:"),
    ],
)
def test_a_code_is_answered(open_page: Callable[..., Any], typed: str, word: str, says: str) -> None:
    """A sheet code is current, superseded or unknown; a sign no code has is read as one that looks alike."""
    page = open_page("sheets/index.html")
    page.get_by_label("Code on the sheet").fill(typed)
    answer = page.locator(".sb-answer")
    assert answer.locator(".sb-answer__word").inner_text() == word
    assert says in answer.inner_text()
    assert answer.locator("svg path").count() == 1


def test_an_issue_takes_over_on_its_day(open_page: Callable[..., Any]) -> None:
    """In a copy made before, the new code is current from its first day and the old one is superseded."""
    page = open_page("sheets/index.html", today="2026-12-01")
    answer = page.locator(".sb-answer__word")
    page.get_by_label("Code on the sheet").fill("4XX-7D")
    assert answer.inner_text() == "CURRENT"
    page.get_by_label("Code on the sheet").fill("R3C-9T")
    assert answer.inner_text() == "SUPERSEDED"
    assert "trim height 131.90 mm to 131.85 mm" in page.locator(".sb-answer").inner_text()


def test_an_unfinished_code_has_no_answer_yet(open_page: Callable[..., Any]) -> None:
    """Nothing is said before the code is long enough."""
    page = open_page("sheets/index.html")
    page.get_by_label("Code on the sheet").fill("K7F-")
    assert page.locator(".sb-answer").count() == 0
    page.get_by_label("Code on the sheet").press_sequentially("4X")
    assert page.locator(".sb-answer").count() == 1


def test_a_code_that_looks_alike_is_one_tap_away(open_page: Callable[..., Any]) -> None:
    """An unknown code offers those it looks like; choosing one answers for it."""
    page = open_page("sheets/index.html")
    page.get_by_label("Code on the sheet").fill("K7F-9X")
    page.get_by_role("button", name="K7F-4X").click()
    assert page.locator(".sb-answer__word").inner_text() == "CURRENT"


def test_an_old_copy_does_not_vouch(open_page: Callable[..., Any]) -> None:
    """A copy of more than 30 days says current with a doubt."""
    page = open_page("sheets/index.html", today="2027-01-05")
    page.get_by_label("Code on the sheet").fill("K7F-4X")
    assert page.locator(".sb-answer__word").inner_text() == "CURRENT IN AN OLD COPY"
    assert "46 days old" in page.locator(".sb-answer").inner_text()


def test_codes_in_force_are_listed_by_line(open_page: Callable[..., Any]) -> None:
    """Each line has its list of codes in force, and no superseded one."""
    page = open_page("sheets/index.html")
    for line, codes in {"heron": ["K7F-4X"], "plover": ["R3C-9T"]}.items():
        section = page.locator("section", has_text=f"In force on {line}")
        assert section.locator("tbody .sb-code").all_inner_texts() == codes


def test_the_camera_is_offered_where_there_is_one(open_page: Callable[..., Any]) -> None:
    """With a reader of square codes in the browser a button scans; without, typing is all there is."""
    reader = """window.BarcodeDetector = class {
      static getSupportedFormats() { return Promise.resolve(['qr_code']); }
      detect() { return Promise.resolve([{ rawValue: 'regular-330 heron CDJ-37' }]); }
    };"""
    page = open_page("sheets/index.html", script=reader)
    page.get_by_role("button", name="Use the camera").click()
    page.locator(".sb-answer__word", has_text="Superseded").wait_for()
    bare = open_page("sheets/index.html", script="delete window.BarcodeDetector;")
    bare.locator(".sb-codes").first.wait_for()
    assert bare.get_by_role("button", name="Use the camera").count() == 0


# --- the walk ---------------------------------------------------------------------------------


def metal(page: Any) -> dict[str, float]:
    """Extent of the metal drawn, in the units of the drawing."""
    found: dict[str, float] = page.locator(".metals").evaluate(
        "g => { const { x, y, width, height } = g.getBBox(); return { x, y, width, height }; }"
    )
    return found


def shown(page: Any, station: str) -> None:
    """Wait until a station stands still."""
    page.locator(f".sb-walk[data-shown={station}]").wait_for()


def test_the_section_is_true_to_scale(open_page: Callable[..., Any]) -> None:
    """The section stands on both sides of the axis with its real sizes, at one scale from first to last."""
    page = open_page("walk/regular-330.html")
    shown(page, "blank")
    assert metal(page) == pytest.approx({"x": -70, "y": -0.25, "width": 140, "height": 0.25}, abs=1e-3)
    scale = page.locator("figure svg").get_attribute("viewBox")
    page.get_by_role("slider").fill("4")
    shown(page, "neck")
    assert metal(page) == pytest.approx({"x": -33.1, "y": -108, "width": 66.2, "height": 108}, abs=1e-3)
    assert page.locator("figure svg").get_attribute("viewBox") == scale


def test_thickness_is_exaggerated_from_the_inside(open_page: Callable[..., Any]) -> None:
    """Ten times the thickness moves the outside and the ring outward; the drawing says so."""
    page = open_page("walk/regular-330.html#ring-1")
    shown(page, "ring-1")
    ring = page.locator(".tools .ring")
    before = ring.evaluate("path => path.getBBox().width")
    page.get_by_role("button", name="×10").click()
    assert metal(page)["width"] == pytest.approx(2 * (33 + 10 * 0.1), abs=1e-3)
    assert ring.evaluate("path => path.getBBox().width") == pytest.approx(before + 2 * 9 * 0.1, abs=1e-3)
    assert "Metal drawn 10 times as thick as it is" in page.locator(".sb-walk__note").inner_text()
    assert page.get_by_role("button", name="×10").get_attribute("aria-pressed") == "true"


def test_the_walk_goes_by_button_key_and_slider(open_page: Callable[..., Any]) -> None:
    """Buttons, arrow keys and the slider step through the stations; the numbers and the address follow."""
    page = open_page("walk/regular-330.html")
    assert page.get_by_role("button", name="Back").is_disabled()
    page.get_by_role("button", name="Next").click()
    shown(page, "cup")
    page.keyboard.press("ArrowRight")
    shown(page, "ring-1")
    assert page.locator(".sb-walk tbody tr").first.inner_text().split() == ["thin", "wall", "0.300", "mm"]
    assert page.url.endswith("#ring-1")
    page.keyboard.press("ArrowLeft")
    shown(page, "cup")
    page.get_by_role("slider").press("End")
    shown(page, "neck")
    assert page.get_by_role("button", name="Next").is_disabled()
    assert page.locator(".sb-walk [aria-live]").inner_text() == "Neck, station 4 of 4. What Neck does."


def test_one_shape_turns_into_the_next(open_page: Callable[..., Any]) -> None:
    """On the way the metal is between the two shapes; who asks for less motion sees only the shapes."""
    page = open_page("walk/regular-330.html#cup")
    shown(page, "cup")
    heights = """button => new Promise((done) => {
      const seen = [];
      const metals = document.querySelector('.metals');
      new MutationObserver(() => seen.push(metals.getBBox().height))
        .observe(metals, { subtree: true, childList: true, attributes: true });
      button.click();
      const walk = document.querySelector('.sb-walk');
      const wait = () => walk.dataset.shown === 'ring-1' ? done(seen) : requestAnimationFrame(wait);
      wait();
    })"""
    seen = page.get_by_role("button", name="Next").evaluate(heights)
    still = open_page("walk/regular-330.html#cup", reduced_motion="reduce")
    shown(still, "cup")
    assert any(34 < height < 109 for height in seen)
    assert not any(34 < height < 109 for height in still.get_by_role("button", name="Next").evaluate(heights))


def test_the_rim_is_seen_closer(open_page: Callable[..., Any]) -> None:
    """Four times closer, the view is a quarter as wide and the rim of the station is in it."""
    page = open_page("walk/regular-330.html#neck")
    shown(page, "neck")
    whole = [float(n) for n in page.locator("figure svg").get_attribute("viewBox").split()]
    page.get_by_role("button", name="Rim, 4 times closer").click()
    x, y, wide, high = (float(n) for n in page.locator("figure svg").get_attribute("viewBox").split())
    assert wide == pytest.approx(whole[2] / 4)
    assert x < 27 < x + wide
    assert y < -108 < y + high


# --- for everybody ----------------------------------------------------------------------------


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("width", ["tablet", "phone"])
def test_targets_are_made_for_gloves(open_page: Callable[..., Any], name: str, width: str) -> None:
    """Every button, field and link that does not stand in a text is large enough to be hit."""
    page = open_page(name, width=width, has_touch=True)
    page.wait_for_timeout(100)
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


@pytest.mark.parametrize("name", PAGES)
def test_no_page_is_wider_than_a_small_phone(open_page: Callable[..., Any], name: str) -> None:
    """At 320 px only tables slide, each in its own box with a hint and buttons that slide it."""
    page = open_page(name, width="narrow")
    page.wait_for_timeout(100)
    assert page.evaluate("document.documentElement.scrollWidth") <= 320


def test_a_wide_table_says_so_and_slides_by_button(open_page: Callable[..., Any]) -> None:
    """Where a table is wider than the screen a hint stands above it, and a button moves it."""
    page = open_page("formats/index.html", width="phone")
    page.get_by_text("Wider than the screen").wait_for()
    inner = page.locator(".sb-scroll")
    page.get_by_role("button", name="Slide the table right").click()
    page.wait_for_function("document.querySelector('.sb-scroll').scrollLeft > 100")
    name = page.get_by_role("link", name="250 ml slim").bounding_box()
    assert 0 <= name["x"] < 390
    assert inner.get_attribute("tabindex") == "0"
    wide = open_page("checks/index.html", width="phone")
    assert not wide.get_by_text("Wider than the screen").is_visible()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", PAGES)
def test_axe_finds_nothing(open_page: Callable[..., Any], scheme: str, name: str) -> None:
    """The accessibility rules of WCAG 2.2 AA that a machine can test hold, in light and dark."""
    folders = (os.environ.get("AXE_CORE", "."), "node_modules/axe-core", "build/axe/node_modules/axe-core")
    source = next((file for folder in folders if (file := Path(folder) / "axe.min.js").is_file()), None)
    if source is None:
        pytest.skip("axe-core is not installed: npm install --prefix build/axe axe-core")
    page = open_page(name, color_scheme=scheme)
    page.wait_for_timeout(200)
    page.evaluate(source.read_text(encoding="utf-8"))
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
    result = page.evaluate("tags => axe.run({ runOnly: tags, preload: false })", tags)
    assert [(one["id"], one["nodes"][0]["html"]) for one in result["violations"]] == []


def test_the_keyboard_reaches_everything_and_shows_where_it_is(open_page: Callable[..., Any]) -> None:
    """Tab visits the head, the filters, the sorting and the boxes in order, each with a visible outline."""
    page = open_page("formats/index.html")
    visited = []
    for _ in range(30):
        page.keyboard.press("Tab")
        visited.append(
            page.evaluate(
                """() => {
                  const one = document.activeElement;
                  const seen = one.id.startsWith('__palette') ? one.nextElementSibling : one;
                  const name = one.getAttribute('aria-label') ?? one.textContent.trim();
                  return [name, getComputedStyle(seen).outlineStyle, one.tagName];
                }"""
            )
        )
    names = [name for name, _, _ in visited]
    order = ["Small works", "Search", "Formats", "Reference", "contentsml", "Compare 250 ml slim"]
    positions = [names.index(name) for name in order]
    assert positions == sorted(positions)
    unseen = [one for one in visited if one[1] == "none" and one[2] != "BODY" and "Search" not in one[0]]
    assert unseen == []


def test_single_letters_give_no_orders(open_page: Callable[..., Any]) -> None:
    """A letter struck by accident neither opens the search nor turns the page."""
    page = open_page("formats/index.html")
    for letter in "fsnp/.,":
        page.keyboard.press(letter)
    assert page.evaluate("document.activeElement.tagName") == "BODY"
    assert page.url.endswith("formats/index.html")


def test_colours_follow_the_device_and_the_button(open_page: Callable[..., Any]) -> None:
    """Dark comes from the device's setting at once, and the button overrules it for good."""
    page = open_page("index.html", color_scheme="dark")
    scheme = page.locator("body").get_attribute
    assert scheme("data-md-color-scheme") == "slate"
    page.locator("label[title='Light colours']").click()
    assert scheme("data-md-color-scheme") == "default"
    page.reload()
    assert scheme("data-md-color-scheme") == "default"


def test_the_page_reads_without_scripts(open_page: Callable[..., Any]) -> None:
    """With scripts off the sections lead on and the table is whole."""
    page = open_page("formats/index.html", java_script_enabled=False)
    assert len(titles(page)) == 5
    page.get_by_role("link", name="Reference").click()
    assert page.get_by_role("heading", name="Lines").is_visible()
    assert page.get_by_role("link", name="Glossary").is_visible()


def test_a_page_outside_the_navigation_knows_its_section(open_page: Callable[..., Any]) -> None:
    """A format's page marks Formats as the section and leads back to the table."""
    page = open_page("formats/regular-330.html")
    assert page.locator(".sb-sections [aria-current]").all_inner_texts() == ["Formats"]
    page.locator(".sb-up").click()
    assert page.url.endswith("formats/index.html")


# --- on paper ---------------------------------------------------------------------------------


def test_paper_has_the_page_and_nothing_of_the_screen(open_page: Callable[..., Any]) -> None:
    """Printed from dark colours, a page is black on white without head, sections, search or buttons."""
    page = open_page("formats/regular-330.html", color_scheme="dark")
    page.emulate_media(media="print", color_scheme="dark")
    gone = [".md-header", ".sb-sections", ".md-footer", ".sb-up", ".md-sidebar", ".headerlink"]
    assert [css for css in gone if page.locator(css).first.is_visible()] == []
    colours = page.evaluate(
        """() => ['body', 'article h1', 'article td', '.sb-status-released'].map((css) => {
             const style = getComputedStyle(document.querySelector(css));
             return [style.color, style.backgroundColor];
           })"""
    )
    assert [one for one, _ in colours] == ["rgb(0, 0, 0)"] * 4
    assert {ground for _, ground in colours} <= {"rgb(255, 255, 255)", "rgba(0, 0, 0, 0)"}
    after = page.locator("article a").last.evaluate("a => getComputedStyle(a, '::after').content")
    assert after in {"none", "normal"}
    assert page.locator("rect.metal").evaluate("r => getComputedStyle(r).fill") == "rgb(180, 180, 180)"


def test_a_long_table_repeats_its_head_and_cuts_no_row(open_page: Callable[..., Any]) -> None:
    """On each sheet of paper the head stands again, and every row is on one sheet."""
    pypdf = pytest.importorskip("pypdf", reason="pages on paper are read with pypdf, which is not installed")
    page = open_page("limits.html")
    sheets = [one.extract_text() for one in pypdf.PdfReader(io.BytesIO(page.pdf(format="A4"))).pages]
    assert len(sheets) >= 3
    assert all(re.search(r"part\s+bore\s+line", text) for text in sheets)
    for n in range(120):
        assert sum(bool(re.search(rf"part-{n}\s+65\.{n:03d} mm\s*heron", text)) for text in sheets) == 1
    assert "Plant copy of 20 Nov 2026, 3 days old; printed 23 Nov 2026" in " ".join(sheets[0].split())


# --- the files themselves ---------------------------------------------------------------------


@pytest.mark.parametrize("path", sorted((THEME / "assets" / "js").glob("*.js")), ids=lambda path: path.name)
def test_scripts_are_small_strict_and_keep_to_themselves(path: Path) -> None:
    """A script has at most 300 lines, is strict, and leaves only sizebook's own names on the window."""
    text = path.read_text(encoding="utf-8")
    assert len(text.splitlines()) <= 300
    assert text.startswith("'use strict';")
    left = set(re.findall(r"window\.(\w+)\s*=[^=]", text))
    assert left <= {"sizebookKit", "sizebookShape", "Worker"}
    assert re.findall(r"^(?:function|const|let|var|class)\s+\w+", text, flags=re.M) == []


def test_nothing_in_the_theme_names_a_place_outside() -> None:
    """No style, script or template of ours fetches from a network."""
    for path in sorted(THEME.rglob("*.*")):
        text = path.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
        assert not re.search(r"https?://|@import|url\(\s*['\"]?//", text), path.name


def test_the_built_pages_name_no_place_outside(site: Path) -> None:
    """No built page loads a style, script, font or picture from a network."""
    for path in sorted(site.rglob("*.html")):
        text = path.read_text(encoding="utf-8")
        loaded = re.findall(r"<(?:script|link|img|iframe)[^>]*(?:src|href)=\"([^\"]+)\"", text)
        assert [one for one in loaded if "//" in one] == [], path.name


def test_the_small_site_is_what_the_tests_think(site: Path) -> None:
    """The look-up data is a script that sets one name, so that a page from disk can load it."""
    text = (site / "assets" / "book.js").read_text(encoding="utf-8")
    data = json.loads(text.removeprefix("window.sizebook = ").removesuffix(";\n"))
    assert [len(data[key]) for key in ("formats", "sheets")] == [5, 5]
