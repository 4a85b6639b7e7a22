"""The sheet and the job cards on paper and as a page, read back."""

from __future__ import annotations

import io
import re
from collections.abc import Mapping
from dataclasses import fields, is_dataclass, replace
from html.parser import HTMLParser
from typing import Any
from xml.etree import ElementTree

import pytest
from pypdf import PdfReader

from kb.blocks import MISSING, Cell, Paper
from kb.book.load import Book
from kb.changeover.cards import change_papers
from kb.changeover.content import setups
from kb.changeover.documents import SCREEN, change_document
from kb.changeover.lanes import lanes_picture
from kb.changeover.plan import PlannedChangeover
from kb.changeover.sheet_model import ChangeSheet
from kb.output.pdf import pages_in, pdf
from kb.output.svg import picture_svg
from kb.sheet.labels import labels
from kb.sheet.model import NOT_FOR_USE
from tests.changeover.conftest import DIAMETER, DRAFT, LABEL, MADE, METAL, NAMES, NECK, TRIAL
from tests.rendered import cards_page, cards_pdf, change_fragment, change_page, change_pdf
from tests.sheet import hostile

WORDS = labels("changeover")


PAPERS: tuple[Paper, ...] = ("a4", "letter")
MOST_SIDES: Mapping[str, Mapping[Paper, int]] = {
    LABEL: {"a4": 4, "letter": 4},
    NECK: {"a4": 4, "letter": 4},
    METAL: {"a4": 4, "letter": 4},
    DIAMETER: {"a4": 4, "letter": 5},
}
WHOLE = {"a4": (595, 842), "letter": (612, 792)}


def pages(made: bytes) -> list[str]:
    """The text of each page without blanks, which line breaks and columns put anywhere."""
    return [bare(page.extract_text()) for page in PdfReader(io.BytesIO(made)).pages]


def bare(text: str) -> str:
    """A text without blanks and places to break."""
    return re.sub(r"[\s\u200b]+", "", text)


class Text(HTMLParser):
    """The text of a page, what a reader sees of it."""

    def __init__(self) -> None:
        super().__init__()
        self.said: list[str] = []
        self.tags: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Keep the name of a tag."""
        self.tags.append(tag)

    def handle_data(self, data: str) -> None:
        """Keep a text."""
        self.said.append(data)


def read(page: str) -> Text:
    """A page as read."""
    found = Text()
    found.feed(page)
    return found


# --- paper ------------------------------------------------------------------------------------


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", MOST_SIDES)
def test_the_sheet_keeps_its_length(
    change_sheets: Mapping[str, ChangeSheet], name: str, paper: Paper
) -> None:
    """Every changeover fits four sides of A4, even one to another body diameter."""
    assert len(pages(change_pdf(change_sheets[name], paper))) <= MOST_SIDES[name][paper]


@pytest.mark.parametrize("name", NAMES)
def test_every_side_says_what_it_belongs_to(change_sheets: Mapping[str, ChangeSheet], name: str) -> None:
    """Both formats, the code and the number of the side stand on each, for a sheet comes apart."""
    sheet = change_sheets[name]
    head = sheet.content.header
    found = pages(change_pdf(sheet))
    for number, page in enumerate(found, start=1):
        assert bare(f"{head.old.id}→{head.new.id}") in page
        assert sheet.code in page
        assert f"page{number}of{len(found)}" in page


@pytest.mark.parametrize("name", [TRIAL, DRAFT])
def test_the_mark_is_on_every_side(change_sheets: Mapping[str, ChangeSheet], name: str) -> None:
    """A draft or a trial says so on every side of the sheet and of the cards."""
    sheet = change_sheets[name]
    for made in (change_pdf(sheet), cards_pdf(sheet)):
        assert all(sheet.mark in page for page in pages(made))
    assert sheet.mark in change_page(sheet)


@pytest.mark.parametrize("name", [NECK, METAL])
def test_every_tool_may_look_alike(change_sheets: Mapping[str, ChangeSheet], name: str) -> None:
    """Where each tool looks like the one that it replaces, the sheet says so for each, and has no heading."""
    sheet = change_sheets[name]
    fit = tuple(
        replace(at, rows=tuple(replace(row, look_alike=f"{k}.5 → {k}.6") for k, row in enumerate(at.rows)))
        for at in sheet.content.fit
    )
    made = change_pdf(replace(sheet, content=replace(sheet.content, fit=fit)))
    read = PdfReader(io.BytesIO(made))
    assert read.outline == []
    assert pages_in(made) == len(read.pages)
    said = "".join(pages(made))
    assert all(f"{k}.5→{k}.6" in said for at in fit for k, _ in enumerate(at.rows))


@pytest.mark.parametrize("name", [METAL, DIAMETER])
def test_the_paper_says_all_that_is_controlled(
    demo: Book,
    changed: Mapping[str, PlannedChangeover],
    change_sheets: Mapping[str, ChangeSheet],
    name: str,
) -> None:
    """All that is controlled is on the sheet, the job cards or the pick list."""
    sheet = change_sheets[name]
    setup = setups(demo, changed[name].difference, MADE).new
    papers = (change_pdf(sheet), cards_pdf(sheet), pdf(*change_papers(sheet, setup, "picks")))
    said, paper = sheet.content, "".join(text for made in papers for text in pages(made))
    steps = (*said.ready, *said.run_out, *said.verification, *said.proof, *said.after)
    listed = [
        *(one.text for one in steps),
        *(row.value.target for at in (*said.out, *said.fit) for row in at.rows),
        *(one.name for one in said.settings),
        *(one.new.target for one in said.settings),
        *(one.name for one in said.gauges),
        *(one.name for one in said.first_offs),
        *(one.look for one in said.clear_points),
        *said.restart,
        *said.reasons,
        *said.back_out,
        *(one.sample for one in said.ramp),
        *(title for key, title in WORDS.heads.items() if getattr(said, key, True) and key not in SCREEN),
    ]
    assert [one for one in listed if bare(one) not in paper] == []


def test_empty_parts_are_left_out(change_sheets: Mapping[str, ChangeSheet]) -> None:
    """A label change has no tools, so its sheet has no heads for them."""
    for text in ("".join(pages(change_pdf(change_sheets[LABEL]))), change_page(change_sheets[LABEL])):
        assert bare(WORDS.heads["out"]) not in bare(text)
        assert bare(WORDS.heads["settings"]) in bare(text)


@pytest.mark.parametrize("name", [METAL, DIAMETER])
def test_who_goes_in_hangs_a_lock(
    change_sheets: Mapping[str, ChangeSheet], changed: Mapping[str, PlannedChangeover], name: str
) -> None:
    """Boxes at each machine on the sheet; a line on the card of all who did not isolate it."""
    sheet, plan = change_sheets[name], changed[name].plan
    said = sheet.content
    isolating = [task for task in plan.tasks.values() if task.step.phase == "isolate"]
    assert len(said.locks) == len(isolating) > 20
    assert all(one.isolates for one in said.locks)
    for text in ("".join(pages(change_pdf(sheet))), bare(" ".join(read(change_fragment(sheet)).said))):
        for one in said.locks:
            assert bare(one.machine.partition(",")[0]) in text
    slots = {slot.id: slot for slot in plan.stop.slots}
    owed = {
        (who, task.id)
        for task in plan.tasks.values()
        if task.step.hands_in
        for who in slots[task.id].who
        if any(who not in slots[one].who for one in task.isolated_by)
    }
    lines = [lock for job in said.jobs for lock in job.own_locks]
    assert owed
    assert sum(lock.minutes for lock in lines) == len(owed)
    assert {lock.who for lock in lines} == {who for who, _ in owed}
    cards = "".join(pages(cards_pdf(sheet)))
    page = bare(" ".join(read(cards_page(sheet)).said))
    for lock in lines:
        assert bare(lock.machine) in cards
        assert bare(lock.machine) in page
    assert page.count(bare("Hang your lock")) == cards.count(bare("Hang your lock")) == len(lines)


@pytest.mark.parametrize("paper", PAPERS)
def test_a_card_is_one_side_of_one_member(change_sheets: Mapping[str, ChangeSheet], paper: Paper) -> None:
    """Each member has one side with the title, the code and every job of theirs."""
    sheet = change_sheets[METAL]
    made = cards_pdf(sheet, paper)
    assert len(pages(made)) == len(sheet.content.crew)
    reader = PdfReader(io.BytesIO(made))
    assert {(round(p.mediabox.width), round(p.mediabox.height)) for p in reader.pages} == {WHOLE[paper]}
    found = pages(made)
    assert all(sheet.code in page for page in found)
    for hand in sheet.content.crew:
        card = "".join(page for page in found if page.startswith(bare(hand.title)))
        jobs = [one for one in sheet.content.jobs if hand.id in one.who]
        assert jobs
        assert [one.text for one in jobs if bare(one.text) not in card] == []


def test_a_caution_is_before_its_step(change_sheets: Mapping[str, ChangeSheet]) -> None:
    """On a card the hazard is read before the hands move."""
    page = bare("".join(read(cards_page(change_sheets[METAL])).said))
    text = bare("Isolate the cupper by the site procedure")
    hazard = bare("Slide that falls or moves on stored pressure")
    assert hazard in page[max(0, page.index(text) - 250) : page.index(text)]


def test_common_precautions_are_reported_once_and_in_full(change_sheets: Mapping[str, ChangeSheet]) -> None:
    """The common ending of most hazards is printed once, with isolation in it."""
    assert change_document(change_sheets[METAL]).always == (
        "follow the site's isolation procedure and maker's manual; authorised people only"
    )


# --- page -------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_links_of_the_page_lead_somewhere(change_sheets: Mapping[str, ChangeSheet], name: str) -> None:
    """Every part named in the bar is on the page."""
    page = change_fragment(change_sheets[name])
    links = set(re.findall(r'href="#([^"]+)"', page))
    assert links
    assert links <= set(re.findall(r' id="([^"]+)"', page))


def test_the_page_needs_nothing_beside_it(change_sheets: Mapping[str, ChangeSheet]) -> None:
    """No script, no picture and no address of another place."""
    for page in (change_page(change_sheets[METAL]), cards_page(change_sheets[METAL])):
        assert not {"script", "img", "link", "iframe"} & set(read(page).tags)
        assert set(re.findall(r'https?://[^"<\s]+', page)) <= {"http://www.w3.org/2000/svg"}


def test_the_drawing_is_valid_and_bold_where_critical(change_sheets: Mapping[str, ChangeSheet]) -> None:
    """The lanes parse as SVG; each bar stays on the drawing, and as many are bold as the path has."""
    sheet = change_sheets[METAL]
    root = ElementTree.fromstring(picture_svg(lanes_picture(sheet.content)))
    _, _, width, height = (float(one) for one in root.attrib["viewBox"].split())
    groups = [one for one in root if one.attrib.get("class") in {"path", "tight", "loose"}]
    bars = [
        (group.attrib["class"], *map(float, bar))
        for group in groups
        for bar in re.findall(r"M(\S+) (\S+)h(\S+)v(\S+)h-\3z", group[0].attrib["d"])
    ]
    assert sum(group[0].attrib["d"].count("M") for group in groups) == len(bars)
    for _, x, y, w, h in bars:
        assert 0 <= x < x + w <= width
        assert 0 <= y < y + h <= height
    path = [one for one in sheet.content.jobs if one.path]
    assert sum(look == "path" for look, *_ in bars) == sum(max(1, len(one.who)) for one in path)


# --- both -------------------------------------------------------------------------------------


def with_texts(said: Any, texts: list[str]) -> Any:
    """A record with every text of the book in it replaced by a harmful one; codes and times stay."""
    if isinstance(said, Cell):
        return said
    if isinstance(said, tuple):
        return tuple(with_texts(one, texts) for one in said)
    if not is_dataclass(said) or isinstance(said, type):
        return said
    changed = {}
    for one in fields(said):
        value = getattr(said, one.name)
        if one.name in {"title", "text", "name", "look", "machine", "sample", "why", "hazard", "line_title"}:
            texts.append(hostile.ALL[len(texts) % len(hostile.ALL)])
            changed[one.name] = texts[-1]
        elif one.name not in {"durations", "first_offs", "release"}:
            changed[one.name] = with_texts(value, texts)
    return replace(said, **changed)


def test_harmful_texts_are_texts(change_sheets: Mapping[str, ChangeSheet]) -> None:
    """Any text of a title or a step is printed as written, and does nothing."""
    sheet = change_sheets[NECK]
    bad = replace(sheet, content=with_texts(sheet.content, []))
    for page in (change_page(bad), cards_page(bad)):
        found = read(page)
        assert not {"script", "img"} & set(found.tags)
        assert hostile.HTML in "".join(found.said)
    ElementTree.fromstring(picture_svg(lanes_picture(bad.content)))
    for made in (change_pdf(bad), cards_pdf(bad)):
        paper = "".join(pages(made))
        assert bare(hostile.TYPST) in paper
        assert bare(hostile.HTML) in paper


def test_missing_is_seen(change_sheets: Mapping[str, ChangeSheet]) -> None:
    """A value the book lacks is the word MISSING on paper and page, and the mark is on every side."""
    sheet = change_sheets[METAL]
    first, *others = sheet.content.fit
    row, *rows = first.rows
    fit = (replace(first, rows=(replace(row, value=Cell(MISSING)), *rows)), *others)
    bad = replace(
        sheet, content=replace(sheet.content, fit=fit), mark=NOT_FOR_USE, unfit=("missing: Cut edge",)
    )
    found = pages(change_pdf(bad))
    assert MISSING in "".join(found)
    assert all(bare(NOT_FOR_USE) in page for page in found)
    assert MISSING in change_page(bad)
    assert NOT_FOR_USE in change_page(bad)


def test_the_same_sheet_is_the_same_file(change_sheets: Mapping[str, ChangeSheet]) -> None:
    """Set twice, sheet and cards have the same bytes."""
    sheet = change_sheets[LABEL]
    for face in (change_pdf, cards_pdf, change_page, cards_page):
        assert face(sheet) == face(sheet)
