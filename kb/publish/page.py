"""A module of pages declares them with `Pages` and renders each with `page`: Markdown with Jinja."""

from __future__ import annotations

import json
import pkgutil
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from html import escape
from importlib import import_module
from typing import TYPE_CHECKING, Any, TypeAlias

import jinja2
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from kb.folders import shipped
from kb.publish.terms import head
from kb.publish.words import typeset
from kb.sheet.model import DRAFT

if TYPE_CHECKING:
    from kb.publish.changeovers import Plans
    from kb.publish.edition import Edition
    from kb.sheet.model import Sheet

Rendered: TypeAlias = Iterator[tuple[str, str | bytes]]
"""Path below the site's sources and content of each file; a page ends in `.md`."""

_MARKUP = str.maketrans({one: f"&#{ord(one)};" for one in "*_`[]\\#{}|~!<>&"})


@dataclass(frozen=True, slots=True)
class Context:
    """What pages are made from; `at` has the address of each changeover, by crew and anchor of the pair."""

    edition: Edition
    setups: Sequence[Sheet]
    plans: Plans
    at: Mapping[tuple[str, str], str]


@dataclass(frozen=True, slots=True)
class Pages:
    """Pages that belong together. A module of this package that has `PAGES` is found by itself.

    Attributes:
        title: in the navigation.
        path: of the page that the navigation leads to.
        render: makes the pages, and any files beside them.
        of_crew: makes those of one crew by its id; the pages of several crews are made at the same time.
        under: title of the part of the navigation that they are in, "" for the top.
    """

    title: str
    path: str
    render: Callable[[Context], Rendered]
    under: str = ""
    of_crew: Callable[[Context, str], Rendered] | None = None


@cache
def every_pages() -> tuple[Pages, ...]:
    """All pages that modules of this package declare, in the order of the modules' names."""
    package = import_module("kb.publish")
    modules = [import_module(f"kb.publish.{one.name}") for one in pkgutil.iter_modules(package.__path__)]
    return tuple(pages for module in modules for pages in getattr(module, "PAGES", ()))


@cache
def templates(folder: str = "templates") -> Environment:
    """The templates of a folder of the site's sources; what comes from a spec comes out as text."""
    made = Environment(
        loader=FileSystemLoader(shipped("site") / folder),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        comment_start_string="[#",  # Markdown has the usual one in headings
        comment_end_string="#]",
        finalize=printed,
    )
    made.globals["head"] = jinja2.pass_context(
        lambda context, words: head(words, context["up"], context["explained"])
    )
    made.filters["md"] = in_markdown
    return made


def in_markdown(value: object) -> Markup:
    """A value in a line of Markdown, such as a heading; nothing in it is markup."""
    return Markup(" ".join(typeset(str(value)).split()).translate(_MARKUP))


def printed(value: Any) -> Any:
    """A value as print has it; names and addresses, which have no blanks, stay as they are."""
    if isinstance(value, str) and " " in value and not isinstance(value, Markup):
        return typeset(value)
    return value


def page(
    template: str,
    *,
    title: str,
    scripts: Sequence[str] = (),
    hide: Sequence[str] = (),
    **values: Any,
) -> str:
    """A page: front matter, then Markdown.

    Args:
        template: name of the template
        title: title for the browser, its type first
        scripts: scripts to load before the site's own, beside the page
        hide: parts of the theme that the page does without
        values: what the template is filled with; `up` is the way to the site's top, one folder by default
    """
    body = (
        templates().get_template(template).render({"title": title, "up": "../", "explained": set(), **values})
    )
    loaded = "".join(f'<script src="{name}"></script>\n' for name in scripts)
    shown = json.dumps(escape(title, quote=False), ensure_ascii=False)  # the theme prints it as it is
    hidden = f"hide: [{', '.join(hide)}]\n" if hide else ""
    return f"---\ntitle: {shown}\n{hidden}---\n\n{loaded}\n{body}"


def svg(text: str) -> Markup:
    """A drawing of our own making, put into a page as it is, without blank lines."""
    return Markup("\n".join(line for line in text.splitlines() if line.strip()))


def draft_words(label: str) -> str:
    """The words of a draft.

    Example:
        >>> draft_words("PR-12"), draft_words("")
        ('DRAFT PR-12', 'DRAFT')
    """
    return f"{DRAFT} {label}".strip()


def draft_mark(words: str, *, across: bool) -> str:
    """The mark of a draft on screen and paper; the page of a sheet has its own word across it."""
    return templates("theme/partials").get_template("draft.html").render(words=words, across=across)
