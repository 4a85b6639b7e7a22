"""Templates filled with an edition: everything from a spec is data and comes out as text."""

from __future__ import annotations

import json
import re
from functools import cache
from html import escape
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined, pass_context
from jinja2.runtime import Context
from markupsafe import Markup

from kb.folders import shipped
from kb.output.svg import drawing_style as style
from kb.publish.terms import head, told_once
from kb.publish.typeset import typeset_page


@cache
def _environment() -> Environment:
    made = Environment(
        loader=FileSystemLoader(shipped("site") / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals["head"] = _head
    return made


@pass_context
def _head(context: Context, words: str) -> Markup:
    return head(words, context["up"])


def page(
    template: str,
    *,
    title: str,
    scripts: tuple[str, ...] = (),
    boost: float = 1,
    in_search: bool = True,
    hide: tuple[str, ...] = (),
    **values: Any,
) -> str:
    """A page: front matter, then one block of HTML that Markdown leaves alone.

    Args:
        template: name of the template
        title: title for browser and search
        boost: how much sooner the search shows it than others
        in_search: whether the search knows it at all
        hide: parts of the theme that the page does without
        scripts: scripts to load before the site's own, beside the page
        values: what the template is filled with; `up` is the way to the site's top, one folder by default

    Returns:
        The text of the page's source file.
    """
    body = _environment().get_template(template).render(title=title, **{"up": "../", **values})
    body = told_once(with_style(typeset_page(body)))
    body = _CELL_END.sub(r"\1\n", body)  # the search would read two cells as one word
    body = re.sub(r"\n\s*", "\n", body).strip()  # a blank line would end the block for Markdown
    loaded = "".join(f'<script src="{name}"></script>\n' for name in scripts)
    sooner = "" if boost == 1 else f"search:\n  boost: {boost:g}\n"
    if not in_search:
        sooner = "search:\n  exclude: true\n"
    shown = json.dumps(escape(title, quote=False), ensure_ascii=False)  # the theme prints it as it is
    hidden = f"hide: [{', '.join(hide)}]\n" if hide else ""
    front = f"---\ntitle: {shown}\n{hidden}{sooner}---\n"
    return f"{front}\n{loaded}{_HEADING.sub(_markdown_heading, body)}\n"


_CELL_END = re.compile(r"(</(?:td|th|dt|dd|li)>|<br>)")
_HEADING = re.compile(r'<h([1-4]) id="([^"]+)">(.*?)</h\1>', re.DOTALL)
_MARKUP = re.compile(r"[*_`\[\]\\#{}|~!]")


def _markdown_heading(found: re.Match[str]) -> str:
    """A heading in Markdown, so that contents and search know it; its text cannot be markup."""
    level, ident, inner = found.groups()
    parts = re.split(r"(<[^>]*>|&#?\w+;)", inner)
    text = "".join(
        part if part.startswith(("<", "&")) else _MARKUP.sub(lambda one: f"&#{ord(one[0])};", part)
        for part in parts
    )
    return f"\n\n{'#' * int(level)} {' '.join(text.split())} {{#{ident}}}\n\n"


def with_style(text: str) -> str:
    """A page whose first drawing brings the style of them all."""
    return text.replace("</desc>\n", f"</desc>\n<style>{style()}</style>\n", 1)


def svg(text: str) -> Markup:
    """Drawings of our own making, put into a page as they are, without blank lines."""
    return Markup(re.sub(r"\n\s*\n", "\n", text))
