"""The site's pages are laid out by the fonts that they bring, not by those of a machine."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.browser.conftest import BROWSERS, CLOCK, TODAY
from tests.browser.settled import settled
from tests.browser.small_site import SCREENS
from tests.machine_fonts import BOXES, MACHINES, browser_on, open_with_fonts

FONTS = MACHINES[1:]
"""Machines with a font; without any, Chromium refuses some fonts of a style sheet (seen with version 156)."""

TAGS = "main :is(p, h1, h2, li, tr, td, th, button, select, input, figure), header a, footer p"


def test_every_machine_lays_pages_out_the_same(site: Path, tmp_path: Path) -> None:
    """With any fonts, all is at the same place on a page of each kind, on desktop and phone."""
    pytest.importorskip("playwright.sync_api", reason="playwright, which drives it, is not installed")
    path = next((found for name in BROWSERS if (found := shutil.which(name))), None)
    if path is None:
        pytest.skip(f"none of {', '.join(BROWSERS)} is on the path")
    seen = {name: _seen(name, site, tmp_path, path) for name in FONTS}
    assert sum(map(len, seen["here"].values())) > 500
    for place, boxes in seen["here"].items():
        assert len(boxes) >= 5
        for name in FONTS:
            moved = [pair for pair in zip(seen[name][place], boxes, strict=True) if len(set(pair)) > 1]
            assert moved == [], (name, place)


def _seen(name: str, site: Path, folder: Path, path: str) -> dict[str, list[str]]:
    """Where everything is on the pages, as a machine shows them."""
    found = {}
    with browser_on(name, folder, path) as browser:
        for width in (1280, 390):
            context = browser.new_context(viewport={"width": width, "height": 900})
            page = context.new_page()
            page.add_init_script(CLOCK.replace("TODAY", f"{TODAY}T10:00:00"))
            for screen in SCREENS:
                open_with_fonts(page, f"{site.as_uri()}/{screen}")
                settled(page)
                found[f"{screen} at {width}"] = page.evaluate(BOXES, TAGS)
            context.close()
    return found
