"""Documents as HTML, for the tablet and for the browser's printer, and the fonts of pages and sheets.

A fragment has no style of its own; site/sheet/sheet.css is its style for screen and paper. In print a frame
of one table repeats the identity strip and the code on every page, in every browser. The number of the page
is in the margin if the browser can count pages.

Fonts go into a style sheet as data: some browsers load no font from another folder for a page opened from
disk. site/fonts has the files, their licences, and the script that makes them.
"""

from __future__ import annotations

import base64
import io
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import fields, is_dataclass, replace
from functools import cache, lru_cache
from html import escape
from itertools import groupby
from typing import Any, TypeAlias

import segno
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from kb.blocks import MISSING, DocumentPart, Paper, PrintedDocument
from kb.folders import shipped
from kb.output.svg import picture_svg
from kb.pictures import Picture

_PAPER: Mapping[Paper, str] = {
    "a4": "",
    "letter": "@media print { .sheet { line-height: 1; }"
    " .sheet .values :is(th, td) { padding-bottom: 0.2mm; padding-top: 0.2mm; }"
    " .sheet section { margin-top: 1.2mm; } .sheet .ruled { height: 6mm; }"
    " .sheet .plans td { line-height: 0.97; padding-bottom: 0.3mm; } }\n"
    "@page half { size: 5.5in 8.5in; }\n",
}
"""What a paper shorter than A4 needs to hold as much, and the size of its half."""

_LOOKS = {
    "bold": ("b", ""),
    "italic": ("i", ""),
    "firm": ("span", "firm"),
    "strong": ("b", "strong"),
    "small": ("small", ""),
    "rank": ("b", "rank"),
    "tag": ("span", "tag"),
    "framed": ("span", "alike"),
    "struck": ("s", "firm"),
    "code": ("b", "code"),
    "missing": ("b", "missing"),
}
"""Tag and class of each look of words."""

_FIGURES = {"machines": {1: "many"}, "out": {1: "many", 2: "size"}, "settings": {1: "old"}}
"""Classes of short columns of figures, by kind of table and column."""

_CLASSES = {
    "material": "material broad",
    "pack": "pack broad",
    "out": "machines out",
    "settings": "machines settings",
}
"""Classes of tables that share their style with others; all else is dressed by its kind."""

_STACKED = ("matrix", "grid", "locks", "plans")
"""Tables whose rows become lists on a narrow screen, each cell after the title of its column."""


Part: TypeAlias = Callable[..., Markup]
"""Puts a piece into a page: its arguments are all that the piece shows, `caller` renders it."""

Square: TypeAlias = Callable[[str], str]
"""Markup of the square code of a text."""

PIXELS = 4
"""Pixels along a side of each square of an image."""

INCOMPLETE = (
    "NOT FOR USE: parts of this page did not load. Scripts are off, or a file of the site is missing. Open "
    "the PDF if it is linked above, get the printed sheet, or make it with the command: sizebook changeover "
    "FROM TO --line LINE --pdf"
)
"""On a page of the site until the pieces that it shares are in."""


def whole(*_shown: object, caller: Callable[[], Markup]) -> Markup:
    """A piece as it is, in a page that needs no other file."""
    return caller()


def page(
    *documents: PrintedDocument,
    paper: Paper = "a4",
    shared: str | None = None,
    part: Part = whole,
    square: Square | None = None,
    scripts: Sequence[str] = (),
    before: str = "",
    mark: str = "",
) -> str:
    """Documents as a whole page.

    Args:
        documents: one or more
        paper: size of the paper; a card is half of it
        shared: address of the folder with `fonts.css` and `sheet.css`. Default: the page has both in it
        part: puts in the pieces that the page shares with others
        square: draws the square codes. Default: as SVG
        scripts: addresses of the scripts with these pieces; until they run, the page says NOT FOR USE
        before: words before the title in the browser's tab
        mark: markup at the beginning of the page
    """
    body, title = "".join(fragment(one, part, square) for one in documents), documents[0].tab
    first = f'<p class="incomplete" role="alert">{escape(INCOMPLETE)}</p>\n' if scripts else ""
    last = "".join(f'<script src="{escape(name)}"></script>\n' for name in scripts)
    rules = f"@page sheet {{ size: {paper}; }}\n@page card {{ size: {paper}; }}\n{_PAPER[paper]}"
    if shared is None:
        links, rules = "", fonts_for(title + body) + style() + rules
    else:
        links = "".join(
            f'<link rel="stylesheet" href="{escape(shared)}/{name}">\n' for name in ("fonts.css", "sheet.css")
        )
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(before + title)}</title>\n{links}<style>\n{rules}</style>\n"
        f'</head>\n<body class="sheet-page">\n{mark}<main>\n{first}{body}</main>\n{last}</body>\n</html>\n'
    )


def fragment(document: PrintedDocument, part: Part = whole, square: Square | None = None) -> str:
    """A document as one `article`; every text of the book is text in it, never markup."""
    data = as_data(document, square)
    body = _environment().get_template("document.html.jinja").render(doc=data, part=part)
    return re.sub(r"\n\s*", "\n", body).strip() + "\n"


def as_data(document: PrintedDocument, square: Square | None = None) -> dict[str, Any]:
    """A document as both templates read it: its tree, with pictures and square code as SVG."""
    drawn = square or square_svg
    return {
        **tree(replace(document, parts=()), picture_svg),
        "parts": [_section(one) for one in document.parts],
        "square": drawn(document.qr) if document.qr else "",
    }


@lru_cache(maxsize=1024)
def _section(one: DocumentPart) -> Any:
    """The tree of a part; many changeovers have some parts in common."""
    return tree(one, picture_svg)


def tree(one: Any, drawn: Callable[[Picture], str]) -> Any:
    """A document as dictionaries, lists and texts; `is` names the class of each block.

    Args:
        one: the document, or a part of it
        drawn: what makes the text of a picture's file
    """
    if isinstance(one, tuple):
        return [tree(each, drawn) for each in one]
    if isinstance(one, Picture):
        return {"is": "picture", "kind": one.kind, "title": one.title, "svg": drawn(one)}
    kind: Any = type(one)
    name, keys = _shape(kind)
    return {"is": name, **{key: tree(getattr(one, key), drawn) for key in keys}} if keys else one


@cache
def _shape(kind: Any) -> tuple[str, tuple[str, ...]]:
    """Name and keys of a block's class; no keys for all else."""
    keys = tuple(one.name for one in fields(kind)) if is_dataclass(kind) else ()
    return kind.__name__.lower(), keys


@lru_cache
def _square(text: str) -> segno.QRCode:
    return segno.make(text, error="m", micro=False)


def square_svg(text: str) -> str:
    """A square code as a drawing, dark on a transparent ground."""
    drawn = io.BytesIO()
    _square(text).save(drawn, kind="svg", xmldecl=False, svgns=True, border=2, omitsize=True)
    return drawn.getvalue().decode("ascii").strip()


def square_image(text: str) -> str:
    """A square code as an image, a quarter of the drawing in length."""
    return f'<img class="segno" alt="" src="{_square(text).png_data_uri(scale=PIXELS, border=2)}">'


def style() -> str:
    """The style sheet of fragments, for screen and paper."""
    return (shipped("site") / "sheet" / "sheet.css").read_text(encoding="utf-8")


def places_of(values: Iterable[Mapping[str, Any]]) -> int:
    """The most decimals among these values, for their points to be one below the other."""
    texts = [one[key] for one in values for key in ("least", "target", "most")]
    return max((len(text.partition(".")[2]) for text in texts), default=0)


def short_of(text: str, places: int) -> int:
    """How many signs a number lacks to end where one with so many decimals ends.

    Example:
        >>> short_of("12.5", 3), short_of("12", 3), short_of("12.500", 3)
        (2, 4, 0)
    """
    if not places:
        return 0
    _, point, decimals = text.partition(".")
    return max(0, places - len(decimals)) + (0 if point else 1)


def _say(words: Iterable[Mapping[str, str]]) -> Markup:
    """Words with the tag of each look."""
    said = []
    for one in words:
        if one["look"] == "break":
            said.append("<br>")
        elif not one["look"]:
            said.append(escape(one["text"]))
        else:
            tag, kind = _LOOKS[one["look"]]
            named = f' class="{kind}"' if kind else ""
            said.append(f"<{tag}{named}>{escape(one['text'])}</{tag}>")
    return Markup("".join(said))


def _values_of(table: Mapping[str, Any]) -> Iterator[Mapping[str, Any]]:
    """The values with limits of a table."""
    for group in table["groups"]:
        for row in group["rows"]:
            halved = row["half"] and table["kind"] == "machines"
            yield from (one for one in row["cells"] if one["is"] == "cell" and not halved)


def _own(avoid: str, always: str) -> str:
    return avoid.removesuffix(f"; {always}") if always else avoid


def _by_end(cautions: list[Mapping[str, str]]) -> list[tuple[tuple[str, str], list[Mapping[str, str]]]]:
    """Cautions that are avoided alike, together, in the order in which each avoidance comes first."""
    ends = [(one["signal"], one["avoid"]) for one in cautions]
    order = sorted(range(len(cautions)), key=lambda i: ends.index(ends[i]))
    return [(end, [cautions[i] for i in group]) for end, group in groupby(order, key=lambda i: ends[i])]


def _runs(rows: list[Mapping[str, Any]], key: str) -> list[tuple[Any, list[Mapping[str, Any]]]]:
    """Neighbours that are alike in a key, together."""
    return [(value, list(some)) for value, some in groupby(rows, key=lambda row: row[key])]


@cache
def _environment() -> Environment:
    made = Environment(
        loader=FileSystemLoader(shipped("site") / "sheet"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["groupby_run"] = _runs
    made.globals.update(
        MISSING=MISSING,
        say=_say,
        FIGURES=_FIGURES,
        CLASSES=_CLASSES,
        STACKED=_STACKED,
        places_of=places_of,
        short_of=short_of,
        values_of=_values_of,
        own=_own,
        by_end=_by_end,
    )
    return made


# --- fonts ------------------------------------------------------------------------------------

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
    """The style that brings the fonts of a sheet."""
    more = any(first <= ord(letter) <= last for letter in set(text) for first, last in _MORE)
    return _NOTICE + "".join(_rules(family, more=more) for family in SHEET)


def licence(name: str) -> str:
    """A licence text of the fonts."""
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
