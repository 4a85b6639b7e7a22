"""The page, as markup and as a browser prints it."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
from collections.abc import Mapping
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest
from pypdf import PdfReader

from kb.book.load import Book
from kb.sheet.html import codes_fragment, codes_page, sheet_fragment, sheet_page, style
from kb.sheet.issue import issue
from kb.sheet.model import Content, Sheet
from kb.sheet.today import code_list
from tests.sheet import hostile
from tests.sheet.conftest import LINE, MADE, RELEASED, CopyBook, sheet_of
from tests.sheet.test_pdf import bare, run

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


@pytest.mark.parametrize("name", ["sleek-330/plover", "regular-330/heron", "sleek-355/plover"])
def test_every_row_is_on_the_page(sheets: Mapping[str, Sheet], name: str) -> None:
    """Each part, setting and check stands in a row of its own with its limits."""
    sheet = sheets[name]
    rows = [bare(row) for row in read(sheet_fragment(sheet)).rows]
    said = sheet.content
    wanted = [f"{one.number or ''}{one.name}{run(one.size)}" for one in said.pack]
    for block in said.machines:
        wanted += [f"{one.name}{one.pieces}×{run(one.size)}" for one in block.parts]
        wanted += [f"{one.name}{one.where}{run(one.value)}" for one in block.settings]
        wanted += [f"{i}{run(cell)}" for one in block.sets for i, cell in enumerate(one.sizes, start=1)]
    for one in said.first_offs:
        value = run(one.value) if one.value else one.accept
        wanted.append(f"{one.number}{one.name}{one.where}{value}{one.reaction}")
    for row in wanted:
        assert any(one.startswith(bare(row)) for one in rows), row


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
    for markup in (sheet_page(sheets["sleek-330/plover"]), style()):
        assert "<script" not in markup
        assert set(re.findall(r"https?://[^\"' )]+", markup)) <= {"http://www.w3.org/2000/svg"}
        assert not re.search(r"url\(|@import|<link|src=", markup)


def test_links_lead_to_parts_of_the_sheet(sheets: Mapping[str, Sheet]) -> None:
    """Each link of the bar on top finds its part, and no id stands twice."""
    tags = read(sheet_fragment(sheets["sleek-330/plover"])).tags
    ids = [attrs["id"] for _, attrs in tags if "id" in attrs]
    links = [attrs["href"] for tag, attrs in tags if tag == "a"]
    assert len(ids) == len(set(ids))
    assert links == [f"#{one}" for one in ids]
    assert len(links) == 13


def test_tables_tell_which_column_a_number_is_in(sheets: Mapping[str, Sheet]) -> None:
    """Column and row heads are marked as such, so that a reading voice can name them."""
    tags = read(sheet_fragment(sheets["sleek-330/plover"])).tags
    heads = [attrs.get("scope") for tag, attrs in tags if tag == "th"]
    assert set(heads) == {"col", "row", "rowgroup"}


@pytest.mark.parametrize("text", hostile.ALL)
def test_hostile_text_is_shown_as_text(demo: Book, contents: Mapping[str, Content], text: str) -> None:
    """Markup in a book's texts opens no tag and is read back letter by letter."""
    said = contents[f"{RELEASED}/{LINE}"]
    identity = replace(said.identity, title=text, why=text, line_title=text, status=text, owner=text)
    checks = (replace(said.first_offs[0], name=text, where=text, accept=text), *said.first_offs[1:])
    said = replace(said, identity=identity, first_offs=checks, safety=text, return_to=text)
    plain = read(sheet_fragment(sheet_of(demo)))
    told = read(sheet_fragment(issue(said, demo, made=MADE, problems=[text])))
    assert bare(told.text).count(bare(text)) >= 10
    assert {tag for tag, _ in told.tags} <= {tag for tag, _ in plain.tags} | {"div", "p"}
    assert not any(key.startswith("on") for _, attrs in told.tags for key in attrs)
    assert read(sheet_page(issue(said, demo, made=MADE))).tags


def test_missing_and_marks_are_words(copy_book: CopyBook, sheets: Mapping[str, Sheet]) -> None:
    """MISSING, NOT FOR USE, DRAFT and TRIAL are written out, not shown by colour alone."""
    nowhere = ("floor.yaml", "        value: machine.ram_speed\n", "        value: machine.speed\n")
    text = read(sheet_fragment(sheet_of(copy_book([nowhere])))).text
    assert text.count("MISSING") == 1
    assert text.count("NOT FOR USE") == 3
    assert read(sheet_fragment(sheets["sleek-355/plover"])).text.count("TRIAL") == 3
    assert read(sheet_fragment(sheets["regular-440-light/heron"])).text.count("DRAFT") == 3


def test_same_sheet_same_page(sheets: Mapping[str, Sheet]) -> None:
    """Nothing of the clock or the machine gets into the page."""
    sheet = sheets["sleek-330/plover"]
    assert sheet_page(sheet) == sheet_page(sheet)
    assert "size: letter" in sheet_page(sheet, "letter")


def test_the_style_has_no_colour_that_means_anything() -> None:
    """Black, white and the grey of the word across the page are all there is."""
    colours = set(re.findall(r"#[0-9a-fA-F]{3,8}\b", style()))
    assert colours <= {"#000", "#fff", "#777", "#8a8a8a"}


def test_the_print_style_cuts_no_row_and_sticks_nothing() -> None:
    """Rows are not split, heads repeat, nothing is sticky."""
    rules = style().partition("@media print")[2]
    assert re.search(r"\.values tr[^{]*{ break-inside: avoid", rules)
    assert re.search(r"\.values thead { display: table-header-group", rules)
    assert "sticky" not in style()


def test_the_list_of_codes_as_a_page(demo: Book) -> None:
    """Each sheet of the line is a row with its code; hostile titles stay text."""
    told = code_list(demo, LINE, made=MADE)
    rows = read(codes_fragment(told)).rows
    assert [row.code in line for row, line in zip(told.rows, rows[1:], strict=True)] == [True] * len(
        told.rows
    )
    told = replace(
        told, line_title=hostile.HTML, rows=tuple(replace(row, title=hostile.HTML) for row in told.rows)
    )
    assert bare(read(codes_page(told)).text).count(bare(hostile.HTML)) >= len(told.rows) + 1


# --- as a browser prints it -------------------------------------------------------------------


@pytest.mark.skipif(BROWSER is None, reason="no Chromium on this machine to print with")
@pytest.mark.parametrize("name", ["sleek-330/plover", "sleek-355/plover"])
def test_a_browser_prints_identity_and_whole_rows(
    sheets: Mapping[str, Sheet], tmp_path: Path, name: str
) -> None:
    """Printed by Chromium, every page has title, code and number, and no check is parted from its limits."""
    sheet = sheets[name]
    (tmp_path / "s.html").write_text(sheet_page(sheet), encoding="utf-8")
    command = [str(BROWSER), "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"]
    command += [f"--user-data-dir={tmp_path / 'profile'}", f"--print-to-pdf={tmp_path / 's.pdf'}"]
    subprocess.run([*command, (tmp_path / "s.html").as_uri()], check=True, capture_output=True, timeout=120)
    texts = [
        bare(page.extract_text()) for page in PdfReader(io.BytesIO((tmp_path / "s.pdf").read_bytes())).pages
    ]
    assert 8 <= len(texts) <= 14
    for number, text in enumerate(texts, start=1):
        assert bare(sheet.content.identity.title) in text
        assert text.count(sheet.code) >= 2
        assert f"page{number}of{len(texts)}" in text
        assert text.count("TRIAL") >= (2 if sheet.mark else 0)
    for one in sheet.content.first_offs:
        if one.value is not None:
            row = bare(f"{one.name}{one.where}{run(one.value)}")
            assert any(row in text and bare(one.sample) in text for text in texts), one.name
