"""Takes the pictures of README.md from the demo book's site.

Run from the top of the repository, with chromium on the path:

    sizebook publish specs --to build/site && python site/pictures/make.py build/site
"""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

from playwright.sync_api import sync_playwright

HERE = Path(__file__).resolve().parent
MOST_BYTES = 150_000

PICTURES = (
    ("site-page", "formats/b211-330.html", "screen", 1280, 800),
    ("setup-sheet", "sheets/b211-330-heron.html", "print", 794, 1123),
    ("changeover-plan", "changeovers/heron-days.1.html", "screen", 1280, 800),
)
"""Name, page, medium, and size [px] of each picture; 794 x 1123 px is A4 at 96 px an inch."""


def main(site: Path) -> None:
    """Take each picture as JPEG, at the best quality that its size allows."""
    browser_path = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))))
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=browser_path, args=["--no-sandbox"])
        for name, address, medium, width, height in PICTURES:
            page = browser.new_page(viewport={"width": width, "height": height})
            page.emulate_media(media=medium, color_scheme="light")
            page.goto((site / address).resolve().as_uri())
            page.wait_for_load_state("networkidle")
            for quality in (85, 70, 55, 40):
                taken = page.screenshot(type="jpeg", quality=quality)
                if len(taken) <= MOST_BYTES:
                    break
            else:
                raise SystemExit(f"{name}: more than {MOST_BYTES} bytes at any quality")
            (HERE / f"{name}.jpg").write_bytes(taken)
            print(f"{name}.jpg: {len(taken)} bytes, quality {quality}")
            page.close()
        browser.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]))
