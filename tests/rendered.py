"""Sheets, cards and lists of codes as the tests read them: PDF, page, and piece of a page."""

from __future__ import annotations

from kb.blocks import Paper
from kb.changeover.cards import job_cards
from kb.changeover.documents import change_document
from kb.changeover.sheet_model import ChangeSheet
from kb.output.html import fragment, page
from kb.output.pdf import pdf
from kb.sheet.documents import codes_document, setup_document
from kb.sheet.model import CodeList, Sheet


def sheet_pdf(sheet: Sheet, paper: Paper = "a4") -> bytes:
    """A setup sheet as PDF."""
    return pdf(setup_document(sheet), paper=paper)


def sheet_page(sheet: Sheet, paper: Paper = "a4") -> str:
    """A setup sheet as a page."""
    return page(setup_document(sheet), paper=paper)


def sheet_fragment(sheet: Sheet) -> str:
    """A setup sheet as a piece of a page."""
    return fragment(setup_document(sheet))


def codes_pdf(codes: CodeList, paper: Paper = "a4") -> bytes:
    """A list of codes as PDF."""
    return pdf(codes_document(codes), paper=paper)


def codes_page(codes: CodeList) -> str:
    """A list of codes as a page."""
    return page(codes_document(codes))


def codes_fragment(codes: CodeList) -> str:
    """A list of codes as a piece of a page."""
    return fragment(codes_document(codes))


def change_pdf(sheet: ChangeSheet, paper: Paper = "a4") -> bytes:
    """A changeover sheet as PDF."""
    return pdf(change_document(sheet), paper=paper)


def change_page(sheet: ChangeSheet) -> str:
    """A changeover sheet as a page."""
    return page(change_document(sheet))


def change_fragment(sheet: ChangeSheet) -> str:
    """A changeover sheet as a piece of a page."""
    return fragment(change_document(sheet))


def cards_pdf(sheet: ChangeSheet, paper: Paper = "a4") -> bytes:
    """The job cards of a changeover as PDF."""
    return pdf(*job_cards(sheet), paper=paper)


def cards_page(sheet: ChangeSheet) -> str:
    """The job cards of a changeover as a page."""
    return page(*job_cards(sheet))
