"""What both faces make of a content before they set it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, replace

from kb.blocks import MISSING, CautionNote, Cell
from kb.output.html import places_of
from kb.sheet.documents import FEW, lines_of
from kb.sheet.labels import always
from kb.sheet.model import Content, Sheet
from tests.rendered import sheet_fragment, sheet_pdf
from tests.sheet.test_html import read
from tests.sheet.test_pdf import bare, pages


def test_every_part_and_setting_is_a_line_once(contents: Mapping[str, Content]) -> None:
    """Nothing of a machine is lost or doubled when its lines are sorted."""
    for said in contents.values():
        for block in said.machines:
            lines = lines_of(block)
            listed = [one.value for one in (*lines.tools, *lines.plain, *lines.settings)]
            listed += [cell for one in lines.stages for cell in one.sizes]
            given = [one.size for one in block.parts] + [one.value for one in block.settings]
            given += [cell for one in block.sets for cell in one.sizes]
            assert sorted(listed, key=str) == sorted(given, key=str)
            assert all(one.value.plain for one in lines.plain)
            assert all(len(one.sizes) > FEW for one in lines.stages)


def test_pieces_are_shared_among_the_sizes_of_a_set(contents: Mapping[str, Content]) -> None:
    """Lines made of a set of few sizes need as many pieces together as the set."""
    (bodymaker,) = (one for one in contents["b204-330/plover"].machines if one.kind == "bodymaker")
    (spacers,) = (one for one in bodymaker.sets if len(one.sizes) <= FEW)
    made = [one.pieces for one in lines_of(bodymaker).plain if one.name.startswith(spacers.name)]
    assert sum(made) == spacers.pieces
    assert len(made) == len(spacers.sizes)


def test_what_is_missing_is_never_set_beside_another() -> None:
    """A missing value keeps its whole row, for the word to be seen."""
    assert not Cell(MISSING).plain
    assert Cell("12", target="12").plain
    assert not Cell("12 to 13", least="12", most="13").plain


def test_places_are_the_most_decimals_of_a_table() -> None:
    """A limit with more decimals than its target counts too."""
    assert places_of([asdict(Cell("1.5", target="1.5")), asdict(Cell("", least="0.0970", target="1"))]) == 4
    assert places_of([]) == 0


def test_cautions_with_nothing_in_common_are_reported_whole(sheets: Mapping[str, Sheet]) -> None:
    """Without a common ending no line on top speaks for the others, and each caution says all."""
    sheet = sheets["b204-330/plover"]
    said = sheet.content
    first = said.machines[0]
    other = replace(first.cautions[0], avoid="keep out")
    changed = replace(
        said, machines=(replace(first, cautions=(other, *first.cautions[1:])), *said.machines[1:])
    )
    cautions = [one for block in changed.machines for one in block.cautions]
    assert always(cautions) == ""
    whole = [bare(f"{one.hazard}–{one.consequence}–{one.avoid}.") for one in cautions]
    paper = "".join(pages(sheet_pdf(replace(sheet, content=changed))))
    page = bare(read(sheet_fragment(replace(sheet, content=changed))).text)
    assert all(one in paper for one in whole)
    assert all(one in page for one in whole)
    assert "Everyhazard" not in paper


def test_the_common_ending_is_of_whole_precautions() -> None:
    """Two precautions that merely end in the same letters have nothing in common."""
    notes = [CautionNote("WARNING", "Trimmer", "Knives", "cuts", text) for text in ("thick gloves", "gloves")]
    assert always(notes) == ""
    assert always(notes[:1]) == ""
