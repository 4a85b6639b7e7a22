"""The mark of a draft: its word across every page, on screen and paper, and first in every title."""

from __future__ import annotations

import re
from functools import cache
from html import escape
from pathlib import Path

from jinja2 import Environment, StrictUndefined, Template

from kb.folders import shipped
from kb.output.io import write_atomic
from kb.sheet.model import DRAFT

_HAS_WORD = f'aria-hidden="true">{DRAFT}<'


def draft_words(label: str) -> str:
    """The words of a draft.

    Example:
        >>> draft_words("PR-12"), draft_words("")
        ('DRAFT PR-12', 'DRAFT')
    """
    return f"{DRAFT} {label}".strip()


def mark_pages(made: Path, label: str) -> None:
    """Mark every page of a built site, those of the theme and those that stand by themselves.

    Args:
        made: folder of the site
        label: label of the draft
    """
    for path in sorted(made.rglob("*.html")):
        write_atomic(path, marked(path.read_text(encoding="utf-8"), label))


def marked(text: str, label: str) -> str:
    """A page with the mark; the word stands across it once, also where a sheet has it already."""
    words = draft_words(label)
    mark = _mark().render(words=words, across=_HAS_WORD not in text)
    text = re.sub(r"<title>", lambda _: f"<title>{escape(words)}: ", text, count=1)
    return re.sub(r"<body\b[^>]*>", lambda found: f"{found[0]}\n{mark}\n", text, count=1)


@cache
def _mark() -> Template:
    source = (shipped("site") / "templates" / "draft.html").read_text(encoding="utf-8")
    return Environment(autoescape=True, undefined=StrictUndefined).from_string(source)
