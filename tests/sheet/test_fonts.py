"""Fonts travel with the sheets, so that every machine prints the same."""

from __future__ import annotations

import base64
import io
import re
import shutil
from collections.abc import Mapping
from pathlib import Path

import pytest
from fontTools.pens.recordingPen import RecordingPen
from fontTools.ttLib import TTFont
from pypdf import PdfReader

from kb.blocks import Paper
from kb.folders import shipped
from kb.output.html import FAMILIES, LICENCES, SHEET, font_style, fonts_for, licence
from kb.sheet.model import Sheet
from tests.machine_fonts import BOXES, MACHINES, browser_on, open_with_fonts
from tests.rendered import sheet_page
from tests.sheet.test_html import BROWSER, needs_browser
from tests.sheet.test_pdf import MOST_BROWSER_SIDES, PAPERS

MOST = 60_000
"""What the fonts may add to a sheet [bytes]."""

GENERIC = {"monospace", "sans-serif", "inherit"}

TEXTS = ("site", "specs", "schema", "kb")
ENDS = {".yaml", ".py", ".jinja", ".html", ".css", ".js", ".md", ".json"}
DRAWN = {"\N{ZERO WIDTH SPACE}"}
"""Signs that have no shape."""


def faces() -> dict[str, list[TTFont]]:
    """The files of each family."""
    folder = shipped("site") / "fonts"
    return {
        family: [TTFont(path) for path in sorted(folder.glob(f"{begin}-*.woff2"))]
        for family, begin in FAMILIES.items()
    }


def test_every_sign_of_the_product_has_a_shape() -> None:
    """Each character in templates, demo book, schemas and code is in the mono face, or in all sans faces."""
    root = shipped("site").parent
    said = {
        sign
        for folder in TEXTS
        for path in (root / folder).rglob("*")
        if path.suffix in ENDS
        for sign in path.read_text(encoding="utf-8")
    } - set("\n\t")
    covered = {
        family: [set(map(chr, one.getBestCmap())) for one in fonts] for family, fonts in faces().items()
    }
    mono = set.union(*covered["Sizebook Mono"])
    assert said - DRAWN - mono == set()
    letters = {sign for sign in said if sign.isalnum()}
    for family in FAMILIES:
        assert letters - set.union(*covered[family]) == set()


def test_letters_and_figures_are_distinguished() -> None:
    """In every font 0 is no O, 1, l and I are three shapes, and all figures have one width."""
    for fonts in faces().values():
        for font in fonts:
            names, shapes = font.getBestCmap(), font.getGlyphSet()
            if ord("0") not in names:
                continue

            def drawn(sign: str, names: dict[int, str] = names, shapes: Mapping[str, object] = shapes) -> str:
                pen = RecordingPen()
                shapes[names[ord(sign)]].draw(pen)  # type: ignore[attr-defined]
                return repr(pen.value)

            assert len({drawn(sign) for sign in "0OØ1lI|"}) == 7
            assert len({font["hmtx"][names[ord(figure)]][0] for figure in "0123456789"}) == 1


def test_the_fonts_of_a_sheet_are_small(sheets: Mapping[str, Sheet]) -> None:
    """A sheet carries its two families once, and further letters only where its text has them."""
    page = sheet_page(sheets["b204-330/plover"])
    assert set(re.findall(r'@font-face{font-family:"([^"]+)"', page)) == set(SHEET)
    assert page.count("@font-face") == 4
    plain, more = fonts_for("65.840 ±0.001 mm Ø µ é"), fonts_for("Łódź")
    assert plain in page
    assert len(plain) <= MOST
    assert more.count("unicode-range") == 4
    assert more.count("@font-face") == 8


def test_the_fonts_are_read_back_whole() -> None:
    """What the style carries as data is the font files, byte for byte."""
    carried = re.findall(r"base64,([^\"]+)\"", font_style())
    files = [path.read_bytes() for path in (shipped("site") / "fonts").glob("*.woff2")]
    assert sorted(base64.b64decode(one) for one in carried) == sorted(files)


def test_each_font_has_its_licence() -> None:
    """The licence texts travel with the fonts, and the style names them."""
    assert "SIL OPEN FONT LICENSE Version 1.1" in licence(LICENCES[0])
    assert "Permission is hereby granted, free of charge" in licence(LICENCES[1])
    assert "SIL Open Font License 1.1" in font_style()
    assert all(
        "License" in str(font["name"].getDebugName(13)) for fonts in faces().values() for font in fonts
    )


def test_no_style_names_a_font_of_the_machine() -> None:
    """Styles of sheets and site name the families that travel, and a generic one after them."""
    site = shipped("site")
    sources = [*(site / "theme").rglob("*.css"), *(site / "sheet").glob("*.css")]
    sources += [*(site / "templates").glob("*.html"), *(site / "templates").glob("*.md")]
    texts = [one.read_text(encoding="utf-8") for one in sources]
    stacks = [
        stack
        for text in texts
        for stack in re.findall(
            r"(?:font-family|--(?:firm|text|sb-text|sb-mono)|font)\s*:\s*([^;{}]+)[;}]", text
        )
        if not stack.strip().startswith(("var(", "inherit"))
    ]
    named = [name for stack in stacks for name in re.findall(r'"([^"]+)"', stack)]
    assert set(named) == set(FAMILIES)
    last = {re.split(r"[\s,]+", stack.strip())[-1] for stack in stacks}
    assert last <= GENERIC | {"var(--firm)", "var(--text)", "var(--sb-text)", "var(--sb-mono)"}


@needs_browser
@pytest.mark.parametrize("paper", PAPERS)
def test_every_machine_prints_the_same(sheets: Mapping[str, Sheet], tmp_path: Path, paper: Paper) -> None:
    """With any fonts or none, a browser prints the same rows at the same places.

    The same page without the fonts it carries shows that the machines differ.
    """
    pytest.importorskip("playwright.sync_api", reason="playwright, which drives it, is not installed")
    page = sheet_page(sheets["b211-330/heron"], paper)
    bare = re.sub(r"@font-face{[^}]*}", "", page)
    for name, text in (("page", page), ("bare", bare)):
        (tmp_path / f"{name}.html").write_text(text, encoding="utf-8")
    seen = {name: _seen(name, tmp_path) for name in MACHINES}
    assert seen["none"]["page"] == seen["here"]["page"]
    assert seen["wide"]["page"] == seen["here"]["page"]
    assert seen["none"]["bare"] != seen["wide"]["bare"]
    sides, rows, printed = seen["none"]["page"]
    assert sides <= MOST_BROWSER_SIDES
    assert len(rows) > 200
    assert len(printed) > 1000


def _seen(name: str, folder: Path) -> dict[str, tuple[int, list[str], list[tuple[str, int, int]]]]:
    """On a machine: the sides of a print, where rows are on a screen, and where text is on the paper."""
    found = {}
    with browser_on(name, folder, str(shutil.which(str(BROWSER)))) as browser:
        for page in ("page", "bare"):
            tab = browser.new_page(viewport={"width": 768, "height": 1024})
            open_with_fonts(tab, (folder / f"{page}.html").as_uri())
            rows = tab.evaluate(BOXES, "tr, li, h2, h3, p, dd")
            printed = PdfReader(io.BytesIO(tab.pdf(prefer_css_page_size=True))).pages
            found[page] = (len(printed), rows, [one for side in printed for one in _texts(side)])
    return found


def _texts(side: object) -> list[tuple[str, int, int]]:
    """Each run of text on a side with its place [pt]."""
    found: list[tuple[str, int, int]] = []

    def visit(text: str, cm: list[float], tm: list[float], _font: object, _size: float) -> None:
        if text.strip():
            x, y = tm[4] * cm[0] + tm[5] * cm[2] + cm[4], tm[4] * cm[1] + tm[5] * cm[3] + cm[5]
            found.append((text.strip(), round(x), round(y)))

    side.extract_text(visitor_text=visit)  # type: ignore[attr-defined]
    return found
