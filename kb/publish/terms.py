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
from kb.publish.words import typeset


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
    """The glossary's entry for a head, found by the words before a comma or bracket.

    Args:
        words: a head, such as `gauge, mm` or `axial load, empty (estimate)`

    Returns:
        The entry whose term, or another name of it, is just these words; None when there is none.

    Example:
        >>> term_of("gauge, mm")["id"], term_of("gauge over blank diameter")
        ('gauge', None)
    """
    return _by_name().get(re.split(r"[,(]", words)[0].strip().casefold())


def head(words: str, up: str, explained: set[str]) -> Markup:
    """A head of a table, linked to the glossary where the glossary has its words.

    Args:
        words: the head
        up: way from the page to the site's top, such as `../`
        explained: terms whose meaning the page already has; a script lends it to the rest. It grows

    Returns:
        Markup; the words alone where no entry is meant.
    """
    entry = term_of(words)
    if entry is None:
        return Markup(escape(typeset(words)))
    meaning = "" if entry["id"] in explained else f' title="{escape(typeset(entry["meaning"]))}"'
    explained.add(entry["id"])
    href = f"{up}glossary.html#{entry['id']}"
    return Markup(f'<a class="sb-term" href="{href}"{meaning}>{escape(typeset(words))}</a>')


def head_row(row: str, up: str, explained: set[str]) -> str:
    """The head of a Markdown table, `| a | b |`, as `head` has each cell; placeholders are kept."""
    cells = (cell.strip() for cell in row.strip("|\n").split("|"))
    made = (cell if "{{" in cell else str(head(cell, up, explained)) for cell in cells)
    return f"| {' | '.join(made)} |\n"


def terms_for(heads: Iterable[str]) -> dict[str, list[str]]:
    """Place and meaning of the heads that have an entry, for tables that scripts make."""
    found = {words: term_of(words) for words in dict.fromkeys(heads)}
    return {
        words: [f"glossary.html#{entry['id']}", entry["meaning"]]
        for words, entry in found.items()
        if entry is not None
    }
