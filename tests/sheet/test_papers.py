"""The papers beside a setup sheet, and what all paper must keep: letters, sides, points of decimals."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest
from pypdf import PdfReader

from kb.blocks import PrintedDocument, ReadingBoxes
from kb.book.load import Book
from kb.changeover.cards import change_papers
from kb.changeover.content import setups
from kb.changeover.plan import change, crew_of, sheet_of
from kb.output.pdf import pdf
from kb.sheet.documents import setup_document
from kb.sheet.issue import plans_code
from kb.sheet.model import Sheet
from kb.sheet.papers import readings, setup_papers
from tests.changeover.conftest import DIAMETER
from tests.sheet.conftest import LINE, MADE, RELEASED
from tests.sheet.test_pdf import bare, pages

KINDS = ("packs", "picks", "readings", "plans")
SMALLEST = 8.0
"""Letters of a paper [pt]."""
DOTS = 100
"""Dots an inch of a bad copier."""
ADVANCE = 0.602 - 0.03
"""Width of a letter of the values, over its size: that of the font with its tracking."""
VALUE = re.compile(r"[≥≤ ]*[0-9]+\.[0-9]+([ a-z°/→]+[0-9]+\.[0-9]+)*[ a-zA-Z°/%]*")
FEWEST = 2
"""Black dots that a decimal point keeps on a bad copy."""


@pytest.fixture(scope="module")
def sheet(sheets: Mapping[str, Sheet]) -> Sheet:
    """A released setup sheet."""
    return sheets[f"{RELEASED}/{LINE}"]


@pytest.fixture(scope="module")
def change_documents(demo: Book) -> Mapping[str, tuple[PrintedDocument, ...]]:
    """The papers of the longest changeover of the demo."""
    old, new, line = DIAMETER.split()
    one = change(demo, old, new, line, crew_of(demo, line), effort=0)
    made, setup = sheet_of(demo, one, made=MADE), setups(demo, one.difference, MADE).new
    return {kind: change_papers(made, setup, kind) for kind in ("sheet", "cards", "picks", "packs")}


class Run(NamedTuple):
    """A run of letters on a page: its text, the size of its letters, where it begins, from below [pt]."""

    text: str
    size: float
    x: float
    y: float


def runs(made: bytes) -> Iterator[list[Run]]:
    """The runs of letters of each page."""
    for page in PdfReader(io.BytesIO(made)).pages:
        found: list[Run] = []

        def visit(
            text: str, cm: list[float], tm: list[float], _font: object, size: float, into: list[Run] = found
        ) -> None:
            if text.strip():
                x, y = tm[4] * cm[0] + cm[4], tm[5] * cm[3] + cm[5]
                into.append(Run(text, abs(size * tm[3] * cm[3]), x, y))

        page.extract_text(visitor_text=visit)
        yield found


def test_no_letter_is_smaller_than_8_points(
    sheet: Sheet, change_documents: Mapping[str, tuple[PrintedDocument, ...]]
) -> None:
    """Every letter of every paper is 8 pt or larger, however full the paper is."""
    papers = [(setup_document(sheet),), *(setup_papers(sheet, kind) for kind in KINDS)]
    for documents in (*papers, *change_documents.values()):
        sizes = [run.size for found in runs(pdf(*documents)) for run in found]
        assert len(sizes) > 10
        assert min(sizes) >= SMALLEST - 0.01, documents[0].kind


def test_papers_keep_to_their_sides(
    sheets: Mapping[str, Sheet], change_documents: Mapping[str, tuple[PrintedDocument, ...]]
) -> None:
    """Readings fit two sides, plans and each card one, the longest changeover four."""
    for sheet in sheets.values():
        if not sheet.mark:
            assert len(pages(pdf(*setup_papers(sheet, "readings")))) <= 2
    assert len(pages(pdf(*setup_papers(sheet, "plans")))) == 1
    for kind in ("cards", "packs"):
        documents = change_documents[kind]
        assert len(pages(pdf(*documents))) == len(documents)
    assert len(pages(pdf(*change_documents["sheet"]))) <= 4


def entries(document: PrintedDocument) -> dict[str, ReadingBoxes]:
    """The checks of the paper of readings by their number."""
    blocks = (block for part in document.parts for block in part.blocks)
    found = (entry for block in blocks for entry in getattr(block, "entries", ()))
    return {"".join(phrase.text for phrase in one.title).partition(" ")[0]: one for one in found}


def test_each_reading_has_a_box(sheet: Sheet) -> None:
    """Twelve wall readings of a machine are twelve boxes, with one for the lowest and one for the highest."""
    made = entries(readings(sheet))
    measured = [one for one in sheet.content.first_offs if one.value]
    assert set(made) == {str(one.number) for one in measured}
    for one in measured:
        row = made[str(one.number)]
        assert len(row.boxes) == len(set(row.boxes)) == one.cans * one.places
        assert len(row.machines) == one.boxes
        assert row.ends == ("lowest", "highest")
    (wall,) = (one for one in measured if one.name == "Thin wall")
    assert len(made[str(wall.number)].boxes) == 12
    text = "".join(pages(pdf(readings(sheet))))
    assert text.count("lowest") >= sum(one.boxes for one in measured)


def test_a_pack_card_for_each_bodymaker(sheet: Sheet) -> None:
    """Each card has every tool of the pack, the gap and wall predicted, and who fitted and checked it."""
    (bodymakers,) = (one for one in sheet.content.machines if one.kind == "bodymaker")
    found = pages(pdf(*setup_papers(sheet, "packs")))
    assert len(found) == bodymakers.count
    for number, text in enumerate(found, start=1):
        assert bare(f"{bodymakers.title}: {number}") in text
        assert all(bare(tool.name) in text for tool in sheet.content.pack)
        assert all(
            f"{one.gap.target}{one.gap.least}–{one.gap.most}" in text for one in sheet.content.pack_makes
        )
        for word in ("serial", "measured", "Fittedby", "Checkedby", sheet.code):
            assert word in text


def test_the_pick_list_has_all_parts_once(sheet: Sheet) -> None:
    """Every part with its pieces and its storage place; a place that the floor file lacks is an empty box."""
    (document,) = setup_papers(sheet, "picks")
    (table,) = (block for block in document.parts[0].blocks if hasattr(block, "groups"))
    rows = [row for group in table.groups for row in group.rows]
    sets = [size for block in sheet.content.machines for one in block.sets for size in one.sizes]
    parts = [one for block in sheet.content.machines for one in block.parts if one.pieces]
    tools = [one for one in sheet.content.pack if one.pieces]
    assert len(rows) == len(sets) + len(parts) + len(tools)
    places = [row.cells[3] for row in rows]
    assert {type(one).__name__ for one in places} == {"WordCell", "Pen"}
    assert "neckstore,diecabinet" in "".join(pages(pdf(document)))


def test_the_reaction_plans_are_one_page_of_their_own(sheet: Sheet) -> None:
    """The page has every plan and a code of its own, which the setup sheet names; the sheet has no plans."""
    (page,) = pages(pdf(*setup_papers(sheet, "plans")))
    own = plans_code(sheet.content)
    front = "".join(pages(pdf(setup_document(sheet))))
    assert own in page
    assert own in front
    for one in sheet.content.reactions:
        assert bare(one.title) in page
        assert bare(one.never) in page
        assert bare(one.never) not in front
    changed = replace(sheet.content, reactions=sheet.content.reactions[1:])
    assert plans_code(changed) != own


# --- a bad copier -----------------------------------------------------------------------------


def bad_copy(made: bytes, folder: Path) -> Iterator[np.ndarray]:
    """Each page as a bad copier leaves it: 100 dots an inch, noise, black or white; True is black."""
    (folder / "paper.pdf").write_bytes(made)
    subprocess.run(
        ["pdftoppm", "-gray", "-r", str(DOTS), str(folder / "paper.pdf"), str(folder / "page")], check=True
    )
    noise = np.random.default_rng(seed=7)
    for path in sorted(folder.glob("page*.pgm")):
        _, size, _, body = path.read_bytes().split(b"\n", 3)
        width, height = map(int, size.split())
        grey = np.frombuffer(body, np.uint8)[: width * height].reshape(height, width)
        yield grey + noise.normal(0, 25, grey.shape) < 128


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="no pdftoppm on this machine")
def test_decimal_points_survive_a_bad_copier(
    sheet: Sheet, change_documents: Mapping[str, tuple[PrintedDocument, ...]], tmp_path: Path
) -> None:
    """On a bad copy, each decimal point of a value keeps black dots, with white above it."""
    seen = 0
    for name, documents in (("setup", (setup_document(sheet),)), ("change", change_documents["sheet"])):
        folder = tmp_path / name
        folder.mkdir()
        made = pdf(*documents)
        for page, found in zip(bad_copy(made, folder), runs(made), strict=True):
            for run in found:
                text = run.text.strip()
                if not VALUE.fullmatch(text):
                    continue
                for place in re.finditer(r"(?<=[0-9])\.(?=[0-9])", text):
                    seen += 1
                    dot = point(page, run, place.start())
                    assert dot is not None, text
                    assert dot >= FEWEST, (name, text, run.size, dot)
    assert seen > 150


def point(page: np.ndarray, run: Run, place: int) -> int | None:
    """Black dots at the foot of the cell of a decimal point; none where its top is black too."""
    left = (run.x + place * ADVANCE * run.size) * DOTS / 72
    right = left + 0.602 * run.size * DOTS / 72
    foot = page.shape[0] - run.y * DOTS / 72
    rise = run.size * DOTS / 72
    columns = slice(round(left + 0.5), round(right - 0.5))
    above = page[round(foot - 0.62 * rise) : round(foot - 0.3 * rise), columns]
    if above.mean() > 0.3:
        return None
    return int(page[round(foot - 0.26 * rise) : round(foot) + 1, columns].sum())
