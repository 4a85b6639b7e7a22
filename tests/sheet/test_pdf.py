"""The paper, read back from its PDF."""

from __future__ import annotations

import base64
import datetime
import io
import re
import struct
import zlib
from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np
import pytest
import segno
from pypdf import PdfReader

from kb.blocks import CautionNote, Cell, Paper
from kb.book.load import Book
from kb.folders import shipped
from kb.output.html import PIXELS, square_image, square_svg
from kb.sheet.documents import SheetLine, lines_of
from kb.sheet.issue import code_list, issue
from kb.sheet.labels import always, labels
from kb.sheet.model import Content, FirstOff, Sheet
from tests.rendered import codes_pdf, sheet_pdf
from tests.sheet import hostile
from tests.sheet.conftest import LINE, MADE, RELEASED, CopyBook, sheet_of

PAPERS: tuple[Paper, ...] = ("a4", "letter")
PRINTED = (
    "b211-330/heron",
    "b204-330/plover",
    "b202-200/plover",
    "b211-568-206/heron",
    "b204-355/plover",
    "b211-440-light/heron",
)
SIZES = {"a4": (595, 842), "letter": (612, 792)}
MOST_SIDES = 4
MOST_BROWSER_SIDES = 4
"""Sides as a browser prints the page, with letters of one size."""
WORDS = labels("setup")


def heads() -> Mapping[str, str]:
    """The titles of a sheet's parts, with that of what the pack makes."""
    return {**WORDS.heads, "makes": WORDS.makes_title}


def pages(made: bytes) -> list[str]:
    """The text of each page without blanks, which line breaks and columns put anywhere."""
    return [bare(page.extract_text()) for page in PdfReader(io.BytesIO(made)).pages]


def bare(text: str) -> str:
    """A text without blanks and places to break."""
    return re.sub(r"[\s\u200b]+", "", text)


def run(cell: Cell) -> str:
    """A value with its limits as a row of a table prints them, its unit after them."""
    printed = "".join(getattr(cell, which) or "–" for which in ("least", "target", "most"))
    return printed + cell.unit


def band(cell: Cell) -> str:
    """The limits of a value below its target."""
    if cell.least and cell.most:
        return f"{cell.least}to{cell.most}"
    return f"≥{cell.least}" if cell.least else f"≤{cell.most}" if cell.most else ""


def accept(check: FirstOff) -> str:
    """What a check accepts: target and limits on one line, or words."""
    value = check.value
    return f"{value.target}{band(value)}{value.unit}" if value else check.accept


def line_row(line: SheetLine) -> tuple[str, ...]:
    """A part or a setting as runs of text; the limits of a setting are a run of their own."""
    pieces = f"{line.pieces}×" if line.pieces else ""
    where = f",{line.where}" if line.where else ""
    if line.to_set or line.value.plain:
        limits = band(line.value)
        return (
            f"{line.name}{pieces}{where}",
            f"{line.value.target}{line.value.unit}",
            *([limits] * bool(limits)),
        )
    return (f"{line.name}{where}{pieces}{run(line.value)}",)


def check_row(check: FirstOff) -> str:
    """A check with what it accepts, the reading to expect, its place, gauge and sample."""
    expected = f"expected {check.expected}" if check.expected else ""
    how = ";".join(filter(None, (expected, check.where, check.gauge, check.sample)))
    return f"{check.number}{WORDS.shapes[check.rank]}{check.name}{accept(check)}{how}"


def own(caution: CautionNote, shared: str) -> str:
    """The precautions of a caution that its sheet does not print once for all."""
    return caution.avoid.removesuffix(f"; {shared}") if shared else caution.avoid


def rows(said: Content) -> Iterator[str]:
    """Every row of a sheet, each as one run of text; a page break inside would tear it."""
    shared = always(one for block in said.machines for one in block.cautions)
    for tool in said.pack:
        yield f"{tool.number or ''}{tool.name}{f'{tool.pieces}×' if tool.pieces else ''}{run(tool.size)}"
    for block in said.machines:
        lines = lines_of(block)
        for line in (*lines.tools, *lines.plain, *lines.settings):
            yield from line_row(line)
        for sizes in zip(*(one.sizes for one in lines.stages), strict=True):
            yield "".join(run(size).removesuffix("mm") for size in sizes) + "in2nd"
        for caution in block.cautions:
            rest = own(caution, shared)
            shown = f"–{rest}" if rest != shared else ""
            yield f"{caution.signal}{caution.hazard}–{caution.consequence}{shown}."
    yield from map(check_row, said.first_offs)
    for gauge in said.gauges:
        yield f"{gauge.name},{gauge.resolution};{gauge.type};setwith{gauge.master}nextdueset"
    for i, one in enumerate(said.release, start=1):
        yield f"{i}{one.step},{one.role}nametime"


@pytest.fixture(scope="module")
def printed(sheets: Mapping[str, Sheet]) -> Mapping[tuple[str, Paper], list[str]]:
    """The pages of some sheets on both papers: each body, shortest, tallest, trial, draft."""
    return {(name, paper): pages(sheet_pdf(sheets[name], paper)) for name in PRINTED for paper in PAPERS}


def test_every_page_says_which_sheet_it_is(
    sheets: Mapping[str, Sheet], printed: Mapping[tuple[str, Paper], list[str]]
) -> None:
    """Title, line, revision, code and page number stand on every page of every sheet, on both papers."""
    for (name, _), texts in printed.items():
        sheet = sheets[name]
        one = sheet.content.identity
        for number, text in enumerate(texts, start=1):
            assert bare(one.title) in text
            assert f"{bare(one.sheet)}{sheet.code}rev{one.revision}" in text
            assert text.count(f"page{number}of{len(texts)}") >= 2
            assert text.count(sheet.code) >= 2


def test_no_row_is_cut_and_none_is_lost(
    contents: Mapping[str, Content], printed: Mapping[tuple[str, Paper], list[str]]
) -> None:
    """Each row of the content is in one piece on one page."""
    for (name, paper), texts in printed.items():
        for row in rows(contents[name]):
            assert any(bare(row) in text for text in texts), (name, paper, row)


def test_what_all_cautions_share_is_on_each_page_that_has_one(
    contents: Mapping[str, Content], printed: Mapping[tuple[str, Paper], list[str]]
) -> None:
    """A caution is shortened only under a line, on the same page, that says what it leaves out."""
    for (name, _), texts in printed.items():
        cautions = [one for block in contents[name].machines for one in block.cautions]
        line = bare(f"{WORDS.always}: {always(cautions)}.")
        for one in cautions:
            shown = bare(f"{one.signal}{one.hazard}–{one.consequence}")
            (page,) = (text for text in texts if shown in text)
            assert line in page
            assert page.index(line) < page.index(shown)


def test_dangers_are_reported_whole_on_the_front(
    contents: Mapping[str, Content], printed: Mapping[tuple[str, Paper], list[str]]
) -> None:
    """Machine, hazard, consequence and precautions of every danger stand before all steps."""
    for (name, _), texts in printed.items():
        for one in contents[name].dangers:
            assert bare(f"{one.machine}: {one.hazard} – {one.consequence}") in texts[0]
            assert bare(f". {one.avoid[:1].upper()}{one.avoid[1:]}.") in texts[0]


def test_heads_repeat_where_a_table_goes_on(printed: Mapping[tuple[str, Paper], list[str]]) -> None:
    """Every page with a value has the heads min, target and max above it."""
    for texts in printed.values():
        going_on = [text for text in texts if re.search(r"\d+\.\d+mmin2nd", text)]
        assert going_on
        for text in going_on:
            assert "mintargetmax" in text


def test_no_head_ends_a_page(
    sheets: Mapping[str, Sheet], printed: Mapping[tuple[str, Paper], list[str]]
) -> None:
    """A heading of a part, a group of checks or a machine is on the page of what it heads."""
    for (name, _), texts in printed.items():
        sheet = sheets[name]
        headings = [*heads().values(), *WORDS.groups.values(), WORDS.boxes, WORDS.ranks]
        headings += [block.title for block in sheet.content.machines]
        foot = f"{bare(sheet.content.identity.sheet)}{sheet.code}rev"
        for text in texts:
            body = text[: text.rindex(foot)]
            assert not body.endswith(tuple(map(bare, headings))), body[-60:]


def test_machine_heads_stay_with_their_first_row(
    contents: Mapping[str, Content], printed: Mapping[tuple[str, Paper], list[str]]
) -> None:
    """Title, cautions and first part or setting of a machine are on one page."""
    for (name, _), texts in printed.items():
        for block in contents[name].machines:
            lines = lines_of(block)
            first = [one.name for one in (*lines.tools, *lines.plain, *lines.settings)[:1]]
            cautions = [f"{one.hazard}–{one.consequence}" for one in block.cautions]
            pattern = ".*?".join(re.escape(bare(one)) for one in [block.title, *cautions, *first])
            assert any(re.search(pattern, text) for text in texts), block.title


@pytest.mark.parametrize("paper", PAPERS)
def test_paper_and_page_count(sheets: Mapping[str, Sheet], paper: Paper) -> None:
    """Each sheet is on the paper given; one that may be used stays within so many sides."""
    for sheet in sheets.values() if paper == "a4" else [sheets[name] for name in PRINTED]:
        reader = PdfReader(io.BytesIO(sheet_pdf(sheet, paper)))
        assert len(reader.pages) <= MOST_SIDES
        for page in reader.pages:
            assert (round(page.mediabox.width), round(page.mediabox.height)) == SIZES[paper]


def test_a_machine_is_on_two_sides_at_most(
    contents: Mapping[str, Content], printed: Mapping[tuple[str, Paper], list[str]]
) -> None:
    """The setter of one machine carries at most two neighbouring pages."""
    for (name, _), texts in printed.items():
        for block in contents[name].machines:
            lines = lines_of(block)
            listed = [
                bare(row) for one in (*lines.tools, *lines.plain, *lines.settings) for row in line_row(one)
            ]
            start = next(i for i, text in enumerate(texts) if bare(block.title) in text and listed[0] in text)
            assert all(any(row in text for text in texts[start : start + 2]) for row in listed), block.title


def test_the_front_holds_what_is_read_first(
    sheets: Mapping[str, Sheet], printed: Mapping[tuple[str, Paper], list[str]]
) -> None:
    """Currency, news, waivers, dangers, metal and tool pack of a released sheet are on its first side."""
    for (name, paper), texts in printed.items():
        if sheets[name].mark or paper != "a4":
            continue
        for part in ("current", "changed", "waivers", "dangers", "material", "pack", "makes"):
            assert bare(heads()[part]) in texts[0]
        assert all(bare(one.name) in texts[0] for one in sheets[name].content.pack)


def test_same_sheet_same_bytes(sheets: Mapping[str, Sheet]) -> None:
    """Nothing of the clock or the machine gets into the file."""
    sheet = sheets[f"{RELEASED}/{LINE}"]
    assert sheet_pdf(sheet) == sheet_pdf(sheet)
    assert "/CreationDate" not in (PdfReader(io.BytesIO(sheet_pdf(sheet))).metadata or {})


def test_the_print_time_is_on_the_paper_and_outside_the_code(demo: Book) -> None:
    """Two copies of one sheet differ in their print time alone."""
    first = sheet_of(demo)
    second = sheet_of(demo, made=MADE + datetime.timedelta(hours=1))
    assert first.code == second.code
    texts = [pages(sheet_pdf(one)) for one in (first, second)]
    assert [page.replace("2026-11-0203:00", "") for page in texts[0]] == [
        page.replace("2026-11-0204:00", "") for page in texts[1]
    ]


def test_only_typsts_own_fonts_are_used(sheets: Mapping[str, Sheet]) -> None:
    """The paper looks the same on a machine without fonts."""
    reader = PdfReader(io.BytesIO(sheet_pdf(sheets["b204-355/plover"])))
    found = set()
    for page in reader.pages:
        fonts = page["/Resources"]["/Font"]
        found |= {str(fonts[name]["/BaseFont"]).partition("+")[2] for name in fonts}
    assert found
    assert all(one.startswith(("DejaVuSansMono", "LibertinusSerif", "NewCM")) for one in found), found


def test_no_template_fetches_anything() -> None:
    """The templates import nothing from outside their folder."""
    for name in ("document.typ",):
        text = (shipped("site") / "sheet" / name).read_text(encoding="utf-8")
        assert "@preview" not in text
        assert re.findall(r'#import "([^"]+)"', text) == []


@pytest.mark.parametrize(
    ("ident", "line", "mark"), [("b211-440-light", "heron", "DRAFT"), ("b204-355", "plover", "TRIAL")]
)
def test_marks_stand_on_every_page(demo: Book, ident: str, line: str, mark: str) -> None:
    """Draft and trial stand in the strip and across the page, on each page."""
    for text in pages(sheet_pdf(sheet_of(demo, ident, line))):
        assert text.count(mark) >= 2


def test_missing_is_printed_and_the_sheet_marked(copy_book: CopyBook) -> None:
    """The cell says MISSING, every page says that the sheet is not for use and why."""
    nowhere = ("floor.yaml", "        value: machine.ram_speed\n", "        value: machine.speed\n")
    texts = pages(sheet_pdf(sheet_of(copy_book([nowhere]))))
    assert sum(text.count("MISSING") for text in texts) == 1
    for text in texts:
        assert text.count("NOTFORUSE") >= 2
        assert "missing:Strokes" in text


def test_a_sheet_of_a_book_without_a_floor_still_prints(copy_book: CopyBook) -> None:
    """What there is can be read, marked as not for use."""
    texts = pages(sheet_pdf(sheet_of(copy_book(without=["floor.yaml"]))))
    assert all("NOTFORUSE" in text for text in texts)


def test_waivers_are_on_the_front(sheets: Mapping[str, Sheet]) -> None:
    """Check, ceiling and last day of a waiver stand on the first side."""
    front = pages(sheet_pdf(sheets["b204-355/plover"]))[0]
    assert "redraw.draw-ratioupto1.435,until2027-04-30" in front


@pytest.mark.parametrize("text", hostile.ALL)
def test_hostile_text_is_printed_as_text(demo: Book, contents: Mapping[str, Content], text: str) -> None:
    """Markup in a title, a reason or a note comes out as the letters it is made of, on every page."""
    said = contents[f"{RELEASED}/{LINE}"]
    identity = replace(said.identity, title=text, why=text, line_title=text, owner=text)
    checks = (replace(said.first_offs[0], name=text, where=text, accept=text), *said.first_offs[1:])
    said = replace(
        said, identity=identity, first_offs=checks, safety=text, return_to=text, out_of_limits=(text,),
    )  # fmt: skip
    texts = pages(sheet_pdf(issue(said, demo, made=MADE, problems=[text])))
    assert all(bare(text) in page for page in texts)
    assert sum(page.count(bare(text)) for page in texts) >= len(texts) + 9


def test_long_words_stay_in_their_columns(demo: Book, contents: Mapping[str, Content]) -> None:
    """A word longer than its column is broken; no letter is beyond the edge of the paper."""
    said = contents[f"{RELEASED}/{LINE}"]
    long = "W" * 79
    said = replace(
        said,
        identity=replace(said.identity, title=long),
        first_offs=tuple(replace(one, name=long, where=long) for one in said.first_offs),
        gauges=tuple(replace(one, name=long, type=long, master=long) for one in said.gauges),
    )
    edges: list[float] = []

    def seen(text: str, _cm: object, tm: list[float], _font: object, size: float) -> None:
        if text.strip():
            edges.append(tm[4])

    for page in PdfReader(io.BytesIO(sheet_pdf(issue(said, demo, made=MADE)))).pages:
        page.extract_text(visitor_text=seen)
        assert max(edges) < float(page.mediabox.width) - 20
    assert len(edges) > 100


def test_the_list_of_codes_is_one_page(demo: Book) -> None:
    """All sheets of a line with code and revision, trials marked, on one page of either paper."""
    for line in demo.of("line"):
        codes = code_list(demo, line, made=MADE)
        for paper in PAPERS:
            (text,) = pages(codes_pdf(codes, paper))
            for row in codes.rows:
                assert bare(f"{row.title}{row.format},revision{row.revision}") in text
                assert row.code in text
        assert [row.status for row in codes.rows] == sorted(row.status for row in codes.rows)


def test_the_list_of_codes_shows_old_ones(copy_book: CopyBook) -> None:
    """A former code is beside the current one; an unrecorded one says so."""
    deeper = ("formats/b204-330.yaml", "depth: 9.90 ±0.10 mm", "depth: 9.95 ±0.10 mm")
    old = sheet_of(copy_book(folder="before")).code
    (row,) = (one for one in code_list(copy_book([deeper]), LINE, made=MADE).rows if one.format == RELEASED)
    assert row.no_longer[-1] == old
    assert row.in_force == "not recorded"
    assert row.code != old


def test_a_failing_format_is_not_for_use_on_the_list(demo: Book) -> None:
    """What fails its check is on the list, marked."""
    codes = code_list(demo, LINE, made=MADE, failing=[RELEASED])
    assert {row.format: row.unfit for row in codes.rows if row.unfit} == {RELEASED: "NOT FOR USE"}


def test_the_square_code_is_drawn_whole() -> None:
    """The drawing has no size of its own and names no outside address but that of SVG."""
    drawn = square_svg("B204-330/PLOVER CODE K7F-9X")
    assert drawn.startswith("<svg")
    assert re.findall(r"https?://[^\"]+", drawn) == ["http://www.w3.org/2000/svg"]
    assert drawn == square_svg("B204-330/PLOVER CODE K7F-9X")


def test_the_square_image_has_the_squares_of_the_drawing() -> None:
    """Each square is dark or light as the library has it, and the image needs no file."""
    text = "B204-330/PLOVER CODE K7F-9X"
    found = re.search(r'src="data:image/png;base64,([^"]+)"', square_image(text))
    assert found is not None
    data = base64.b64decode(found[1])
    width, height, depth = struct.unpack(">IIB", data[16:25])
    rows = np.array(segno.make(text, error="m", micro=False).matrix)
    assert (width, height, depth) == (PIXELS * (len(rows) + 4), PIXELS * (len(rows) + 4), 1)
    at = data.index(b"IDAT")
    (size,) = struct.unpack(">I", data[at - 4 : at])
    lines = np.frombuffer(zlib.decompress(data[at + 4 : at + 4 + size]), dtype=np.uint8).reshape(height, -1)
    assert set(lines[:, 0].tolist()) <= {0, 2}  # a line as it is, or what it adds to the one above
    above, drawn = np.zeros_like(lines[0, 1:]), []
    for line in lines:
        above = line[1:] + (above if line[0] else 0)
        drawn.append(above)
    light = np.unpackbits(np.array(drawn), axis=1)[:, :width]
    middle = slice(2 * PIXELS + PIXELS // 2, -2 * PIXELS, PIXELS)
    assert (light[middle, middle] != light[0, 0]).astype(int).tolist() == rows.tolist()
