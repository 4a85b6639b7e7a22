"""Pages written by hand, with live numbers: placeholders become what the book says today.

{{ value regular-330 ironed[2].thin }}   a result of the route, with its unit
{{ spec regular-330 stock.gauge }}       a value as declared
{{ drawing regular-330 dome }}           a drawing
{{ term thick-wall }} {{ check trim.allowance }} {{ fault tear-off }}   links
"""

from __future__ import annotations

import re
from html import escape

from kb.book.tree import Scalar
from kb.checks.words import quantity
from kb.drawing.svg import svg as drawn
from kb.publish.edition import Edition, FormatEdition
from kb.publish.templates import svg, with_style
from kb.publish.terms import head, knowledge, told_once
from kb.publish.typeset import typeset
from kb.route.result import told

_PLACE = re.compile(r"\{\{ *(value|spec|drawing|term|check|fault) +([^ }]+)(?: +([^ }]+))? *\}\}")

_HEADS = re.compile(r"^(\|.*\|\n)(\|[ :|-]+\|\n)", re.MULTILINE)
"""The heads of a table in Markdown, and the line below them."""


class PlaceholderError(LookupError):
    """A page asks for what the book does not have."""


def filled(text: str, edition: Edition, name: str) -> str:
    """A page with its placeholders filled.

    Args:
        text: the page's source
        edition: the edition
        name: path of the page, for links and for telling where a placeholder fails

    Returns:
        The page's source with numbers, drawings and links.

    Raises:
        PlaceholderError: if a placeholder names what is not there.
    """
    up = "../" * name.count("/")

    def fill(found: re.Match[str]) -> str:
        what, first, second = found.groups()
        try:
            return _told(edition, what, first, second, up)
        except KeyError as error:
            raise PlaceholderError(f"{name}: {found[0]}") from error

    linked = told_once(_HEADS.sub(lambda found: _heads(found[1], up) + found[2], text))
    return with_style(_PLACE.sub(fill, linked))


def _heads(line: str, up: str) -> str:
    """The heads of a table, those that the glossary explains linked to it."""
    cells = [cell if "{{" in cell else f" {head(cell.strip(), up)} " for cell in line.strip("|\n").split("|")]
    return f"|{'|'.join(cells)}|\n"


def _told(edition: Edition, what: str, first: str, second: str | None, up: str) -> str:
    if what == "term":
        entry = {one["id"]: one for one in knowledge("glossary")}[first]
        return f"[{escape(entry['term'])}]({up}glossary.md#{first})"
    if what == "check":
        return f"[{first}]({up}checks/{first}.md)"
    if what == "fault":
        entry = {one["id"]: one for one in knowledge("faults")}[first]
        return f"[{escape(entry['title'])}]({up}faults/{first}.md)"
    if what == "spec":
        return _declared(edition, first, second or "")
    return _of_format(edition.formats[first], what, second or "")


def _declared(edition: Edition, ident: str, key: str) -> str:
    """A value as written, from any file of the book."""
    for group in edition.book.specs.values():
        node = group[ident].document.node(key) if ident in group else None
        if isinstance(node, Scalar):
            return f"<strong>{escape(typeset(node.text))}</strong>"
    raise KeyError(ident)


def _of_format(one: FormatEdition, what: str, key: str) -> str:
    if one.routed is None:
        return "<em>not computed</em>"
    if what == "drawing":
        picture = svg(drawn(one.routed.drawings[key], styled=False))
        return f'<figure class="sb-drawing" data-search-exclude>{picture}</figure>'
    entry = {result.key: result for result in told(one.routed.route)}[key]
    value = typeset(quantity(float(entry.value), unit=entry.unit, show=entry.show))
    return f"<strong>{escape(value)}</strong>"
