"""Pages written by hand, with live numbers: placeholders become what the book says today.

{{ value b211-330 ironed[2].thin }}   a result of the route, with its unit
{{ spec b211-330 stock.gauge }}       a value as declared
{{ drawing b211-330 dome }}           a drawing
{{ sketches b211-330 }}               where each first-off is measured
{{ term thick-wall }} {{ check trim.allowance }} {{ fault tear-off }}   links

A page about formats that the book does not have shows the numbers of the demo book, and says so.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator
from functools import cache
from html import escape

from kb.book.load import load
from kb.book.tree import Scalar
from kb.checks.words import quantity
from kb.errors import SizebookError
from kb.folders import shipped
from kb.output.svg import svg as drawn
from kb.publish.edition import Edition, FormatEdition, Routed, gather
from kb.publish.page import svg
from kb.publish.sketches import sketch
from kb.publish.terms import head_row, knowledge, written
from kb.publish.words import typeset
from kb.route.station import iter_results

_PLACE = re.compile(r"\{\{ *(value|spec|drawing|sketches|term|check|fault) +([^ }]+)(?: +([^ }]+))? *\}\}")

_HEADS = re.compile(r"^(\|.*\|\n)(\|[ :|-]+\|\n)", re.MULTILINE)
"""The heads of a table in Markdown, and the line below them."""


_OF_THE_DEMO = (
    '<p class="sb-note"><strong>Numbers and pictures on this page are those of the demo plant</strong>, '
    "whose formats this book does not have.</p>"
)


class PlaceholderError(SizebookError, LookupError):
    """A page names a value that neither the book nor the demo book has."""


def filled(text: str, edition: Edition, name: str) -> str:
    """A page with its placeholders filled.

    Args:
        text: the page's source
        edition: the edition
        name: path of the page, for links and for the error of a placeholder

    Returns:
        The page's source with numbers, drawings and links.

    Raises:
        PlaceholderError: if a placeholder names what is not there.
    """
    try:
        return _filled(text, edition, name)
    except PlaceholderError:
        heading, _, rest = _filled(text, _demo(edition.day), name).partition("\n")
        return f"{heading}\n\n{_OF_THE_DEMO}\n{rest}"


@cache
def _demo(day: datetime.date) -> Edition:
    """The formats of the demo book that pages use."""
    docs, specs = shipped("site") / "docs", shipped("specs")
    texts = [path.read_text(encoding="utf-8") for path in sorted(docs.rglob("*.md"))]
    used = {found[2] for text in texts for found in _PLACE.finditer(text)}
    formats = [specs / "formats" / f"{ident}.yaml" for ident in sorted(used)]
    return gather(load(specs, shown="specs", formats=[path for path in formats if path.is_file()]), day)


def _filled(text: str, edition: Edition, name: str) -> str:
    up = "../" * name.count("/")

    def fill(found: re.Match[str]) -> str:
        what, first, second = found.groups()
        try:
            return _replacement(edition, what, first, second, up)
        except KeyError as error:
            raise PlaceholderError(f"{name}: {found[0]}") from error

    explained: set[str] = set()
    linked = _HEADS.sub(lambda found: head_row(found[1], up, explained) + found[2], text)
    return _PLACE.sub(fill, linked)


def _replacement(edition: Edition, what: str, first: str, second: str | None, up: str) -> str:
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
    if what == "sketches":
        return f'<div class="sb-sketches">{"".join(_sketches(one.routed))}</div>'
    if what == "drawing":
        picture = svg(drawn(one.routed.drawings[key], styled=False))
        return f'<figure class="sb-drawing">{picture}</figure>'
    entry = {result.key: result for result in iter_results(one.routed.route)}[key]
    value = typeset(quantity(float(entry.value), unit=entry.unit, show=entry.show))
    return f"<strong>{escape(value)}</strong>"


def _sketches(routed: Routed) -> Iterator[str]:
    for one in written("sketches")["sketches"]:
        picture = svg(sketch(f"Where to measure: {one['title']}", one["drawing"], routed))
        yield f"<figure>{picture}<figcaption>{escape(one['title'])}</figcaption></figure>"
