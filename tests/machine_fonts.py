"""Machines with other fonts than this one, as a browser sees them."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

from fontTools.ttLib import TTFont

from kb.folders import shipped

MACHINES = ("none", "wide", "here")
"""A machine without any font, one whose only font has wide bold letters, and this one as it is.

The first two hint letters otherwise than this one too, for they have no settings at all.
"""

BOXES = """tags => [...document.querySelectorAll(tags)].map((one) => {
  const {left, top, width, height} = one.getBoundingClientRect();
  const places = [left + scrollX, top + scrollY, width, height].map((one) => one.toFixed(1));
  return [one.tagName, ...places].join(' ');
})"""
"""The place of each element on its page."""


def machine(name: str, folder: Path) -> dict[str, str]:
    """What to put into a browser's environment.

    Args:
        name: one of `MACHINES`
        folder: where its fonts and its configuration may be written
    """
    if name == "here":
        return {}
    fonts = folder / f"fonts-{name}"
    fonts.mkdir(parents=True, exist_ok=True)
    if name == "wide":
        font = TTFont(shipped("site") / "fonts" / "mono-700.woff2")
        for record in font["name"].names:
            if record.nameID in (1, 3, 4, 6):
                font["name"].setName("Elsewhere", *_keys(record))
        font.flavor = None
        font.save(fonts / "elsewhere.ttf")
    config = fonts / "fonts.conf"
    config.write_text(
        '<?xml version="1.0"?>\n<!DOCTYPE fontconfig SYSTEM "urn:fontconfig:fonts.dtd">\n'
        f"<fontconfig><dir>{escape(str(fonts))}</dir>"
        f"<cachedir>{escape(str(fonts / 'cache'))}</cachedir></fontconfig>\n",
        encoding="utf-8",
    )
    return {"FONTCONFIG_FILE": str(config)}


def open_with_fonts(tab: Any, address: str) -> None:
    """Open a page and wait for the fonts it brings.

    In a fresh process on a machine without any font, Chromium refuses fonts of a page now and then, in any
    format and at any address, and takes them when the page is loaded again (seen with version 156).
    """
    tab.goto(address)
    for _ in range(5):
        tab.evaluate("document.fonts.ready.then(() => true)")
        if "error" not in tab.evaluate("[...document.fonts].map((one) => one.status)"):
            return
        tab.reload()
    raise AssertionError(f"{address}: fonts were refused")


def _keys(record: Any) -> tuple[int, int, int, int]:
    return record.nameID, record.platformID, record.platEncID, record.langID


@contextmanager
def browser_on(name: str, folder: Path, path: str) -> Iterator[Any]:
    """A browser on such a machine.

    Args:
        name: one of `MACHINES`
        folder: where its configuration may be written
        path: the browser's program
    """
    from playwright.sync_api import sync_playwright  # noqa: PLC0415

    with sync_playwright() as driver:
        running = driver.chromium.launch(
            executable_path=path,
            args=["--no-sandbox", "--disable-gpu"],
            env={**os.environ, **machine(name, folder)},
        )
        yield running
        running.close()
