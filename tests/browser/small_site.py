"""What the small site says: five formats, their sheets, a walk of four stations, a long table."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import yaml

from kb.folders import shipped
from kb.publish.search import Indexed, search_script
from kb.publish.sheet_pages import shared_files

BUILT = "2026-11-20"
"""The date of the small site's copy."""

SCREENS = (
    "index.html",
    "formats/index.html",
    "formats/b211-330.html",
    "formats/compare.html#b202-250,b211-330",
    "sheets/index.html",
    "changeovers/index.html#heron,b211-330,b211-440",
    "process/b211-330.html#ring-1",
    "checks/index.html",
    "limits.html",
)
"""One page of each kind."""

# id, title, status, contents, diameter, height, end, gauge, mass, line
FORMATS = (
    ("b202-250", "250 ml, 202 body", "released", 250, 52.90, 129.75, "dunlin-200", 0.255, 8.25, "plover"),
    ("b204-330", "330 ml, 204 body", "trial", 330, 57.49, 143.80, "curlew-202", 0.255, 9.72, "plover"),
    ("b211-330", "330 ml, 211 body", "released", 330, 66.03, 114.85, "curlew-202", 0.262, 10.26, "heron"),
    ("b211-440", "440 ml, 211 body", "released", 440, 66.03, 147.15, "curlew-202", 0.265, 12.13, "heron"),
    ("b211-500", "500 ml, 211 body", "draft", 500, 66.03, 164.75, "curlew-202", 0.268, None, "heron"),
)

# line, format, code, since, state, changed; in the order of issue, as the register has them
SHEETS = (
    ("heron", "b211-330", "WXY-HM", "2025-09-14", "superseded", ["First issue."]),
    ("heron", "b211-330", "CDJ-37", "2026-03-02", "superseded", ["dome depth 10.40 mm to 10.60 mm"]),
    ("heron", "b211-330", "K7F-4X", "2026-05-11", "current", ["gauge 0.265 mm to 0.262 mm"]),
    ("plover", "b202-250", "R3C-9T", "2026-06-01", "current", ["First issue."]),
    ("plover", "b202-250", "4XX-7D", "2026-12-01", "superseded", ["trimmed height 131.90 mm to 131.85 mm"]),
    ("plover", "b204-330", "JT3-RX", "2026-04-07", "superseded", ["First issue."]),
    ("plover", "b204-330", "93D-KC", "2026-11-27", "superseded", ["neck plugs of the new set"]),
    ("plover", "b204-330", "MH7-YJ", "2026-11-16", "superseded", ["flange width 2.30 mm to 2.35 mm"]),
    ("plover", "b204-330", "TCR-44", "2026-11-16", "current", ["trimmed height 145.60 mm to 145.55 mm"]),
)
"""The sheets of b204-330 are all of one revision: 93D-KC was overtaken before its day, MH7-YJ on its day."""


def _silhouette(diameter: float, height: float) -> dict[str, Any]:
    wide, high = diameter / 2, height / 2
    return {"d": f"M0 0H{wide}V{high}H0Z", "w": wide, "h": high}


def _book() -> dict[str, Any]:
    formats = [
        {
            "id": ident, "title": title, "status": status, "contents": contents, "end": end, "gauge": gauge,
            "diameter": f"{diameter:.2f}", "height": f"{height:.2f}", "mass": mass, "lines": [line],
            "walls": "", "silhouette": _silhouette(diameter, height), "href": f"formats/{ident}.html",
            "compare": [
                [0, f"{gauge:.3f}", gauge],
                [1, f"{height:.2f}", height],
                [2, end, None],
            ],
        }
        for ident, title, status, contents, diameter, height, end, gauge, mass, line in FORMATS
    ]  # fmt: skip
    sheets = [
        {
            "sheet": format_, "format": format_, "line": line, "revision": 8, "code": code,
            "state": state, "since": since, "changed": changed, "href": f"formats/{format_}.html",
            "kind": "setup", "digest": print_of(code), "why": [],
        }
        for line, format_, code, since, state, changed in SHEETS
    ]  # fmt: skip
    rows = [["Metal", "gauge", "mm"], ["Flange", "finished height", "mm"], ["Flange", "end", ""]]
    every = [*sheets, *other_sheets()]
    return {"title": "Small works", "built": BUILT, "formats": formats, "rows": rows, "sheets": every}


def other_sheets() -> Iterator[dict[str, Any]]:
    """Codes beside the register: trial, draft, not recorded, not for use, and three changeover sheets."""
    for format_, code, state, why in (
        ("b204-355", "X4D-MJ", "trial", []),
        ("b211-500", "TT9-3C", "draft", ["missing: Gauge"]),
        ("b211-440", "WJ3-77", "unrecorded", []),
        ("b202-200", "C9R-HH", "unfit", ["the waiver of cup.draw-ratio ended on 2026-10-31"]),
    ):
        yield {
            "kind": "setup", "sheet": format_, "format": format_, "line": "heron", "revision": 2,
            "code": code, "digest": print_of(code), "state": state, "since": "2026-01-05",
            "changed": [], "why": why,
            "href": f"formats/{format_}.html",
        }  # fmt: skip
    for pair, code, setups in (
        ("b211-330 to b211-440", "3J-X7W", ["K7F-4X", "K7F-4X"]),
        ("b211-440 to b211-330", "WX-YHM", ["K7F-4X", "CDJ-37"]),
        ("b211-330 to b211-500", "KK-XT4", ["K7F-4X", "WJ3-77"]),
    ):
        yield {
            "kind": "changeover", "sheet": pair, "format": pair, "line": "heron", "crew": "day crew",
            "code": code, "digest": print_of(code), "state": "current", "since": "2026-05-11",
            "setups": setups, "href": "changeovers/index.html", "why": [],
        }  # fmt: skip


def print_of(code: str) -> str:
    """A fingerprint that begins as the code says."""
    signs = "CDFHJKMRTWXY3479"
    return (
        "".join(f"{signs.index(one):x}" for one in code.replace("-", "")) + f"0{code.index('-')}1" + 56 * "b"
    )


def _cup(radius: float, height: float, wall: float, rim: float) -> dict[str, Any]:
    """A cup with a flat bottom 0.25 mm thick, a wall, and a rim of another radius."""
    inner = [[0, 0.25], [radius, 0.25], [radius, height - 10], [rim, height]]
    outer = [[0, 0], [radius + wall, 0], [radius + wall, height - 10], [rim + wall, height]]
    return {"role": "metal", "inner": inner, "outer": outer}


def _walk() -> dict[str, Any]:
    blank = {"role": "metal", "inner": [[0, 0.25], [70, 0.25]], "outer": [[0, 0], [70, 0]]}
    punch = {"role": "punch", "outline": [[0, 0.25], [33, 0.25], [33, 110], [0, 110]]}
    ring = {"role": "ring", "outline": [[33.1, 60], [33.1, 61], [45, 65], [45, 58]]}
    shapes = (
        ("blank", "Blank", [blank]),
        ("cup", "Cup", [_cup(44, 33, 0.28, 44)]),
        ("ring-1", "Ring 1", [_cup(33, 110, 0.1, 33), punch, ring]),
        ("neck", "Neck", [_cup(33, 108, 0.1, 27)]),
    )
    stations = [
        {"id": ident, "name": name, "say": f"What {name} does.", "parts": parts,
         "numbers": [["thin wall", f"0.{n}00", "mm"], ["draw ratio", "1.58", ""]]}
        for n, (ident, name, parts) in enumerate(shapes, start=1)
    ]  # fmt: skip
    return {"id": "b211-330", "title": "330 ml, 211 body", "scale_mm": 140, "stations": stations}


def _changeovers() -> dict[str, Any]:
    """Two crews: one pair with a plan's page, one without, one that cannot be."""
    pairs = {
        "b211-330>b211-440": {
            "minutes": 185, "href": "heron-days.1.html#b211-330.b211-440",
        },
        "b211-440>b211-330": {"minutes": 190},
        "b211-330>b211-500": {"why": ["Palletizer: can height 164.75 mm"]},
    }  # fmt: skip
    ids = ("b211-330", "b211-440", "b211-500")
    formats = [{"id": one[0], "title": one[1]} for one in FORMATS if one[0] in ids]
    heron = {"id": "heron-days", "title": "Heron line, days", "line": "heron"}
    plover = {"id": "plover-days", "title": "Plover line, days", "line": "plover"}
    return {"crews": [{**heron, "formats": formats, "pairs": pairs}, {**plover, "formats": [], "pairs": {}}]}


def _formats_table() -> str:
    heads = (
        ("text", "format"), ("text", "status"), ("number", "contents, ml"), ("number", "height, mm"),
        ("text", "end"), ("number", "mass, g"), ("text", "lines"),
    )  # fmt: skip
    rows = [
        f'<tr data-id="{ident}"><th scope="row"><a href="{ident}.html">{title}</a></th>\n'
        f'<td><span class="sb-status-{status}">{status}</span></td>\n<td>{contents}</td>\n'
        f"<td>{height:.2f}</td>\n<td>{end}</td>\n<td>{mass or ''}</td>\n<td>{line}</td></tr>"
        for ident, title, status, contents, _, height, end, _, mass, line in FORMATS
    ]
    head = "".join(f'<th data-type="{kind}">{words}</th>' for kind, words in heads)
    body = "\n".join(rows)
    return (
        '<div class="sb-scroll"><table class="sb-table" data-sb="formats">'
        f"<thead><tr>{head}</tr></thead>\n<tbody>\n{body}\n</tbody></table></div>"
    )


def _long_table() -> str:
    rows = "\n".join(f"| part-{n} | 65.{n:03d} mm | heron |" for n in range(120))
    return f"| part | bore | line |\n| --- | ---: | --- |\n{rows}"


def _format_page(title: str, status: str) -> str:
    return f"""# {title}

<p><span class="sb-status-{status}">{status}</span> revision 8</p>

## Sizes

<table class="sb-table"><thead><tr><th>size</th>\n<th>value</th>\n<th>margin</th></tr></thead>
<tbody><tr><th scope="row">punch, wall</th>\n<td class="n">65.840 mm</td>
<td><span class="sb-margin" style="--m: 0.34">34 %</span></td></tr></tbody></table>

<figure class="sb-drawing"><svg class="dw" viewBox="0 0 358 100" role="img" aria-label="can">
<rect class="metal" width="100" height="40" style="fill:var(--sb-metal)"/></svg></figure>

## Tools

Blank-holder and carry-over bar. The body is a 211x413.

## Limits

See [ironing.ring-reduction](../checks/index.md#ring-reduction).
"""


def _files(nav: list[dict[str, Any]]) -> Iterator[str]:
    """The pages a navigation leads to."""
    for entry in nav:
        for leads in entry.values():
            yield from [leads] if isinstance(leads, str) else _files(leads)


def _found() -> Iterator[Indexed]:
    """What the search of the small site finds."""
    for line, format_, code, _, state, _ in SHEETS:
        if state == "current":
            rows = {"sheet-pack": ["Punch, thin-wall diameter 65.840 mm"]} if line == "heron" else {}
            yield Indexed("Setup sheet", f"Setup sheet: {format_}", f"formats/{format_}.html", (code,), rows)
    for ident, title, *_ in FORMATS:
        rows = {"": ["blank-holder 12 mm", "body 211x413"]}
        yield Indexed("Format", title, f"formats/{ident}.html", (ident,), rows)
    yield Indexed("Glossary", "land", "glossary.html#land", ("bearing",), {"": ["Straight part of a ring."]})
    ratio = "checks/index.html#ring-reduction"
    yield Indexed("Check", "No ring takes too much", ratio, ("ironing.ring-reduction",))


def pages() -> dict[str, str]:
    """The source files of the small site by their paths."""
    made = {
        "index.md": "# Small works\n\nStart from the line.\n",
        "assets/book.js": f"window.sizebook = {json.dumps(_book())};\n",
        "assets/search.js": search_script(_found()),
        "formats/index.md": f"# Formats\n\n{_formats_table()}\n",
        "formats/compare.md": '# Compare formats\n\n<div data-sb="compare"></div>\n',
        "sheets/index.md": '# Sheets\n\nCode K7F-4X is here.\n\n<div data-sb="codes"></div>\n',
        "changeovers/index.md": '# Changeovers\n\n<div class="sb-changes" data-sb="changeover">\n'
        "<p>All pairs in a plain table.</p></div>\n"
        '<script src="pairs.data.js"></script>\n',
        "changeovers/heron-days.1.md": '# Height: 185 min\n\n<section id="b211-330.b211-440">'
        "<p>The plan.</p></section>\n",
        "changeovers/pairs.data.js": f"window.sizebookChangeovers = {json.dumps(_changeovers())};\n",
        "process/index.md": "# Walk\n\n[330 ml, 211 body](b211-330.md)\n",
        "process/b211-330.md": '# Walk: 330 ml\n\n<div class="sb-process" data-process="b211-330"></div>\n'
        '<script src="b211-330.data.js"></script>\n',
        "process/b211-330.data.js": f"window.sizebookProcess = {json.dumps(_walk())};\n",
        "checks/index.md": "# Checks\n\n## ironing.ring-reduction { #ring-reduction }\n\n"
        "No ring takes too much.\n\n## redraw.die-radius\n\nThe die is round enough.\n",
        "changes.md": "# Changes\n\nNothing yet.\n",
        "limits.md": f"# Limits\n\n{_long_table()}\n",
        "new-size.md": "# Design a new size\n\nWords about targets.\n",
        "first-numbers.md": "# Twelve numbers to measure first\n\nWords about numbers.\n",
        "review.md": "# Review by machine\n\nWords about reviews.\n",
        "python.md": "# Use it from Python\n\nWords about programs.\n",
        "glossary.md": "# Glossary\n\nland\n:   The straight part of a ring.\n",
    }
    made |= dict(shared_files())
    made |= {f"formats/{one[0]}.md": _format_page(one[1], one[2]) for one in FORMATS}
    config = yaml.safe_load((shipped("site") / "mkdocs.yml").read_text(encoding="utf-8"))
    for name in set(_files(config["nav"])) - set(made):
        made[name] = f"# {name.split('/')[0].capitalize()}\n\nWords about it.\n"
    return made
