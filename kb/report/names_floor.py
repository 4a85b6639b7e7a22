"""The names of findings on the floor file and on setup sheets; kb/report/names.py tells what stands where."""

from __future__ import annotations

from kb.book.finding import Severity

FLOOR_NAMES: dict[str, tuple[str, str, str, Severity]] = {
    # --- floor: what setup sheets say beside the sizes ---
    "floor.unknown-key": (
        "Every value of the floor file is the key of a number.",
        "A part or setting whose value nobody can look up prints as MISSING, and the sheet is not for use.",
        "Correct the key as the finding suggests; `sizebook explain` tells the keys of a kind.",
        "error",
    ),
    "floor.unit": (
        "Limits, gauges and displays are of the quantity they belong to.",
        "A pressure cannot be set on a length scale, nor a mass be read on a height gauge.",
        "Name another gauge, limit or key, or correct the unit, as the finding says.",
        "error",
    ),
    "floor.unknown-gauge": (
        "Every first-off check names a gauge of the floor file.",
        "A check without its gauge is measured with whatever lies at hand.",
        "Correct the id, or add the gauge with its resolution and master.",
        "error",
    ),
    "floor.unknown-reaction": (
        "Every first-off check names a reaction plan of the floor file.",
        "Out of limits with no plan is where a machine gets adjusted by guess.",
        "Correct the number, or write the plan.",
        "error",
    ),
    "floor.unknown-role": (
        "Whoever signs or releases is one of the floor file's roles.",
        "A role that nobody holds releases nothing.",
        "Correct the role, or add it to `roles`.",
        "error",
    ),
    "floor.unknown-limit": (
        "A limit that a first-off borrows is one of the plant's limits.",
        "The check would have no least and no most.",
        "Name a check whose limit stands in limits.yaml.",
        "error",
    ),
    "floor.repeated": (
        "No gauge, machine, part, setting, check or plan stands in the floor file twice.",
        "Of two with one name, one is changed and the other is printed.",
        "Rename one, or take it out.",
        "error",
    ),
    "floor.gauge-resolution": (
        "A gauge shows a tenth of the band it measures, or finer.",
        "A coarser gauge passes cans that are out and fails cans that are in (AIAG, Measurement Systems "
        "Analysis, rule of ten).",
        "Name a finer gauge, or have the band widened by whoever owns it.",
        "warning",
    ),
    "floor.no-caution": (
        "Every kind of machine on a line has its hazards written down.",
        "A sheet that warns at ten machines and is silent at the eleventh says that the eleventh is safe.",
        "Write the hazards with their signal words, as the machine maker's manual grades them.",
        "warning",
    ),
    "floor.not-on-line": (
        "Every machine that first-offs are taken from stands on every line.",
        "The sheets of a line without it leave the check off.",
        "Sample a machine that the line has.",
        "warning",
    ),
    # --- sheet: setup sheets and their codes ---
    "sheet.missing": (
        "A released format's setup sheet has all its values.",
        "A sheet with a value missing is marked NOT FOR USE on every page.",
        "Complete the floor file, or the spec that should have the value.",
        "warning",
    ),
    "sheet.unrecorded": (
        "The code of a released format's setup sheet is in the register.",
        "What the sheet says has changed since its code was recorded, so the posted list and the tablets do "
        "not know the code on new prints.",
        "Record it with `sizebook sheet --record`, post the new list of codes, take in the old sheets.",
        "warning",
    ),
    "sheet.other-revision": (
        "A code is recorded under its own sheet and revision.",
        "Whoever looks the code up would be told of another sheet.",
        "Take the entry out and let `sizebook sheet --record` write it.",
        "error",
    ),
    "sheet.digest": (
        "A recorded code is that of its digest.",
        "The two were written by one computation; one of them was changed by hand.",
        "Take the entry out and let `sizebook sheet --record` write it.",
        "error",
    ),
}
"""Title, reason, remedy and severity of each name."""
