"""The mark of a draft: its word across every page, on screen and paper, and first in every title."""

from __future__ import annotations

from functools import cache

from jinja2 import Environment, FileSystemLoader, StrictUndefined, Template

from kb.folders import shipped
from kb.sheet.model import DRAFT


def draft_words(label: str) -> str:
    """The words of a draft.

    Example:
        >>> draft_words("PR-12"), draft_words("")
        ('DRAFT PR-12', 'DRAFT')
    """
    return f"{DRAFT} {label}".strip()


def draft_mark(words: str, *, across: bool) -> str:
    """The markup of the mark; the page of a sheet has its own word across it."""
    return _mark().render(words=words, across=across)


@cache
def _mark() -> Template:
    folder = shipped("site") / "theme" / "partials"
    loader = FileSystemLoader(folder)
    made = Environment(loader=loader, autoescape=True, undefined=StrictUndefined)
    return made.get_template("draft.html")
