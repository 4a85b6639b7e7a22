"""Printed documents: both renderers show all words of a document, and no fixed word is unused."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from html.parser import HTMLParser
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
import yaml
from pypdf import PdfReader

from kb import plan_changeover
from kb.blocks import Cell, DocumentPart, Listed, Paragraph, Phrase, PrintedDocument, words
from kb.book.load import Book
from kb.changeover.cards import job_cards
from kb.changeover.documents import change_document
from kb.changeover.plan import sheet_of
from kb.folders import shipped
from kb.output.html import fragment
from kb.output.pdf import pdf
from kb.sheet.content import content
from kb.sheet.documents import codes_document, setup_document
from kb.sheet.issue import code_list, issue
from tests.sheet.conftest import MADE

PACKAGE = Path(__file__).parents[2] / "kb"


def bare(text: str) -> str:
    """A text without blanks and places to break."""
    return re.sub(r"[\s\u200b]+", "", text)


class Reader(HTMLParser):
    """All text of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.text = ""

    def handle_data(self, data: str) -> None:
        """Keep a text."""
        self.text += data


def page_text(document: PrintedDocument) -> str:
    """The bare text of a document as HTML."""
    reader = Reader()
    reader.feed(fragment(document))
    return bare(reader.text)


def paper_text(*documents: PrintedDocument) -> str:
    """The bare text of documents as PDF."""
    return bare("".join(page.extract_text() for page in PdfReader(BytesIO(pdf(*documents))).pages))


def said(one: Any) -> Iterator[str]:
    """Every text of a document that a reader must see: words, limits, titles and labels of boxes."""
    if isinstance(one, Phrase):
        yield one.text
    elif isinstance(one, Cell):
        yield one.target
    elif isinstance(one, DocumentPart):
        yield from (one.title, one.note)
        yield from said(one.blocks)
    elif isinstance(one, tuple):
        for each in one:
            yield from said(each)
    elif is_dataclass(one) and not isinstance(one, type):
        for field in fields(one):
            if field.name in {"labels", "pen", "rows", "people"}:
                value = getattr(one, field.name)
                yield from (each for each in value if isinstance(each, str))
            yield from said(getattr(one, field.name))


def some(text: str) -> list[str]:
    """A text in pieces that a line break of the paper does not tear; the end of a page may."""
    return [bare(text)] if len(text) < 40 else [bare(word) for word in text.split()]


@pytest.mark.slow
def test_paper_and_page_say_the_same(demo: Book) -> None:
    """Each word, limit and label of a sheet, a list, a changeover and its cards is in PDF and HTML."""
    sheet = issue(content(demo, "b211-330", "heron"), demo, made=MADE)
    change = sheet_of(demo, plan_changeover(demo, "b211-330", "b211-355", "heron"), made=MADE)
    made = [
        setup_document(sheet),
        codes_document(code_list(demo, "heron", made=MADE)),
        change_document(change),
        *job_cards(change),
    ]
    for document in made:
        page, paper = page_text(document), paper_text(document)
        texts = [piece for text in said(document.parts) for piece in some(text)]
        assert len(texts) > 10
        assert [one for one in texts if one not in page] == []
        printed = tuple(part for part in document.parts if not part.screen)
        texts = [piece for text in said(printed) for piece in some(text)]
        assert [one for one in texts if one not in paper] == []


def test_every_fixed_word_is_used() -> None:
    """Each key of the words in site/sheet is read by the code, so that no sentence is kept for nothing."""
    code = "".join(path.read_text(encoding="utf-8") for path in sorted(PACKAGE.rglob("*.py")))
    for name in ("setup", "changeover"):
        listed = yaml.safe_load((shipped("site") / "sheet" / f"{name}.yaml").read_text(encoding="utf-8"))
        assert listed
        unused = [key for key in listed if not re.search(rf'\.{key}\b|\["{key}"\]', code)]
        assert unused == []


def test_the_lock_sentence_asks_for_a_lock_of_each(demo: Book) -> None:
    """All whose hands go in need their own lock, in one sentence beside the title."""
    change = sheet_of(demo, plan_changeover(demo, "b211-330", "b211-355", "heron"), made=MADE)
    (locks,) = (one for one in change_document(change).parts if one.id == "change-locks")
    assert locks.note.endswith("Everyone else whose hands go in hangs their own lock first.")


def test_a_document_of_nothing_is_rendered() -> None:
    """A document without a part, and one with empty blocks, have their identity and no error."""
    empty = PrintedDocument(
        form="sheet", kind="Kind", tab="Tab", plant="", title="Title", strip="", foot=(), lines=(), notes=(),
        code="K7F-9X", digest="", qr="K7F-9X", mark="", reasons="", made="2026-11-02", parts=(),
    )  # fmt: skip
    blank = DocumentPart("one", "One", (Paragraph(()), Listed(())), note="x" * 300)
    for document in (empty, PrintedDocument(**{**_fields(empty), "parts": (blank,)})):
        assert "Title" in page_text(document)
        assert "K7F-9X" in paper_text(document)


def _fields(one: PrintedDocument) -> dict[str, Any]:
    return {field.name: getattr(one, field.name) for field in fields(one)}


def test_words_leave_out_what_is_empty() -> None:
    """Words of nothing are nothing, and plain texts become phrases."""
    assert words("", Phrase(""), ()) == ()
    assert words("a", (Phrase("b", "bold"),)) == (Phrase("a"), Phrase("b", "bold"))
