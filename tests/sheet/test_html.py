"""The page, as markup and as a browser prints it."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator, Mapping
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from kb.blocks import Paper
from kb.book.load import Book
from kb.output.html import style
from kb.sheet.documents import SheetLine, lines_of
from kb.sheet.issue import code_list, issue
from kb.sheet.model import Content, PackPart, Sheet
from tests.rendered import codes_fragment, codes_page, sheet_fragment, sheet_page
from tests.sheet import hostile
from tests.sheet.conftest import LINE, MADE, RELEASED, CopyBook, sheet_of
from tests.sheet.test_pdf import MOST_BROWSER_SIDES, PAPERS, bare, check_row, line_row, pages, run

BROWSER = next((one for one in ("chromium", "chromium-browser", "google-chrome") if shutil.which(one)), None)


VOID = {"meta", "br", "path", "img"}


class Reader(HTMLParser):
    """A page read back: its tags balanced, its text, its tables row by row."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.rows: list[str] = []
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """A tag begins."""
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)
        if tag == "tr":
            self.rows.append("")

    def handle_endtag(self, tag: str) -> None:
        """A tag ends; it must be the one that was opened last."""
        if tag not in VOID:
            assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        """Text."""
        self.text += data
        if "tr" in self.open:
            self.rows[-1] += data


def read(markup: str) -> Reader:
    """Markup read to its end."""
    reader = Reader()
    reader.feed(markup)
    reader.close()
    assert reader.open == []
    return reader


def pack_row(tool: PackPart) -> str:
    """A tool of the pack as a row of the page."""
    pieces = f"{tool.pieces}×" if tool.pieces else ""
    return f"{tool.number or ''}{tool.name}{pieces}{run(tool.size)}"


def page_row(line: SheetLine) -> str:
    """A part or a setting as a row of the page: a setting's limits are before its unit."""
    name, *rest = line_row(line)
    if len(rest) < 2:
        return "".join((name, *rest))
    return f"{name}{line.value.target}{rest[1]}{line.value.unit}"


@pytest.mark.parametrize("name", ["b204-330/plover", "b211-330/heron", "b204-355/plover"])
def test_every_row_is_on_the_page(sheets: Mapping[str, Sheet], name: str) -> None:
    """Each part, setting and check is in a row of its own with its limits."""
    sheet = sheets[name]
    rows = [bare(row) for row in read(sheet_fragment(sheet)).rows]
    said = sheet.content
    wanted = [pack_row(one) for one in said.pack]
    for block in said.machines:
        lines = lines_of(block)
        wanted += [page_row(one) for one in (*lines.tools, *lines.plain, *lines.settings)]
        wanted += [f"{i}{run(cell)}" for one in lines.stages for i, cell in enumerate(one.sizes, start=1)]
    for row in wanted:
        assert any(one.startswith(bare(row)) for one in rows), row
    text = bare(read(sheet_fragment(sheet)).text)
    for check in said.first_offs:
        assert bare(f"{check_row(check)}{check.reaction}") in text


def test_identity_and_code_are_in_the_repeated_frame(sheets: Mapping[str, Sheet]) -> None:
    """What a browser repeats on each page says which sheet it is."""
    for sheet in sheets.values():
        markup = sheet_fragment(sheet)
        head = re.search(
            r'<table class="frame" role="presentation">\s*<thead>(.*?)</thead>', markup, re.DOTALL
        )
        foot = re.search(r"<tfoot>(.*?)</tfoot>", markup, re.DOTALL)
        assert head is not None
        assert foot is not None
        for part in (head[1], foot[1]):
            assert sheet.code in part
            assert f"{sheet.content.identity.revision}" in part
        assert sheet.content.identity.title in head[1]


def test_a_page_needs_nothing_beside_it(sheets: Mapping[str, Sheet]) -> None:
    """No script, no address to fetch from, no file to load."""
    for markup in (sheet_page(sheets["b204-330/plover"]), style()):
        own = re.sub(r'src:url\("data:font/woff2;base64,[A-Za-z0-9+/=]+"\)', "", markup)
        assert "<script" not in own
        assert set(re.findall(r"https?://[^\"' )]+", own)) <= {"http://www.w3.org/2000/svg"}
        assert not re.search(r"url\(|@import|<link|src[=:]", own)


def test_links_lead_to_parts_of_the_sheet(sheets: Mapping[str, Sheet]) -> None:
    """Each link of the bar on top finds its part, and no id occurs twice."""
    tags = read(sheet_fragment(sheets["b204-330/plover"])).tags
    ids = [attrs["id"] for _, attrs in tags if "id" in attrs]
    links = [attrs["href"] for tag, attrs in tags if tag == "a"]
    assert len(ids) == len(set(ids))
    assert links == [f"#{one}" for one in ids]
    assert len(links) == 12


def test_tables_show_which_column_a_number_is_in(sheets: Mapping[str, Sheet]) -> None:
    """Column and row heads are marked as such, so that a reading voice can name them."""
    tags = read(sheet_fragment(sheets["b204-330/plover"])).tags
    heads = [attrs.get("scope") for tag, attrs in tags if tag == "th"]
    assert set(heads) == {"col", "row", "colgroup"}


@pytest.mark.parametrize("text", hostile.ALL)
def test_hostile_text_is_shown_as_text(demo: Book, contents: Mapping[str, Content], text: str) -> None:
    """Markup in a book's texts opens no tag and is read back letter by letter."""
    said = contents[f"{RELEASED}/{LINE}"]
    identity = replace(said.identity, title=text, why=text, line_title=text, status=text, owner=text)
    checks = (replace(said.first_offs[0], name=text, where=text, accept=text), *said.first_offs[1:])
    said = replace(said, identity=identity, first_offs=checks, safety=text, return_to=text)
    plain = read(sheet_fragment(sheet_of(demo)))
    parsed = read(sheet_fragment(issue(said, demo, made=MADE, problems=[text])))
    assert bare(parsed.text).count(bare(text)) >= 10
    assert {tag for tag, _ in parsed.tags} <= {tag for tag, _ in plain.tags} | {"div", "p"}
    assert not any(key.startswith("on") for _, attrs in parsed.tags for key in attrs)
    assert read(sheet_page(issue(said, demo, made=MADE))).tags


def test_missing_and_marks_are_words(copy_book: CopyBook, sheets: Mapping[str, Sheet]) -> None:
    """MISSING, NOT FOR USE, DRAFT and TRIAL are written out, not shown by colour alone."""
    nowhere = ("floor.yaml", "        value: machine.ram_speed\n", "        value: machine.speed\n")
    text = read(sheet_fragment(sheet_of(copy_book([nowhere])))).text
    assert text.count("MISSING") == 1
    assert text.count("NOT FOR USE") == 3
    assert read(sheet_fragment(sheets["b204-355/plover"])).text.count("TRIAL") == 3
    assert read(sheet_fragment(sheets["b211-440-light/heron"])).text.count("DRAFT") == 3


def test_same_sheet_same_page(sheets: Mapping[str, Sheet]) -> None:
    """Nothing of the clock or the machine gets into the page."""
    sheet = sheets["b204-330/plover"]
    assert sheet_page(sheet) == sheet_page(sheet)
    assert "size: letter" in sheet_page(sheet, "letter")


def test_the_style_has_no_colour_that_means_anything() -> None:
    """Black, white and the grey of the word across the page; a dark screen has a pale ink."""
    dark = re.compile(r"@media screen and \(prefers-color-scheme: dark\) \{.*?\n\}", re.DOTALL)
    colours = [set(re.findall(r"#[0-9a-fA-F]{3,8}\b", text)) for text in (dark.sub("", style()), style())]
    assert colours[0] <= {"#000", "#ddd", "#fff", "#777", "#8a8a8a"}
    assert colours[1] - colours[0] == {"#eee"}


def test_the_print_style_cuts_no_row_and_sticks_nothing() -> None:
    """Rows are not split, heads repeat, nothing is sticky."""
    rules = style().partition("@media print")[2]
    assert re.search(r"\.values tr[^{]*{ break-inside: avoid", rules)
    assert re.search(r"\.values thead { display: table-header-group", rules)
    assert "sticky" not in rules


def test_the_list_of_codes_as_a_page(demo: Book) -> None:
    """Each sheet of the line is a row with its code; hostile titles stay text."""
    codes = code_list(demo, LINE, made=MADE)
    rows = read(codes_fragment(codes)).rows
    assert [row.code in line for row, line in zip(codes.rows, rows[1:], strict=True)] == [True] * len(
        codes.rows
    )
    codes = replace(
        codes, line_title=hostile.HTML, rows=tuple(replace(row, title=hostile.HTML) for row in codes.rows)
    )
    assert bare(read(codes_page(codes)).text).count(bare(hostile.HTML)) >= len(codes.rows) + 1


# --- as a browser prints it -------------------------------------------------------------------


needs_browser = pytest.mark.skipif(BROWSER is None, reason="no Chromium on this machine to print with")


@pytest.fixture
def browser() -> Iterator[Any]:
    """A running Chromium."""
    api = pytest.importorskip("playwright.sync_api", reason="playwright, which drives it, is not installed")
    with api.sync_playwright() as driver:
        running = driver.chromium.launch(
            executable_path=shutil.which(str(BROWSER)), args=["--no-sandbox", "--disable-gpu"]
        )
        yield running
        running.close()


@needs_browser
@pytest.mark.parametrize("paper", PAPERS)
def test_a_browser_prints_identity_and_whole_rows(
    sheets: Mapping[str, Sheet], tmp_path: Path, browser: Any, paper: Paper
) -> None:
    """Printed by Chromium, every page has title, code and number, and no row is cut."""
    for name in ("b211-330/heron", "b204-330/plover", "b204-355/plover"):
        sheet = sheets[name]
        (tmp_path / "s.html").write_text(sheet_page(sheet, paper), encoding="utf-8")
        tab = browser.new_page()
        tab.goto((tmp_path / "s.html").as_uri())
        texts = pages(tab.pdf(prefer_css_page_size=True))
        assert len(texts) <= MOST_BROWSER_SIDES
        for number, text in enumerate(texts, start=1):
            assert bare(sheet.content.identity.title) in text
            assert text.count(sheet.code) >= 2
            assert f"page{number}of{len(texts)}" in text
            assert text.count("TRIAL") >= (2 if sheet.mark else 0)
        for row in printed_rows(sheet.content):
            assert any(bare(row) in text for text in texts), (name, row)


def printed_rows(said: Content) -> Iterator[str]:
    """Every row of the page as a browser prints it, each as one run of text."""
    for tool in said.pack:
        yield pack_row(tool)
    for block in said.machines:
        lines = lines_of(block)
        yield from (page_row(one) for one in (*lines.tools, *lines.plain, *lines.settings))
        for one in lines.stages:
            yield from (f"{i}{run(cell)}in2nd" for i, cell in enumerate(one.sizes, start=1))
    yield from map(check_row, said.first_offs)
    for gauge in said.gauges:
        yield f"{gauge.name},{gauge.resolution};{gauge.type};setwith{gauge.master}nextdueset"


@needs_browser
@pytest.mark.parametrize(("width", "least"), [(768, 60), (390, 60)])
def test_a_screen_needs_no_sideways_scroll(
    sheets: Mapping[str, Sheet], tmp_path: Path, browser: Any, width: int, least: int
) -> None:
    """On tablet and phone nothing is wider than the screen, and links are large enough for a glove."""
    (tmp_path / "s.html").write_text(sheet_page(sheets["b211-330/heron"]), encoding="utf-8")
    tab = browser.new_page(viewport={"width": width, "height": 900})
    tab.goto((tmp_path / "s.html").as_uri())
    assert tab.evaluate("document.documentElement.scrollWidth") == width
    wide = "[...document.querySelectorAll('.wide, table')].filter(e => e.scrollWidth > e.clientWidth + 1)"
    assert tab.evaluate(f"{wide}.map(e => e.className)") == []
    heights = tab.evaluate(
        "[...document.querySelectorAll('nav a')].map(e => e.getBoundingClientRect().height)"
    )
    assert len(heights) == 12
    assert min(heights) >= least
