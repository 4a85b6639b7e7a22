"""The code of a draft looked up, and a draft's pages on screen and paper, opened from disk."""

from __future__ import annotations

import io
from typing import Any

import pytest

from kb.publish.page import draft_mark, draft_words
from tests.browser.conftest import WIDTHS, OpenPage

expect = pytest.importorskip("playwright.sync_api", reason="playwright is not installed").expect

FIELD = "Code on the sheet"
WORD = ".sb-answer__word"


@pytest.mark.parametrize("typed", ["Z-K7F-4X", "zk7f4x", "2K7F4X", "SHEET REVISION 8 DRAFT CODE Z-K7F-4X"])
def test_a_drafts_code_is_reported_as_one(open_page: OpenPage, typed: str) -> None:
    """With the sign of a draft the answer is draft, even before the code of a current sheet."""
    page = open_page("sheets/index.html")
    page.get_by_label(FIELD).fill(typed)
    expect(page.locator(WORD)).to_have_text("Draft")
    expect(page.locator(".sb-answer")).to_contain_text("Do not set a machine from it")


def test_a_draft_copy_vouches_for_no_code(open_page: OpenPage) -> None:
    """In a copy that is a draft a current code is not called current."""
    draft = "Object.defineProperty(window, 'sizebook', { set(v) { this._b = { ...v, draft: 'DRAFT PR-1' }; },"
    page = open_page("sheets/index.html", script=f"{draft} get() {{ return this._b; }} }});")
    page.get_by_label(FIELD).fill("K7F-4X")
    expect(page.locator(WORD)).to_have_text("Ask the plant’s site")
    expect(page.locator(".sb-answer")).to_contain_text("This site build is DRAFT PR-1")


@pytest.mark.parametrize("width", WIDTHS)
def test_the_mark_is_over_the_page_and_moves_nothing(open_page: OpenPage, width: str) -> None:
    """The word stays in view while the page moves, takes no click and makes no page wider than its window."""
    page = _marked(open_page("formats/b211-330.html", width=width))
    assert page.evaluate("document.documentElement.scrollWidth") <= WIDTHS[width]
    page.evaluate("scrollTo(0, document.documentElement.scrollHeight)")
    word = page.locator(".sb-draft-across")
    expect(word).to_be_in_viewport()
    box = word.bounding_box()
    assert box["width"] > WIDTHS[width] / 4
    middle = {"x": box["x"] + box["width"] / 2, "y": box["y"] + box["height"] / 2}
    hit = page.evaluate("at => document.elementFromPoint(at.x, at.y)?.className ?? ''", middle)
    assert "sb-draft-across" not in str(hit)


def test_the_mark_is_on_every_page_of_print(open_page: OpenPage) -> None:
    """Each page of paper has the word."""
    pypdf = pytest.importorskip("pypdf", reason="pages on paper are read with pypdf, which is not installed")
    page = _marked(open_page("limits.html"))
    sheets = [one.extract_text() for one in pypdf.PdfReader(io.BytesIO(page.pdf(format="A4"))).pages]
    assert len(sheets) > 1
    assert [number for number, text in enumerate(sheets, start=1) if "PR-1" not in text] == []


def _marked(page: Any) -> Any:
    """An open page as a draft has it."""
    mark = draft_mark(draft_words("PR-1"), across=True)
    page.evaluate("mark => document.body.insertAdjacentHTML('afterbegin', mark)", mark)
    return page
