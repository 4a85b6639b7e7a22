"""The fonts of pages and sheets, carried along so that no layout depends on a machine's own fonts.

They go into a style sheet as data: a page opened from disk may not load a font from another folder in every
browser. site/fonts has the files, their licences, and the script that makes them.
"""

from __future__ import annotations

import base64
from functools import cache

from kb.folders import shipped

FAMILIES = {"Sizebook Sans": "sans", "Sizebook Narrow": "narrow", "Sizebook Mono": "mono"}
"""Family as the styles name it, and how its files in site/fonts begin."""

SHEET = ("Sizebook Narrow", "Sizebook Mono")
"""The families of a sheet; the site's pages use all."""

LICENCES = ("LICENCE-sans-narrow.txt", "LICENCE-mono.txt")
"""Licence texts in site/fonts."""

_MORE = ((0x100, 0x17F), (0x391, 0x3BB), (0x3BD, 0x3BF), (0x3C1, 0x3C9))
"""Letters of the files that end in `-more`: Latin beyond western Europe, Greek beyond µ, π and Ω."""

_RANGE = ",".join(f"U+{first:X}-{last:X}" for first, last in _MORE)

_NOTICE = (
    "/* Sizebook Sans and Narrow: Fira Sans, copyright The Mozilla Foundation and Telefonica S.A.,"
    " SIL Open Font License 1.1. Sizebook Mono: DejaVu Sans Mono, copyright Bitstream, Inc., changes in the"
    " public domain, Bitstream Vera licence. Cut down to the characters used. */\n"
)


def font_style() -> str:
    """The style that brings all fonts, with all their letters."""
    return _NOTICE + "".join(_rules(family, more=True) for family in FAMILIES)


def fonts_for(text: str) -> str:
    """The style that brings the fonts of a sheet.

    Args:
        text: what the sheet says; letters beyond western Europe are brought only for a text that has them

    Returns:
        Rules with the fonts in them.
    """
    more = any(first <= ord(letter) <= last for letter in set(text) for first, last in _MORE)
    return _NOTICE + "".join(_rules(family, more=more) for family in SHEET)


def licence(name: str) -> str:
    """A licence text of the fonts.

    Args:
        name: one of `LICENCES`
    """
    return (shipped("site") / "fonts" / name).read_text(encoding="utf-8")


@cache
def _rules(family: str, *, more: bool) -> str:
    begin = FAMILIES[family]
    rules = []
    for path in sorted((shipped("site") / "fonts").glob(f"{begin}-*.woff2")):
        weight, _, part = path.stem.removeprefix(f"{begin}-").partition("-")
        if part and not more:
            continue
        data = base64.b64encode(path.read_bytes()).decode("ascii")
        limited = f";unicode-range:{_RANGE}" if part else ""
        rules.append(
            f'@font-face{{font-family:"{family}";font-weight:{weight};font-display:block'
            f'{limited};src:url("data:font/woff2;base64,{data}")format("woff2")}}\n'
        )
    return "".join(rules)
