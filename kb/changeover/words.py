"""The fixed words of a changeover sheet and its job cards, once for both faces."""

from __future__ import annotations

from collections.abc import Mapping

from kb.changeover.sheet_model import Durations

CHANGEOVER = "Changeover sheet"
CARD = "Job card"

HEADS: Mapping[str, str] = {
    "current": "Is it current?",
    "times": "How long",
    "machines": "What changes, what does not",
    "dangers": "Dangers",
    "ready": "Ready before the stop",
    "run_out": "Run out and clear",
    "locks": "Locks",
    "out": "Tools out",
    "fit": "Tools in",
    "settings": "Settings and supplies",
    "gauges": "Gauges to set anew",
    "verification": "Verification",
    "first_offs": "First-off checks",
    "restart": "Restart, all in writing",
    "after": "After the restart",
    "clocks": "Clocks and losses",
    "back_out": "Back-out plan",
    "lanes": "Who does what when",
    "notes": "Notes from the floor",
}
"""Parts in the order of the sheet."""

TIMES = "T: the cupper feed stops. R: the line runs again. Minutes from there."
STOP = "planned stop"
BY = "Below each box: by when. No stop before all are ticked."
GATE = "Nobody stops the line before every box here is ticked."
CURRENT = (
    "Current while both setup sheet codes are on the posted list and {code} is the code on the plant copy. "
    "Not so: stop, get a new sheet."
)
CURRENT_DRAFT = "No. {code} is the code of a draft; no list has it. Set no machine by this copy."
ALONE = "Leave alone:"
NOTHING_ALONE = "no machine; every one is touched."
STAYS = "Stays as it is:"
NOTHING_FOR = "Differs, and nothing is changed for it:"
MATRIX = ("machine", "parts", "settings", "supplies", "gauges")

LOCKS = "The one who isolates releases. All others whose hands go in hang an own lock first."
LOCK_HEADS = ("machine", "isolates and releases", "own lock")
LOCK_BOXES = ("on", "off")
LOCK_ON = "Hang your lock on {machine} first."
LOCK_OFF = "Take your lock off after."
LOCK_TIME = "Both: {minutes} min."

LOOK_ALIKE = "Looks alike:"
SETTINGS = "● new number  ○ same number, found by first-offs"
SIGNS: Mapping[str, str] = {"direct": "●", "search": "○"}
SERIALS = "serials"
OUT_TO = ("clean", "grind", "store", "scrap")
OUT = "Where to: tick one."
FIT = "in: fitted.  2nd: read by a second person."
CRITICAL = "◆ any delay delays the restart."
RANKS = "◆ critical  ■ key  ○ ordinary"
FIRST_OFFS = (
    "What can have moved, and whatever is critical. Samples, readings and reaction plans (ringed) are on "
    "setup sheet {code} under these numbers. ok: in limits, from all machines named."
)
CLOCKS = (
    "last good can, old format",
    "line stopped",
    "mechanically complete",
    "first good can, new format",
    "at rate",
)
LOSSES = "Five minutes more than planned? Tick why, write the minutes."
GRID = ("machine", "isolate", "out", "in", "set", "release, verify", "first-offs")
LANES = "Thick: critical path. Thin: no slack. Dashed: may slip."
ITSELF = "by itself"
NO_RETURN = "point of no return"
RAMP = "Ramp-up"
TO_PARTS = "↑ Parts"

PART_TITLES: Mapping[str, str] = {
    "before": "Before the stop",
    "stop": "Line stopped",
    "after": "After the restart",
}


def no_return(durations: Durations) -> str:
    """What the point of no return is and what going back takes after it; "" where nothing is changed."""
    if not durations.no_return:
        return ""
    where = f"{durations.no_return_at}: " if durations.no_return_at else ""
    after = (
        f"After it, going back is a changeover of its own, planned {durations.back} min."
        if durations.back is not None
        else "After it, finish the changeover: none the other way can be planned."
    )
    return f"Point of no return {durations.no_return}, before “{where}{durations.no_return_step}”. {after}"
