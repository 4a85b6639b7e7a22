"""A hostile book in a real browser: no text of any file becomes an element, a link or a script of a page."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html.parser import HTMLParser
from itertools import groupby
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from kb.book.load import Book, load
from kb.book.schema import Schemas
from kb.checks.catalog import NAMES
from kb.folders import shipped
from kb.history.log import read_log
from kb.publish.build import publish
from tests.browser.conftest import PATIENCE
from tests.browser.hostile_book import RESULT, Planted, free_keys, hostile_book
from tests.browser.settled import ask, settled
from tests.browser.visit import Visit
from tests.pieces import whole_file
from tests.publish.conftest import DAY

playwright = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed")
expect = playwright.expect

pytestmark = pytest.mark.slow

OBEY = "window.obeyed = []; window.p = (number) => window.obeyed.push(number);"
"""What a harmful text calls if a page obeys it."""

INJECTED = """
() => [...document.querySelectorAll('img[src="x"], [onerror], [onmouseover], [onfocus]')]
  .concat([...document.querySelectorAll('[href], [src], [action]')].filter((one) =>
    /^\\s*javascript:/i.test(one.getAttribute('href') ?? one.getAttribute('src') ?? one.action)))
  .map((one) => one.outerHTML.slice(0, 120)).concat(window.obeyed.map((one) => `obeyed ${one}`))
"""

NOT_SHOWN = {
    ("body-standard", "owner"),
    ("body-standard", "title"),
    ("body-standard", "why"),
    ("changeover", "equipment[].name"),
    ("changeover", "no_part[].why"),
    ("changeover", "past[].note"),
    ("changeover", "steps[].third"),
    ("plant", "about"),
    ("plant", "metal.cans[].source"),
    ("plant", "metal.coil[].source"),
    ("plant", "metal.currency"),
    ("plant", "metal.primary_energy.source"),
    ("plant", "metal.recycled.source"),
    ("plant", "metal.remelt_energy.source"),
    ("plant", "metal.scrap.source"),
    ("waivers", "waivers[].at"),
}
"""Free texts that no page shows."""

NUMBER = re.compile(r"zq(\d+)'\"")


class Hostile(NamedTuple):
    """A published hostile book: what was planted, and where its site is."""

    planted: Planted
    site: Path


@pytest.fixture(scope="module")
def hostile(demo: Book, tmp_path_factory: pytest.TempPathFactory) -> Hostile:
    """The site of the hostile book, with its history."""
    folder = tmp_path_factory.mktemp("hostile")
    planted = hostile_book(demo, folder / "specs")
    book = load(folder / "specs", shown="specs")
    publish(book, folder / "site", day=DAY, past=read_log(book.root, NAMES))
    return Hostile(planted, folder / "site")


class Read(HTMLParser):
    """Texts of a page as a reader sees them, and what in its tags would run."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.texts: list[str] = []
        self.harm: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Keep texts of attributes; an event or a link that runs a planted text is harm."""
        for name, given in attrs:
            value = given or ""
            self.texts.append(value)
            runs = name.startswith("on") or re.match(r"\s*javascript:", value, re.I)
            if runs or (tag, name, value) == ("img", "src", "x"):
                self.harm.append(f"<{tag} {name}={value}>"[:120])

    def handle_data(self, data: str) -> None:
        """Keep a text."""
        self.texts.append(data)

    @property
    def numbers(self) -> set[int]:
        """Numbers of the harmful texts that the page shows."""
        return {int(one) for text in self.texts for one in NUMBER.findall(text)}


@pytest.fixture(scope="module")
def read(hostile: Hostile) -> dict[str, Read]:
    """Every page of the hostile site by its name."""
    return {
        path.relative_to(hostile.site).as_posix(): Read(whole_file(path))
        for path in sorted(hostile.site.rglob("*.html"))
    }


def test_every_free_text_of_every_kind_of_file_is_planted(hostile: Hostile) -> None:
    """Each free text that a schema allows has a harmful text in it, so that a new key is not forgotten."""
    kinds = Schemas(shipped("schema")).kinds
    assert set(hostile.planted.keys) == {(kind, key) for kind in kinds for key in free_keys(kind)}


def test_no_page_holds_a_planted_element_link_or_result(read: dict[str, Read]) -> None:
    """In the source of all pages nothing runs, and no template has been worked out."""
    assert len(read) > 200
    assert {name: page.harm for name, page in read.items() if page.harm} == {}
    worked = {name for name, page in read.items() if any(RESULT in text for text in page.texts)}
    assert worked == set()


def test_the_planted_texts_are_shown_as_they_are_written(hostile: Hostile, read: dict[str, Read]) -> None:
    """Each key's text is on some page, sign by sign, unless no page shows the key."""
    planted = hostile.planted
    shown = {number for page in read.values() for number in page.numbers}
    numbers = {key: {planted.numbers[text] for text in texts} for key, texts in planted.keys.items()}
    assert {key for key, some in numbers.items() if not some & shown} <= NOT_SHOWN
    every = " ".join(" ".join(" ".join(page.texts).split()) for page in read.values())
    texts = {planted.numbers[old]: " ".join(planted.text(old).split()) for old in planted.numbers}
    assert [texts[number] for number in sorted(shown & texts.keys()) if texts[number] not in every] == []


def _chosen(read: dict[str, Read]) -> Iterator[str]:
    """Of each folder and kind of page the two that show most of the harmful texts."""

    def kind(name: str) -> tuple[str, str]:
        folder, _, file = name.rpartition("/")
        alone = not folder or file == "index.html" or folder == "formats"
        return folder, file if alone else ".".join(file.rsplit(".", 2)[-2:]) if file.count(".") > 2 else ""

    for _, names in groupby(sorted(read, key=kind), key=kind):
        yield from sorted(names, key=lambda name: -len(read[name].numbers))[:2]


@pytest.fixture
def visit(chromium: Any, hostile: Hostile) -> Iterator[Visit]:
    """A visit to the hostile site in which a text that is obeyed leaves its number."""
    made = Visit(chromium, hostile.site, PATIENCE)
    made.page.add_init_script(OBEY)
    made.page.on("dialog", lambda dialog: made.errors.append(f"dialog: {dialog.message}") or dialog.dismiss())
    yield made
    made.close()


def test_a_browser_obeys_no_planted_text(visit: Visit, read: dict[str, Read]) -> None:
    """Pages of every kind are opened with their scripts: no planted element, link or call is in them."""
    names = list(_chosen(read))
    assert len(names) > 25
    found = {}
    for name in names:
        visit.go(name)
        if harm := visit.page.evaluate(INJECTED):
            found[name] = harm[:5]
    assert found == {}
    assert [one for one in visit.errors if "ERR_FILE_NOT_FOUND" not in one] == []


def test_what_scripts_draw_obeys_no_planted_text(visit: Visit, read: dict[str, Read]) -> None:
    """Comparison, filter, search, changeover chooser and code look-up show planted texts as texts."""
    page = visit.page
    visit.go("formats/compare.html#b211-330,b204-355")
    expect(page.locator("[data-sb=compare] thead th").nth(1)).to_contain_text("<img src=x")
    assert page.evaluate(INJECTED) == []
    visit.go("formats/index.html")
    page.get_by_label("Find").fill("<img src=x onerror=p(")
    expect(page.locator("table[data-sb=formats] tbody tr:visible")).to_have_count(3)
    assert page.evaluate(INJECTED) == []
    number = max(read["formats/b211-330.html"].numbers)
    ask(page, f"zq{number}")
    page.locator(".md-search-result__link").first.wait_for()
    settled(page)
    assert page.evaluate(INJECTED) == []
    for address in ("heron", "heron,b211-330", "heron,b211-330,b211-330-lantern", "plover"):
        visit.go(f"changeovers/index.html#{address}")
        expect(page.locator("[data-sb=changeover]")).to_contain_text("<img src=x")
        assert page.evaluate(INJECTED) == []
    visit.go("faults/tear-off.html")
    box = page.locator("article select")
    for value in box.evaluate("box => [...box.options].map((one) => one.value)"):
        box.select_option(value)
        assert page.evaluate(INJECTED) == []
    visit.go("sheets/index.html")
    for code in page.evaluate("window.sizebook.sheets.map((one) => one.code)"):
        page.get_by_label("Code on the sheet").fill(code)
        page.locator(".sb-answer").wait_for()
        assert page.evaluate(INJECTED) == []
    visit.go("process/b211-330.html")
    for _ in range(25):
        page.keyboard.press("ArrowRight")
    assert page.evaluate(INJECTED) == []
