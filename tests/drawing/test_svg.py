"""The SVG face: well-formed, within its frame, readable, the same each time."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator, Mapping
from dataclasses import replace
from math import hypot
from typing import NamedTuple

import pytest

from kb.drawing import VIEWS, draw
from kb.drawing.marks import em
from kb.drawing.model import Drawing
from kb.output.svg import DARK, LIGHT, PRINT, svg
from kb.output.svg import drawing_style as style
from kb.route.assemble import Assembled
from kb.route.stations import Route

SVG = "{http://www.w3.org/2000/svg}"
NUMBER = r"-?\d+(?:\.\d+)?"
HOSTILE = "</title><script>alert(1)</script> \"'&amp; <b>]]> \x00\x0b\ud800 ]]&gt; " + "W" * 90


def parsed(drawing: Drawing) -> ET.Element:
    """A drawing's file as a tree."""
    return ET.fromstring(svg(drawing))


def frame(root: ET.Element) -> tuple[float, float]:
    """Width and height of the frame."""
    left, top, wide, high = map(float, root.attrib["viewBox"].split())
    assert (left, top) == (0.0, 0.0)
    return wide, high


def points(path: str) -> Iterator[tuple[float, float]]:
    """Where the steps of a path end; a relative step, which only the dots have, counts from its start."""
    for step in re.findall(r"[MLAa][^MLAaZ]*", path):
        numbers = [float(n) for n in re.findall(NUMBER, step)]
        if step[0] != "a":
            yield numbers[-2], numbers[-1]


class Written(NamedTuple):
    """A text with its calculated width and its smallest letters."""

    element: ET.Element
    words: str
    width: float
    letters: float


def texts(root: ET.Element) -> Iterator[Written]:
    """Every text of a file."""
    for text in root.iter(f"{SVG}text"):
        runs = list(text) or [text]
        sizes = [float(run.attrib["font-size"]) for run in runs]
        gaps = sum(float(run.attrib.get("dx", 0)) for run in runs)
        width = gaps + sum(size * em(str(run.text)) for size, run in zip(sizes, runs, strict=True))
        yield Written(text, "".join(text.itertext()), width, min(sizes))


@pytest.mark.parametrize("view", VIEWS)
def test_files_stand_alone_and_name_themselves(drawn: Mapping[str, Mapping[str, Drawing]], view: str) -> None:
    """Each file parses, names itself to screen readers, and fetches or runs nothing."""
    for ident, views in drawn.items():
        text = svg(views[view])
        root = ET.fromstring(text)
        title, desc = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
        assert title is not None
        assert desc is not None
        assert root.attrib["role"] == "img"
        assert root.attrib["aria-labelledby"] == title.attrib["id"] == f"{ident}-{view}-title"
        assert root.attrib["aria-describedby"] == desc.attrib["id"]
        assert title.text == views[view].title
        assert views[view].about in str(desc.text)
        assert all(size.whole in str(desc.text) for size in views[view].sizes())
        assert not re.search(
            r"<script|href|@import|@font-face|<image|<foreignObject|javascript:| on\w+=", text
        )
        assert set(re.findall(r"url\(([^)]*)\)", text)) <= {
            f"#{ident}-{view}-{n}" for n in ("metal", "end", "tool")
        }
        assert "http" not in text.replace("http://www.w3.org/2000/svg", "")


def test_ids_are_unique_on_a_page_of_all_drawings(drawn: Mapping[str, Mapping[str, Drawing]]) -> None:
    """No id occurs twice, not even when every drawing of every format is put into one page."""
    ids = [
        element.attrib["id"]
        for views in drawn.values()
        for drawing in views.values()
        for element in parsed(drawing).iter()
        if "id" in element.attrib
    ]
    assert len(ids) == len(set(ids))
    assert len([one for one in ids if one.endswith(("-title", "-desc"))]) == 2 * sum(map(len, drawn.values()))


def test_every_hatch_of_a_drawing_is_used(drawn: Mapping[str, Mapping[str, Drawing]]) -> None:
    """A drawing has the hatches that fill something in it, and no other."""
    hatched = set()
    for drawing in (drawing for views in drawn.values() for drawing in views.values()):
        root = parsed(drawing)
        own = {one.attrib["id"] for one in root.iter() if one.tag.endswith("pattern")}
        filled = {name for one in root.iter() for name in re.findall(r"url\(#([^)]+)\)", one.get("fill", ""))}
        assert own == filled
        hatched |= {name.rpartition("-")[2] for name in own}
    assert len(hatched) > 1


@pytest.mark.parametrize("view", VIEWS)
def test_all_that_is_drawn_is_within_the_frame(drawn: Mapping[str, Mapping[str, Drawing]], view: str) -> None:
    """Every step of every path, and every text at its calculated width, is inside the view box."""
    for views in drawn.values():
        root = parsed(views[view])
        wide, high = frame(root)
        paths = [path for path in root.iter(f"{SVG}path") if "dw-hatch" not in path.attrib.get("class", "")]
        assert len(paths) >= 3
        for path in paths:
            assert all(0 <= x <= wide and 0 <= y <= high for x, y in points(path.attrib["d"]))
        for text, words, length, _ in texts(root):
            share = {"start": 0.0, "middle": 0.5, "end": 1.0}[text.attrib.get("text-anchor", "start")]
            at, room = float(text.attrib["x"]), wide
            if "transform" in text.attrib:  # turned about its own place, reading upward
                at, room = high - float(text.attrib["transform"].rstrip(")").split()[2]), high
            assert at - share * length >= 0, words
            assert at + (1 - share) * length <= room, words


def test_letters_are_eleven_pixels_or_more(drawn: Mapping[str, Mapping[str, Drawing]]) -> None:
    """At 358 px no letter of any drawing is smaller than 11 px."""
    for views in drawn.values():
        for drawing in views.values():
            root = parsed(drawing)
            wide, _ = frame(root)
            assert min(text.letters for text in texts(root)) * 358 / wide >= 11


def test_closed_shapes_are_closed_paths(views: Mapping[str, Drawing]) -> None:
    """A closed shape ends with Z where it began, within what rounding leaves; an open one has no Z."""
    for drawing in views.values():
        root = parsed(drawing)
        groups = root.findall(f"{SVG}g")
        paths = [path.attrib["d"] for group in groups for path in group]
        assert len(paths) == len(drawing.shapes)
        for shape, path in zip(drawing.shapes, paths, strict=True):
            assert path.endswith("Z") == shape.closed
            if shape.closed:
                (x0, y0), *_, (x1, y1) = points(path)
                assert hypot(x1 - x0, y1 - y0) < 0.002
                assert path.count("M") == 1


def test_arcs_stay_arcs(views: Mapping[str, Drawing]) -> None:
    """The round parts of a can are arcs with the radius they have, not many short lines."""
    (metal,) = [shape for shape in views["dome"].shapes if shape.role == "metal"]
    root = parsed(views["dome"])
    path = next(g[0].attrib["d"] for g in root.findall(f"{SVG}g") if "dw-metal" in g.attrib["class"])
    assert path.count("A") == sum(hasattr(piece, "radius") for piece in metal.pieces)
    radius = float(re.findall(rf"A({NUMBER})", path)[0])
    assert radius == pytest.approx((45.7 + 0.2748) / views["dome"].pixel, abs=0.02)


def test_the_same_drawing_gives_the_same_bytes(
    regular: Assembled, route: Route, views: Mapping[str, Drawing]
) -> None:
    """Drawing a format again gives the same files; no number has a fourth decimal or is minus zero."""
    for view, drawing in views.items():
        text = svg(drawing)
        assert text == svg(draw(regular, route, view))
        for numbers in re.findall(r' (?:d|x|y|viewBox|transform)="([^"]*)"', text):
            assert not re.search(r"\.\d{4}|(?<![\d.])-0(?![.\d])", numbers)


def test_hostile_titles_do_no_harm(views: Mapping[str, Drawing]) -> None:
    """A title full of markup and control characters stays text, wrapped into the frame."""
    for drawing in views.values():
        root = parsed(replace(drawing, title=HOSTILE))
        assert [element.tag for element in root.iter() if "script" in element.tag] == []
        title = root.find(f"{SVG}title")
        assert title is not None
        assert str(title.text).startswith("</title><script>alert(1)</script>")
        wide, _ = frame(root)
        lines = [text.words for text in texts(root) if text.element.attrib.get("class") == "dw-title"]
        assert len(lines) > 3
        assert all(em(line) * 14 + 8 <= wide for line in lines)


def test_a_hostile_format_id_makes_a_plain_xml_id(views: Mapping[str, Drawing]) -> None:
    """For any name of a format, the ids in its file are letters, digits and hyphens."""
    root = parsed(replace(views["can"], format='a" onload="x)'))
    assert root.find(f"{SVG}title") is not None
    assert all(re.fullmatch(r"[A-Za-z0-9-]+", e.attrib["id"]) for e in root.iter() if "id" in e.attrib)


def test_true_size_is_said_in_millimetres(views: Mapping[str, Drawing]) -> None:
    """On demand the file has its size in mm, such that a drawing at 2:1 prints at twice its size."""
    drawing = views["dome"]
    assert "width" not in parsed(drawing).attrib
    root = ET.fromstring(svg(drawing, true_size=True))
    wide, high = frame(root)
    assert float(root.attrib["width"].removesuffix("mm")) == pytest.approx(wide * drawing.pixel * 2, abs=1e-3)
    assert float(root.attrib["height"].removesuffix("mm")) == pytest.approx(
        high * drawing.pixel * 2, abs=1e-3
    )
    assert "b211-355, revision 5; scale 2:1 when 95 mm wide." in svg(drawing)


def test_the_style_themes_light_dark_and_print() -> None:
    """One style has each colour for light and dark, lets a page set it, and prints black on white alone."""
    assert set(LIGHT) == set(DARK) == set(PRINT)
    rules = style()
    for name in LIGHT:
        assert f"--dw-{name}:var(--drawing-{name},{LIGHT[name]});" in rules
        assert f"--dw-{name}:var(--drawing-{name},{DARK[name]});" in rules
    assert rules.startswith("@supports (color:var(--dw-ink)){")
    assert rules.count("{") == rules.count("}")
    printed = rules.partition("@media print{")[2].partition("}}")[0]
    assert set(re.findall(r"#\w+", printed)) == {"#000000", "#ffffff"}
    assert "var(" not in printed


def test_a_page_can_hold_the_style_once(views: Mapping[str, Drawing]) -> None:
    """Without its style a drawing is the same but for that."""
    with_style, without = svg(views["can"]), svg(views["can"], styled=False)
    assert f"<style>{style()}</style>\n" in with_style
    assert with_style.replace(f"<style>{style()}</style>\n", "") == without


def test_black_files_need_no_style(drawn: Mapping[str, Mapping[str, Drawing]]) -> None:
    """On demand a drawing is black on white by its plain attributes, hatched as ever."""
    for drawing in drawn["b211-568-206"].values():
        text = svg(drawing, black=True)
        assert "<style>" not in text
        assert "var(" not in text
        assert set(re.findall(r"#[0-9a-f]{6}", text)) == {"#000000", "#ffffff"}
        assert len(svg(drawing).splitlines()) == len(text.splitlines()) + 1


def contrast(one: str, other: str) -> float:
    """Contrast of two colours.

    Source:
        WCAG 2.2, definitions of relative luminance and contrast ratio.
    """

    def luminance(colour: str) -> float:
        parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("scheme", [LIGHT, DARK, PRINT], ids=["light", "dark", "print"])
def test_words_and_lines_stand_out(scheme: dict[str, str]) -> None:
    """Words have a contrast of 4.5 or more, lines and hatches 3 or more, to their ground."""
    assert contrast(scheme["ink"], scheme["paper"]) >= 7
    assert contrast(scheme["soft"], scheme["paper"]) >= 4.5
    assert contrast(scheme["soft"], scheme["strip"]) >= 4.5
    for fill in ("metal", "end", "strip"):
        assert contrast(scheme["ink"], scheme[fill]) >= 3
    assert contrast(scheme["trim"], scheme["strip"]) >= 3


def test_cut_faces_are_distinguished_without_colour(views: Mapping[str, Drawing]) -> None:
    """Body and end metal in the seam have hatches of different slope, which a grey copy keeps."""
    root = parsed(views["seam"])
    slopes = {p.attrib["id"]: p.attrib["patternTransform"] for p in root.iter(f"{SVG}pattern")}
    assert slopes["b211-355-seam-metal"] != slopes["b211-355-seam-end"]
    fills = {g.attrib["fill"] for g in root.findall(f"{SVG}g")}
    assert {"url(#b211-355-seam-metal)", "url(#b211-355-seam-end)"} <= fills
