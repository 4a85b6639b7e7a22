"""What a module of pages declares: title, place in the navigation, and what renders them."""

from __future__ import annotations

import pkgutil
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from kb.publish.changeover_pages import Plans
    from kb.publish.edition import Edition
    from kb.sheet.model import Sheet

Rendered: TypeAlias = Iterator[tuple[str, str | bytes]]
"""Path below the site's sources and content of each file; a page ends in `.md`."""


@dataclass(frozen=True, slots=True)
class Context:
    """What pages are made from.

    Attributes:
        edition: the book as it is published.
        setups: its setup sheets.
        plans: its plans of changeovers.
        at: where each changeover is, by crew and anchor of the pair.
    """

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
        under: title of the part of the navigation that they are in, "" for the top.
    """

    title: str
    path: str
    render: Callable[[Context], Rendered]
    under: str = ""


@cache
def every_pages() -> tuple[Pages, ...]:
    """All pages that modules of this package declare, in the order of the modules' names."""
    package = import_module("kb.publish")
    modules = [import_module(f"kb.publish.{one.name}") for one in pkgutil.iter_modules(package.__path__)]
    return tuple(pages for module in modules for pages in getattr(module, "PAGES", ()))
