"""Finding one's way on the demo book's pages: a fault's numbers, the strip, folds, words explained."""

from __future__ import annotations

import re

import pytest

from tests.browser.visit import Visit

expect = pytest.importorskip("playwright.sync_api", reason="playwright is not installed").expect

FORMAT = "formats/b211-330.html"

USUAL_FIRST = """() => {
  const row = document.querySelector('table.sb-numbers tr.chosen');
  const rooms = [...document.querySelectorAll('ol.sb-causes > li')].map((cause) => Math.min(Infinity,
    ...cause.dataset.drivers.split(' ').filter(Boolean).map((i) => row.cells[+i + 1].dataset.room)
      .filter((room) => room !== undefined).map(Number)));
  const usual = [...document.querySelectorAll('ol.sb-causes > li')].map((cause) => +cause.dataset.usual);
  return rooms.some((room) => room < Infinity) && rooms.every((room, i) => i === 0 || usual[i - 1] > usual[i]
    || (usual[i - 1] === usual[i] && rooms[i - 1] <= room));
}"""
"""Whether the most usual cause is first, and of equally usual ones that with the smallest margin."""

FOLDED = """seen => [...document.querySelectorAll('details.sb-fold table')]
  .every((table) => table.checkVisibility() === seen)"""
"""Whether the tables in folds are all seen, or none."""

ONE_MEANING = """() => {
  const words = [...document.querySelectorAll('a.sb-term')];
  const meanings = new Map();
  words.forEach((one) => meanings.set(one.hash, new Set([...meanings.get(one.hash) ?? [], one.title])));
  const all = [...meanings.values()];
  return words.length > meanings.size && all.every((one) => one.size === 1 && !one.has(''));
}"""
"""Whether each word has its one meaning at every place, and some word has several places."""


def test_a_faults_numbers_are_chosen_by_keyboard(visit: Visit) -> None:
    """An arrow key in the list of formats brings its numbers to the causes, the most usual cause first."""
    visit.go("faults/tear-off.html")
    page = visit.page
    formats = page.get_by_label("Numbers of format")
    drivers = page.locator(".sb-causes .sb-drivers")
    expect(drivers).to_have_count(0)
    formats.focus()
    page.keyboard.press("ArrowDown")
    first = formats.locator("option").nth(1).inner_text()
    expect(page.locator("main [role=status]").filter(has_text=first)).to_contain_text(
        "the smallest margin first"
    )
    expect(page.locator("table.sb-numbers tr.chosen th")).to_have_text(first)
    expect(drivers.locator("dt").first).to_be_visible()
    page.wait_for_function(USUAL_FIRST)
    page.keyboard.press("Home")
    expect(drivers).to_have_count(0)
    expect(page.locator("table.sb-numbers tr.chosen")).to_have_count(0)
    assert visit.errors == []


def test_faults_are_narrowed_by_station_place_and_symptom(visit: Visit) -> None:
    """Station, place, symptom and slang narrow the table of faults, and the count says how far."""
    visit.go("faults/index.html")
    page = visit.page
    titles = page.locator("table.sb-faults tbody tr:visible th a")
    count = page.locator(".sb-finder .sb-count")
    everything = titles.count()
    expect(count).to_have_text(f"{everything} faults")
    page.get_by_label("Station").select_option("Redraw and ironing")
    page.get_by_label("Symptom").select_option("Torn, split or cracked")
    expect(titles).to_have_text(
        ["Tear-off in the upper wall", "Base breaks out", "Split can", "Can will not strip"]
    )
    page.get_by_label("Place").select_option("Base and dome")
    expect(titles).to_have_text(["Base breaks out"])
    expect(count).to_have_text(f"1 of {everything} faults")
    for name in ("Station", "Symptom", "Place"):
        page.get_by_label(name).select_option("")
    page.get_by_label("Find").fill("angel hair")
    expect(titles).to_have_text(["Burr or hair on the trimmed edge"])
    assert visit.errors == []


def test_a_usual_cause_stays_above_a_seldom_one(visit: Visit) -> None:
    """On every fault page and for every format no cause passes a more usual one."""
    visit.go("faults/index.html")
    hrefs = visit.page.locator("table.sb-faults th a").evaluate_all("all => all.map((one) => one.href)")
    chosen = 0
    for href in hrefs:
        visit.page.goto(href)
        box = visit.page.locator("article .sb-finder select")
        for value in box.evaluate_all(
            "all => all.flatMap((box) => [...box.options].map((one) => one.value))"
        )[1::6]:
            box.select_option(value)
            usual = visit.page.locator("ol.sb-causes > li").evaluate_all(
                "all => all.map((one) => +one.dataset.usual)"
            )
            assert usual == sorted(usual, reverse=True), href
            chosen += 1
    assert chosen > 100


def test_the_strip_marks_what_is_read(visit: Visit) -> None:
    """The part a link leads to is marked in the strip, alone and in sight, also at the page's end."""
    visit.go(FORMAT)
    page = visit.page
    strip = page.get_by_role("navigation", name="Stations")
    for name in ("Dome", "Findings", "History"):
        link = strip.get_by_role("link", name=name, exact=True)
        link.click()
        expect(link).to_have_attribute("aria-current", "location")
        expect(strip.locator("[aria-current]")).to_have_count(1)
        expect(link).to_be_in_viewport()
    page.evaluate("scrollTo(0, 0)")
    expect(strip.get_by_role("link", name="History", exact=True)).not_to_have_attribute(
        "aria-current", "location"
    )


def test_a_link_into_a_fold_opens_it(visit: Visit) -> None:
    """Whether the page is opened at a place in a fold or a link leads there, the place is seen."""
    visit.go(f"{FORMAT}#stroke")
    page = visit.page
    for place in ("stroke", "ironed-0", "line-heron-bodymakers"):
        page.evaluate("place => { location.hash = place; }", place)
        expect(page.locator(f"#{place}")).to_be_in_viewport()
        expect(page.locator(f"details.sb-fold:has(#{place})")).to_have_attribute("open", "")
    expect(page.locator("details.sb-fold:has(#necked-0)")).not_to_have_attribute("open", "")
    assert visit.errors == []


def test_long_tables_are_for_the_screen(visit: Visit) -> None:
    """Paper names the folded tables of a station and prints none, so that the page keeps to its sides."""
    visit.go(FORMAT)
    page = visit.page
    expect(page.locator("details.sb-fold[open]")).to_have_count(0)
    page.wait_for_function(FOLDED, arg=False)
    page.emulate_media(media="print")
    page.wait_for_function(FOLDED, arg=False)
    expect(page.locator(".sb-fold > summary").first).to_be_visible()


def test_a_word_of_the_glossary_shows_its_meaning(visit: Visit) -> None:
    """Each linked word has the glossary's meaning as its title wherever it is, and leads to the entry."""
    visit.go(FORMAT)
    page = visit.page
    page.wait_for_function(ONE_MEANING)
    word = page.locator("a.sb-term:visible", has_text=re.compile(r"^pallet height$|^headspace$|^web$")).first
    expect(word).to_have_attribute("title", re.compile(r"\w+ \w+ \w+"))
    expect(word).to_have_attribute("href", re.compile(r"glossary\.html#"))
    word.click()
    expect(page.locator(":target")).to_be_in_viewport()


def test_the_rim_of_a_real_can_is_seen_closer(visit: Visit) -> None:
    """Four times closer at the last station, the drawn metal's top is within the view."""
    visit.go("process/b211-330.html")
    page = visit.page
    page.get_by_role("slider").press("End")
    near = page.get_by_role("button", name="Rim, 4 times closer")
    near.click()
    expect(near).to_have_attribute("aria-pressed", "true")
    page.wait_for_function(
        """() => {
          const view = document.querySelector('figure svg').getAttribute('viewBox');
          const [, y, , high] = view.split(' ').map(Number);
          const top = document.querySelector('.metals').getBBox().y;
          return y < top && top < y + high && high < 100;
        }"""
    )


@pytest.mark.parametrize("width", [390, 1280])
def test_a_long_comparison_keeps_its_heads_in_sight(visit: Visit, width: int) -> None:
    """A press in the strip leads to a group of values; strip and names of the formats stay above it."""
    page = visit.page
    page.set_viewport_size({"width": width, "height": 900})
    visit.go("formats/compare.html#b202-250,b211-330")
    strip = page.get_by_role("navigation", name="Groups of values")
    for name in ("Trim", "Blank"):
        button = strip.get_by_role("button", name=name, exact=True)
        button.click()
        expect(strip.locator("[aria-current]")).to_have_text([name])
        expect(page.get_by_role("rowheader", name=name, exact=True)).to_be_in_viewport()
        expect(page.get_by_role("columnheader", name="330 ml, 211 body")).to_be_in_viewport()
        expect(page.locator(f"tbody[data-group='{name}'] tr").nth(1)).to_be_in_viewport()
    assert visit.errors == []
