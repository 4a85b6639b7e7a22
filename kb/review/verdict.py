"""The review in one line: its outcome, what fails newly or needs approval, how far it reaches."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from kb.checks.names import approval_names
from kb.checks.words import plural
from kb.review.findings import NEW
from kb.review.model import (
    Approval,
    ChangedFile,
    CheckMoved,
    CheckState,
    FormerFails,
    LineTouched,
    Outcome,
    SheetMoved,
)
from kb.review.words import FORMER

_HEADS: dict[Outcome, str] = {"blocked": "Blocked", "needs approval": "Needs approval", "passes": "Passes"}

_WORDS: tuple[tuple[CheckState, str, str], ...] = (
    ("newly fails", "check newly fails", "checks newly fail"),
    ("newly warns", "newly warns", "newly warn"),
    ("newly noted", "newly noted", "newly noted"),
    ("worsened", "worsened", "worsened"),
    ("newly waived", "newly waived", "newly waived"),
    ("cured", "cured", "cured"),
    ("no longer judged", "no longer judged", "no longer judged"),
)

_APPROVED: tuple[tuple[str, str, str], ...] = (
    ("limit.loosened", "limit loosened", "limits loosened"),
    ("limit.not-compared", "file not compared", "files not compared"),
    ("target.moved-to-pass", "target moved to pass", "targets moved to pass"),
    ("setting.moved-to-pass", "setting moved to pass", "settings moved to pass"),
    ("material.moved-to-pass", "metal moved to pass", "metals moved to pass"),
    ("supply.moved-to-pass", "end moved to pass", "ends moved to pass"),
    ("plant.moved-to-pass", "plant number moved to pass", "plant numbers moved to pass"),
    ("range.moved-to-pass", "line moved to pass", "lines moved to pass"),
    ("limit.source-unchanged", "source unchanged", "sources unchanged"),
    ("material.certificate-unchanged", "certificate unchanged", "certificates unchanged"),
    ("waiver.loosened", "waiver loosened", "waivers loosened"),
)


def verdict(
    outcome: Outcome,
    *,
    files: Sequence[ChangedFile],
    moved: Sequence[CheckMoved],
    former: Sequence[FormerFails],
    lines: Sequence[LineTouched],
    sheets: Sequence[SheetMoved],
    approvals: Sequence[Approval],
) -> str:
    """The outcome in one line."""
    if not files and not moved:
        return "Nothing changed."
    moves = [*_to_approve(moved, former), *_checks(moved)]
    if outcome == "needs approval" and not any(one.finding.name in approval_names() for one in moved):
        moves.append(f"approval required from {', '.join(one.owner for one in approvals)}")
    changeovers = sum(one.counted for one in lines)
    reach = [
        plural(count, word)
        for count, word in ((len(lines), "line"), (len(sheets), "sheet"), (changeovers, "changeover"))
        if count
    ]
    meaning = any(one.changes or set(one.states) != {"no change in meaning"} for one in files)
    head = _HEADS[outcome] if outcome != "passes" or meaning or moves else "No change in meaning"
    checks = ", ".join(moves) or "no check moved"
    return f"{head}: {checks}; {', '.join(reach) or 'no line and no sheet'}."


def _to_approve(moved: Sequence[CheckMoved], former: Sequence[FormerFails]) -> Iterator[str]:
    """What needs approval, and how many formats fail at former numbers."""
    for name, one, many in _APPROVED:
        count = sum(each.finding.name == name and each.state in NEW for each in moved)
        if count:
            yield f"{count} {one if count == 1 else many}"
    formats = {one.format for one in former}
    if formats:
        verb = "fails" if len(formats) == 1 else "fail"
        parts = {part for one in former for part in one.because}
        what = FORMER[next(iter(parts))] if len(parts) == 1 else "the former numbers"
        yield f"{plural(len(formats), 'format')} {verb} at {what}"


def _checks(moved: Sequence[CheckMoved]) -> Iterator[str]:
    others = [one for one in moved if one.finding.name not in approval_names()]
    for state, one, many in _WORDS:
        count = sum(each.state == state for each in others)
        if count:
            yield f"{count} {one if count == 1 else many}"
