"""The page: a changeover sheet and its job cards as HTML, for the tablet and for the browser's printer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from markupsafe import Markup

from kb.changeover import words
from kb.changeover.lanes import lanes_svg
from kb.changeover.pdf import FEW, current, shared
from kb.changeover.sheet_model import ChangeSheet, ToolNote
from kb.sheet.html import Part, filled, whole, whole_page
from kb.sheet.lines import places_of
from kb.sheet.model import Cell
from kb.sheet.pdf import Paper, qr_svg


def change_page(
    sheet: ChangeSheet,
    paper: Paper = "a4",
    shared: str | None = None,
    part: Part = whole,
    scripts: Sequence[str] = (),
) -> str:
    """A changeover sheet as a whole page.

    Args:
        sheet: the sheet
        paper: size of the paper it prints on
        shared: see `kb.sheet.html.whole_page`
        part: what puts a piece that many pages share into the page
        scripts: see `kb.sheet.html.whole_page`

    Returns:
        The page.
    """
    return _page(_title(sheet, words.CHANGEOVER), change_fragment(sheet, part), paper, shared, scripts)


def cards_page(
    sheet: ChangeSheet,
    paper: Paper = "a4",
    shared: str | None = None,
    part: Part = whole,
    scripts: Sequence[str] = (),
) -> str:
    """The job cards of a changeover as a whole page.

    Args:
        sheet: the sheet they belong to
        paper: size of the paper of which a card is half a sheet
        shared: see `kb.sheet.html.whole_page`
        part: what puts a piece that many pages share into the page
        scripts: see `kb.sheet.html.whole_page`

    Returns:
        The page.
    """
    return _page(_title(sheet, words.CARD), cards_fragment(sheet, part), paper, shared, scripts)


def change_fragment(sheet: ChangeSheet, part: Part = whole) -> str:
    """A changeover sheet as a piece of a page; `changeover.css` is its style beside that of all sheets.

    Args:
        sheet: the sheet
        part: what puts a piece that many pages share into the page

    Returns:
        One `article`; every text of the book stands in it as text.
    """
    said = sheet.content
    kept = [name for name in words.HEADS if getattr(said, name, True)]
    numbers = {name: i for i, name in enumerate(words.HEADS, start=1)}
    return filled(
        "changeover.html.jinja",
        s=sheet,
        part=part,
        own=words,
        always=shared(sheet),
        current=current(sheet),
        qr=Markup(qr_svg(sheet.qr)),
        lanes=lambda: Markup(lanes_svg(said)),
        number_of=numbers,
        parts=tuple((f"change-{name}", numbers[name], words.HEADS[name]) for name in kept),
        bare=_bare,
        staged=staged,
        single=_single,
        is_word=_is_word,
        fit_places=places_of(row.value for at in said.fit for row in _single(at.rows)),
        set_places=places_of(_bare(one.new) for one in said.settings),
    )


def cards_fragment(sheet: ChangeSheet, part: Part = whole) -> str:
    """The job cards of a changeover as a piece of a page.

    Args:
        sheet: the sheet they belong to
        part: what puts a piece that many pages share into the page

    Returns:
        An `article` for each member who has anything to do.
    """
    said = sheet.content
    cards = [(hand, [job for job in said.jobs if hand.id in job.who]) for hand in said.crew]
    return filled(
        "cards.html.jinja",
        s=sheet,
        part=part,
        own=words,
        always=shared(sheet),
        cards=[(hand, tuple(mine)) for hand, mine in cards if mine],
        titles={hand.id: hand.title for hand in said.crew},
    )


def _title(sheet: ChangeSheet, kind: str) -> str:
    one = sheet.content.header
    return f"{one.old.id} → {one.new.id}, {one.line}, {kind}"


def _page(title: str, fragment: str, paper: Paper, shared: str | None, scripts: Sequence[str]) -> str:
    sizes = "" if paper == "a4" else "@page card { size: 5.5in 8.5in; }\n"
    return whole_page(
        title, fragment, paper, beside=("changeover.css",), sizes=sizes, shared=shared, scripts=scripts
    )


def staged(rows: Sequence[ToolNote]) -> list[list[ToolNote]]:
    """Tools of one kind with so many places that they stand in a table of their own.

    Args:
        rows: the tools of a group of machines

    Returns:
        The rows of each such kind, in their order.
    """
    kinds = {row.id: [other for other in rows if other.id == row.id] for row in rows}
    return [places for places in kinds.values() if len(places) > FEW]


def _single(rows: Sequence[ToolNote]) -> list[ToolNote]:
    many = {row.id for places in staged(rows) for row in places}
    return [row for row in rows if row.id not in many]


def _bare(value: Cell) -> Cell:
    """A value in the machine's own unit alone; the other stands on the setup sheet."""
    return replace(value, second=None)


def _is_word(value: Cell) -> bool:
    """Whether a value is no number, such as the name of a label."""
    return not value.missing and not value.unit and not value.target.replace(".", "").isdecimal()
