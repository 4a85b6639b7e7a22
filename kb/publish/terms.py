"""Words of table heads that the glossary explains, as links to their entries."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache
from html import escape
from typing import Any

import yaml
from markupsafe import Markup

from kb.folders import shipped

_TOLD = re.compile(r'(<a class="sb-term" href="[^"]*")( title="[^"]*")')


@cache
def written(name: str) -> dict[str, Any]:
    """The fault guide or the glossary, as written in the site's sources."""
    data: dict[str, Any] = yaml.safe_load((shipped("site") / f"{name}.yaml").read_text(encoding="utf-8"))
    return data


def knowledge(name: str) -> list[dict[str, Any]]:
    """The faults, or the terms of the glossary."""
    entries: list[dict[str, Any]] = written(name)["faults" if name == "faults" else "terms"]
    return entries


@cache
def _by_name() -> dict[str, dict[str, Any]]:
    return {
        called.casefold(): one
        for one in knowledge("glossary")
        for called in (one["term"], *one.get("also_called", ()))
    }


def term_of(words: str) -> dict[str, Any] | None:
    """The glossary's entry for a head, told by the words before a comma or bracket.

    Args:
        words: a head, such as `gauge, mm` or `axial load, empty (estimate)`

    Returns:
        The entry whose term, or another name of it, is just these words; None when there is none.

    Example:
        >>> term_of("gauge, mm")["id"], term_of("gauge over blank diameter")
        ('gauge', None)
    """
    return _by_name().get(re.split(r"[,(]", words)[0].strip().casefold())


def head(words: str, up: str) -> Markup:
    """A head of a table, linked to the glossary where the glossary has its words.

    Args:
        words: the head
        up: way from the page to the site's top, such as `../`

    Returns:
        Markup; the words alone where no entry is meant.
    """
    entry = term_of(words)
    if entry is None:
        return Markup(escape(words))
    href = f"{up}glossary.html#{entry['id']}"
    return Markup(f'<a class="sb-term" href="{href}" title="{escape(entry["meaning"])}">{escape(words)}</a>')


def told_once(markup: str) -> str:
    """A page that tells the meaning of each term where it comes first; a script lends it to the rest."""
    told: set[str] = set()

    def shorter(found: re.Match[str]) -> str:
        link = found[1]
        again = link in told
        told.add(link)
        return link if again else found[0]

    return _TOLD.sub(shorter, markup)


def terms_for(heads: Iterable[str]) -> dict[str, list[str]]:
    """Place and meaning of the heads that have an entry, for tables that scripts make."""
    found = {words: term_of(words) for words in dict.fromkeys(heads)}
    return {
        words: [f"glossary.html#{entry['id']}", entry["meaning"]]
        for words, entry in found.items()
        if entry is not None
    }
