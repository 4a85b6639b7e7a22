"""The names of findings on the revisions of files; kb/report/names.py tells what stands where."""

from __future__ import annotations

from kb.book.finding import Severity

REVIEW_NAMES: dict[str, tuple[str, str, str, Severity]] = {
    "revision.not-raised": (
        "What was released changes under a new revision.",
        "Two sheets with one revision that say different things cannot be told apart on the floor.",
        "Count `revision` up by one, and say in `why` what changed.",
        "error",
    ),
    "revision.no-reason": (
        "A new revision says why there is one.",
        "The reason is printed on the sheet; that of the last revision tells the crew of another change.",
        "Write in `why`, in one line, what changed and why.",
        "error",
    ),
    "revision.falls": (
        "A revision is never lower than the one before.",
        "A number that comes back belongs to sheets still out; taking a change back is one more change.",
        "Write the next number after the one before.",
        "error",
    ),
    "revision.effective-back": (
        "A revision is in force no earlier than the one it replaces.",
        "Two revisions would be in force on one day.",
        "Write the first day of this revision in `effective`.",
        "error",
    ),
    "revision.deleted": (
        "A released format or end is withdrawn before it is deleted.",
        "Sheets and tools of it are still out, and nothing would say any more that they must not be used.",
        "Put the file back with `status: withdrawn`; delete it when nothing runs to it.",
        "error",
    ),
    "revision.withdrawn-used": (
        "Nothing refers to what is withdrawn.",
        "A waiver or a format that rests on something withdrawn rests on nothing.",
        "Name another one, or take the reference out.",
        "error",
    ),
}
"""Title, reason, remedy and severity of each name."""
