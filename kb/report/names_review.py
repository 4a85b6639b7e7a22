"""The names of findings that only a review makes, of two versions of a book."""

from __future__ import annotations

from kb.book.finding import Severity

APPROVAL_NAMES: dict[str, tuple[str, str, str, Severity]] = {
    "limit.loosened": (
        "No limit is loosened without approval.",
        "What failed before passes at a looser limit, though the can is the same. It is an error where the "
        "check guards seal or pressure.",
        "Put the former limit back, or have its owner approve the new one with its source.",
        "warning",
    ),
    "limit.source-unchanged": (
        "A limit or setting that moves has another source, owner or review date.",
        "The source is that of the former number. Nobody can tell where the new one comes from.",
        "Write the source of the new number, or put the former number back.",
        "warning",
    ),
    "limit.not-compared": (
        "What sizes are checked against can be read in both versions.",
        "The former file cannot be read, so a limit may have been loosened unseen.",
        "Compare with the last version that could be read, or have the owners approve every number.",
        "warning",
    ),
    "target.moved-to-pass": (
        "No target moves so that a format passes.",
        "The filler or the customer agreed the former target, and the can fails it.",
        "Put the former target back and change the can, or have the new target agreed.",
        "warning",
    ),
    "setting.moved-to-pass": (
        "No setting moves so that a format passes.",
        "The can is the same; only the number that its results are computed from is another one.",
        "Put the former setting back, or have its owner approve the new one with its source.",
        "warning",
    ),
    "material.certificate-unchanged": (
        "Numbers of a metal move with their certificate.",
        "The source is that of the former numbers. The metal may be no stronger than before.",
        "Name the certificate of the new numbers in `source`, or put the former numbers back.",
        "warning",
    ),
    "material.moved-to-pass": (
        "No metal is declared otherwise so that a format passes.",
        "The can is the same; it passes with the numbers that its metal has now.",
        "Put the former numbers back, or have the metal's owner approve the new ones.",
        "warning",
    ),
    "supply.moved-to-pass": (
        "No end is declared otherwise so that a format passes.",
        "The can is the same; it passes with the numbers that its end has now.",
        "Put the former numbers back, or have the end's owner approve the new ones.",
        "warning",
    ),
    "plant.moved-to-pass": (
        "No number of the plant moves so that a format passes.",
        "Design pressure and temperatures hold for every can; a format fails at the former ones.",
        "Put the former numbers back, or have the plant's owners approve the new ones.",
        "warning",
    ),
    "range.moved-to-pass": (
        "No range of a machine moves so that a format passes.",
        "The format fails at the range that the machine had before.",
        "Put the former range back, or have the line's owner approve the new one.",
        "warning",
    ),
    "waiver.loosened": (
        "No waiver is added, extended or given another ceiling without approval.",
        "A waiver lets a format run that fails a check.",
        "Have its approver approve it, or take the change out.",
        "warning",
    ),
}
"""Findings that people must approve; title, reason, remedy and severity of each name."""

REVIEW_NAMES: dict[str, tuple[str, str, str, Severity]] = {
    **APPROVAL_NAMES,
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
