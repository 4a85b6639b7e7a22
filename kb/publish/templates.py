"""Pages as Markdown with Jinja, filled with an edition: what comes from a spec comes out as text."""

from __future__ import annotations

import json
from functools import cache
from html import escape
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined, pass_context
from jinja2.runtime import Context
from markupsafe import Markup

from kb.folders import shipped
from kb.publish.terms import head
from kb.publish.typeset import typeset

_MARKUP = str.maketrans({one: f"&#{ord(one)};" for one in "*_`[]\\#{}|~!<>&"})


@cache
def _environment() -> Environment:
    made = Environment(
        loader=FileSystemLoader(shipped("site") / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        comment_start_string="[#",  # Markdown has the usual one in headings
        comment_end_string="#]",
        finalize=_printed,
    )
    made.globals["head"] = _head
    made.filters["md"] = in_markdown
    return made


def in_markdown(value: object) -> Markup:
    """A value in a line of Markdown, such as a heading; nothing in it is markup."""
    return Markup(" ".join(typeset(str(value)).split()).translate(_MARKUP))


def _printed(value: Any) -> Any:
    """A value as print has it; names and addresses, which have no blanks, are read letter for letter."""
    if isinstance(value, str) and " " in value and not isinstance(value, Markup):
        return typeset(value)
    return value


@pass_context
def _head(context: Context, words: str) -> Markup:
    return head(words, context["up"], context["explained"])


def page(
    template: str,
    *,
    title: str,
    scripts: tuple[str, ...] = (),
    hide: tuple[str, ...] = (),
    **values: Any,
) -> str:
    """A page: front matter, then Markdown.

    Args:
        template: name of the template
        title: title for the browser
        scripts: scripts to load before the site's own, beside the page
        hide: parts of the theme that the page does without
        values: what the template is filled with; `up` is the way to the site's top, one folder by default

    Returns:
        The text of the page's source file.
    """
    given = {"title": title, "up": "../", "explained": set(), **values}
    body = _environment().get_template(template).render(given)
    loaded = "".join(f'<script src="{name}"></script>\n' for name in scripts)
    shown = json.dumps(escape(title, quote=False), ensure_ascii=False)  # the theme prints it as it is
    hidden = f"hide: [{', '.join(hide)}]\n" if hide else ""
    return f"---\ntitle: {shown}\n{hidden}---\n\n{loaded}\n{body}"


def svg(text: str) -> Markup:
    """A drawing of our own making, put into a page as it is, without blank lines."""
    return Markup("\n".join(line for line in text.splitlines() if line.strip()))
