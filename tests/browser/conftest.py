"""A small site built with the front end as it ships, and a browser that opens it from disk."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, TypeAlias

import pytest

from kb.folders import shipped
from tests.browser.small_site import pages
from tests.browser.visit import Visit
from tests.publish.conftest import demo_site

PATIENCE = 20_000
"""How long a page may take to come to what is expected of it [ms]; a busy machine is slow, not wrong."""

TODAY = "2026-11-23"
"""The day the browser's clock shows unless a test sets another."""

WIDTHS = {"desktop": 1280, "tablet": 768, "phone": 390, "narrow": 320}

BROWSERS = ("chromium", "chromium-browser", "google-chrome")

QUIET = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--use-fake-ui-for-media-stream",
    "--use-fake-device-for-media-stream",
)

OpenPage: TypeAlias = Callable[..., Any]

CLOCK = """
{
  const shift = new Date('TODAY') - new Date();
  window.Date = class extends Date {
    static now() { return super.now() + shift; }
    constructor(...given) { given.length ? super(...given) : super(new.target.now()); }
  };
}
"""
"""Sets the browser's clock; it runs on from there."""

BUILD = """
import sys
from mkdocs.commands.build import build
from mkdocs.config import load_config
config, docs, site = sys.argv[1:]
build(load_config(config, docs_dir=docs, site_dir=site, site_name="Small works"))
"""


@pytest.fixture(scope="session")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the built small site."""
    pytest.importorskip("material", reason="the site is built with mkdocs-material, which is not installed")
    root = tmp_path_factory.mktemp("front-end")
    for name, text in pages().items():
        path = root / "docs" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    config = shipped("site") / "mkdocs.yml"
    command = [sys.executable, "-c", BUILD, str(config), str(root / "docs"), str(root / "site")]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return root / "site"


@pytest.fixture(scope="module")
def chromium() -> Iterator[Any]:
    """A running browser."""
    path = next((found for name in BROWSERS if (found := shutil.which(name))), None)
    if path is None:
        pytest.skip(f"none of {', '.join(BROWSERS)} is on the path")
    api = pytest.importorskip("playwright.sync_api", reason="playwright, which drives it, is not installed")
    api.expect.set_options(timeout=PATIENCE)
    with api.sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=path, args=list(QUIET))
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def axe() -> str:
    """The source of axe-core, which judges what a machine can judge of accessibility."""
    folders = (os.environ.get("AXE_CORE", "."), "node_modules/axe-core", "build/axe/node_modules/axe-core")
    source = next((file for folder in folders if (file := Path(folder) / "axe.min.js").is_file()), None)
    if source is None:
        pytest.skip("axe-core is not installed: npm install --prefix build/axe axe-core")
    return source.read_text(encoding="utf-8")


@pytest.fixture
def open_page(chromium: Any, site: Path) -> Iterator[OpenPage]:
    """Opens a page of the small site from disk; a page that complains on its console fails the test."""
    contexts, complaints = [], []

    def heard(said: Any) -> None:
        if said.type in {"error", "warning"}:
            complaints.append(said.text)

    def opened(name: str, width: str = "desktop", today: str = TODAY, script: str = "", **traits: Any) -> Any:
        screen = {"width": WIDTHS[width], "height": 900}
        context = chromium.new_context(viewport=screen, **traits)
        contexts.append(context)
        context.set_default_timeout(PATIENCE)
        page = context.new_page()
        page.add_init_script(CLOCK.replace("TODAY", f"{today}T10:00:00"))
        page.on("console", heard)
        page.on("pageerror", lambda error: complaints.append(str(error)))
        if script:
            page.add_init_script(script)
        page.goto(f"{site.as_uri()}/{name}")
        return page

    yield opened
    for context in contexts:
        context.close()
    assert complaints == []


@pytest.fixture(scope="session")
def published(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the demo book's site."""
    return demo_site(tmp_path_factory)


@pytest.fixture
def visit(chromium: Any, published: Path) -> Iterator[Visit]:
    """A fresh page at desktop width."""
    made = Visit(chromium, published, PATIENCE)
    yield made
    made.close()
