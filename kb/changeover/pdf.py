"""The paper: a changeover sheet, or the job cards of its crew, as PDF."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from kb.changeover import words
from kb.changeover.lanes import lanes_svg
from kb.changeover.sheet_model import ChangeSheet
from kb.sheet.code import DRAFT_SIGN
from kb.sheet.model import CautionNote
from kb.sheet.pdf import Paper, qr_svg, typeset

FEW = 4
"""Places of a tool that stand as rows; a tool with more of them, such as neck dies, has its own table."""

BETWEEN = "; "
"""What stands between two precautions of a hazard."""

_WORDS = {
    name.lower(): value for name, value in vars(words).items() if name.isupper() and not name.startswith("_")
}


def change_pdf(sheet: ChangeSheet, paper: Paper = "a4") -> bytes:
    """A changeover sheet as PDF.

    Args:
        sheet: the sheet
        paper: size of the paper

    Returns:
        The file's bytes.
    """
    told = _told(sheet) | {"qr": qr_svg(sheet.qr), "lanes": lanes_svg(sheet.content)}
    return typeset("changeover.typ", told, paper)


def cards_pdf(sheet: ChangeSheet, paper: Paper = "a4") -> bytes:
    """The job cards of a changeover as PDF, each member's on half sheets of their own.

    Args:
        sheet: the sheet they belong to
        paper: size of the paper of which a card is half a sheet

    Returns:
        The file's bytes.
    """
    return typeset("cards.typ", _told(sheet), paper)


def _told(sheet: ChangeSheet) -> dict[str, Any]:
    return {
        "sheet": asdict(sheet),
        "own": _WORDS,
        "always": shared(sheet),
        "few": FEW,
        "current": current(sheet),
        "no_return": words.no_return(sheet.content.durations),
    }


def current(sheet: ChangeSheet) -> str:
    """How a reader finds out whether a sheet is the one in force; a draft's copy is none.

    Args:
        sheet: the sheet

    Returns:
        The sentence.
    """
    draft = sheet.code.startswith(DRAFT_SIGN)
    return (words.CURRENT_DRAFT if draft else words.CURRENT).format(code=sheet.code)


def shared(sheet: ChangeSheet) -> str:
    """The precautions with which most hazards of a changeover end, told once for all of them.

    Args:
        sheet: the sheet

    Returns:
        The commonest ending of several precautions, the longest of equally common ones; "" where none comes
        twice.
    """
    endings: Counter[tuple[str, ...]] = Counter()
    for one in warnings(sheet):
        said = one.avoid.split(BETWEEN)
        endings.update(tuple(said[i:]) for i in range(len(said) - 1))
    if not endings:
        return ""
    most, count = max(endings.items(), key=lambda item: (item[1] * len(item[0]), item[0]))
    return BETWEEN.join(most) if count > 1 else ""


def warnings(sheet: ChangeSheet) -> Iterable[CautionNote]:
    """All hazards of a changeover, each once."""
    told = sheet.content
    listed = [one.caution for one in told.jobs if one.caution is not None]
    return dict.fromkeys((*told.dangers, *listed))
