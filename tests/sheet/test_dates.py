"""The two dates of a setup sheet: when the format takes effect, and when this sheet was issued."""

from __future__ import annotations

import datetime
import io
import re
from dataclasses import replace

import pytest
from pypdf import PdfReader

from kb.book.load import TOP_FILES, Book, load
from kb.sheet.issue import issue
from kb.sheet.model import Sheet
from kb.sheet.register import recording
from tests.rendered import sheet_page, sheet_pdf
from tests.sheet.conftest import CopyBook, sheet_of

DAY = datetime.date(2027, 1, 11)


@pytest.fixture
def recorded(copy_book: CopyBook) -> Sheet:
    """A sheet whose code was recorded long after its format took effect."""
    book = copy_book()
    (book.root / TOP_FILES["sheet-codes"]).write_text("kind: sheet-codes\ncodes: []\n", encoding="utf-8")
    made = recording(load(book.root, shown="specs"), today=DAY)
    (book.root / TOP_FILES["sheet-codes"]).write_text(made.text, encoding="utf-8")
    return sheet_of(load(book.root, shown="specs"))


def read(sheet: Sheet) -> dict[str, str]:
    """What the page says, and what the first page of paper says."""
    page = re.sub(r"<[^>]+>", " ", sheet_page(sheet).split("</style>")[-1])
    paper = PdfReader(io.BytesIO(sheet_pdf(sheet))).pages[0].extract_text()
    return {"page": " ".join(page.split()), "paper": " ".join(paper.split())}


def test_each_date_says_what_it_is(recorded: Sheet) -> None:
    """Page and paper show each date once, and say of neither that it is effective."""
    effective = recorded.content.identity.effective
    assert recorded.issued == DAY.isoformat() != effective
    for said in read(recorded).values():
        assert said.count(f"format effective {effective}") == 1
        assert said.count(f"sheet issued {DAY}") == 1
        assert "force from" not in said


def test_a_sheet_that_is_not_recorded_is_not_issued(demo: Book, recorded: Sheet) -> None:
    """A sheet outside the register, and a draft, have no issued date."""
    other = replace(recorded.content, good_for=recorded.content.good_for + 1)
    made = datetime.datetime(2027, 1, 12)
    for sheet in (issue(other, demo, made=made), issue(recorded.content, demo, made=made, draft="")):
        assert sheet.issued == ""
        for said in read(sheet).values():
            assert "sheet not issued" in said
            assert "sheet issued" not in said
