"""Makes the font files of this folder from the packages that carry the whole fonts.

    npm pack @expo-google-fonts/fira-sans@0.4.1 @expo-google-fonts/fira-sans-condensed@0.4.1
    npm pack dejavu-fonts-ttf@2.37.3
    for one in *.tgz; do mkdir "${one%.tgz}" && tar -xzf "$one" -C "${one%.tgz}"; done
    python site/fonts/make.py FOLDER

FOLDER holds the unpacked packages. Each font is cut down to the characters and the features that the
styles use. The same packages and the same fonttools and brotli give the same bytes.
"""

from __future__ import annotations

import sys
from pathlib import Path

from fontTools import subset

HERE = Path(__file__).resolve().parent

_SANS = "expo-google-fonts-fira-sans-[0-9]*/package"
_NARROW = "expo-google-fonts-fira-sans-condensed-*/package"
_MONO = "dejavu-fonts-ttf-*/package/ttf"

SOURCES = {
    "sans-400": f"{_SANS}/400Regular/FiraSans_400Regular.ttf",
    "sans-500": f"{_SANS}/500Medium/FiraSans_500Medium.ttf",
    "sans-600": f"{_SANS}/600SemiBold/FiraSans_600SemiBold.ttf",
    "narrow-400": f"{_NARROW}/400Regular/FiraSansCondensed_400Regular.ttf",
    "narrow-700": f"{_NARROW}/700Bold/FiraSansCondensed_700Bold.ttf",
    "mono-400": f"{_MONO}/DejaVuSansMono.ttf",
    "mono-700": f"{_MONO}/DejaVuSansMono-Bold.ttf",
}
"""The file in the unpacked packages that each of ours is cut from."""

SIGNS = "‐‑‒–—―‘’‚“”„†‡•…\u202f‰′″‹›€←↑→↓↔↕∆∑−√∞≈≠≤≥█■□▲△▼▽◆◇○●⚠✓✗µπΩ"
"""Signs of text, figures, drawings and marks. The sans faces lack the shapes, which the mono face has."""

PARTS = {
    "": [*range(0x20, 0x7F), *range(0xA0, 0x100), *map(ord, SIGNS)],
    "-more": [code for code in (*range(0x100, 0x180), *range(0x391, 0x3CA)) if chr(code) not in SIGNS],
}
"""Characters of each file by the end of its name: what every sheet uses; other Latin letters, and Greek."""

NAMES = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine")

FIGURES = {
    **{figure: f"{name}.tf" for figure, name in zip("123456789", NAMES, strict=True)},
    "0": "zero.tf.zero",
}
"""The figures of the sans faces: of one width, the zero with a stroke. They take the place of the usual ones,
because a PDF from a browser loses the text of a figure that only a feature brings."""

FEATURES = ["ccmp", "locl", "mark", "mkmk"]
"""Accents."""


def main(folder: Path) -> None:
    """Cut every font down and write it here.

    Args:
        folder: where the packages are unpacked
    """
    for name, pattern in SOURCES.items():
        (source,) = folder.glob(pattern)
        for part, characters in PARTS.items():
            options = subset.Options(
                flavor="woff2",
                layout_features=FEATURES,
                hinting=False,
                recalc_timestamp=False,
                name_IDs=[0, 1, 2, 3, 4, 5, 6, 13, 14],
            )
            options.drop_tables += ["FFTM"]
            font = subset.load_font(str(source), options)
            known = font.getReverseGlyphMap()
            for table in font["cmap"].tables:
                table.cmap |= {ord(one): shape for one, shape in FIGURES.items() if shape in known}
            cutter = subset.Subsetter(options)
            cutter.populate(unicodes=characters)
            cutter.subset(font)
            subset.save_font(font, str(HERE / f"{name}{part}.woff2"), options)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
