"""The review in one line: whether it blocks, what fails newly, how far it reaches."""

from __future__ import annotations

from collections.abc import Sequence

from kb.report.outcome import plural
from kb.review.model import ChangedFile, CheckMoved, CheckState, LineTouched, SheetMoved

_WORDS: tuple[tuple[CheckState, str, str], ...] = (
    ("newly fails", "check newly fails", "checks newly fail"),
    ("newly warns", "newly warns", "newly warn"),
    ("newly noted", "newly noted", "newly noted"),
    ("worsened", "worsened", "worsened"),
    ("newly waived", "newly waived", "newly waived"),
    ("cured", "cured", "cured"),
    ("no longer judged", "no longer judged", "no longer judged"),
)


def verdict(
    blocked: bool,
    files: Sequence[ChangedFile],
    moved: Sequence[CheckMoved],
    lines: Sequence[LineTouched],
    sheets: Sequence[SheetMoved],
) -> str:
    """The outcome in one line.

    Args:
        blocked: whether anything new stands at or above the asked severity
        files: files that changed
        moved: findings that came, went or changed
        lines: lines on which something changes
        sheets: sheets whose code changed

    Returns:
        Such as "Blocked: 1 check newly fails, 2 newly warn, 1 cured; 2 lines, 3 sheets."
    """
    if not files and not moved:
        return "Nothing changed."
    counts = [(sum(one.state == state for one in moved), one_, many) for state, one_, many in _WORDS]
    told = [f"{count} {one if count == 1 else many}" for count, one, many in counts if count]
    changeovers = sum(one.changeovers for one in lines)
    reach = [
        plural(count, word)
        for count, word in ((len(lines), "line"), (len(sheets), "sheet"), (changeovers, "changeover"))
        if count
    ]
    meaning = any(one.changes or set(one.states) != {"no change in meaning"} for one in files)
    head = "Blocked" if blocked else "Passes" if meaning or told else "No change in meaning"
    checks = ", ".join(told) or "no check moved"
    return f"{head}: {checks}; {', '.join(reach) or 'no line and no sheet'}."
