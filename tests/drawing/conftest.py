"""Every demo format drawn once, and single ones for closer looks."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from kb.drawing import drawings
from kb.drawing.model import Drawing
from kb.route import take
from kb.route.assemble import Assembled
from kb.route.stations import Route


@pytest.fixture(scope="session")
def routes(formats: Mapping[str, Assembled]) -> Mapping[str, Route]:
    """The route of every demo format at nominal sizes."""
    return {ident: take(assembled.case) for ident, assembled in formats.items()}


@pytest.fixture(scope="session")
def drawn(
    formats: Mapping[str, Assembled], routes: Mapping[str, Route]
) -> Mapping[str, Mapping[str, Drawing]]:
    """Every view of every demo format."""
    return {ident: drawings(assembled, routes[ident]) for ident, assembled in formats.items()}


@pytest.fixture(scope="session")
def regular(formats: Mapping[str, Assembled]) -> Assembled:
    """One format for tests that need only one."""
    return formats["b211-355"]


@pytest.fixture(scope="session")
def route(routes: Mapping[str, Route]) -> Route:
    """Its route."""
    return routes["b211-355"]


@pytest.fixture(scope="session")
def views(drawn: Mapping[str, Mapping[str, Drawing]]) -> Mapping[str, Drawing]:
    """Its drawings."""
    return drawn["b211-355"]
